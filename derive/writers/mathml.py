"""Mathematics as MathML Core, the part of MathML that browsers set by themselves.

Only elements and attributes of MathML Core are used, and every space is said: so a formula looks
the same whether an operator dictionary is at hand or not.
"""

from __future__ import annotations

from typing import assert_never

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
from derive.writers.html_text import escape
from derive.writers.notation import Content, set_content

_THIN = "0.1667em"
_SPACES = {
    Sign.PLUS: "0.2222em",
    Sign.MINUS: "0.2222em",
    Sign.DOT: "0.2222em",
    Sign.CROSS: "0.2222em",
    Sign.PARALLEL: "0.2778em",
    Sign.DIVIDED: "0",
    Sign.EQUAL: "0.2778em",
    Sign.APPROXIMATE: "0.2778em",
    Sign.GREATER: "0.2778em",
    Sign.LESS: "0.2778em",
    Sign.NOT_EQUAL: "0.2778em",
    Sign.TENDS: "0.2778em",
    Sign.AT_MOST: "0.2778em",
}
"""Spaces on both sides of a sign, those of TeX."""
_CHARACTERS = {Sign.DOT: "⋅", Sign.GREATER: "&gt;", Sign.LESS: "&lt;"}
_SCRIPT = {"E": "ℰ"}
_GROUPS = "\N{NARROW NO-BREAK SPACE}"
_TIMES = "\N{INVISIBLE TIMES}"


def inline(content: Content, style: Style) -> str:
    """Return content as a ``math`` element for a line of text.

    >>> from derive.algebra.term import current
    >>> inline(current("I12"), Style())
    '<math><msub><mi>I</mi><mn>12</mn></msub></math>'
    """
    return f"<math>{spell(set_content(content, style))}</math>"


def spell(row: Row) -> str:
    """Spell a row; it is the content of a ``math`` element."""
    return "".join(map(_glyph, row))


def _glyph(glyph: Glyph) -> str:
    match glyph:
        case Operator(sign):
            space = _SPACES[sign]
            return (
                f'<mo form="infix" stretchy="false" lspace="{space}" rspace="{space}">'
                f"{_CHARACTERS.get(sign, sign.value)}</mo>"
            )
        case Prefix(sign):
            return f'<mo form="prefix" lspace="0" rspace="0">{sign.value}</mo>'
        case Gap():
            return f'<mspace width="{_THIN}"/>'
        case Implied(spaced):
            return f'<mo lspace="{_THIN if spaced else "0"}" rspace="0">{_TIMES}</mo>'
        case Comma():
            return f'<mo separator="true" lspace="0" rspace="{_THIN}">,</mo>'
        case Word(text):
            return _upright(text)
        case Letter():
            return _letter(glyph, "")
        case Figures():
            return f"<mn>{_figures(glyph)}</mn>"
        case Units(parts):
            gap = f'<mspace width="{_THIN}"/>'
            return gap.join(_unit(symbol, power) for symbol, power in parts)
        case Over(numerator, denominator):
            return f"<mfrac>{_group(numerator)}{_group(denominator)}</mfrac>"
        case Lines(rows):
            lines = "".join(f"<mtr><mtd>{spell(row)}</mtd></mtr>" for row in rows)
            return f'<mtable class="lines">{lines}</mtable>'
        case Fence(inner):
            tall = is_tall(inner)
            return f"<mrow>{_bracket(True, tall)}{spell(inner)}{_bracket(False, tall)}</mrow>"
        case Bracket(opening, tall):
            return _bracket(opening, tall)
        case Raised(base, exponent):
            return _raised(base, exponent)
        case NaturalPower(exponent=power):
            return f"<msup>{_upright('e')}{_group(power)}</msup>"
        case _:
            assert_never(glyph)


def _group(row: Row) -> str:
    """Spell a row as one element."""
    return f"<mrow>{spell(row)}</mrow>" if len(row) != 1 else spell(row)


def _bracket(opening: bool, tall: bool) -> str:
    form, sign = ("prefix", "(") if opening else ("postfix", ")")
    stretchy = "true" if tall else "false"
    return f'<mo form="{form}" stretchy="{stretchy}" lspace="0" rspace="0">{sign}</mo>'


def _upright(text: str) -> str:
    """Return upright letters; a lone one would be italic by itself."""
    variant = ' mathvariant="normal"' if len(text) == 1 else ""
    kind = "mtext" if " " in text else "mi"
    return f"<{kind}{variant if kind == 'mi' else ''}>{escape(text)}</{kind}>"


def _letter(letter: Letter, exponent: str) -> str:
    base = _base(letter)
    primes = f'<mo lspace="0" rspace="0">{"′" * letter.primes}</mo>' if letter.primes else ""
    above = f"<mrow>{primes}{exponent}</mrow>" if primes and exponent else primes or exponent
    below = _group(letter.subscript) if letter.subscript else ""
    if above and below:
        return f"<msubsup>{base}{below}{above}</msubsup>"
    if above:
        return f"<msup>{base}{above}</msup>"
    return f"<msub>{base}{below}</msub>" if below else base


def _base(letter: Letter) -> str:
    if letter.script:
        return f"<mi>{_SCRIPT.get(letter.base, escape(letter.base))}</mi>"
    # Capital Greek stands upright, as it does in TeX.
    upright = ' mathvariant="normal"' if "Α" <= letter.base <= "Ω" else ""
    return f"<mi{upright}>{escape(letter.base)}</mi>"


def _figures(figures: Figures) -> str:
    marker = ("," if figures.comma else ".") if figures.decimals else ""
    return _GROUPS.join(figures.whole) + marker + _GROUPS.join(figures.decimals)


def _unit(symbol: str, power: int) -> str:
    letters = _upright(symbol)
    return letters if power == 1 else f"<msup>{letters}{_power(power)}</msup>"


def _power(exponent: int) -> str:
    digits = f"<mn>{abs(exponent)}</mn>"
    sign = '<mo form="prefix" lspace="0" rspace="0">−</mo>'
    return f"<mrow>{sign}{digits}</mrow>" if exponent < 0 else digits


def _raised(base: Letter | Figures | Fence, exponent: int) -> str:
    if isinstance(base, Letter):
        return _letter(base, _power(exponent))
    return f"<msup>{_glyph(base)}{_power(exponent)}</msup>"
