"""The way of every branch through a figure: stretches of wire, and which tokens sit on which."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

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


_EQUAL = 1e-9
"""Costs that differ by no more are the same."""
_FILLED = 0.01
"""Cost of a stretch without any free wire: it decides between those that are as good."""

_LOW = 45.0
"""Cost of a part on a lowest level stretch: of places that are as good, those above are filled."""
_LYING = 60.0
"""Cost of the only part of a way where it lies level: branches side by side look alike."""
_FLAT_CELL = 90.0
"""Cost of a battery that lies level."""
_STACKED = 8.0
"""Cost of every part upright above another: a figure is rather wide than high."""

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

    Where that leaves a choice the tokens are spread evenly, a single one stands upright, and
    none lies on the wire at the bottom.
    `orders` are the possible orders of the tokens, the best first. A mark that comes first on a
    stretch stands at the corner.
    """
    best: tuple[float, tuple[Load, ...]] | None = None
    turned = [False, *(corner(a, b) for a, b in pairwise(stretches))]
    for penalty, tokens in enumerate(orders):
        found = _divided(stretches, turned, tokens, available, metrics)
        if found is None:
            continue
        cost, starts = found
        if best is None or cost + 0.3 * penalty < best[0] - _EQUAL:
            ends = (*starts[1:], len(tokens))
            loads = tuple(tokens[s:e] for s, e in zip(starts, ends, strict=True))
            best = cost + 0.3 * penalty, loads
    assert best is not None
    return best[1]


def _divided(
    stretches: Route,
    turned: Sequence[bool],
    tokens: Load,
    available: Mapping[Tag, float],
    metrics: Metrics,
) -> tuple[float, tuple[int, ...]] | None:
    """Return the least cost of tokens in this order, and where each stretch starts among them.

    The cost is a sum over the stretches, so the best ends of the last ones are found first.
    """
    count = len(tokens)
    marks = [isinstance(t, Mark) for t in tokens]
    # Sums over the tokens before each place.
    rooms = [_sums(room(t, flat, metrics) for t in tokens) for flat in (False, True)]
    cells = _sums(is_source(t) for t in tokens)
    parts = _sums(isinstance(t, Part) for t in tokens)
    low = _lowest(stretches)
    marked = _sums(marks)

    def cost_of(k: int, start: int, end: int) -> float:
        stretch, cost = stretches[k], 0.0
        first = start + (turned[k] and start < end and marks[start])
        if end > first:
            flat = stretch.direction.horizontal
            length = rooms[flat][end] - rooms[flat][first] + metrics.lead * (end - first + 1)
            free = available.get(stretch.tag, 0.0)
            cost = 8 * max(0.0, length - free) + _FILLED * length / max(length, free)
            cost += length * length / 60 + 30 * (marked[end] - marked[first])
            here = parts[end] - parts[first]
            if flat:
                cost += _FLAT_CELL * (cells[end] - cells[first]) + _LOW * low[k] * here
                cost += _LYING * (here == parts[count] == 1)
            else:
                cost += _STACKED * max(0, here - 1)
        return cost

    rest: list[tuple[float, tuple[int, ...]] | None] = [None] * count + [(0.0, ())]
    for k in range(len(stretches) - 1, -1, -1):
        before, station = rest, stretches[k].station
        rest = [None] * (count + 1)
        for start in range(count + 1) if k else (0,):
            best: tuple[float, tuple[int, ...]] | None = None
            for end in range(start, count + 1):
                after = before[end]
                if after is None or (
                    station is not None and not _begins(tokens[start:end], station)
                ):
                    continue
                cost = cost_of(k, start, end) + after[0]
                if best is None or cost < best[0] - _EQUAL:
                    best = cost, (start, *after[1])
            rest[start] = best
    return rest[0]


def _lowest(stretches: Route) -> list[bool]:
    """Tell of each stretch whether it is level and no other of a way with turns lies lower."""
    heights = [0.0, *accumulate(stretch.direction.dy for stretch in stretches)]
    return [
        stretch.direction.horizontal and heights[k] == min(heights) < max(heights)
        for k, stretch in enumerate(stretches)
    ]


def _sums(values: Iterable[float]) -> list[float]:
    return [0.0, *accumulate(values)]


def corner(before: Stretch, after: Stretch) -> bool:
    """Tell whether a mark can stand between two stretches: at a turn, or where it has to be."""
    turn = before.direction.horizontal != after.direction.horizontal
    return turn or after.station is not None


def _begins(tokens: Load, station: int) -> bool:
    return bool(tokens) and isinstance(tokens[0], Mark) and tokens[0].station == station


def is_source(token: Token) -> bool:
    """Tell whether a token is a battery or a current source."""
    return isinstance(token, Part) and any(p.shape.is_source for p in token.pieces)
