"""How much of the line each of two columns gets, free of any output format."""

from __future__ import annotations

from fractions import Fraction

from derive.document.model import Align, Block, Figure, Inline, SideBySide, Table, Text
from derive.typesetting.glyphs import UPRIGHT
from derive.typesetting.style import Style
from derive.writers.tex_inline import inlines_width

GUTTER = Fraction(3, 100)
"""Space between two columns, as a part of the line."""
_SMALL = 10 / 10.95
"""Size of the type of tables against the running text."""
_SPACE = 0.33
"""Width of a space, and of a comma at the most, in em."""
_GAP = 1.1
"""Space between two columns of a table, in em."""
_WRAPPED = 7.0
"""Least width of a column of a table whose text may wrap, in em."""
_SMALLEST = 0.85
"""Size of a figure that is made smaller for the table beside it, at the least."""
_EM_MM = 3.85
"""An em of the running text in millimetres."""


def shares(block: SideBySide, style: Style, width: float) -> tuple[Fraction, Fraction] | None:
    """Return the parts of the line that the columns get; None where they stand one below the other.

    A table is never narrowed: a column that is too narrow for one gets what the figure beside it
    can spare.
    """
    left, right = (_needed(column, style) for column in (block.left, block.right))
    gutter = float(GUTTER) * width
    own = float(block.left_share) * width - gutter / 2
    if left <= own and right <= width - own - gutter:
        return _parts(block.left_share)
    wanted = max(left, _drawn(block.left)), max(right, _drawn(block.right))
    if sum(wanted) + gutter > width:
        return None
    spare = width - gutter - sum(wanted)
    return _parts(Fraction(round((wanted[0] + (spare + gutter) / 2) / width * 100), 100))


def one_below_the_other(block: SideBySide) -> tuple[Block, ...]:
    """Return the blocks of both columns; a figure comes next to the table that it shows."""
    if block.left and isinstance(block.left[0], Table):
        return (block.left[0], *block.right, *block.left[1:])
    return (*block.left, *block.right)


def table_width(table: Table, style: Style) -> float:
    """Return the least width of a table, in em of the running text."""
    columns = zip(table.columns, zip(table.header, *table.rows, strict=True), strict=True)
    widths = [
        _WRAPPED if align is Align.STRETCH else max(_cell_width(cell, style) for cell in cells)
        for align, cells in columns
    ]
    return _SMALL * sum(widths) + _GAP * (len(widths) - 1)


def _cell_width(cell: tuple[Inline, ...], style: Style) -> float:
    """Return the width of a cell letter by letter: a table is only as wide as its widest words."""
    return sum(
        sum(UPRIGHT.get(letter, _SPACE) for letter in item.text)
        if isinstance(item, Text)
        else inlines_width((item,), style)
        for item in cell
    )


def _parts(left: Fraction) -> tuple[Fraction, Fraction]:
    return left - GUTTER / 2, 1 - left - GUTTER / 2


def _needed(column: tuple[Block, ...], style: Style) -> float:
    tables = (block for block in column if isinstance(block, Table))
    return max((table_width(table, style) for table in tables), default=0.0)


def _drawn(column: tuple[Block, ...]) -> float:
    figures = (block for block in column if isinstance(block, Figure))
    return max((_SMALLEST * figure.drawing.width / _EM_MM for figure in figures), default=0.0)
