"""Breaking displayed equations into lines that fit.

Lines break at relations first, then at plus and minus outside parentheses, then at plus and minus
inside the parentheses of a factor that is too wide by itself. A writer says how it measures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from derive.document.model import Chain
from derive.typesetting.layout import (
    Bracket,
    Fence,
    Glyph,
    Lines,
    Operator,
    Over,
    Raised,
    Row,
    Sign,
    is_tall,
)
from derive.typesetting.style import Style
from derive.typesetting.terms import set_expression
from derive.writers.notation import set_relation

Measure = Callable[[Row], float]

_INSET, _INNER_INSET = 2.0, 1.0
"""How far lines after the first are set in: those of an equation, those inside a fraction."""
_TALL_FENCE = 1.4
"""Room that tall parentheses take, in em."""


@dataclass(frozen=True, slots=True)
class Line:
    """A piece of an equation that stands on one line."""

    row: Row
    continued: bool = False
    """True when it goes on inside a side, so that it is set further in."""


def relation_rows(chain: Chain, style: Style) -> tuple[Row, tuple[Row, ...]]:
    """Return the left side, and every other side with its relation in front."""
    left = set_expression(chain.sides[0], style)
    others = zip(chain.relations, chain.sides[1:], strict=True)
    return left, tuple((set_relation(r), *set_expression(side, style)) for r, side in others)


def break_right(sides: Sequence[Row], limit: float, indent: float, measure: Measure) -> list[Line]:
    """Break what follows the left side; each line is measured from the alignment point."""
    lines: list[Line] = []
    current: Row = ()
    for side in sides:
        if current and measure(current + side) > limit:
            lines.append(Line(current))
            current = ()
        if current or measure(side) <= limit:
            current += side
        else:
            broken = _fill(side, limit, indent, measure)
            lines.extend(broken)
    if current:
        lines.append(Line(current))
    return lines


def break_whole(
    left: Row, sides: Sequence[Row], limit: float, indent: float, measure: Measure
) -> list[Line]:
    """Break an equation whose left side may be long too; lines start at the left margin."""
    lines = _fill(left, limit, indent, measure)
    for side in sides:
        last = lines[-1]
        inset = indent if last.continued else 0.0
        if inset + measure(last.row + side) <= limit:
            lines[-1] = Line(last.row + side, last.continued)
        else:
            pieces = _fill(side, limit - indent, indent, measure)
            lines.extend(Line(piece.row, continued=True) for piece in pieces)
    return lines


def narrow(row: Row, limit: float, measure: Measure) -> Row:
    """Set numerators and denominators that are too wide for a line on several lines.

    So it is with fractions in parentheses, with or without an exponent: how much room one has
    depends on what stands beside it in its term.
    """
    if measure(row) <= limit:
        return row
    first, *others = _split(row)
    narrowed = [_narrow_term(first, limit, measure)]
    narrowed += [_narrow_term(term, limit - _INSET, measure) for term in others]
    return tuple(glyph for term in narrowed for glyph in term)


def _narrow_term(term: Row, limit: float, measure: Measure) -> Row:
    wide = [(measure((glyph,)), -k) for k, glyph in enumerate(term) if _is_divisible(glyph)]
    for width, place in sorted(wide, reverse=True):
        excess = measure(term) - limit
        if excess <= 0:
            break
        # Where several are wide, none of them can make room enough by itself.
        room = max(width - excess, limit / (len(wide) + 1))
        term = (*term[:-place], _narrow_glyph(term[-place], room, measure), *term[1 - place :])
    return term


def _is_divisible(glyph: Glyph) -> bool:
    match glyph:
        case Over() | Raised(Fence(), _):
            return True
        case Fence(inner):
            return is_tall(inner)
        case _:
            return False


def _narrow_glyph(glyph: Glyph, room: float, measure: Measure) -> Glyph:
    match glyph:
        case Over(numerator, denominator):
            inner = room - (measure((glyph,)) - max(measure(numerator), measure(denominator)))
            return Over(
                _several_lines(numerator, inner, measure),
                _several_lines(denominator, inner, measure),
            )
        case Fence(inside):
            return Fence(_several_lines(inside, room - _TALL_FENCE, measure))
        case Raised(Fence(inside) as base, exponent):
            beside = measure((glyph,)) - measure((base,))
            return Raised(
                Fence(_several_lines(inside, room - beside - _TALL_FENCE, measure)), exponent
            )
        case _:
            return glyph


def _several_lines(row: Row, limit: float, measure: Measure) -> Row:
    lines = _fill(narrow(row, limit, measure), limit, _INNER_INSET, measure)
    return lines[0].row if len(lines) == 1 else (Lines(tuple(line.row for line in lines)),)


def _fill(row: Row, limit: float, indent: float, measure: Measure) -> list[Line]:
    """Fill lines with the pieces of a row."""
    lines: list[Line] = []
    current: Row = ()
    for piece in _pieces(row, limit - indent, measure):
        inset = indent if lines else 0.0
        if current and inset + measure(current + piece) > limit:
            lines.append(Line(current, continued=bool(lines)))
            current = piece
        else:
            current += piece
    lines.append(Line(current, continued=bool(lines)))
    return lines


def _pieces(row: Row, limit: float, measure: Measure) -> list[Row]:
    pieces: list[Row] = []
    for term in _split(row):
        if measure(term) <= limit:
            pieces.append(term)
            continue
        opened = _open_widest(term, measure)
        # What is in parallel is cut last: it is one resistance.
        alone = opened == term
        pieces.extend(_split(term, _PARALLEL) if alone else _pieces(opened, limit, measure))
    return pieces


_BETWEEN_TERMS = frozenset([Sign.PLUS, Sign.MINUS])
_PARALLEL = frozenset([Sign.PARALLEL])


def _split(row: Row, signs: frozenset[Sign] = _BETWEEN_TERMS) -> list[Row]:
    """Cut a row before every one of some signs, which stand between terms."""
    pieces: list[list[Glyph]] = [[]]
    for glyph in row:
        if isinstance(glyph, Operator) and glyph.sign in signs and pieces[-1]:
            pieces.append([])
        pieces[-1].append(glyph)
    return [tuple(piece) for piece in pieces]


def _open_widest(row: Row, measure: Measure) -> Row:
    """Replace the widest parentheses by two that may stand on different lines."""
    fences = [(measure((glyph,)), -i) for i, glyph in enumerate(row) if isinstance(glyph, Fence)]
    if not fences:
        return row
    place = -max(fences)[1]
    fence = row[place]
    assert isinstance(fence, Fence)
    tall = is_tall(fence.inner)
    inner = (Bracket(True, tall), *fence.inner, Bracket(False, tall))
    return row[:place] + inner + row[place + 1 :]
