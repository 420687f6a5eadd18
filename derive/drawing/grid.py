"""A figure drawn on a grid that is given, with one step in x and one in y for the whole of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise

from derive.drawing.geometry import Geometry, NodePlace
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point
from derive.drawing.routes import Load, Route, Stretch, load_length
from derive.drawing.skeleton import Kind, Tag
from derive.drawing.tokens import reach, thickness
from derive.drawing.view import View

Cross = tuple[Fraction, Fraction]
"""A place on the author's grid."""
Pair = tuple[Cross, Cross]
Piece = tuple[int, int | None, tuple[Cross, ...]]
"""A branch, the station at which a piece of it begins, and the corners of that piece."""


@dataclass(frozen=True, slots=True)
class GridShape:
    """The ways of the branches on a grid."""

    nodes: tuple[Cross, ...]
    routes: tuple[Route, ...]
    spans: Mapping[Tag, tuple[Cross, Cross]]

    @staticmethod
    def build(nodes: tuple[Cross, ...], branches: int, pieces: Sequence[Piece]) -> GridShape:
        """Cut the ways of the branches into stretches, at their corners and where they cross."""
        every = [pair for _, _, way in pieces for pair in pairwise(way)]
        routes: list[list[Stretch]] = [[] for _ in range(branches)]
        spans: dict[Tag, tuple[Cross, Cross]] = {}
        for branch, begins, way in pieces:
            station = begins
            for one, other in (part for pair in pairwise(way) for part in _cut(pair, every)):
                direction = _direction(one, other)
                kind = Kind.LEVEL if direction.horizontal else Kind.RISE
                tag = Tag(kind, branch, len(routes[branch]))
                routes[branch].append(Stretch(tag, direction, station))
                spans[tag] = one, other
                station = None
        return GridShape(nodes, tuple(map(tuple, routes)), spans)

    @property
    def outer_left(self) -> frozenset[Tag]:
        """Upright stretches at the left border."""
        least = min(x for pair in self.spans.values() for x, _ in pair)
        return frozenset(
            tag for tag, (one, other) in self.spans.items() if one[0] == other[0] == least
        )

    def solve(
        self, loads: Mapping[Tag, Load], left: frozenset[Tag], view: View, metrics: Metrics
    ) -> Geometry:
        """Return coordinates: the steps are as small as the loads allow."""
        walked = set() if view.loop is None else {hop.branch for hop in view.loop.hops}
        steps = [metrics.rise, metrics.rise]
        for tag, (one, other) in self.spans.items():
            axis = 0 if one[1] == other[1] else 1
            need = load_length(loads.get(tag, ()), axis == 0, metrics)
            need = max(need, metrics.loop if tag.edge in walked else metrics.lead * 2)
            steps[axis] = max(steps[axis], need / float(abs(one[axis] - other[axis])))
        for one_tag, other_tag in combinations(self.spans, 2):
            for low, high in ((one_tag, other_tag), (other_tag, one_tag)):
                axis, distance = self._facing(low, high)
                if distance > 0:
                    need = _depth(low, True, loads, left, metrics)
                    need += _depth(high, False, loads, left, metrics) + metrics.gap * 2
                    steps[axis] = max(steps[axis], need / float(distance))

        def at(spot: Cross) -> Point:
            return Point(round(float(spot[0]) * steps[0], 6), round(float(spot[1]) * steps[1], 6))

        ends = {tag: (at(one), at(other)) for tag, (one, other) in self.spans.items()}
        return Geometry(ends, tuple(self._node(spot, at(spot)) for spot in self.nodes))

    def _facing(self, low: Tag, high: Tag) -> tuple[int, Fraction]:
        """Return the axis and the distance by which a stretch lies beyond a parallel one."""
        (a, b), (c, d) = self.spans[low], self.spans[high]
        axis = 0 if a[0] == b[0] else 1
        if c[axis] != d[axis] or a[axis] != b[axis]:
            return axis, Fraction(0)
        side = 1 - axis
        shared = min(max(a[side], b[side]), max(c[side], d[side])) - max(
            min(a[side], b[side]), min(c[side], d[side])
        )
        return axis, c[axis] - a[axis] if shared >= 0 else Fraction(0)

    def _node(self, spot: Cross, at: Point) -> NodePlace:
        ways = []
        for route in self.routes:
            for stretch in route:
                one, other = self.spans[stretch.tag]
                ways += [stretch.direction] if one == spot else []
                ways += [stretch.direction.opposite] if other == spot else []
        low = min(y for pair in self.spans.values() for _, y in pair)
        prefer = Direction.DOWN if spot[1] == low else Direction.UP
        return NodePlace((at,), (at,) if len(ways) >= 3 else (), prefer)


def _cut(piece: Pair, others: Sequence[Pair]) -> list[Pair]:
    """Cut a piece where others cross it, so that no part is put on a crossing."""
    spots = {spot for spot in (across_each_other(piece, other) for other in others) if spot}
    corners = sorted({*piece, *spots}, reverse=piece[0] > piece[1])
    return list(pairwise(corners))


def across_each_other(one: Pair, other: Pair) -> Cross | None:
    """Return the place where two pieces of wire cross inside both."""
    flat, upright = (one, other) if one[0][1] == one[1][1] else (other, one)
    if flat[0][1] != flat[1][1] or upright[0][0] != upright[1][0]:
        return None
    at = (upright[0][0], flat[0][1])
    return at if within(at, flat) and within(at, upright) else None


def within(spot: Cross, piece: Pair) -> bool:
    """Tell whether a place lies on a piece of wire, its ends not counted."""
    (x1, y1), (x2, y2) = piece
    if spot in piece:
        return False
    return min(x1, x2) <= spot[0] <= max(x1, x2) and min(y1, y2) <= spot[1] <= max(y1, y2)


def _depth(
    tag: Tag, beyond: bool, loads: Mapping[Tag, Load], left: frozenset[Tag], metrics: Metrics
) -> float:
    """Return how far the tokens of a stretch reach to the right or up (beyond), or back."""
    load = loads.get(tag, ())
    if tag.kind is Kind.RISE:
        labels_there = beyond != (tag in left)
        return max((reach(t, metrics)[0 if labels_there else 1] for t in load), default=0.0)
    return max((thickness(t, metrics)[1 if beyond else 0] for t in load), default=0.0)


def _direction(one: Cross, other: Cross) -> Direction:
    if one[1] == other[1]:
        return Direction.RIGHT if other[0] > one[0] else Direction.LEFT
    return Direction.UP if other[1] > one[1] else Direction.DOWN
