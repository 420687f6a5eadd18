"""Where labels may stand, the places liked best at no cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from derive.drawing.board import Slot, beside, off, sign, towards
from derive.drawing.dressing import ArrowSpot, NodeSpot, PieceSpot, PointSpot, step
from derive.drawing.geometry import winding
from derive.drawing.metrics import Metrics
from derive.drawing.model import Box, CurrentArrow, Direction, Point, Symbol

_OTHER_SIDE, _FURTHER, _INSIDE = 2.0, 1.2, 4.0
_BESIDE_WIRE = 0.65
"""From the middle of a wire to a sign beside it."""
_MOST_PLACES = 24
"""Joints of a node, those in its middle, at which its name may stand."""
_LESS = 0.8
"""Cost of naming a node at a place that is less marked than another."""
_SHORT = 4.0
"""Least length along which text may be shifted beside a symbol, in millimetres."""


@dataclass(frozen=True, slots=True)
class Slots:
    """Proposes slots; inside the loop that is walked they are liked less."""

    metrics: Metrics
    outline: list[Point]

    def sign(self, spot: PieceSpot, size: tuple[float, float]) -> list[Slot]:
        """Return the slots of the sign beside the long plate of a cell."""
        symbol = spot.symbol
        long, broad = size if symbol.direction.horizontal else size[::-1]
        ahead = step(symbol.centre, symbol.direction, symbol.length / 2 + 0.3 + long / 2)
        side = max(symbol.breadth / 2 - broad / 2, _BESIDE_WIRE + broad / 2)
        # Away from the label.
        one, other = reversed(_sides(symbol, spot.label_left))
        slots = []
        for k, more in enumerate((0.0, broad / 2, broad)):
            for way, cost in ((one, 0.0), (other, 0.6)):
                at = step(ahead, way, side + more)
                slots.append(Slot(at, 0, 0, cost + 0.5 * k))
        return slots

    def part(self, spot: PieceSpot) -> list[Slot]:
        """Return the slots of a part's name and value."""
        symbol, gap = spot.symbol, self.metrics.gap
        length = max(symbol.length, _SHORT)
        found = []
        for way, cost in zip(_sides(symbol, spot.label_left), (0.0, _OTHER_SIDE), strict=True):
            for k, share in enumerate((0.0, 0.25, -0.25, 0.5, -0.5)):
                more = cost + 0.7 * ((k + 1) // 2)
                found.append(_by(symbol, spot.room, way, gap, share * length, more))
            found.append(_by(symbol, spot.room, way, gap * 1.7, 0.0, cost + _FURTHER))
        return self._outside(found)

    def arrow(self, spot: ArrowSpot) -> list[Slot]:
        """Return the slots of a current's letter."""
        head, gap = spot.head, self.metrics.gap * 0.8
        # Across the wire from the names of parts, but outside a diamond as they are.
        left = spot.label_left is head.direction.aslant
        found = []
        for way, cost in zip(_sides(head, left), (0.0, 1.0), strict=True):
            for k, share in enumerate((0.0, 0.5, -0.5, 1.0, -1.0)):
                more = cost + 0.5 * ((k + 1) // 2)
                found.append(_by(head, head.box, way, gap, share * head.length, more))
            found.append(_by(head, head.box, way, gap * 1.8, 0.0, cost + 0.8))
        return self._outside(found)

    def node(self, spot: NodeSpot, dots: Mapping[Point, float]) -> list[Slot]:
        """Return the slots of a node's name: at the start of a walk, or at a joint in its middle.

        `dots` says how far the dots reach from their middles; that at the start has a ring.
        """
        middle = (spot.places[0].x + spot.places[-1].x) / 2
        reach = {place: round(dots.get(place, 0.0), 3) for place in spot.places}
        places = sorted(spot.places, key=lambda p: (-reach[p], round(abs(p.x - middle), 3), p.x))
        found = []
        for k, place in enumerate(places[:_MOST_PLACES]):
            near = (reach[place] or self.metrics.dot) + self.metrics.gap * 0.8
            cost = 0.2 * k + (_LESS if reach[place] < reach[places[0]] else 0.0)
            for gap, more in ((near, cost), (near * 1.6, cost + _FURTHER)):
                found += [off(place, way, gap, more + extra) for way, extra in _round(spot.prefer)]
        return self._outside([*found, *self._aside(spot, places[0])])

    def _aside(self, spot: NodeSpot, place: Point) -> Iterator[Slot]:
        """Propose slots along the wire, past a sign that hangs at a place."""
        near = self.metrics.dot + self.metrics.gap * 0.8
        for by, cost in ((1.6, 0.0), (2.4, 0.8)):
            for level in (_across(spot.prefer).opposite, _across(spot.prefer)):
                for way, more in ((spot.prefer, 2.2), (spot.prefer.opposite, 2.6)):
                    corner = step(step(place, level, near * by), way, near * 0.8)
                    dx, dy = sign(corner.x - place.x), sign(corner.y - place.y)
                    yield Slot(corner, dx, dy, cost + more)

    def point(self, spot: PointSpot) -> list[Slot]:
        """Return the slots of the name of a point between parts."""
        gap = self.metrics.gap
        one, other = spot.directions
        dx, dy = one.dx + other.dx, one.dy + other.dy
        found = []
        for far, more in ((gap, 0.0), (gap * 1.7, _FURTHER)):
            if not dx and not dy:
                across = _across(one)
                ways = [(way, 0.4 * k) for k, way in enumerate((across, across.opposite))]
            else:
                away = towards(-dx, -dy)
                ways = [(away, 0.0), (one.opposite, 0.8), (other.opposite, 0.8)]
                ways.append((away.opposite, 2.0))
            # Text that stands with its corner to the place looks further off than it is.
            found += [
                off(spot.at, way, far * (0.85 if way.aslant else 1.0), cost + more)
                for way, cost in ways
            ]
        return self._outside(found)

    def _outside(self, slots: Iterable[Slot]) -> list[Slot]:
        if not self.outline:
            return list(slots)
        return [
            replace(slot, cost=slot.cost + _INSIDE)
            if winding(self.outline, slot.box(1, 1).centre)
            else slot
            for slot in slots
        ]


def _round(prefer: Direction) -> list[tuple[Direction, float]]:
    """Return all directions from a joint, each with its cost."""
    left = _across(prefer)
    ways = [(prefer, 0.0), (prefer.opposite, 0.8), (left.opposite, 1.0), (left, 1.0)]
    for up, cost in ((prefer, 1.3), (prefer.opposite, 2.0)):
        ways += [(towards(up.dx + w.dx, up.dy + w.dy), cost) for w in (left.opposite, left)]
    return ways


def _across(way: Direction) -> Direction:
    """Return the direction across a wire, upwards, or to the left of one that is upright."""
    across = towards(-way.dy, way.dx)
    return across if across.dy > 0 or across is Direction.LEFT else across.opposite


def _sides(item: Symbol | CurrentArrow, left: bool) -> tuple[Direction, Direction]:
    """Return the two sides of something on a wire, the better one first."""
    way = item.direction
    if way.horizontal:
        return Direction.UP, Direction.DOWN
    across = _across(way)
    towards_left = across if across.dx < 0 else across.opposite
    better = towards_left if left else towards_left.opposite
    return better, better.opposite


def _by(
    item: Symbol | CurrentArrow, room: Box, way: Direction, gap: float, shift: float, cost: float
) -> Slot:
    """Return the slot at one side of something on a wire, perhaps shifted along the wire."""
    if not way.aslant:
        return beside(room, way, gap, shift, cost)
    broad = item.breadth if isinstance(item, Symbol) else item.length * 0.84
    middle = step(item.box.centre, item.direction, shift)
    return off(middle, way, broad / 2 + gap, cost)
