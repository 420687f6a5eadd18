"""Runs of text in Typst, with mathematics in the line."""

from __future__ import annotations

from typing import assert_never

from derive.document.model import Inline, Math, Reference, SignedTerm, Strong, Text
from derive.typesetting.layout import Letter, Word
from derive.typesetting.style import Style
from derive.writers.notation import DASH, points_in_words
from derive.writers.typst_math import in_text
from derive.writers.typst_math import inline as mathematics
from derive.writers.typst_text import literal, plain, string


def inlines(content: tuple[Inline, ...], style: Style) -> str:
    """Return a run of text as markup."""
    return "".join(_inline(item, style) for item in content)


def _inline(item: Inline, style: Style) -> str:
    match item:
        case Text(text):
            return f"#{string(text)}"
        case Strong(inner):
            return f"#strong[{inlines(inner, style)}]"
        case Math(content):
            points = points_in_words(content)
            dash = f"#{literal(DASH)}"
            return dash.join(map(_point, points)) or mathematics(content, style)
        case SignedTerm():
            return f"#signed[{mathematics(item, style)}]"
        case Reference(number):
            return f"#box({literal(f'({number})')})"
        case _:
            assert_never(item)


def _point(point: Letter | Word) -> str:
    if isinstance(point, Word):
        return f"#place-name({literal(plain(point.text))})"
    return in_text((point,))
