"""The way of every branch through a figure: stretches of wire, and which tokens sit on which."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise
from math import inf

from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction
from derive.drawing.skeleton import Tag
from derive.drawing.tokens import Mark, Part, Token, room


@dataclass(frozen=True, slots=True)
class Stretch:
    """A straight piece of a branch on which tokens may sit."""

    tag: Tag
    """RISE or LEVEL of an edge, or FOLD of an edge at a vertex."""
    direction: Direction
    """The way of the branch's arrow."""
    station: int | None = None
    """The named place of the branch that must stand where the stretch begins."""


_FILLED = 0.01
"""Cost of a stretch without any free wire: it decides between those that are as good."""

Route = tuple[Stretch, ...]
Load = tuple[Token, ...]


def load_length(load: Load, horizontal: bool, metrics: Metrics) -> float:
    """Return the length of wire that tokens need."""
    if not load:
        return 0.0
    return sum(room(t, horizontal, metrics) for t in load) + metrics.lead * (len(load) + 1)


def distribute(
    stretches: Route, orders: Sequence[Load], available: Mapping[Tag, float], metrics: Metrics
) -> tuple[Load, ...]:
    """Return the tokens of each stretch: as little longer than it would be anyway, cells upright.

    Where that leaves a choice the tokens are spread evenly, and a single one has the longest wire.
    `orders` are the possible orders of the tokens, the best first. A mark that comes first on a
    stretch stands at the corner.
    """
    best: tuple[Load, ...] | None = None
    least = inf
    turned = [False, *(corner(a, b) for a, b in pairwise(stretches))]
    for penalty, tokens in enumerate(orders):
        rooms = [[room(t, flat, metrics) for t in tokens] for flat in (False, True)]
        cells = [is_source(t) for t in tokens]
        marks = [isinstance(t, Mark) for t in tokens]
        for cuts in combinations_with_replacement(range(len(tokens) + 1), len(stretches) - 1):
            cost, start = 0.3 * penalty, 0
            for k, (stretch, end) in enumerate(zip(stretches, (*cuts, len(tokens)), strict=True)):
                first = start
                if stretch.station is not None and not _begins(tokens[start:end], stretch.station):
                    break
                if turned[k] and start < end and marks[start]:
                    first += 1
                if end > first:
                    flat = stretch.direction.horizontal
                    length = sum(rooms[flat][first:end]) + metrics.lead * (end - first + 1)
                    free = available.get(stretch.tag, 0.0)
                    cost += 8 * max(0.0, length - free) + _FILLED * length / max(length, free)
                    cost += length * length / 60 + 30 * sum(marks[first:end])
                    if flat:
                        cost += 40 * sum(cells[first:end])
                    if cost >= least - 1e-9:
                        break
                start = end
            else:
                if cost < least - 1e-9:
                    starts, ends = (0, *cuts), (*cuts, len(tokens))
                    best = tuple(tokens[s:e] for s, e in zip(starts, ends, strict=True))
                    least = cost
    assert best is not None
    return best


def corner(before: Stretch, after: Stretch) -> bool:
    """Tell whether a mark can stand between two stretches: at a turn, or where it has to be."""
    turn = before.direction.horizontal != after.direction.horizontal
    return turn or after.station is not None


def _begins(tokens: Load, station: int) -> bool:
    return bool(tokens) and isinstance(tokens[0], Mark) and tokens[0].station == station


def is_source(token: Token) -> bool:
    """Tell whether a token is a battery or a current source."""
    return isinstance(token, Part) and any(p.shape.is_source for p in token.pieces)
