"""Displayed equations in HTML: one row each, aligned at the first relation.

Every side is a formula of its own, so that a narrow page can put it on the next line. A side wider
than the text is broken as it is in TeX, and what is still too wide scrolls by itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from derive.document.model import Chain, Display, Row
from derive.typesetting import layout
from derive.typesetting.extent import row_width
from derive.typesetting.style import Style
from derive.writers import mathml
from derive.writers.breaking import break_right, narrow, relation_rows
from derive.writers.html_inline import inlines
from derive.writers.html_marking import Marking
from derive.writers.tex_inline import inlines_width

_INDENT = 2.0
"""How far a continued line is set in, in em."""
_SLACK = 0.3
"""Room that is kept free, as fonts of the web differ."""
_LEFT_SHARE = 0.4
"""Widest left side, as a part of the line, that others are aligned with."""
_MARGIN, _TAG_GAP, _SMALL = 1.6, 1.2, 0.82
"""Room before an equation and before a tag, in em; the size of a source. As in the style sheet."""
_LONGEST_SOURCE = 13.0
"""Em of a source that still stands beside its equation."""
_PHONE, _NUMBER = 14.0, 2.0
"""Em that a narrow screen has room for, and a number takes; what is wider can be scrolled with the
keys."""


@dataclass(frozen=True, slots=True)
class Measure:
    """Where mathematics is set: the author's taste, the width of a line in em, what follows."""

    style: Style
    width: float
    marking: Marking


def display(block: Display, measure: Measure) -> str:
    """Return equations one under the other, sources and numbers at the right margin."""
    room = measure.width - _MARGIN - max((_tag(row, measure) for row in block.rows), default=0.0)
    inner = replace(measure, width=room)
    lefts = [row_width(relation_rows(row.chain, measure.style)[0]) for row in block.rows]
    left = max((width for width in lefts if width <= _LEFT_SHARE * room), default=0.0)
    rows = "\n".join(_row(row, left, inner) for row in block.rows)
    return f'<div class="display">\n{rows}\n</div>'


def _tag(row: Row, measure: Measure) -> float:
    """Return the room at the right margin that a source and a number take."""
    number = 0.0 if row.number is None else 0.5 * len(str(row.number)) + 0.8 + _TAG_GAP
    source = _source_width(row, measure)
    return number + (source + _TAG_GAP if 0 < source <= _LONGEST_SOURCE else 0.0)


def _source_width(row: Row, measure: Measure) -> float:
    return _SMALL * inlines_width(row.source, measure.style)


def flowing(chain: Chain, measure: Measure) -> str:
    """Return a chain whose sides may stand on several lines."""
    live = measure.marking.attributes(chain)
    left, others = relation_rows(chain, measure.style)
    scroll = _scroll("Equation") if max(map(row_width, (left, *others))) > _PHONE else ""
    sides = "".join(map(_joined, _sides(chain, measure)))
    return f'<span class="chain"{live}{scroll}>{sides}</span>'


def _row(row: Row, aligned: float, measure: Measure) -> str:
    left, _ = relation_rows(row.chain, measure.style)
    whole = row_width(left) > _LEFT_SHARE * measure.width
    beside = measure if whole else replace(measure, width=measure.width - aligned)
    first, *others = _sides(row.chain, beside)
    scroll = _scrolling(row, measure)
    if whole:
        # What follows a left side on several lines stands beside its last one.
        lines = [[piece] for piece in first]
        for side in others:
            lines[-1].append(side[0] if len(side) == 1 else _joined(side))
        told = f'<div class="whole"{scroll}>{_joined(["".join(line) for line in lines])}</div>'
    else:
        right = "".join(map(_joined, others))
        told = f'<div class="left">{_joined(first)}</div><div class="right"{scroll}>{right}</div>'
    source = inlines(row.source, measure.style)
    long = " long" if _source_width(row, measure) > _LONGEST_SOURCE else ""
    told += f'<div class="source{long}">{source}</div>' if source else ""
    told += "" if row.number is None else f'<div class="number">({row.number})</div>'
    return f'<div class="equation"{measure.marking.attributes(row.chain)}>{told}</div>'


def _joined(pieces: list[str]) -> str:
    """Return pieces one under the other."""
    if len(pieces) == 1:
        return pieces[0]
    lines = "".join(f'<span class="line">{piece}</span>' for piece in pieces)
    return f'<span class="lines">{lines}</span>'


def _scrolling(row: Row, measure: Measure) -> str:
    """Return what lets the keyboard scroll an equation that is wide on a narrow screen."""
    left, sides = relation_rows(row.chain, measure.style)
    widest = max(map(row_width, sides), default=0.0)
    whole = row_width(left) > _LEFT_SHARE * measure.width
    beside = max(row_width(left), widest) if whole else row_width(left) + widest
    name = "Equation" if row.number is None else f"Equation {row.number}"
    return _scroll(name) if beside + (_NUMBER if row.number else 0) > _PHONE else ""


def _scroll(name: str) -> str:
    return f' tabindex="0" role="group" aria-label="{name}"'


def _sides(chain: Chain, measure: Measure) -> list[list[str]]:
    left, others = relation_rows(chain, measure.style)
    return [_side(k, row, measure) for k, row in enumerate((left, *others))]


def _side(place: int, row: layout.Row, measure: Measure) -> list[str]:
    """Return one side in pieces: a long one stands on several lines."""
    room = measure.width - _SLACK
    side = f' data-side="{place}"' if measure.marking.is_live else ""
    if row_width(row) <= room:
        return [_piece(row, side)]
    lines = break_right((narrow(row, room, row_width),), room, _INDENT, row_width)
    return [
        _piece(line.row, side + (' class="continued"' if line.continued else "")) for line in lines
    ]


def _piece(row: layout.Row, attributes: str) -> str:
    return f'<math displaystyle="true"{attributes}>{mathml.spell(row)}</math>'
