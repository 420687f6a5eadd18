"""Figures whose nodes stand where the author wants them: ``place A at 0 2``.

Branches run along the axes between the places: straight, round one corner, round two beside the
straight line, or round the whole figure. The set of ways is searched for one in which no two wires touch, with the
fewest crossings, then the fewest corners. Where there is none, or where only some points have a
place, `derive.drawing.layout` keeps the points to the left of each other and above each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, product

from derive.circuit.model import Circuit
from derive.drawing.grid import Cross, GridShape, Pair, across_each_other, within
from derive.drawing.metrics import Metrics
from derive.drawing.tokens import marks_of

Way = tuple[Cross, ...]

_MOST_WIRES = 4
"""As many can leave a place along the axes."""
_MOST_STEPS = 4000
"""Bound on the search."""


@dataclass(frozen=True, slots=True)
class _Leg:
    """A branch between two places that are given; a branch may have several in a row."""

    branch: int
    station: int | None
    """The station at its start; None for the node where the branch starts."""
    ways: tuple[Way, ...]


def hinted_shape(circuit: Circuit, metrics: Metrics) -> GridShape | None:
    """Return the figure by the author's places; None when not all nodes have one, or in vain."""
    if any(node.degree > _MOST_WIRES for node in circuit.nodes):
        return None
    given = {point: (x, y) for point, x, y in circuit.looks.places}
    spots: dict[str, Cross] = {}
    for node in circuit.nodes:
        placed = [given[point] for point in node.points if point in given]
        if not placed:
            return None
        spots[node.name] = placed[0]
    legs = _legs(circuit, given, spots, metrics)
    taken = [*spots.values(), *(leg.ways[0][0] for leg in legs if leg.station is not None)]
    if len(set(taken)) < len(taken):
        return None
    chosen = _search(legs, frozenset(taken))
    if chosen is None:
        return None
    pieces = [(leg.branch, leg.station, way) for leg, way in zip(legs, chosen, strict=True)]
    return GridShape.build(tuple(spots.values()), len(circuit.branches), pieces)


def _legs(
    circuit: Circuit,
    given: dict[str, Cross],
    spots: dict[str, Cross],
    metrics: Metrics,
) -> list[_Leg]:
    xs = sorted({x for x, _ in given.values()})
    ys = sorted({y for _, y in given.values()})
    gap = min((b - a for line in (xs, ys) for a, b in pairwise(line)), default=Fraction(1))
    legs = []
    for k, (branch, marks) in enumerate(
        zip(circuit.branches, marks_of(circuit, metrics), strict=True)
    ):
        stops: list[tuple[int | None, Cross]] = [(None, spots[branch.tail])]
        for mark in marks:
            placed = [given[point] for point in mark.names if point in given]
            stops += [(mark.station, placed[0])] if placed else []
        stops.append((None, spots[branch.head]))
        for (station, one), (_, other) in pairwise(stops):
            ways = (*_ways(one, other, gap), *_round(one, other, (xs, ys), gap))
            legs.append(_Leg(k, station, ways))
    return legs


def _ways(one: Cross, other: Cross, gap: Fraction) -> Iterator[Way]:
    """Yield ways between two places, the simplest first."""
    (x1, y1), (x2, y2) = one, other
    if one == other:
        for dx, dy in product((gap, -gap), repeat=2):
            yield one, (x1 + dx, y1), (x1 + dx, y1 + dy), (x1, y1 + dy), one
        return
    if x1 == x2 or y1 == y2:
        yield one, other
    else:
        yield one, (x1, y2), other
        yield one, (x2, y1), other
    for off in (gap, -gap, 2 * gap, -2 * gap):
        if x1 == x2:
            yield one, (x1 + off, y1), (x1 + off, y2), other
        elif y1 == y2:
            yield one, (x1, y1 + off), (x2, y1 + off), other


def _round(
    one: Cross, other: Cross, lines: tuple[list[Fraction], list[Fraction]], gap: Fraction
) -> Iterator[Way]:
    """Yield ways out of the figure and round one corner of it, for places that no line joins."""
    (x1, y1), (x2, y2) = one, other
    if x1 == x2 or y1 == y2:
        return
    xs, ys = lines
    for more in (gap / 2, gap):
        for x, y in product((xs[-1] + more, xs[0] - more), (ys[-1] + more, ys[0] - more)):
            yield one, (x1, y), (x, y), (x, y2), other
            yield one, (x, y1), (x, y), (x2, y), other


def _search(legs: Sequence[_Leg], taken: frozenset[Cross]) -> list[Way] | None:
    """Return the ways of all legs with the fewest crossings, then the fewest corners."""
    free = [[way for way in leg.ways if _avoids(way, taken)] for leg in legs]
    met: dict[tuple[Way, Way], int | None] = {}

    def clash(one: Way, other: Way) -> int | None:
        if (one, other) not in met:
            met[one, other] = _clash(one, other)
        return met[one, other]

    best: tuple[int, list[Way]] | None = None
    steps = 0

    def extend(chosen: list[Way], cost: int) -> None:
        nonlocal best, steps
        steps += 1
        if steps > _MOST_STEPS or (best is not None and cost >= best[0]):
            return
        if len(chosen) == len(legs):
            best = (cost, list(chosen))
            return
        for way in free[len(chosen)]:
            more = 0
            for other in chosen:
                found = clash(way, other)
                if found is None:
                    break
                more += found
            else:
                extend([*chosen, way], cost + 20 * more + len(way) - 2)

    extend([], 0)
    return None if best is None else best[1]


def _avoids(way: Way, taken: frozenset[Cross]) -> bool:
    """Tell whether a way passes no place of a node, its own ends not counted."""
    if any(corner in taken for corner in way[1:-1]):
        return False
    return not any(within(spot, piece) for spot in taken for piece in pairwise(way))


def _clash(way: Way, other: Way) -> int | None:
    """Count the crossings of two ways; None when they touch."""
    crossings = 0
    for mine, theirs in product(pairwise(way), pairwise(other)):
        if _along_each_other(mine, theirs):
            return None
        if any(within(spot, theirs) for spot in mine) or any(within(spot, mine) for spot in theirs):
            return None
        crossings += across_each_other(mine, theirs) is not None
    return None if set(way[1:-1]) & set(other[1:-1]) else crossings


def _along_each_other(one: Pair, other: Pair) -> bool:
    for axis in (0, 1):
        if len({spot[1 - axis] for spot in (*one, *other)}) == 1:
            low = max(min(s[axis] for s in one), min(s[axis] for s in other))
            high = min(max(s[axis] for s in one), max(s[axis] for s in other))
            if high > low:
                return True
    return False
