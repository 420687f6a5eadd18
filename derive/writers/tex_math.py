"""Mathematics in TeX, without dollars; amsmath is all it needs."""

from __future__ import annotations

from typing import assert_never

from derive.algebra.unit import Unit
from derive.typesetting.extent import row_width
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
from derive.writers.notation import Content, set_content
from derive.writers.tex_text import escape

MICRO = r"\text{\textmu}"
"""The prefix, upright as units are; the Greek letters of mathematics are italic."""
_SIGNS = {
    Sign.PLUS: "+",
    Sign.MINUS: "-",
    Sign.DOT: r"\cdot",
    Sign.CROSS: r"\times",
    Sign.PARALLEL: r"\parallel",
    Sign.DIVIDED: "/",
    Sign.EQUAL: "=",
    Sign.APPROXIMATE: r"\approx",
    Sign.GREATER: ">",
    Sign.LESS: "<",
    Sign.NOT_EQUAL: r"\neq",
    Sign.TENDS: r"\to",
    Sign.AT_MOST: r"\leq",
}

_GREEK = {
    "α": r"\alpha", "β": r"\beta", "γ": r"\gamma", "δ": r"\delta", "ε": r"\varepsilon",
    "ζ": r"\zeta", "η": r"\eta", "θ": r"\theta", "ι": r"\iota", "κ": r"\kappa",
    "λ": r"\lambda", "μ": r"\mu", "µ": r"\mu", "ν": r"\nu", "ξ": r"\xi", "π": r"\pi",
    "ρ": r"\rho", "σ": r"\sigma", "τ": r"\tau", "υ": r"\upsilon", "φ": r"\varphi",
    "χ": r"\chi", "ψ": r"\psi", "ω": r"\omega", "Γ": r"\Gamma", "Δ": r"\Delta",
    "Θ": r"\Theta", "Λ": r"\Lambda", "Ξ": r"\Xi", "Π": r"\Pi", "Σ": r"\Sigma",
    "Φ": r"\Phi", "Ψ": r"\Psi", "Ω": r"\Omega", "ℰ": r"\mathcal{E}", "∞": r"\infty",
}  # fmt: skip


def inline(content: Content, style: Style) -> str:
    """Return content as TeX mathematics without dollars.

    >>> from derive.algebra.term import current, product, resistance
    >>> inline(product(resistance("R_load"), current("I12")), Style())
    'R_{\\\\mathrm{load}}\\\\,I_{12}'
    """
    return tex(set_content(content, style))


def width(content: Content, style: Style) -> float:
    """Return an estimate of the displayed width in em."""
    return row_width(set_content(content, style))


def tex(row: Row) -> str:
    """Spell a row in TeX."""
    return "".join(_with_space(glyph) for glyph in row).strip()


def _with_space(glyph: Glyph) -> str:
    spelled = _glyph(glyph)
    # A control word must not run into a letter after it; spaces in mathematics do not print.
    tail = spelled[spelled.rfind("\\") :]
    return f"{spelled} " if "\\" in spelled and tail[1:].isalpha() else spelled


def _glyph(glyph: Glyph) -> str:
    match glyph:
        case Operator(sign):
            return f" {_SIGNS[sign]} "
        case Prefix(sign):
            return _SIGNS[sign]
        case Gap():
            return r"\,"
        case Implied(spaced):
            return r"\," if spaced else ""
        case Comma():
            return ","
        case Word(text):
            return rf"\mathrm{{{_upright(text)}}}"
        case Letter():
            return _letter(glyph, "")
        case Figures():
            return _figures(glyph)
        case Units(parts):
            return r"\,".join(_unit(symbol, power) for symbol, power in parts)
        case Over(numerator, denominator):
            return rf"\frac{{{tex(numerator)}}}{{{tex(denominator)}}}"
        case Lines(rows):
            lines = r"\\&\quad{}".join(map(tex, rows))
            return rf"\begin{{aligned}}&{lines}\end{{aligned}}"
        case Fence(inner):
            left, right = (r"\left(", r"\right)") if is_tall(inner) else ("(", ")")
            return f"{left}{tex(inner)}{right}"
        case Bracket(opening, tall):
            size = "bigg" if tall else "big"
            return rf"\{size}l(" if opening else rf"\{size}r)"
        case Raised(base, exponent):
            return _raised(base, exponent)
        case NaturalPower(exponent=power):
            return rf"\mathrm{{e}}^{{{tex(power)}}}"
        case _:
            assert_never(glyph)


def _letter(letter: Letter, exponent: str) -> str:
    base = rf"\mathcal{{{letter.base}}}" if letter.script else _base(letter.base)
    lower = f"_{{{tex(letter.subscript)}}}" if letter.subscript else ""
    # An explicit \prime, because ' is made active by some languages of babel.
    upper = r"\prime " * letter.primes + exponent
    return base + lower + (f"^{{{upper.strip()}}}" if upper else "")


def _base(character: str) -> str:
    if character.isascii() and character.isalpha():
        return character
    return _GREEK.get(character) or rf"\mathit{{{_upright(character)}}}"


def _upright(text: str) -> str:
    """Return text for an upright run inside mathematics."""
    if text.isascii() and text.isalnum():
        return text
    return rf"\text{{{escape(text)}}}"


def _figures(figures: Figures) -> str:
    whole = r"\,".join(figures.whole)
    if not figures.decimals:
        return whole
    # Braces keep TeX from setting the comma as punctuation, with a space after it.
    marker = "{,}" if figures.comma else "."
    return whole + marker + r"\,".join(figures.decimals)


def _unit(symbol: str, power: int) -> str:
    micro, letters = symbol.startswith("µ"), symbol.removeprefix("µ")
    omega, letters = letters.endswith("Ω"), letters.removesuffix("Ω")
    spelled = rf"\mathrm{{{letters}}}" if letters else ""
    if letters == Unit.PERCENT.value:
        spelled = r"\%"
    spelled = (MICRO if micro else "") + spelled + (r"\Omega" if omega else "")
    return spelled if power == 1 else f"{spelled}^{{{power}}}"


def _raised(base: Glyph, exponent: int) -> str:
    if isinstance(base, Letter):
        return _letter(base, str(exponent))
    return f"{_glyph(base)}^{{{exponent}}}"
