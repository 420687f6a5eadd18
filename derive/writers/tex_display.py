"""Displayed equations in TeX: aligned at their relations, broken to fit, tagged by our numbers."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from derive.document.model import Chain, Display, Row
from derive.typesetting.layout import Operator
from derive.typesetting.style import Style
from derive.writers.breaking import Line
from derive.writers.display_plan import Planned, plan
from derive.writers.tex_inline import inlines
from derive.writers.tex_math import tex

_NOTE = r"&\tag*"
"""How a line begins that holds nothing but a source."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Where mathematics is set: the author's taste and the width of a line in em."""

    style: Style
    width: float


def display(block: Display, measure: Measure) -> str:
    """Return a display environment, numbers and sources at the right margin."""
    planned = plan(block.rows, measure.style, measure.width)
    if planned.aligned:
        lines = [line for item in planned.rows for line in _aligned_row(item, measure.style)]
        return f"\\begin{{align*}}\n{_joined(lines)}\n\\end{{align*}}"
    stacked = "\\\\[6pt]\n".join(_stacked_row(item, measure.style) for item in planned.rows)
    return f"\\begin{{gather*}}\n{stacked}\n\\end{{gather*}}"


def centred(chains: tuple[Chain, ...], measure: Measure) -> str:
    """Return untagged equations as one centred block that is part of a line of text."""
    planned = plan(tuple(map(Row, chains)), measure.style, measure.width)
    if planned.aligned:
        return _in_text(_joined([line for item in planned.rows for line in _lines(item)]))
    return "\\\\[6pt]\n".join(_in_text(_stacked_lines(item)) for item in planned.rows)


def _aligned_row(item: Planned, style: Style) -> list[str]:
    lines = _lines(item)
    lines[-1] += _tag(item, style)
    return [*lines, f"&{_note(item, style)}"] if item.below else lines


def _stacked_row(item: Planned, style: Style) -> str:
    note = f"\\\\*\n{_note(item, style)}" if item.below else ""
    return _stacked_lines(item) + _tag(item, style) + note


def _stacked_lines(item: Planned) -> str:
    lines = _lines(item)
    if len(lines) == 1:
        return lines[0].replace("&", "", 1)
    return f"\\begin{{aligned}}[b]\n{_joined(lines)}\n\\end{{aligned}}"


def _lines(item: Planned) -> list[str]:
    lines = ["&" + _line(line) for line in item.lines]
    lines[0] = tex(item.left) + lines[0]
    return lines


def _tag(item: Planned, style: Style) -> str:
    number = "" if item.row.number is None else f"({item.row.number})"
    if not item.row.source or item.below:
        return rf"\tag*{{{number}}}" if number else ""
    space = r"\quad " if number else ""
    return rf"\tag*{{{_source(item, style)}{space}{number}}}"


def _note(item: Planned, style: Style) -> str:
    return rf"\tag*{{{_source(item, style)}}}"


def _source(item: Planned, style: Style) -> str:
    return rf"\lwsource{{{inlines(item.row.source, style)}}}"


def _line(line: Line) -> str:
    # Empty braces: a sign at the start of a line keeps the spaces of a binary operator.
    lead = r"\qquad{}" if line.continued else ""
    starts = bool(line.row) and isinstance(line.row[0], Operator)
    return lead + ("{}" if starts and not lead else "") + tex(line.row)


def _joined(lines: list[str]) -> str:
    """Return lines one under the other, a little apart where a fraction is tall.

    A source on a line of its own belongs to what is above it, not to what is below.
    """
    body = lines[0]
    for above, line in pairwise(lines):
        if line.startswith(_NOTE):
            end = "\\\\*"
        else:
            tall = r"\frac" in above + line or above.startswith(_NOTE)
            end = "\\\\[4pt]" if tall else "\\\\"
        body += f"{end}\n{line}"
    return body


def _in_text(body: str) -> str:
    if body.startswith(r"\begin{aligned}") or "&" not in body:
        return rf"$\displaystyle {body}$"
    return f"$\\displaystyle\\begin{{aligned}}\n{body}\n\\end{{aligned}}$"
