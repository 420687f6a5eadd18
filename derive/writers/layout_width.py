"""How wide set mathematics will be, in em of the running text.

The numbers are the widths of Computer Modern Math Italic and its companions at 10 pt, rounded to
hundredths of an em; Latin Modern has the same. They serve to choose line breaks, so an error of
some per cent does no harm (`tests/writers/test_layout_width.py` measures it against TeX).
"""

from __future__ import annotations

from typing import assert_never

from derive.writers.layout import (
    Bracket,
    Comma,
    Fence,
    Figures,
    Gap,
    Glyph,
    Implied,
    Letter,
    Lines,
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
_SCRIPT = 0.75
"""Size of a subscript, with the small space TeX puts after it counted in."""
_ITALIC = {
    "A": 0.75, "B": 0.76, "C": 0.72, "D": 0.83, "E": 0.74, "F": 0.64, "G": 0.79, "H": 0.83,
    "I": 0.44, "J": 0.55, "K": 0.85, "L": 0.68, "M": 0.97, "N": 0.80, "O": 0.76, "P": 0.64,
    "Q": 0.79, "R": 0.76, "S": 0.61, "T": 0.58, "U": 0.68, "V": 0.58, "W": 0.94, "X": 0.83,
    "Y": 0.58, "Z": 0.68, "b": 0.43, "i": 0.34, "j": 0.41, "l": 0.30, "m": 0.88, "n": 0.60,
    "r": 0.45, "t": 0.36, "w": 0.72, "Δ": 0.83, "Ω": 0.72,
}  # fmt: skip
_UPRIGHT = {"m": 0.83, "W": 1.03, "M": 0.92, "G": 0.79, "i": 0.28, "l": 0.28, "t": 0.39, "V": 0.75}
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
            return 0.28
        case Word(text):
            return sum(_UPRIGHT.get(character, 0.53) for character in text)
        case Letter(base, script, subscript, primes):
            letter = 0.53 if script else _ITALIC.get(base, 0.55)
            below = _SCRIPT * row_width(subscript) + 0.05 if subscript else 0.0
            return letter + max(below, 0.0) + 0.28 * primes
        case Figures(whole, decimals, _):
            return _groups(whole) + (0.28 + _groups(decimals) if decimals else 0.0)
        case Units(parts):
            return sum(_unit(symbol, power) for symbol, power in parts) + THIN * (len(parts) - 1)
        case Over(numerator, denominator):
            return max(row_width(numerator), row_width(denominator)) + 0.24
        case Lines(rows):
            return max(map(row_width, rows)) + 1.0
        case Fence(inner):
            return row_width(inner) + (1.4 if is_tall(inner) else 0.78)
        case Bracket(_, tall):
            return 0.74 if tall else 0.46
        case Raised(base, exponent):
            return glyph_width(base) + _SCRIPT * DIGIT * len(str(exponent))
        case _:
            assert_never(glyph)


def _groups(groups: tuple[str, ...]) -> float:
    return DIGIT * sum(map(len, groups)) + THIN * (len(groups) - 1)


def _unit(symbol: str, power: int) -> float:
    letters = sum(_UPRIGHT.get(character, 0.72) for character in symbol)
    return letters + (0.0 if power == 1 else 0.4)
