"""The room of what is drawn, and the places beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, hypot

from derive.drawing.model import Box, CurrentArrow, Direction, Point, Symbol, Wire

_WIRE = 0.3
"""Half of the room kept free round the middle of a wire."""
_LINK = 1.5
"""Length of the pieces into which something aslant is cut, so that their boxes stay small."""


def bounds(boxes: Iterable[Box]) -> Box:
    """Return the least box that holds some others."""
    found = list(boxes)
    return Box(
        min(b.left for b in found),
        min(b.bottom for b in found),
        max(b.right for b in found),
        max(b.top for b in found),
    )


def wire_boxes(wire: Wire) -> list[Box]:
    """Return the room of each piece of a wire; a piece aslant has a chain of small boxes."""
    return [box for one, other in pairwise(wire.points) for box in _chain(one, other, _WIRE)]


def rooms(item: Symbol | CurrentArrow) -> list[Box]:
    """Return the room of a symbol or an arrowhead; a chain of small boxes if it lies aslant."""
    way = item.direction
    if not way.aslant:
        return [item.box]
    centre, half = item.box.centre, item.length / 2
    one = Point(centre.x - way.dx * half, centre.y - way.dy * half)
    other = Point(centre.x + way.dx * half, centre.y + way.dy * half)
    across = item.breadth if isinstance(item, Symbol) else item.length * 0.84
    # A square that stands on its corner covers what a box as broad leaves free at its corners.
    return _chain(one, other, across / 2**1.5 + _WIRE)


def _chain(one: Point, other: Point, half: float) -> list[Box]:
    dx, dy = other.x - one.x, other.y - one.y
    return links(one, other, half, ceil(hypot(dx, dy) / _LINK) if dx and dy else 1)


def links(one: Point, other: Point, half: float, count: int) -> list[Box]:
    """Return the room of a straight line, cut into pieces, with so much on either side of it."""
    dx, dy = other.x - one.x, other.y - one.y
    boxes = []
    for k in range(count):
        xs = one.x + dx * k / count, one.x + dx * (k + 1) / count
        ys = one.y + dy * k / count, one.y + dy * (k + 1) / count
        boxes.append(Box(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half))
    return boxes


def edges(box: Box) -> list[Box]:
    """Return the four sides of a box as boxes without breadth."""
    return [
        Box(box.left, box.bottom, box.right, box.bottom),
        Box(box.left, box.top, box.right, box.top),
        Box(box.left, box.bottom, box.left, box.top),
        Box(box.right, box.bottom, box.right, box.top),
    ]


def distance(one: Box, other: Box) -> float:
    """Return how far two boxes are apart; 0 when they touch."""
    dx = max(other.left - one.right, one.left - other.right, 0.0)
    dy = max(other.bottom - one.top, one.bottom - other.top, 0.0)
    return hypot(dx, dy)


@dataclass(frozen=True, slots=True)
class Slot:
    """A place for lines of text: a point, and the way the text goes off from it."""

    at: Point
    dx: int
    dy: int
    """1 puts the text wholly to the right or above, 0 in the middle."""
    cost: float = 0.0
    """How much less it is liked than the best."""

    def box(self, width: float, height: float) -> Box:
        """Return the room of a block of text put here."""
        left = self.at.x - width * (1 - self.dx) / 2
        bottom = self.at.y - height * (1 - self.dy) / 2
        return Box(left, bottom, left + width, bottom + height)


def sign(value: float) -> int:
    """Return −1, 0 or 1."""
    return (value > 1e-9) - (value < -1e-9)


_WAYS = {(sign(way.dx), sign(way.dy)): way for way in Direction}


def towards(dx: float, dy: float) -> Direction:
    """Return the direction with the signs of two steps, which are not both 0."""
    return _WAYS[sign(dx), sign(dy)]


def beside(box: Box, way: Direction, gap: float, shift: float = 0.0, cost: float = 0.0) -> Slot:
    """Return the slot at one side of a box, perhaps shifted along that side."""
    centre = box.centre
    if way.horizontal:
        x = (box.right + gap) if way.dx > 0 else (box.left - gap)
        return Slot(Point(x, centre.y + shift), sign(way.dx), 0, cost)
    y = (box.top + gap) if way.dy > 0 else (box.bottom - gap)
    return Slot(Point(centre.x + shift, y), 0, sign(way.dy), cost)


def off(at: Point, way: Direction, gap: float, cost: float = 0.0) -> Slot:
    """Return the slot so far off in a direction; aslant it is the text's corner that is near."""
    point = Point(at.x + way.dx * gap, at.y + way.dy * gap)
    return Slot(point, sign(way.dx), sign(way.dy), cost)
