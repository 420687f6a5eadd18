"""The room reckoned for a label against TeX's own measure of the same line of type."""

import re
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import (
    Product,
    Quotient,
    Sum,
    constant,
    current,
    emf,
    number,
    resistance,
)
from derive.circuit.appearance import EmfSymbol
from derive.drawing.model import LabelContent, LoopName, PlusSign, PointNames, TextSize, Words
from derive.drawing.reckoning import POINT, block_size, label_reach, label_row, label_size
from derive.typesetting.layout import Over
from derive.typesetting.style import Style
from derive.writers.tex_math import tex

_CONTENTS: list[LabelContent] = [
    *(resistance(name) for name in ("R", "R1", "R12", "r1", "R_load", "R_1,2", "R1'", "L3")),
    *(resistance(name) for name in ("alpha", "rho_1", "Omega", "W", "x_y")),
    *(emf(name) for name in ("E1", "E", "E2'", "E_main")),
    *(current(name) for name in ("I1", "I", "I10", "I_a", "I2''", "J", "V")),
    *(constant(Fraction(v), OHM) for v in (47, 4700, 2200000, 123456, "82.25", "0.5", "1/8")),
    *(constant(Fraction(v), VOLT) for v in (9, 12, "1.5", "-4.5", "7/3", "22/7")),
    Quotient(resistance("R1"), number(3)),
    Product((number(2), resistance("R1"))),
    Sum((resistance("R1"), resistance("R2"))),
    *(PointNames(names) for names in (("A",), ("Q",), ("X12",), ("A", "B"), ("top",), ("M'", "K"))),
    PlusSign(),
    LoopName("1"),
    LoopName("III"),
    Words("axis"),
]  # fmt: skip
_STYLES = [
    Style(),
    Style(emf=EmfSymbol.ITALIC, decimal_comma=True, ohm_exponent=3),
    Style(emf=EmfSymbol.EPSILON),
]


def _samples() -> list[tuple[LabelContent, TextSize, Style]]:
    return [(c, size, s) for c in _CONTENTS for size in TextSize for s in _STYLES]


def _measured(folder: Path) -> list[tuple[float, float, float]]:
    """Return width, height and depth in points of every sample as TeX sets it."""
    lines = []
    for content, size, style in _samples():
        row = label_row(content, style)
        display = r"\displaystyle " if any(isinstance(glyph, Over) for glyph in row) else ""
        font = rf"\fontsize{{{size.value}}}{{{size.value * 1.2}}}\selectfont"
        lines.append(
            rf"{{{font}\setbox0\hbox{{${display}{tex(row)}$}}"
            r"\typeout{W=\the\wd0H=\the\ht0D=\the\dp0}}"
        )
    page = "\n".join(lines)
    source = rf"\documentclass{{article}}\usepackage{{amsmath,lmodern}}\begin{{document}}{page}\end{{document}}"
    (folder / "w.tex").write_text(source, "utf-8")
    engine = shutil.which("pdflatex")
    assert engine
    run = subprocess.run(
        [engine, "-interaction=batchmode", "-halt-on-error", "w.tex"],
        cwd=folder, capture_output=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0, (folder / "w.log").read_text("latin-1")[-2000:]
    log = (folder / "w.log").read_text("latin-1")
    found = re.findall(r"W=([0-9.]+)ptH=([0-9.]+)ptD=([0-9.]+)pt", log)
    return [(float(w), float(h), float(d)) for w, h, d in found]


@pytest.mark.tex
def test_the_room_holds_what_tex_sets_and_little_more(tmp_path: Path) -> None:
    samples, measured = _samples(), _measured(tmp_path)
    assert len(measured) == len(samples)
    broader = higher = 0.0
    for sample, (width, height, depth) in zip(samples, measured, strict=True):
        content, size, style = sample
        reckoned = label_size(content, size, style)[0] / POINT
        above, below = (reach * size.value for reach in label_reach(content, style))
        # A fiftieth of an em is the breadth of a thin stroke.
        slack = size.value / 50
        assert reckoned >= width - slack, (sample, reckoned, width)
        assert above >= height - slack, (sample, above, height)
        assert below >= depth - slack, (sample, below, depth)
        assert reckoned <= 1.15 * width + size.value * 0.1, (sample, reckoned, width)
        broader += reckoned / width
        # Every line has the height of a capital at least.
        higher += (above + below) / (max(height, 0.66 * size.value) + depth)
    assert broader / len(samples) < 1.06
    assert higher / len(samples) < 1.06


def test_lines_of_a_block_stand_apart() -> None:
    lines = (resistance("R1"), constant(Fraction(47), OHM))
    heights = [label_size(line, TextSize.NORMAL, Style())[1] for line in lines]
    width, height = block_size(lines, TextSize.NORMAL, Style())
    assert width == label_size(lines[1], TextSize.NORMAL, Style())[0]
    assert sum(heights) < height < sum(heights) * 1.3
