"""Plain text and runs of text in HTML."""

from __future__ import annotations

from unicodedata import category


def escape(text: str) -> str:
    """Return text for an element or a quoted attribute; what HTML does not allow is ``�``.

    >>> escape('R < 2 & "x"')
    'R &lt; 2 &amp; &quot;x&quot;'
    """
    allowed = (
        "\N{REPLACEMENT CHARACTER}" if category(c) in ("Cc", "Cs", "Cn") and c not in "\t\n" else c
        for c in text
    )
    plain = "".join(allowed)
    for character, entity in (("&", "amp"), ("<", "lt"), (">", "gt"), ('"', "quot")):
        plain = plain.replace(character, f"&{entity};")
    return plain


def comment(text: str) -> str:
    """Return text for a comment: one line in which no comment can end.

    >>> comment("a --> b")
    'a —> b'
    """
    flat = " ".join(escape(text).split())
    return flat.replace("&gt;", ">").replace("--", "—").rstrip("-")
