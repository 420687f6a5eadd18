"""A figure by itself in TeX: what its head promises holds, and a page is as large as the figure."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from derive.drawing.view import View
from derive.pictures import Picture, draw
from derive.source import Source
from derive.writers import figure_tex
from tests.writers.tex_runs import overfull, run, words

TEXT = """\
circuit "50 % of _all_ \\\\ {cells} & more"
I1: A (-E1 r1+) B' (R_load) C
I2: A (-E2+) (R2) C
I3: C (lamp L3) A
E1 = 7/3 V; r1 = 1.5 ohm; R2 = 2 r1
"""


def figure() -> Picture:
    return draw(Source("figure", TEXT), View(values=True))


def picture(width_mm: float | None = None) -> str:
    f = figure()
    return figure_tex.picture(f.drawing, f.style, f.short, f.title, f.digest, width_mm)


def needs(text: str) -> list[str]:
    """Return what the head of a picture asks for."""
    return re.findall(r"^%   (\\use.*?)(?:  .*)?$", text, re.MULTILINE)


def test_the_head_says_what_it_is() -> None:
    head = picture().split(r"\begingroup")[0].splitlines()
    assert all(line.startswith("%") for line in head)
    assert head[0].startswith("% Made by Loopwalk")
    assert len(needs(picture())) == 3


def test_nothing_is_left_in_the_document() -> None:
    lines = [line for line in picture().splitlines() if not line.startswith("%")]
    assert (lines[0], lines[-1]) == (r"\begingroup%", r"\endgroup%")


@pytest.mark.tex
@pytest.mark.parametrize("width", [None, 60.0])
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_the_picture_needs_no_more_than_it_says_and_has_its_width(
    tmp_path: Path, width: float | None, program: str
) -> None:
    text = picture(width)
    host = "\n".join(
        [
            r"\documentclass{article}",
            *needs(text),
            r"\begin{document}",
            r"\setbox0\hbox{\input{figure}}\typeout{WIDTH \the\wd0}\box0",
            r"\end{document}",
        ]
    )
    log = run(host, tmp_path, program, figure=text)
    assert overfull(log) == []
    measured = re.search(r"WIDTH ([\d.]+)pt", log)
    assert measured
    wanted = figure().drawing.width if width is None else width
    assert float(measured[1]) * 25.4 / 72.27 == pytest.approx(wanted, abs=0.05)
    assert "load" in words(tmp_path)


@pytest.mark.tex
@pytest.mark.parametrize("width", [None, 120.0])
def test_the_page_is_one_and_as_large_as_the_figure(tmp_path: Path, width: float | None) -> None:
    f = figure()
    log = run(figure_tex.page(f.drawing, f.style, f.short, f.title, width), tmp_path)
    assert overfull(log) == []
    reader = shutil.which("pdfinfo")
    assert reader, "pdfinfo (poppler-utils) is needed for the tests marked tex"
    done = subprocess.run([reader, "host.pdf"], cwd=tmp_path, capture_output=True, check=True)
    told = done.stdout.decode()
    assert re.search(r"^Pages: +1$", told, re.MULTILINE)
    size = re.search(r"^Page size: +([\d.]+) x ([\d.]+) pts", told, re.MULTILINE)
    assert size
    # The points of PDF are 1/72 inch.
    across, high = (float(side) * 25.4 / 72 for side in size.groups())
    assert across == pytest.approx(f.drawing.width + 1 if width is None else width, abs=0.02)
    ratio = f.drawing.height / f.drawing.width
    assert high - 1 == pytest.approx((across - 1) * ratio, abs=0.05)
    assert re.search(r"^Title: +50 % of _all_", told, re.MULTILINE)
