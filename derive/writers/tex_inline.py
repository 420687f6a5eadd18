"""Runs of text in TeX, with mathematics in the line."""

from __future__ import annotations

from typing import assert_never

from derive.document.model import Inline, Math, Reference, SignedTerm, Strong, Text
from derive.typesetting.extent import row_width
from derive.typesetting.layout import Letter, Word
from derive.typesetting.style import Style
from derive.writers.notation import points_in_words, set_content
from derive.writers.tex_math import inline as mathematics
from derive.writers.tex_math import tex
from derive.writers.tex_text import escape

_DASH = r"\,\textendash\,\allowbreak{}"
_LETTER = 0.47
"""Mean width of a letter of running text, in em."""


def inlines(content: tuple[Inline, ...], style: Style) -> str:
    """Return a run of text."""
    return "".join(_inline(item, style) for item in content)


def inlines_width(content: tuple[Inline, ...], style: Style) -> float:
    """Return an estimate of the width of a run of text in em."""
    return sum(_width(item, style) for item in content)


def _inline(item: Inline, style: Style) -> str:
    match item:
        case Text(text):
            return escape(text)
        case Strong(inner):
            return rf"\textbf{{{inlines(inner, style)}}}"
        case Math(content):
            points = points_in_words(content)
            return _DASH.join(map(_point, points)) or f"${mathematics(content, style)}$"
        case SignedTerm():
            return rf"\lwsigned{{{mathematics(item, style)}}}"
        case Reference(number):
            return rf"\mbox{{({number})}}"
        case _:
            assert_never(item)


def _point(point: Letter | Word) -> str:
    return rf"\lwpoint{{{escape(point.text)}}}" if isinstance(point, Word) else f"${tex((point,))}$"


def _width(item: Inline, style: Style) -> float:
    match item:
        case Text(text):
            return _LETTER * len(text)
        case Strong(inner):
            return 1.15 * inlines_width(inner, style)
        case Math(content):
            return row_width(set_content(content, style))
        case SignedTerm():
            return row_width(set_content(item, style))
        case Reference(number):
            return 0.5 * len(str(number)) + 0.78
        case _:
            assert_never(item)
