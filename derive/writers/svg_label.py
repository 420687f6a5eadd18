"""Labels in SVG: each run of type at its reckoned place, fractions piece by piece."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from derive.drawing.model import Anchor, Label, Point
from derive.drawing.reckoning import label_reach, label_row
from derive.typesetting.extent import glyph_width, row_width
from derive.typesetting.layout import Over, Row
from derive.typesetting.style import Style
from derive.writers.outlines import label_colour
from derive.writers.svg_spelling import POINT, colour, escape, number, path_data
from derive.writers.svg_text import Face, Run, runs

_SCRIPT_FONTS = (
    "'Latin Modern Math','New Computer Modern Math','STIX Two Math','Cambria Math',"
    "'DejaVu Sans',serif"
)
"""Fonts with the script capitals of Unicode."""

_SMALLER = 0.7
"""Size of sub- and superscripts."""
_LOWER, _HIGHER = 0.17, 0.36
"""How far they stand below and above the line, in em."""
_AXIS = 0.25
"""From the baseline to a fraction's bar, in em."""
_NUMERATOR, _DENOMINATOR = 0.43, -0.94
"""From the bar to the baselines above and below it, in em."""


def label_text(label: Label, style: Style) -> str:
    """Return a label as text that can be selected."""
    row = label_row(label.content, style)
    em = label.size.value * POINT
    ink = colour(label_colour(label))
    above, below = label_reach(label.content, style)
    baseline = label.at.y - (above - below) / 2 * em
    if not any(isinstance(glyph, Over) for glyph in row):
        return _text(row, Point(_left(row, label), baseline), em, ink)
    return _with_fractions(row, label, baseline, ink)


def _with_fractions(row: Row, label: Label, baseline: float, ink: str) -> str:
    """Set a row with fractions piece by piece, each at its reckoned place."""
    em = label.size.value * POINT
    x, bar = _left(row, label), baseline + _AXIS * em
    pieces: list[str] = []
    for is_fraction, group in groupby(row, lambda glyph: isinstance(glyph, Over)):
        glyphs = tuple(group)
        if not is_fraction:
            pieces.append(_text(glyphs, Point(x, baseline), em, ink))
        for glyph in glyphs:
            if isinstance(glyph, Over):
                pieces += _fraction(glyph, Point(x, bar), em, ink)
            x += glyph_width(glyph) * em
    return f"<g>{''.join(pieces)}</g>"


def _fraction(fraction: Over, at: Point, em: float, ink: str) -> Iterator[str]:
    width = glyph_width(fraction) * em
    for part, rise in ((fraction.numerator, _NUMERATOR), (fraction.denominator, _DENOMINATOR)):
        start = at.x + (width - row_width(part) * em) / 2
        yield _text(part, Point(start, at.y + rise * em), em, ink)
    line = path_data([Point(at.x + 0.06 * em, at.y), Point(at.x + width - 0.06 * em, at.y)])
    yield f'<path d="{line}" stroke="{ink}" stroke-width="{number(0.04 * em)}"/>'


def _left(row: Row, label: Label) -> float:
    """Return where a row begins: the font that is found must not choose that."""
    share = {Anchor.LEFT: 0.0, Anchor.CENTRE: 0.5, Anchor.RIGHT: 1.0}[label.anchor]
    return label.at.x - share * row_width(row) * label.size.value * POINT


def _text(row: Row, at: Point, em: float, ink: str) -> str:
    """Return a text whose runs stand at their own places; a plain run alone needs no span."""
    spelled = runs(row)
    common = f'font-size="{number(em)}" fill="{ink}"'
    if len(spelled) == 1 and not spelled[0].level:
        return f"<text {_run(spelled[0], at, em)} {common}>{escape(spelled[0].text)}</text>"
    spans = (f"<tspan {_run(run, at, em)}>{escape(run.text)}</tspan>" for run in spelled)
    return f"<text {common}>{''.join(spans)}</text>"


def _run(run: Run, at: Point, em: float) -> str:
    x, y = at.x + run.at * em, at.y - _drop(run.level) * em
    attributes = [f'x="{number(x)}" y="{number(-y)}"']
    if run.level:
        attributes.append(f'font-size="{number(_SMALLER * em)}"')
    match run.face:
        case Face.ITALIC:
            attributes.append('font-style="italic"')
        case Face.SCRIPT:
            attributes.append(f'font-family="{_SCRIPT_FONTS}"')
        case Face.UPRIGHT:
            pass
    return " ".join(attributes)


def _drop(level: int) -> float:
    return _LOWER if level < 0 else -_HIGHER if level > 0 else 0.0
