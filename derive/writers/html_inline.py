"""Runs of text in HTML, with mathematics in the line."""

from __future__ import annotations

from typing import assert_never

from derive.document.model import Inline, Math, Reference, SignedTerm, Strong, Text
from derive.typesetting.style import Style
from derive.writers import mathml
from derive.writers.html_text import escape


def inlines(content: tuple[Inline, ...], style: Style) -> str:
    """Return a run of text.

    >>> inlines((Text("From "), Reference(2)), Style())
    'From <span class="number">(2)</span>'
    """
    return "".join(_inline(item, style) for item in content)


def _inline(item: Inline, style: Style) -> str:
    match item:
        case Text(text):
            return escape(text)
        case Strong(inner):
            return f"<strong>{inlines(inner, style)}</strong>"
        case Math(content):
            return mathml.inline(content, style)
        case SignedTerm():
            return f'<span class="signed">{mathml.inline(item, style)}</span>'
        case Reference(number):
            return f'<span class="number">({number})</span>'
        case _:
            assert_never(item)
