"""What a shape turns into once it has coordinates, whichever way the shape was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
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
        return abs(one.x - other.x) + abs(one.y - other.y)


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
        # Walks run along the axes: only upright pieces to the right of the point count.
        if one.x == other.x and one.x > at.x:
            if one.y <= at.y < other.y:
                turns += 1
            elif other.y <= at.y < one.y:
                turns -= 1
    return turns
