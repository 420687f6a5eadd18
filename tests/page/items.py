"""What a page holds, in reading order, free of any format."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tests.page.mathematics import Chain, Tree

Run = tuple[str | Chain, ...]
"""Running text with formulas in it."""


@dataclass(frozen=True, slots=True)
class Prose:
    """A paragraph, a heading, a caption, a title."""

    run: Run


@dataclass(frozen=True, slots=True)
class Row:
    """An equation that stands by itself."""

    chain: Chain
    number: int | None = None
    source: Run = ()


@dataclass(frozen=True, slots=True)
class Values:
    """Given values; the order of columns is the writer's."""

    chains: tuple[Chain, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Cells of a table, its header first."""

    rows: tuple[tuple[Run, ...], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """What is said of a figure; None where a format has no place for it."""

    short: str | None
    long: str | None


Item = Prose | Row | Values | Table | Figure


@dataclass(frozen=True, slots=True)
class Page:
    """Everything that was read from one text."""

    items: tuple[Item, ...]
    said: tuple[tuple[Chain, str], ...] = ()
    """Formulas and the words that a screen reader says for them, where the format has such."""

    def rows(self) -> Iterator[Row]:
        """Yield the displayed equations."""
        return (item for item in self.items if isinstance(item, Row))

    def figures(self) -> list[Figure]:
        """Return what is said of the figures."""
        return [item for item in self.items if isinstance(item, Figure)]


def run_of(pieces: Iterable[str | Chain]) -> Run:
    """Return running text in its simplest form: white space single, quotation marks straight."""
    merged: list[str | Chain] = []
    for piece in pieces:
        if isinstance(piece, str) and merged and isinstance(merged[-1], str):
            merged[-1] += piece
        else:
            merged.append(piece)
    told = _walked([plain(p) if isinstance(p, str) else p for p in merged])
    if told and isinstance(told[0], str):
        told[0] = told[0].lstrip()
    if told and isinstance(told[-1], str):
        told[-1] = told[-1].rstrip()
    return tuple(piece for piece in told if piece != "")


def _walked(pieces: list[str | Chain]) -> list[str | Chain]:
    """Make one of points with dashes between them: the walk that they tell."""
    told: list[str | Chain] = []
    for piece in pieces:
        if isinstance(piece, Chain) and told[-1:] == [" – "] and isinstance(told[-2], Chain):
            start = told[-2]
            told[-2:] = [Chain((("product", *_points(start), *_points(piece)),))]
        else:
            told.append(piece)
    return told


def _points(chain: Chain) -> tuple[Tree, ...]:
    (side,) = chain.sides
    return side[1:] if side[0] == "product" else (side,)


def plain(text: str) -> str:
    """Return text with single spaces and straight quotation marks."""
    for curled, straight in (("“", '"'), ("”", '"'), ("’", "'"), ("‘", "'"), ("µ", "μ")):
        text = text.replace(curled, straight)
    return re.sub(r"\s+", " ", text)


def told(run: Run) -> Item:
    """Return a paragraph; one that is nothing but an equation is an equation."""
    if len(run) == 1 and isinstance(run[0], Chain) and run[0].relations:
        return Row(run[0])
    return Prose(run)
