"""Plain text as TeX: every character comes out as itself or as a visible replacement.

The result is ASCII plus letters that both an 8-bit TeX with T1 fonts and a Unicode TeX can print.
"""

from __future__ import annotations

import re
from unicodedata import category, normalize

_SPECIAL = {
    "\\": r"\textbackslash{}", "{": r"\{", "}": r"\}", "$": r"\$", "&": r"\&", "#": r"\#",
    "%": r"\%", "_": r"\_", "^": r"\textasciicircum{}", "~": r"\textasciitilde{}",
    "<": r"\textless{}", ">": r"\textgreater{}", "|": r"\textbar{}", '"': r"\textquotedbl{}",
    "`": r"\textasciigrave{}",
}  # fmt: skip

_NAMED = {
    "\N{NO-BREAK SPACE}": "~", "\N{NARROW NO-BREAK SPACE}": r"\,", "\N{THIN SPACE}": r"\,",
    "‐": "-", "\N{NON-BREAKING HYPHEN}": r"\mbox{-}", "–": r"\textendash{}",
    "—": r"\textemdash{}", "‘": r"\textquoteleft{}", "’": r"\textquoteright{}",
    "“": r"\textquotedblleft{}", "”": r"\textquotedblright{}", "„": r"\quotedblbase{}",
    "«": r"\guillemotleft{}", "»": r"\guillemotright{}", "…": r"\dots{}",
    "°": r"\ensuremath{{}^{\circ}}", "±": r"\ensuremath{\pm}", "×": r"\ensuremath{\times}",
    "÷": r"\ensuremath{\div}", "·": r"\ensuremath{\cdot}", "²": r"\textsuperscript{2}",
    "³": r"\textsuperscript{3}", "¹": r"\textsuperscript{1}", "½": r"\ensuremath{\frac12}",
    "¼": r"\ensuremath{\frac14}", "¾": r"\ensuremath{\frac34}", "−": r"\ensuremath{-}",
    "≈": r"\ensuremath{\approx}", "≠": r"\ensuremath{\neq}", "≤": r"\ensuremath{\leq}",
    "≥": r"\ensuremath{\geq}", "∥": r"\ensuremath{\parallel}", "∞": r"\ensuremath{\infty}",
    "→": r"\ensuremath{\rightarrow}", "←": r"\ensuremath{\leftarrow}",
    "↑": r"\ensuremath{\uparrow}", "↓": r"\ensuremath{\downarrow}", "√": r"\ensuremath{\surd}",
    "∑": r"\ensuremath{\Sigma}", "∆": r"\ensuremath{\Delta}", "ℰ": r"\ensuremath{\mathcal{E}}",
    "•": r"\textbullet{}", "§": r"\S{}", "©": r"\textcopyright{}", "€": r"\texteuro{}",
    "£": r"\textsterling{}", "µ": r"\ensuremath{\mu}",
}  # fmt: skip

_GREEK_NAMES = {
    "α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "ε": "varepsilon", "ζ": "zeta",
    "η": "eta", "θ": "theta", "ι": "iota", "κ": "kappa", "λ": "lambda", "μ": "mu", "ν": "nu",
    "ξ": "xi", "π": "pi", "ρ": "rho", "σ": "sigma", "ς": "varsigma", "τ": "tau",
    "υ": "upsilon", "φ": "varphi", "χ": "chi", "ψ": "psi", "ω": "omega", "Γ": "Gamma",
    "Δ": "Delta", "Θ": "Theta", "Λ": "Lambda", "Ξ": "Xi", "Π": "Pi", "Σ": "Sigma", "Φ": "Phi",
    "Ψ": "Psi", "Ω": "Omega",
}  # fmt: skip

_DIGITS_BELOW = {chr(0x2080 + digit): str(digit) for digit in range(10)}

# Latin letters that the T1 encoding of LaTeX declares (file t1enc.dfu of the LaTeX base).
_LATIN = frozenset(
    chr(code)
    for first, last in (
        (0xA1, 0xA1), (0xBF, 0xBF), (0xC0, 0xD6), (0xD8, 0xF6), (0xF8, 0x125), (0x128, 0x137),
        (0x139, 0x13E), (0x141, 0x148), (0x14A, 0x165), (0x168, 0x17E), (0x218, 0x21B),
    )
    for code in range(first, last + 1)
)  # fmt: skip


def escape(text: str) -> str:
    r"""Return plain text as TeX.

    >>> escape("50 % of $x_1$ \\input{~/a}")
    '50 \\% of \\$x\\_1\\$ \\textbackslash{}input\\{\\textasciitilde{}/a\\}'
    """
    escaped = "".join(map(_character, _normalised(text)))
    # Empty braces keep --, ,, and '' from becoming other signs.
    return re.sub(r"([-,'])(?=\1)", r"\1{}", escaped)


def escape_metadata(text: str) -> str:
    """Return plain text for the PDF's own title, where no mathematics can stand."""
    return "".join(map(_metadata_character, _normalised(text)))


def comment(text: str) -> str:
    """Return text for a comment line: printable ASCII, no line end."""
    flat = " ".join(text.split())
    return "".join(c if " " <= c <= "~" else "?" for c in flat)


def _normalised(text: str) -> str:
    # A blank line would end the paragraph inside an argument, so white space is made plain.
    return re.sub(r"[ \t\n\r\v\f\x85\u2028\u2029]+", " ", normalize("NFC", text))


def _character(character: str) -> str:
    if character in _SPECIAL:
        return _SPECIAL[character]
    if " " <= character <= "~" or character in _LATIN:
        return character
    if character in _GREEK_NAMES:
        return rf"\ensuremath{{\{_GREEK_NAMES[character]}}}"
    if character in _DIGITS_BELOW:
        return rf"\textsubscript{{{_DIGITS_BELOW[character]}}}"
    return _NAMED.get(character) or _replacement(character)


def _metadata_character(character: str) -> str:
    if character in _SPECIAL or character in _LATIN or " " <= character <= "~":
        return _SPECIAL.get(character, character)
    if character in _GREEK_NAMES:
        return _GREEK_NAMES[character].removeprefix("var")
    known = _NAMED.get(character, "")
    return known if known.startswith(r"\text") else _replacement(character)


def _replacement(character: str) -> str:
    """Return what stands for a character the fonts lack; nothing for what is invisible anyway."""
    if character in "\N{SOFT HYPHEN}\N{ZERO WIDTH SPACE}\N{ZERO WIDTH NO-BREAK SPACE}":
        return ""
    if category(character) == "Zs":
        return " "
    return f"[U+{ord(character):04X}]"
