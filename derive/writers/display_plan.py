"""How displayed equations are laid out, free of any output format.

Which equations are aligned with each other, where each is broken into lines, and whether its
source still fits at the right margin beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from derive.document.model import Row
from derive.typesetting import layout
from derive.typesetting.extent import row_width
from derive.typesetting.style import Style
from derive.writers.breaking import Line, break_right, break_whole, narrow, relation_rows
from derive.writers.tex_inline import inlines_width

INDENT = 2.0
"""How far a continued line is set in, in em."""
_TAG_GAP = 1.5
"""Least space between an equation and what stands at the right margin, in em."""
_LEFT_SHARE = 0.45
"""Widest left side, as a part of the line, that others may be aligned with."""
_SMALL = 0.8
"""Width of the small type of sources against the running text."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One displayed equation in lines."""

    row: Row
    left: layout.Row
    """Its left side; empty where that is too long to align anything with, and is in the lines."""
    lines: tuple[Line, ...]
    below: bool
    """True when the source is too long for the margin: it gets a line of its own, below."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Displayed equations, one below the other."""

    rows: tuple[Planned, ...]
    aligned: bool
    """True when all are aligned at their relations; each stands for itself otherwise."""


def plan(rows: tuple[Row, ...], style: Style, width: float) -> Plan:
    """Lay out equations in a line of a width in em."""
    measured = [_measured(row, style, width) for row in rows]
    column = max(row_width(item.left) for item in measured)
    aligned = column <= _LEFT_SHARE * width or all(
        column + sum(map(row_width, item.sides)) + item.tag <= width for item in measured
    )
    if aligned:
        return Plan(tuple(_at_relation(item, width - column - item.tag) for item in measured), True)
    return Plan(tuple(_alone(item, width) for item in measured), False)


@dataclass(frozen=True, slots=True)
class _Measured:
    row: Row
    left: layout.Row
    sides: tuple[layout.Row, ...]
    tag: float = 0.0
    """Room for what stands at the right margin, in em."""
    below: bool = False


def _measured(row: Row, style: Style, width: float) -> _Measured:
    left, sides = relation_rows(row.chain, style)
    bare = _Measured(row, left, sides)
    if row.number is not None:
        bare = replace(bare, tag=0.5 * (len(str(row.number)) + 2) + _TAG_GAP)
    if not row.source:
        return bare
    tag = bare.tag + _SMALL * inlines_width(row.source, style) + _TAG_GAP
    whole = row_width(left) + sum(map(row_width, sides))
    if tag <= 0.3 * width or whole + tag <= width:
        return replace(bare, tag=tag)
    return replace(bare, below=True)


def _at_relation(item: _Measured, room: float) -> Planned:
    fitting = [narrow(side, room, row_width) for side in item.sides]
    broken = break_right(fitting, room, INDENT, row_width) or [Line(())]
    return Planned(item.row, item.left, tuple(broken), item.below)


def _alone(item: _Measured, width: float) -> Planned:
    left = row_width(item.left)
    if left <= _LEFT_SHARE * width:
        return _at_relation(item, width - left - item.tag)
    room = width - item.tag
    fitting = [narrow(side, room, row_width) for side in item.sides]
    broken = break_whole(item.left, fitting, room, INDENT, row_width)
    return Planned(item.row, (), tuple(broken), item.below)
