"""Sentences with mathematics in them, made from templates."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from derive.document.model import (
    Inline,
    Math,
    Paragraph,
    PointName,
    Reference,
    SignedTerm,
    Strong,
    Text,
)

Piece = str | Inline | Sequence[Inline]

_SLOT = re.compile(r"\{(\w+)\}")
_UNIT = re.compile(
    r"(?<=[0-9]) (?=([pnuµμmkMG]?([VAWFCSJΩ\N{OHM SIGN}]|ohm)|[kM]?[WA]h|[hs]|%)(?!\w))"
)
"""The space between a number and its unit."""


def say(template: str, **parts: Piece) -> tuple[Inline, ...]:
    """Fill the slots of a template.

    >>> from derive.algebra.term import current
    >>> say("{x} flows in.", x=Math(current("I1")))[1]
    Text(text=' flows in.')
    """
    found: list[Inline] = []
    for k, piece in enumerate(_SLOT.split(template)):
        found.extend(_inlines(parts[piece] if k % 2 else piece))
    return _joined(found)


def with_ties(text: str) -> str:
    """Return text in which no line ends between a number and its unit.

    >>> with_ties("The 9 V cell gives 5 years.")
    'The 9\\xa0V cell gives 5 years.'
    """
    return _UNIT.sub("\N{NO-BREAK SPACE}", text)


def paragraph(template: str, **parts: Piece) -> Paragraph:
    """Return a paragraph made from a template."""
    return Paragraph(say(template, **parts))


def listing(items: Iterable[Piece], last: str) -> tuple[Inline, ...]:
    """Return ``a, b and c``; `last` is the word for *and*."""
    found: list[Inline] = []
    pieces = [_inlines(item) for item in items]
    for k, piece in enumerate(pieces):
        if k:
            found.append(Text(f" {last} " if k == len(pieces) - 1 else ", "))
        found.extend(piece)
    return _joined(found)


def joined(sentences: Iterable[tuple[Inline, ...]]) -> tuple[Inline, ...]:
    """Return sentences one after the other."""
    found: list[Inline] = []
    for sentence in sentences:
        found += [Text(" ")] if found else []
        found += sentence
    return _joined(found)


def points(names: Iterable[str], last: str) -> tuple[Inline, ...]:
    """Return the names of points as a listing."""
    return listing((Math(PointName(name)) for name in names), last)


def _inlines(piece: Piece) -> list[Inline]:
    if isinstance(piece, str):
        return [Text(with_ties(piece))] if piece else []
    if isinstance(piece, Text | Strong | Math | SignedTerm | Reference):
        return [piece]
    return list(piece)


def _joined(found: list[Inline]) -> tuple[Inline, ...]:
    """Join neighbouring texts."""
    made: list[Inline] = []
    for inline in found:
        if made and isinstance(inline, Text) and isinstance(made[-1], Text):
            made[-1] = Text(made[-1].text + inline.text)
        else:
            made.append(inline)
    return tuple(made)
