"""What a shape turns into once it has coordinates, whichever way the shape was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from typing import Protocol

from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point
from derive.drawing.routes import Load, Route, Stretch
from derive.drawing.skeleton import Tag
from derive.drawing.view import View


@dataclass(frozen=True, slots=True)
class NodePlace:
    """Where a node lies: a point, or a level bar of plain wire."""

    places: tuple[Point, ...]
    """Where branches meet it, left to right."""
    joints: tuple[Point, ...]
    """Those of the places where three or more wires meet."""
    prefer: Direction
    """Where its name looks best."""


@dataclass(frozen=True, slots=True)
class Geometry:
    """Coordinates of all stretches and nodes."""

    ends: Mapping[Tag, tuple[Point, Point]]
    """Where each stretch begins and ends, the way of the branch's arrow."""
    nodes: tuple[NodePlace, ...]
    """In the order of the circuit."""

    def length(self, stretch: Stretch) -> float:
        """Return the length of a stretch."""
        one, other = self.ends[stretch.tag]
        return hypot(one.x - other.x, one.y - other.y)

    @property
    def extent(self) -> tuple[float, float]:
        """Width and height of the wires alone."""
        points = [point for pair in self.ends.values() for point in pair]
        xs, ys = [p.x for p in points], [p.y for p in points]
        return max(xs) - min(xs), max(ys) - min(ys)

    def stretched(self, across: float, upwards: float) -> Geometry:
        """Return the same ways with longer wires: nothing comes closer when no factor is below 1."""

        def moved(point: Point) -> Point:
            return Point(round(point.x * across, 6), round(point.y * upwards, 6))

        ends = {tag: (moved(one), moved(other)) for tag, (one, other) in self.ends.items()}
        nodes = tuple(
            NodePlace(tuple(map(moved, node.places)), tuple(map(moved, node.joints)), node.prefer)
            for node in self.nodes
        )
        return Geometry(ends, nodes)


class Shape(Protocol):
    """A figure without coordinates."""

    @property
    def routes(self) -> tuple[Route, ...]:
        """The way of every branch."""
        ...

    @property
    def outer_left(self) -> frozenset[Tag]:
        """Upright stretches with nothing to the left of them."""
        ...

    def solve(
        self, loads: Mapping[Tag, Load], left: frozenset[Tag], view: View, metrics: Metrics
    ) -> Geometry:
        """Return coordinates that leave room for the loads; labels of `left` stand at the left."""
        ...


def crossings(ways: Sequence[Sequence[Point]]) -> int:
    """Count the places where wires along the axes cross inside both, so that they are not joined."""
    pieces = [pair for way in ways for pair in pairwise(way)]
    level = [(a, b) for a, b in pieces if a.y == b.y]
    upright = [(a, b) for a, b in pieces if a.x == b.x]
    return sum(
        min(a.x, b.x) < c.x < max(a.x, b.x) and min(c.y, d.y) < a.y < max(c.y, d.y)
        for a, b in level
        for c, d in upright
    )


def loop_outline(routes: tuple[Route, ...], geometry: Geometry, view: View) -> list[Point]:
    """Return the corners of the loop in travel order; nothing when no loop is walked."""
    outline: list[Point] = []
    for hop in () if view.loop is None else view.loop.hops:
        way = [point for stretch in routes[hop.branch] for point in geometry.ends[stretch.tag]]
        outline += way if hop.along else reversed(way)
    return outline


def winding(outline: list[Point], at: Point) -> int:
    """Return how often a closed walk goes round a point, anticlockwise counted positive."""
    turns = 0
    for k, one in enumerate(outline):
        other = outline[(k + 1) % len(outline)]
        # Only pieces that pass the height of the point to the right of it count.
        rises = one.y <= at.y < other.y
        if not rises and not other.y <= at.y < one.y:
            continue
        x = one.x + (other.x - one.x) * (at.y - one.y) / (other.y - one.y)
        if x > at.x:
            turns += 1 if rises else -1
    return turns
