"""Mathematics as a line of Unicode text: R₁, ℰ₁, (a)/(b)."""

from __future__ import annotations

from typing import assert_never

from derive.document.model import Style
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
)
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


def flat(row: Row) -> Row:
    """Return a row with its fractions written on the line: ``(a + b)/(c·d)``."""
    glyphs: list[Glyph] = []
    for place, glyph in enumerate(row):
        match glyph:
            case Over(numerator, denominator):
                fraction = (
                    *_part(flat(numerator), below=False),
                    Operator(Sign.DIVIDED),
                    *_part(flat(denominator), below=True),
                )
                # (7/2) Ω needs its parentheses; I = 7/2 A does not: a fraction is unwrapped only
                # where nothing but a unit or an additive sign stands beside it.
                alone = _additive(row[:place][-1:]) and _additive(row[place + 1 :][:1])
                glyphs.extend(fraction if alone else (Fence(fraction),))
            case Fence(inner):
                glyphs.append(Fence(flat(inner)))
            case Raised(base, exponent):
                lying = Fence(flat(base.inner)) if isinstance(base, Fence) else base
                glyphs.append(Raised(lying, exponent))
            case _:
                glyphs.append(glyph)
    return tuple(glyphs)


def text(row: Row) -> str:
    """Spell a flat row."""
    return "".join(map(_glyph, row))


def _part(row: Row, *, below: bool) -> Row:
    """Return a numerator or denominator, in parentheses unless it is a single thing."""
    if below:
        simple = len(row) == 1
    else:
        simple = not any(isinstance(glyph, Operator | Prefix) for glyph in row)
    return row if simple else (Fence(row),)


def _additive(beside: Row) -> bool:
    """Say whether what stands beside a fraction leaves it whole without parentheses."""
    if not beside:
        return True
    glyph = beside[0]
    if isinstance(glyph, Operator):
        return glyph.sign not in (Sign.DOT, Sign.CROSS, Sign.PARALLEL, Sign.DIVIDED)
    return isinstance(glyph, Prefix | Gap)


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
