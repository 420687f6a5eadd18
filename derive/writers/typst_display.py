"""Displayed equations in Typst: aligned at their relations, broken to fit, tagged by our numbers.

How wide the sides are is known only when they are set, so the page itself reckons where the
relations stand: see `display` in `typst_page`.
"""

from __future__ import annotations

from derive.document.model import Display, Row
from derive.typesetting.layout import is_tall
from derive.typesetting.style import Style
from derive.writers.breaking import Line
from derive.writers.display_plan import Planned, plan
from derive.writers.notation import set_chain
from derive.writers.typst_inline import inlines
from derive.writers.typst_math import mathematics, spoken


def display(block: Display, style: Style, width: float, *, flush: bool = False) -> str:
    """Return displayed equations, numbers and sources at the right margin.

    They stand in the middle of the line, or `flush` with its start.
    """
    planned = plan(block.rows, style, width)
    rows = ",\n".join(f"  {_row(item, style)}" for item in planned.rows)
    aligned = "true" if planned.aligned else "false"
    begins = ", flush: true" if flush else ""
    return f"#display(aligned: {aligned}{begins}, (\n{rows},\n))"


def _row(item: Planned, style: Style) -> str:
    fields = [
        f"says: {spoken(set_chain(item.row.chain, style))}",
        f"left: ${mathematics(item.left)}$",
        f"lines: ({', '.join(_line(line) for line in item.lines)},)",
    ]
    if any(is_tall(line.row) for line in item.lines):
        fields.append("tall: true")
    if item.below:
        fields.append(f"note: {_source(item.row, style)}")
    if tag := _tag(item, style):
        fields.append(f"tag: [{tag}]")
    return f"({', '.join(fields)})"


def _line(line: Line) -> str:
    indent = "quad quad " if line.continued else ""
    return f"${indent}{mathematics(line.row)}$"


def _tag(item: Planned, style: Style) -> str:
    pieces = []
    if item.row.source and not item.below:
        pieces.append(f"#{_source(item.row, style)}")
    if item.row.number is not None:
        pieces.append(f'#"({item.row.number})"')
    return "#h(1em)".join(pieces)


def _source(row: Row, style: Style) -> str:
    return f"source[{inlines(row.source, style)}]"
