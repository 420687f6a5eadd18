"""Pages of circuits with long names and long formulas keep within their margins."""

import re
from pathlib import Path
from unicodedata import normalize

import pytest

from derive.algebra.term import current, resistance
from derive.document.model import Chain, Display, Document, Relation, Row, Section, Text
from derive.document.narrate import Detail
from derive.typesetting.style import Style
from derive.writers import latex, tex_display
from tests.writers import typst_runs
from tests.writers.tex_runs import overfull, run, words
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


def test_a_long_source_stands_below_its_own_equation() -> None:
    rows = (_row("R1", "I1"), _row("R2", "I2", "what is long"), _row("R3", "I3"))
    block = Display(rows)
    tex = tex_display.display(block, tex_display.Measure(Style(), 30.0))
    before, _, after = tex.partition("what is long")
    assert "I_{2}" in before
    assert "I_{3}" not in before
    assert "I_{3}" in after
    # No page may end between them, and what follows keeps a distance.
    assert re.search(r"I_\{2\}\\\\\*\n&\\tag\*", before)
    assert after.split("\n")[0].endswith(r"\\[4pt]")


@pytest.mark.tex
def test_a_long_source_is_printed_below_its_equation_in_both_engines(tmp_path: Path) -> None:
    rows = (_row("R1", "I1"), _row("R2", "I2", "whatislong " * 8), _row("R3", "I3"))
    document = Document("", "", (Section((Text("T"),), (Display(rows),)),), Style())
    run(latex.write(document), tmp_path)
    printed = [words(tmp_path), typst_runs.words(document, tmp_path)]
    for text in printed:
        flat = normalize("NFKC", text).replace(" ", "")
        assert flat.index("I2") < flat.index("whatislong") < flat.index("R3")


def _row(left: str, right: str, source: str = "") -> Row:
    told = (Text(f"{source} {'as long as it gets ' * 3}"),) if source else ()
    return Row(Chain((resistance(left), current(right)), (Relation.EQUAL,)), None, told)
