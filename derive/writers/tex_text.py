"""Plain text as TeX: every character comes out as itself or as a visible replacement.

The result is ASCII, so that it means the same to every TeX and in every input encoding.
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
    "£": r"\textsterling{}", "µ": r"\textmu{}",
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

_DIGITS_ABOVE = dict(zip("⁰⁴⁵⁶⁷⁸⁹", "0456789", strict=True))

_ACCENTS = {
    "\N{COMBINING GRAVE ACCENT}": r"\`", "\N{COMBINING ACUTE ACCENT}": r"\'",
    "\N{COMBINING CIRCUMFLEX ACCENT}": r"\^", "\N{COMBINING TILDE}": r"\~",
    "\N{COMBINING DIAERESIS}": r"\"", "\N{COMBINING MACRON}": r"\=",
    "\N{COMBINING DOT ABOVE}": r"\.", "\N{COMBINING RING ABOVE}": r"\r",
    "\N{COMBINING DOUBLE ACUTE ACCENT}": r"\H", "\N{COMBINING CARON}": r"\v",
    "\N{COMBINING BREVE}": r"\u", "\N{COMBINING CEDILLA}": r"\c",
    "\N{COMBINING OGONEK}": r"\k", "\N{COMBINING DOT BELOW}": r"\d",
    "\N{COMBINING COMMA BELOW}": r"\textcommabelow",
}  # fmt: skip
_LETTERS = {
    "ß": r"\ss{}", "Ł": r"\L{}", "ł": r"\l{}", "Ø": r"\O{}", "ø": r"\o{}", "Æ": r"\AE{}",
    "æ": r"\ae{}", "Œ": r"\OE{}", "œ": r"\oe{}", "ı": r"\i{}", "¡": r"\textexclamdown{}",
    "¿": r"\textquestiondown{}",
}  # fmt: skip
_T1_LETTERS = {
    "Đ": r"\DJ{}", "đ": r"\dj{}", "Þ": r"\TH{}", "þ": r"\th{}", "Ð": r"\DH{}", "ð": r"\dh{}",
    "Ŋ": r"\NG{}", "ŋ": r"\ng{}",
}  # fmt: skip


def escape(text: str) -> str:
    r"""Return plain text as TeX.

    >>> escape("50 % of $x_1$ \\input{~/a}")
    '50 \\% of \\$x\\_1\\$ \\textbackslash{}input\\{\\textasciitilde{}/a\\}'
    """
    # A straight quotation mark opens at the start of a word and closes elsewhere.
    curled = re.sub(r'(?<![^ (\[])"', "“", _normalised(text)).replace('"', "”")
    escaped = "".join(map(_character, curled))
    # Keeps --, ,, and '' from becoming other signs; LuaTeX looks through empty braces.
    return re.sub(r"([-,'])(?=\1)", r"\1{\\kern0pt}", escaped)


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
    if " " <= character <= "~":
        return character
    if character in _GREEK_NAMES:
        return rf"\ensuremath{{\{_GREEK_NAMES[character]}}}"
    if character in _DIGITS_BELOW:
        return rf"\textsubscript{{{_DIGITS_BELOW[character]}}}"
    if character in _DIGITS_ABOVE:
        return rf"\textsuperscript{{{_DIGITS_ABOVE[character]}}}"
    return _NAMED.get(character) or _latin(character) or _replacement(character)


def _metadata_character(character: str) -> str:
    if character in _SPECIAL or " " <= character <= "~":
        return _SPECIAL.get(character, character)
    if character in _GREEK_NAMES:
        return _GREEK_NAMES[character].removeprefix("var")
    known = _NAMED.get(character, "")
    if known.startswith((r"\text", "~", "-")):
        return known
    return _latin(character) or _replacement(character)


def unprintable(text: str) -> tuple[str, ...]:
    """Return the characters that the fonts lack, each once; they are shown by their codes."""
    return tuple(c for c in dict.fromkeys(_normalised(text)) if _character(c).startswith("[U+"))


def needs_t1(text: str) -> bool:
    """Say whether a text holds letters that TeX's oldest font encoding lacks."""
    spelled = escape(text)
    return r"\k{" in spelled or any(command in spelled for command in _T1_LETTERS.values())


def _latin(character: str) -> str:
    """Return a Latin letter by its command; nothing for any other character."""
    base, *marks = list(normalize("NFD", character))
    if len(marks) == 1 and marks[0] in _ACCENTS and base.isascii() and base.isalpha():
        return f"{_ACCENTS[marks[0]]}{{{base}}}"
    return _LETTERS.get(character) or _T1_LETTERS.get(character, "")


def _replacement(character: str) -> str:
    """Return what stands for a character the fonts lack; nothing for what is invisible anyway."""
    if character in "\N{SOFT HYPHEN}\N{ZERO WIDTH SPACE}\N{ZERO WIDTH NO-BREAK SPACE}":
        return ""
    if category(character) == "Zs":
        return " "
    return f"[U+{ord(character):04X}]"
