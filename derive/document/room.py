"""Whether blocks find room in half of a line, by estimates of what they take."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import assert_never

from derive.document.model import (
    AnswerLine,
    Block,
    Box,
    Caution,
    Chain,
    Display,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    PointPath,
    Reference,
    Row,
    SideBySide,
    SignedTerm,
    Strong,
    Table,
    Text,
    Values,
)
from derive.typesetting import layout
from derive.typesetting.extent import row_reach, row_width
from derive.typesetting.style import Expression, Style
from derive.typesetting.terms import set_expression, set_point, set_signed

_HALF = 20.3
"""Half of a line, in em of the running text."""
_HALF_MM = 80.0
"""The same in millimetres, for figures."""
_TALLEST = 32
"""Lines of a column, which is not divided between pages: longer ones would tear holes into them."""
_LETTER, _BOX, _CELL, _TAG = 0.47, 2.0, 1.1, 2.6
"""In em: a letter of text, the frame of a box, the gap between columns, a number at the margin."""
_DASH = 0.9
"""In em, what stands between two points of a walk, at the most."""
_LINE_MM, _DISPLAY, _FRACTION = 4.8, 1.4, 1.9
"""A line in millimetres; in lines, the space about a display, and an equation with a fraction."""


def stacked(blocks: tuple[Block, ...]) -> Iterator[Block]:
    """Yield blocks one below the other that would stand side by side."""
    for block in blocks:
        if isinstance(block, SideBySide):
            yield from stacked((*block.left, *block.right))
        else:
            yield block


def fits_half(blocks: tuple[Block, ...], style: Style) -> bool:
    """Tell whether blocks can stand in half a line, with no side of an equation broken."""
    low = sum(_lines(block, style) for block in blocks) <= _TALLEST
    return low and all(_width(block, style) <= _HALF for block in blocks)


def _width(block: Block, style: Style) -> float:
    """Return the least width of a block, in em."""
    match block:
        case Paragraph() | Caution():
            return 0.0
        case Display(rows):
            return max(_row_width(row, style) for row in rows)
        case Values(chains) | AnswerLine(chains):
            return max((_chain_width(chain, style) for chain in chains), default=0.0)
        case Table(header, rows):
            columns = zip(header, *rows, strict=True)
            widths = [max(_inlines_width(cell, style) for cell in column) for column in columns]
            return sum(widths) + _CELL * (len(widths) - 1)
        case Figure(drawing):
            return _HALF * drawing.width / _HALF_MM
        case Box(_, _, inner):
            return _BOX + max((_width(part, style) for part in inner), default=0.0)
        case SideBySide():
            return max(_width(part, style) for part in stacked((block,)))
        case _:
            assert_never(block)


def _row_width(row: Row, style: Style) -> float:
    tag = _TAG if row.number is not None else 0.0
    source = _inlines_width(row.source, style) + _CELL if row.source else 0.0
    return _chain_width(row.chain, style) + tag + source


def _chain_width(chain: Chain, style: Style) -> float:
    """Return the width of a chain that is broken at its relations alone."""
    left, *others = (set_expression(side, style) for side in chain.sides)
    relation = row_width((layout.Operator(layout.Sign.EQUAL),))
    return row_width(left) + relation + max(map(row_width, others))


def _lines(block: Block, style: Style) -> float:
    """Return how many lines of text are about as high as a block in half a line."""
    match block:
        case Paragraph(inlines) | Caution(inlines):
            return ceil(_inlines_width(inlines, style) / _HALF) + 0.4
        case Display(rows):
            return _DISPLAY + sum(_chain_lines(row.chain, style) for row in rows)
        case Values(chains) | AnswerLine(chains):
            return sum(_chain_lines(chain, style) for chain in chains)
        case Table(_, rows):
            return len(rows) + 2.5
        case Figure(drawing, caption):
            return drawing.height / _LINE_MM + 1 + bool(caption)
        case Box(_, title, inner):
            return 2.5 + bool(title) + sum(_lines(part, style) for part in inner)
        case SideBySide():
            return sum(_lines(part, style) for part in stacked((block,)))
        case _:
            assert_never(block)


def _chain_lines(chain: Chain, style: Style) -> float:
    """Return the lines of a chain that is broken where the next side finds no room."""
    left, *others = (set_expression(side, style) for side in chain.sides)
    tall = any(sum(row_reach(row)) > _FRACTION for row in (left, *others))
    room = _HALF - row_width(left)
    lines, used = 1, 0.0
    for side in others:
        width = row_width((layout.Operator(layout.Sign.EQUAL), *side))
        if used and used + width > room:
            lines, used = lines + 1, 0.0
        used += width
    return lines * (_FRACTION if tall else 1.1)


def _inlines_width(inlines: tuple[Inline, ...], style: Style) -> float:
    return sum(_inline_width(item, style) for item in inlines)


def _inline_width(item: Inline, style: Style) -> float:
    match item:
        case Text(text):
            return _LETTER * len(text)
        case Strong(inner):
            return _inlines_width(inner, style)
        case SignedTerm(term):
            return row_width(set_signed(term, style))
        case Reference():
            return 3 * _LETTER
        case Math(Chain() as chain):
            sides = [row_width(set_expression(side, style)) for side in chain.sides]
            return sum(sides) + 1.3 * (len(sides) - 1)
        case Math(PointName(name)):
            return row_width((set_point(name),))
        case Math(PointPath(points)):
            return sum(row_width((set_point(point),)) + _DASH for point in points)
        case Math(content):
            assert isinstance(content, Expression)
            return row_width(set_expression(content, style))
        case _:
            assert_never(item)
