"""Plain text in Typst: string literals, in which nothing has a special meaning.

Characters that the embedded fonts lack are shown by their code, as the TeX writer does: a missing
sign would be an empty box, and a reader program would fall silent.
"""

from __future__ import annotations

import re
from unicodedata import category, normalize

_INVISIBLE = "\N{SOFT HYPHEN}\N{ZERO WIDTH SPACE}\N{ZERO WIDTH NO-BREAK SPACE}"
_RANGES = (
    (0x20, 0x7E), (0xA0, 0x17F), (0x391, 0x3A1), (0x3A3, 0x3A9), (0x3B1, 0x3C9),
    (0x410, 0x44F), (0x2010, 0x2015), (0x2080, 0x2089),
)  # fmt: skip
_SIGNS = frozenset(
    "ȘșȚțẞЁё‘’‚“”„†‡•…‰′″‹›⁰⁴⁵⁶⁷⁸⁹⁺⁻€№™ℰΩ←↑→↓↔⇒⇔∂∆∇∈∏∑−∓∗∘√∝∞∠∥∫≈≠≡≤≥⊕⋅⟂"
    "\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}"
)


def string(text: str) -> str:
    r"""Return a string literal that prints text as it is.

    >>> print(string('say "yes" to #1 \\ $x_1$'))
    "say “yes” to #1 \\ $x_1$"
    """
    # A straight quotation mark opens at the start of a word and closes elsewhere.
    curled = re.sub(r'(?<![^ (\[])"', "“", plain(text)).replace('"', "”")
    return literal(curled.replace("'", "’"))


def literal(text: str) -> str:
    """Return a string literal of exactly these characters."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def plain(text: str) -> str:
    """Return text on one line, of characters that can be printed."""
    flat = re.sub(r"[ \t\n\r\v\f\x85\u2028\u2029]+", " ", normalize("NFC", text))
    return "".join(map(_shown, flat))


def _shown(character: str) -> str:
    if character in _INVISIBLE:
        return ""
    if character in _SIGNS or any(low <= ord(character) <= high for low, high in _RANGES):
        return character
    return " " if category(character) == "Zs" else f"[U+{ord(character):04X}]"
