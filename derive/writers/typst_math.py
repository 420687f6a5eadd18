"""Mathematics in Typst, and the words that a screen reader says for it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

from derive.document.model import Chain
from derive.typesetting.extent import row_width
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
    is_tall,
)
from derive.typesetting.style import Style
from derive.writers import text_math
from derive.writers.breaking import relation_rows
from derive.writers.notation import Content, set_content
from derive.writers.typst_text import literal, plain

_SIGNS = {
    Sign.PLUS: "plus",
    Sign.MINUS: "minus",
    Sign.DOT: "times",
    Sign.CROSS: "cross",
    Sign.PARALLEL: "parallel",
    Sign.DIVIDED: "over",
    Sign.EQUAL: "equals",
    Sign.APPROXIMATE: "approx",
    Sign.GREATER: "greater",
    Sign.LESS: "less",
    Sign.NOT_EQUAL: "differs",
    Sign.TENDS: "tends",
    Sign.AT_MOST: "atmost",
}
_OVERHANGING = frozenset("FPT")
"""Letters whose subscript would stand close to their stem."""
_SHORT = 9.0
"""Widest equation in a line of text that is never broken at its relation, in em."""
_UNBROKEN = 20.0
"""Widest formula in a line of text that is never broken, in em."""


def inline(content: Content, style: Style) -> str:
    """Return mathematics for a line of text, as code.

    >>> from derive.algebra.term import current, product, resistance
    >>> inline(product(resistance("R2"), current("I_a")), Style())
    '#whole("R₂·I_a", $attach(R, b: "2")thin attach(I, b: a)$)'
    """
    row = set_content(content, style)
    if row_width(row) <= _SHORT or not isinstance(content, Chain):
        return in_text(row)
    left, sides = relation_rows(content, style)
    pieces, start = [], left
    for side in sides:
        # Lines break after a relation, never before it.
        pieces.append(in_text((*start, side[0])))
        start = side[1:]
    return "#after".join([*pieces, in_text(start)])


def in_text(row: Row) -> str:
    """Return a row for a line of text, as code."""
    function = "whole" if row_width(row) <= _UNBROKEN else "formula"
    return f"#{function}({spoken(row)}, ${mathematics(row)}$)"


def spoken(row: Row) -> str:
    """Return a string literal that says a row in a line of Unicode."""
    return literal(plain(text_math.text(flat(row))).replace("\N{NO-BREAK SPACE}", " ").strip())


def mathematics(row: Row) -> str:
    """Spell a row in Typst's mathematics, without dollars."""
    return _joined(map(_glyph, row))


def _joined(pieces: Iterable[str]) -> str:
    """Join pieces; names are parted by a space where they need one.

    Elsewhere it would show: Typst keeps a space beside words.
    """
    spelled = ""
    for piece in pieces:
        is_name = spelled[-1:].isalnum() and piece[:1].isalnum()
        spelled += f" {piece}" if is_name else piece
    return spelled


def _thinly(pieces: Iterable[str]) -> str:
    spaced = [part for piece in pieces for part in ("thin", piece)]
    return _joined(spaced[1:])


def _glyph(glyph: Glyph) -> str:
    match glyph:
        case Operator(sign):
            return f"#{_SIGNS[sign]};"
        case Prefix(sign):
            return f'class("normal", {sign.value})'
        case Gap():
            return "thin"
        case Implied(spaced):
            return "thin" if spaced else ""
        case Comma():
            return '","'
        case Word(text):
            return literal(plain(text))
        case Letter():
            return _letter(glyph, "")
        case Figures():
            return _figures(glyph)
        case Units(parts):
            return _thinly(_unit(symbol, power) for symbol, power in parts)
        case Over(numerator, denominator):
            return f"frac({_part(numerator)}, {_part(denominator)})"
        case Lines(rows):
            return "& " + r" \ & quad ".join(map(mathematics, rows))
        case Fence(inner):
            # In a line of text, nothing breaks within `lr`.
            size = "" if is_tall(inner) else "size: #1em, "
            spelled = mathematics(inner)
            if any(isinstance(part, Lines) for part in inner):
                spelled = f'class("normal", {spelled})'  # else the parentheses stay on their lines
            return rf"lr({size}\({spelled}\))"
        case Bracket(opening, tall):
            extent, parenthesis = "2.4em" if tall else "1.2em", r"\(" if opening else r"\)"
            return f"lr(size: #{extent}, {parenthesis})"
        case Raised(base, exponent):
            return _raised(base, exponent)
        case NaturalPower(exponent=power):
            return f'attach("e", t: {mathematics(power)})'
        case _:
            assert_never(glyph)


def _part(row: Row) -> str:
    return mathematics(row) or '""'


def _letter(letter: Letter, exponent: str) -> str:
    base = _base("ℰ" if letter.script else letter.base)
    upper = _joined(["prime"] * letter.primes + ([literal(exponent)] if exponent else []))
    above = f", t: {upper}" if upper else ""
    kern = "#kern;" if letter.base in _OVERHANGING and not letter.script else ""
    below = f", b: {kern}{mathematics(letter.subscript)}" if letter.subscript else ""
    return f"attach({base}{above}{below})" if above or below else base


def _base(character: str) -> str:
    if character.isascii() and character.isalpha():
        return character
    if "α" <= character <= "ω" or "Α" <= character <= "Ω" or character in "ℰ∞":
        return character
    return "μ" if character == "µ" else f"#slanted({literal(plain(character))});"


def _figures(figures: Figures) -> str:
    marker = ("," if figures.comma else ".") if figures.decimals else ""
    # The marker is part of its group, so that no space follows a comma.
    *front, last = figures.whole
    first, *back = figures.decimals or ("",)
    return _thinly(map(literal, (*front, last + marker + first, *back)))


def _unit(symbol: str, power: int) -> str:
    spelled = literal(symbol)
    return spelled if power == 1 else f"attach({spelled}, t: {literal(_signed(power))})"


def _raised(base: Glyph, exponent: int) -> str:
    if isinstance(base, Letter):
        return _letter(base, _signed(exponent))
    return f"attach({_glyph(base)}, t: {literal(_signed(exponent))})"


def _signed(exponent: int) -> str:
    return str(exponent).replace("-", Sign.MINUS.value)
