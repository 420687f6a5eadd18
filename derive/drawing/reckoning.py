"""How a label is set, and the room it takes then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from derive.analysis.letters import choose_scale
from derive.circuit.model import Circuit
from derive.drawing.model import (
    Anchor,
    Box,
    Label,
    LabelContent,
    LoopName,
    PlusSign,
    PointNames,
    Signed,
    Symbol,
    TextSize,
    Words,
)
from derive.typesetting.extent import AXIS, row_reach, row_width
from derive.typesetting.flat import flat
from derive.typesetting.layout import Comma, Gap, Glyph, Over, Prefix, Row, Sign, Word
from derive.typesetting.style import Style
from derive.typesetting.terms import set_expression, set_point, set_signed

POINT = 25.4 / 72.27
"""A point of type in millimetres."""
_BROADER = {TextSize.NORMAL: 1.0, TextSize.SMALL: 1.13}
"""Small type is cut broader for its size."""
_ROUND = 0.02
"""How far round letters reach below the line."""
_LEADING, _BETWEEN_LINES = 1.12, 0.2
"""From line to line, and the least that is free between them, in em."""
_CAPITAL = 0.7
"""Every line of text has room for a capital, so that lines of small letters stand like others."""


@lru_cache(maxsize=8)
def style_of(circuit: Circuit) -> Style:
    """Return how the quantities of a circuit are set, in its figures as in its text."""
    scale = choose_scale(circuit)
    return Style(
        circuit.looks.emf,
        circuit.looks.resistor,
        circuit.looks.decimal_comma,
        scale.volt_exponent,
        scale.ohm_exponent,
    )


def label_row(content: LabelContent, style: Style) -> Row:
    """Return a label as set mathematics; a fraction stands only at the outermost level."""
    match content:
        case PlusSign():
            return (Prefix(Sign.PLUS),)
        case LoopName(text) | Words(text):
            return (Word(text),)
        case Signed(term):
            return _outermost(set_signed(term, style))
        case PointNames(names):
            row: list[Glyph] = []
            for name in names:
                row += [Comma(), Gap()] if row else []
                row.append(set_point(name))
            return tuple(row)
        case _:
            return _outermost(set_expression(content, style))


def _outermost(row: Row) -> Row:
    glyphs: list[Glyph] = []
    for glyph in row:
        match glyph:
            case Over(numerator, denominator):
                glyphs.append(Over(flat(numerator), flat(denominator)))
            case _:
                glyphs.extend(flat((glyph,)))
    return tuple(glyphs)


def label_reach(content: LabelContent, style: Style) -> tuple[float, float]:
    """Return how far a label reaches above its line and below it, in em of its size."""
    row = label_row(content, style)
    above, below = row_reach(row)
    if isinstance(content, PlusSign):
        return above, below
    if any(isinstance(glyph, Over) for glyph in row):
        # Its bar stands half way up.
        half = max(above - AXIS, below + AXIS)
        return half + AXIS, half - AXIS
    return max(above, _CAPITAL), max(below, _ROUND)


@lru_cache(maxsize=2048)
def label_size(content: LabelContent, size: TextSize, style: Style) -> tuple[float, float]:
    """Return width and height of a label in millimetres."""
    em = size.value * POINT
    return row_width(label_row(content, style)) * em * _BROADER[size], sum(
        label_reach(content, style)
    ) * em


@dataclass(frozen=True, slots=True)
class SetLine:
    """A line of a block of text."""

    middle: float
    """How far half its height lies below the top of the block."""
    width: float
    height: float


@lru_cache(maxsize=2048)
def set_lines(lines: tuple[LabelContent, ...], size: TextSize, style: Style) -> tuple[SetLine, ...]:
    """Return how lines of text stand below each other, as regularly as their heights allow."""
    em = size.value * POINT
    found: list[SetLine] = []
    base = below = 0.0
    for k, line in enumerate(lines):
        above, deep = label_reach(line, style)
        base += max(_LEADING, below + _BETWEEN_LINES + above) if k else above
        below = deep
        width, height = label_size(line, size, style)
        found.append(SetLine((base - (above - deep) / 2) * em, width, height))
    return tuple(found)


def letter_in(symbol: Symbol, size: TextSize) -> Iterator[Label]:
    """Yield the letter that stands upright in the circle of an instrument, if it is one."""
    if symbol.shape.letter:
        content = Words(symbol.shape.letter)
        width, height = label_size(content, size, Style())
        at = symbol.centre
        box = Box(at.x - width / 2, at.y - height / 2, at.x + width / 2, at.y + height / 2)
        yield Label(content, at, Anchor.CENTRE, size, box, symbol.emphasis)


def block_size(
    lines: tuple[LabelContent, ...], size: TextSize, style: Style
) -> tuple[float, float]:
    """Return width and height of lines of text that stand below each other."""
    found = set_lines(lines, size, style)
    if not found:
        return 0.0, 0.0
    return max(line.width for line in found), found[-1].middle + found[-1].height / 2
