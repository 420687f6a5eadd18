"""How much room set mathematics takes, in em of the running text, in display style.

Line breaks are chosen by the widths, and figures keep the whole room of a label free; an error of
some per cent does no harm (`tests/writers/test_layout_width.py` measures it against TeX).
"""

from __future__ import annotations

from typing import assert_never

from derive.typesetting.glyphs import ITALIC, LEAN, UPRIGHT, depth, height
from derive.typesetting.layout import (
    Bracket,
    Comma,
    Fence,
    Figures,
    Gap,
    Glyph,
    Implied,
    Letter,
    Lines,
    NaturalPower,
    Operator,
    Over,
    Prefix,
    Raised,
    Row,
    Sign,
    Units,
    Word,
    is_tall,
)

DIGIT = 0.50
THIN = 0.17
_INSET = 1.0
"""How far lines after the first are set in within a formula."""
_SCRIPT = 0.79
"""Width of the small type of scripts against the running text: it is broad for its size."""
_SCRIPT_HEIGHT = 0.7
_AFTER_SCRIPT = 0.05
_LOWERED, _LOWERED_MORE, _RAISED = 0.17, 0.33, 0.413
"""How far a subscript stands below the line, the same under a superscript, and how far that
stands above it."""
AXIS, _RULE = 0.25, 0.04
"""Height of a fraction's bar above the line, and its breadth."""
_NUMERATOR, _DENOMINATOR, _FREE = 0.68, 0.69, 0.12
"""From the line to those of a numerator and a denominator, and the least room at the bar."""
_OPERATORS = {
    Sign.PLUS: 1.22,
    Sign.MINUS: 1.22,
    Sign.DOT: 0.72,
    Sign.CROSS: 1.22,
    Sign.PARALLEL: 1.06,
    Sign.DIVIDED: 0.50,
    Sign.EQUAL: 1.33,
    Sign.APPROXIMATE: 1.33,
    Sign.GREATER: 1.33,
    Sign.LESS: 1.33,
    Sign.NOT_EQUAL: 1.33,
    Sign.TENDS: 1.56,
    Sign.AT_MOST: 1.33,
}


def row_width(row: Row) -> float:
    """Return the width of a row in display style, in em."""
    return sum(map(glyph_width, row))


def glyph_width(glyph: Glyph) -> float:
    """Return the width of one glyph in display style, in em."""
    match glyph:
        case Operator(sign):
            return _OPERATORS[sign]
        case Prefix():
            return 0.78
        case Gap():
            return THIN
        case Implied(spaced):
            return THIN if spaced else 0.0
        case Comma():
            return 0.28 + THIN
        case Word(text):
            return sum(UPRIGHT.get(character, 0.53) for character in text)
        case Letter():
            return _letter_width(glyph, 0.0)
        case Figures(whole, decimals, _):
            return _groups(whole) + (0.28 + _groups(decimals) if decimals else 0.0)
        case Units(parts):
            return sum(_unit(symbol, power) for symbol, power in parts) + THIN * (len(parts) - 1)
        case Over(numerator, denominator):
            return max(row_width(numerator), row_width(denominator)) + 0.24
        case Lines(rows):
            return max(row_width(row) + (_INSET if k else 0.0) for k, row in enumerate(rows))
        case Fence(inner):
            return row_width(inner) + (1.4 if is_tall(inner) else 0.78)
        case Bracket(_, tall):
            return 0.74 if tall else 0.46
        case Raised(Letter() as base, exponent):
            return _letter_width(base, _script_digits(exponent))
        case Raised(base, exponent):
            return glyph_width(base) + _script_digits(exponent)
        case NaturalPower(exponent=power):
            return UPRIGHT["e"] + _SCRIPT * row_width(power) + _AFTER_SCRIPT
        case _:
            assert_never(glyph)


def _letter_width(letter: Letter, exponent: float) -> float:
    """Return the width of a letter; its subscript stands below its primes and its exponent."""
    own = 0.53 if letter.script else ITALIC.get(letter.base) or UPRIGHT.get(letter.base, 0.60)
    lean = 0.09 if letter.script else LEAN.get(letter.base, 0.0)
    below = _SCRIPT * row_width(letter.subscript) + _AFTER_SCRIPT if letter.subscript else 0.0
    above = 0.28 * letter.primes + (_AFTER_SCRIPT if letter.primes else 0.0) + exponent
    return own + max(below, lean + above)


def _groups(groups: tuple[str, ...]) -> float:
    return DIGIT * sum(map(len, groups)) + THIN * (len(groups) - 1)


def _unit(symbol: str, power: int) -> float:
    letters = sum(UPRIGHT.get(character, 0.60) for character in symbol)
    return letters + (0.0 if power == 1 else _script_digits(power))


def _script_digits(exponent: int) -> float:
    digits = DIGIT * len(str(abs(exponent))) + (0.78 if exponent < 0 else 0.0)
    return _SCRIPT * digits + _AFTER_SCRIPT


def row_reach(row: Row) -> tuple[float, float]:
    """Return how far a row reaches above the line and below it, in em."""
    reaches = [_reach(glyph) for glyph in row]
    return max((a for a, _ in reaches), default=0.0), max((b for _, b in reaches), default=0.0)


def _reach(glyph: Glyph) -> tuple[float, float]:
    match glyph:
        case Operator() | Prefix():
            return 0.61, 0.11
        case Gap() | Implied():
            return 0.0, 0.0
        case Comma():
            return 0.11, depth(",")
        case Word(text):
            return height(text), depth(text)
        case Letter():
            return _letter_reach(glyph)
        case Figures(comma=comma, decimals=decimals):
            return height("0"), depth(",") if comma and decimals else 0.0
        case Units(parts):
            symbols = "".join(symbol for symbol, _ in parts)
            raised = any(power != 1 for _, power in parts)
            return _RAISED + _SCRIPT_HEIGHT * height("0") if raised else height("0"), depth(symbols)
        case Over(numerator, denominator):
            return _over_reach(numerator, denominator)
        case Lines(rows):
            lines = [row_reach(row) for row in rows]
            total = sum(map(sum, lines)) + 0.3 * len(lines)
            return total / 2 + AXIS, total / 2 - AXIS
        case Fence(inner):
            above, below = row_reach(inner)
            return max(above, 0.75), max(below, 0.25)
        case Bracket(_, tall):
            return (1.45, 0.95) if tall else (0.85, 0.35)
        case Raised(base, _):
            above, below = _reach(base)
            return max(above, _RAISED + _SCRIPT_HEIGHT * height("0")), below
        case NaturalPower(exponent=power):
            return _RAISED + _SCRIPT_HEIGHT * row_reach(power)[0], 0.0
        case _:
            assert_never(glyph)


def _letter_reach(letter: Letter) -> tuple[float, float]:
    above, below = height(letter.base), 0.0 if letter.script else depth(letter.base)
    if letter.primes:
        above = max(above, _RAISED + _SCRIPT_HEIGHT * 0.56)
    if letter.subscript:
        lowered = _LOWERED_MORE if letter.primes else _LOWERED
        below = max(below, lowered + _SCRIPT_HEIGHT * row_reach(letter.subscript)[1])
    return above, below


def _over_reach(numerator: Row, denominator: Row) -> tuple[float, float]:
    (upper, above_bar), (below_bar, lower) = row_reach(numerator), row_reach(denominator)
    bar = _RULE / 2 + _FREE
    up = max(_NUMERATOR, AXIS + bar + above_bar)
    down = max(_DENOMINATOR, bar + below_bar - AXIS)
    return up + upper, down + lower
