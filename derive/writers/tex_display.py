"""Displayed equations in TeX: aligned at their relations, broken to fit, tagged by our numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from derive.document.model import Chain, Display, Row
from derive.typesetting.extent import row_width
from derive.typesetting.layout import Operator
from derive.typesetting.style import Style
from derive.writers.breaking import Line, break_right, break_whole, narrow, relation_rows
from derive.writers.tex_inline import inlines, inlines_width
from derive.writers.tex_math import tex

_INDENT = 2.0
"""How far a continued line is set in, in em (a \\qquad)."""
_TAG_GAP = 1.5
"""Least space between an equation and what stands at the right margin, in em."""
_LEFT_SHARE = 0.45
"""Widest left side, as a part of the line, that others may be aligned with."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Where mathematics is set: the author's taste and the width of a line in em."""

    style: Style
    width: float


def display(block: Display, measure: Measure) -> str:
    """Return a display environment, numbers and sources at the right margin."""
    rows = [_tagged(row, measure) for row in block.rows]
    if _can_align(rows, measure):
        lines = [line for row in rows for line in _aligned_row(row, rows, measure)]
        return f"\\begin{{align*}}\n{_joined(lines)}\n\\end{{align*}}"
    stacked = "\\\\[6pt]\n".join(_stacked_row(row, measure) for row in rows)
    return f"\\begin{{gather*}}\n{stacked}\n\\end{{gather*}}"


def centred(chains: tuple[Chain, ...], measure: Measure) -> str:
    """Return untagged equations as one centred block that is part of a line of text."""
    rows = [_Tagged(Row(chain)) for chain in chains]
    if _can_align(rows, measure):
        lines = [line for row in rows for line in _aligned_row(row, rows, measure)]
        return _in_text(_joined(lines))
    return "\\\\[6pt]\n".join(_in_text(_stacked_lines(row, measure)) for row in rows)


@dataclass(frozen=True, slots=True)
class _Tagged:
    row: Row
    tag: str = ""
    tag_width: float = 0.0
    lead: str = ""
    """A source too long for the margin: it gets a line of its own."""


def _tagged(row: Row, measure: Measure) -> _Tagged:
    number = "" if row.number is None else f"({row.number})"
    number_width = 0.5 * len(number) + (_TAG_GAP if number else 0.0)
    if not row.source:
        tag = rf"\tag*{{{number}}}" if number else ""
        return _Tagged(row, tag, number_width)
    source = rf"\lwsource{{{inlines(row.source, measure.style)}}}"
    source_width = 0.8 * inlines_width(row.source, measure.style)
    space = r"\quad " if number else ""
    tagged = _Tagged(
        row, rf"\tag*{{{source}{space}{number}}}", number_width + source_width + _TAG_GAP
    )
    left, sides = relation_rows(row.chain, measure.style)
    whole = row_width(left) + sum(map(row_width, sides))
    if tagged.tag_width <= 0.3 * measure.width or whole + tagged.tag_width <= measure.width:
        return tagged
    bare = _tagged(replace(row, source=()), measure)
    return replace(bare, row=row, lead=rf"\tag*{{{source}}}")


def _can_align(rows: list[_Tagged], measure: Measure) -> bool:
    left = _widest_left(rows, measure)
    return left <= _LEFT_SHARE * measure.width or all(
        left + _right_width(row, measure) + row.tag_width <= measure.width for row in rows
    )


def _widest_left(rows: list[_Tagged], measure: Measure) -> float:
    return max(row_width(relation_rows(r.row.chain, measure.style)[0]) for r in rows)


def _right_width(tagged: _Tagged, measure: Measure) -> float:
    return sum(map(row_width, relation_rows(tagged.row.chain, measure.style)[1]))


def _aligned_row(tagged: _Tagged, rows: list[_Tagged], measure: Measure) -> list[str]:
    left, sides = relation_rows(tagged.row.chain, measure.style)
    room = measure.width - _widest_left(rows, measure) - tagged.tag_width
    fitting = [narrow(side, room, row_width) for side in sides]
    broken = break_right(fitting, room, _INDENT, row_width) or [Line(())]
    lines = ["&" + _line(line) for line in broken]
    lines[0] = tex(left) + lines[0]
    lines[-1] += tagged.tag
    return [f"&{tagged.lead}", *lines] if tagged.lead else lines


def _stacked_row(tagged: _Tagged, measure: Measure) -> str:
    lead = f"{tagged.lead}\\\\\n" if tagged.lead else ""
    return lead + _stacked_lines(tagged, measure) + tagged.tag


def _stacked_lines(tagged: _Tagged, measure: Measure) -> str:
    left, sides = relation_rows(tagged.row.chain, measure.style)
    room = measure.width - tagged.tag_width
    if row_width(left) <= _LEFT_SHARE * measure.width:
        lines = _aligned_row(replace(tagged, tag="", lead=""), [tagged], measure)
    else:
        fitting = [narrow(side, room, row_width) for side in sides]
        broken = break_whole(left, fitting, room, _INDENT, row_width)
        lines = ["&" + _line(line) for line in broken]
    if len(lines) == 1:
        return lines[0].replace("&", "", 1)
    return f"\\begin{{aligned}}[b]\n{_joined(lines)}\n\\end{{aligned}}"


def _line(line: Line) -> str:
    # Empty braces: a sign at the start of a line keeps the spaces of a binary operator.
    lead = r"\qquad{}" if line.continued else ""
    starts = bool(line.row) and isinstance(line.row[0], Operator)
    return lead + ("{}" if starts and not lead else "") + tex(line.row)


def _joined(lines: list[str]) -> str:
    """Return lines one under the other, a little apart where a fraction is tall."""
    body = lines[0]
    for above, line in pairwise(lines):
        body += ("\\\\[4pt]\n" if r"\frac" in above + line else "\\\\\n") + line
    return body


def _in_text(body: str) -> str:
    if body.startswith(r"\begin{aligned}") or "&" not in body:
        return rf"$\displaystyle {body}$"
    return f"$\\displaystyle\\begin{{aligned}}\n{body}\n\\end{{aligned}}$"
