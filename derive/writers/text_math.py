"""Mathematics as a line of Unicode text: R₁, ℰ₁, (a)/(b)."""

from __future__ import annotations

from typing import assert_never

from derive.typesetting.flat import flat
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
)
from derive.typesetting.style import Style
from derive.writers.notation import Content, set_content

_BELOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_ABOVE = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_NO_BREAK = "\N{NO-BREAK SPACE}"


def inline(content: Content, style: Style) -> str:
    """Return content as one line of Unicode text.

    >>> from derive.algebra.term import current, product, resistance
    >>> inline(product(resistance("R1"), current("I_a")), Style())
    'R₁·I_a'
    """
    return text(flat(set_content(content, style)))


def text(row: Row) -> str:
    """Spell a flat row."""
    return "".join(map(_glyph, row))


def _glyph(glyph: Glyph) -> str:
    match glyph:
        case Operator(sign):
            return sign.value if sign is Sign.DIVIDED else f" {sign.value} "
        case Prefix(sign):
            return sign.value
        case Gap():
            return _NO_BREAK
        case Implied():
            return "·"
        case Comma():
            return ","
        case Word(word):
            return word
        case Letter():
            return _letter(glyph)
        case Figures(whole, decimals, comma):
            marker = ("," if comma else ".") if decimals else ""
            return _NO_BREAK.join(whole) + marker + _NO_BREAK.join(decimals)
        case Units(parts):
            return "·".join(symbol + _above(power) for symbol, power in parts)
        case Over(numerator, denominator):
            return f"{text(numerator)}/{text(denominator)}"
        case Lines(rows):
            return "".join(map(text, rows))
        case Fence(inner):
            return f"({text(inner)})"
        case Bracket(opening, _):
            return "(" if opening else ")"
        case Raised(base, exponent):
            return _glyph(base) + _above(exponent)
        case NaturalPower(exponent=power):
            return f"e^({text(power)})"
        case _:
            assert_never(glyph)


def _above(power: int) -> str:
    return "" if power == 1 else str(power).translate(_ABOVE)


def _letter(letter: Letter) -> str:
    base = "ℰ" if letter.script else letter.base
    primes = "′" * letter.primes
    if not letter.subscript:
        return base + primes
    below = text(letter.subscript)
    # Unicode has few subscript letters: they would look ragged beside each other.
    if below.isdecimal() and below.isascii():
        return base + below.translate(_BELOW) + primes
    return f"{base}_{below}{primes}"
