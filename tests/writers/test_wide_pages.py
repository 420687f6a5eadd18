"""Pages of circuits with long names and long formulas keep within their margins."""

from pathlib import Path

import pytest

from derive.document.narrate import Detail
from derive.writers import latex
from tests.writers.tex_runs import overfull, run
from tests.writers.wide_circuits import solved_wide

_NAMES = ["fountain"]

_TWELVE_CM = r"\textwidth=12cm\hsize=12cm\linewidth=12cm\columnwidth=12cm"


@pytest.mark.tex
@pytest.mark.parametrize("detail", [Detail.FULL, Detail.ANSWERS])
@pytest.mark.parametrize("name", _NAMES)
def test_no_line_of_tex_is_wider_than_the_page(name: str, detail: Detail, tmp_path: Path) -> None:
    log = run(latex.write(solved_wide(name, detail).document), tmp_path)
    assert overfull(log) == []


@pytest.mark.tex
@pytest.mark.parametrize("name", _NAMES)
def test_no_line_of_a_fragment_is_wider_than_twelve_centimetres(name: str, tmp_path: Path) -> None:
    fragment = latex.fragment(solved_wide(name).document, name)
    needed = [line[1:].strip() for line in fragment.splitlines() if line.startswith(r"%   \use")]
    packages = "\n".join(line for line in needed if "fontenc" not in line)
    host = (
        "\\documentclass[11pt]{article}\n\\usepackage[T1]{fontenc}\n\\usepackage{lmodern}\n"
        f"{packages}\n\\begin{{document}}\n{_TWELVE_CM}\n\\input{{one}}\n\\end{{document}}\n"
    )
    assert overfull(run(host, tmp_path, one=fragment)) == []
