"""Runs of text in HTML, with mathematics in the line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import assert_never

from derive.document.model import Chain, Inline, Math, Reference, SignedTerm, Strong, Text
from derive.typesetting.extent import row_width
from derive.typesetting.layout import Letter, Row, Word
from derive.typesetting.style import Style
from derive.writers import mathml
from derive.writers.breaking import break_right, narrow, relation_rows
from derive.writers.html_text import escape
from derive.writers.notation import DASH, Content, points_in_words, set_content

_SPACES = re.compile(r"([ \n\t]+)")
_TIED = "\N{NO-BREAK SPACE}"
WIDEST_PIECE = 13.0
"""Em of a formula that a narrow screen has room for on one line."""
_LONGEST_TIED = 30
"""Characters of text that a narrow screen still has room for on one line."""


def inlines(content: tuple[Inline, ...], style: Style) -> str:
    """Return a run of text.

    >>> inlines((Text("From "), Reference(2)), Style())
    'From <span class="number">(2)</span>'

    A line may end beside a formula whatever stands there, so a comma or a bracket is tied to it.

    >>> inlines((Reference(2), Text(", then")), Style())
    '<span class="tie"><span class="number">(2)</span>,</span> then'
    """
    told = ""
    word: list[Inline] = []
    for piece in _pieces(content):
        if isinstance(piece, Text) and _SPACES.fullmatch(piece.text):
            told += _word(word, style) + escape(piece.text)
            word = []
        else:
            word.append(piece)
    return told + _word(word, style)


def _pieces(content: tuple[Inline, ...]) -> Iterator[Inline]:
    """Yield what a run holds, its texts cut at spaces."""
    for item in content:
        if isinstance(item, Text):
            yield from map(Text, filter(None, _SPACES.split(item.text)))
        else:
            yield item


def _word(pieces: list[Inline], style: Style) -> str:
    """Return pieces without a space between them."""
    told = "".join(_inline(item, style) for item in pieces)
    text = "".join(item.text for item in pieces if isinstance(item, Text))
    formula = any(isinstance(item, Math | SignedTerm | Reference) for item in pieces)
    # Names of points that are words are text, which holds punctuation by itself.
    worded = any(isinstance(item, Math) and points_in_words(item.content) for item in pieces)
    wide = any('<span class="formula">' in _inline(item, style) for item in pieces)
    tied = _TIED in text or (formula and len(pieces) > 1 and not worded and not wide)
    return f'<span class="tie">{told}</span>' if tied and len(text) <= _LONGEST_TIED else told


def _inline(item: Inline, style: Style) -> str:
    match item:
        case Text(text):
            # Some fonts have a wide no-break space; the plain one in a tie is like all others.
            return escape(text.replace(_TIED, " "))
        case Strong(inner):
            return f"<strong>{inlines(inner, style)}</strong>"
        case Math(content):
            points = points_in_words(content)
            return DASH.join(map(_point, points)) or _formula(content, style)
        case SignedTerm():
            return f'<span class="signed">{mathml.inline(item, style)}</span>'
        case Reference(number):
            return f'<span class="number">({number})</span>'
        case _:
            assert_never(item)


def _formula(content: Content, style: Style) -> str:
    """Return a formula; a wide one in pieces, between which a line may end."""
    row = set_content(content, style)
    if row_width(row) <= WIDEST_PIECE:
        return mathml.inline(content, style)
    left, sides = relation_rows(content, style) if isinstance(content, Chain) else (row, ())
    pieces: list[Row] = []
    for side in (left, *sides):
        fitting = narrow(side, WIDEST_PIECE, row_width)
        pieces += [line.row for line in break_right((fitting,), WIDEST_PIECE, 0, row_width)]
    told = "<wbr>".join(f"<math>{mathml.spell(piece)}</math>" for piece in pieces)
    return f'<span class="formula">{told}</span>'


def _point(point: Letter | Word) -> str:
    if isinstance(point, Word):
        return f'<span class="point">{escape(point.text)}</span>'
    return f"<math>{mathml.spell((point,))}</math>"
