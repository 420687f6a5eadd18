"""A walk drawn out straight, part by part, with the points between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from derive.algebra.term import Term
from derive.drawing.board import bounds
from derive.drawing.metrics import Metrics
from derive.drawing.model import Box, Direction, Frame, Point, Symbol, SymbolShape, Wire


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A part met on a walk, and the change of potential it makes."""

    quantity: str
    """Name of the emf or the resistance."""
    element: str
    """Name of the element: the same for an emf and its internal resistance."""
    shape: SymbolShape
    along: bool
    """For a cell: entered at −, left at +. For a resistance: along the arrow of its current."""
    label: Term
    """The change in letters, with its sign."""
    change: Fraction
    """In volts."""


@dataclass(frozen=True, slots=True)
class PotentialWalk:
    """A closed walk with the change of potential at every part of it."""

    legs: tuple[Leg, ...]
    stops: tuple[tuple[str, ...], ...]
    """The points before the first leg, between legs, and after the last: one more than legs."""

    @property
    def levels(self) -> tuple[Fraction, ...]:
        """The potential at every stop, counted from the first."""
        return tuple(accumulate((leg.change for leg in self.legs), initial=Fraction(0)))


_TARGET = 82.0
"""Width that a short walk is stretched to."""
_WIDEST_STRETCH = 2.6
_RESISTOR = 9.0
"""Length of a resistor in a walk of few parts; it is less in a long one."""
_FEW = 8
_BETWEEN, _WITHIN = 5.6, 3.2
"""Least wire between two parts, and between a cell and the internal resistance of its battery."""
_PLUS = 2.4
"""Room of the sign beside a cell, where a frame goes round it."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Where everything stands from left to right."""

    legs: tuple[tuple[float, float], ...]
    """Where each part begins and ends."""
    stops: tuple[float, ...]


def spread_out(walk: PotentialWalk, stretch: float, metrics: Metrics) -> Spread:
    """Give every part its place; the wires are longer by a factor than they must be."""
    resistor = _RESISTOR if len(walk.legs) <= _FEW else metrics.resistor[0]
    lengths = [
        resistor if leg.shape.is_resistor else metrics.size(leg.shape)[0] for leg in walk.legs
    ]
    fixed, loose = zip(*_wires(walk), strict=True)
    wanted = (_TARGET - sum(lengths) - sum(fixed)) / sum(loose)
    factor = stretch * min(max(wanted, 1.0), _WIDEST_STRETCH)
    wires = [room + more * factor for room, more in zip(fixed, loose, strict=True)]
    x = wires[0]
    legs, stops = [], [0.0]
    for length, wire in zip(lengths, wires[1:], strict=True):
        legs.append((x, x + length))
        stops.append(x + length + wire / 2)
        x += length + wire
    stops[-1] = x
    return Spread(tuple(legs), tuple(stops))


def _wires(walk: PotentialWalk) -> Iterator[tuple[float, float]]:
    """Yield the wire before each leg and after the last: what is fixed, and what is stretched."""
    yield _PLUS, _BETWEEN
    for one, other in pairwise(walk.legs):
        if one.element == other.element:
            yield _WITHIN, 0.0
        else:
            yield 2 * _PLUS if _sticks_out(walk, one, other) else 0.0, _BETWEEN
    yield _PLUS, _BETWEEN


def _sticks_out(walk: PotentialWalk, one: Leg, other: Leg) -> bool:
    """Tell whether the sign of a cell stands in a frame towards the wire between two legs."""
    elements = [leg.element for leg in walk.legs]
    return any(
        leg.shape.is_emf and leg.along is after and elements.count(leg.element) > 1
        for leg, after in ((one, True), (other, False))
    )


def draw_symbols(
    walk: PotentialWalk, spread: Spread, y: float, metrics: Metrics
) -> Iterator[Symbol]:
    """Yield the parts at a height."""
    for leg, (start, end) in zip(walk.legs, spread.legs, strict=True):
        breadth = metrics.size(leg.shape)[1]
        way = Direction.RIGHT if leg.along else Direction.LEFT
        centre = Point((start + end) / 2, y)
        yield Symbol(leg.shape, centre, way, end - start, breadth, leg.quantity)


def draw_wires(spread: Spread, y: float) -> Iterator[Wire]:
    """Yield the wire between the parts."""
    ends = [spread.stops[0], *(x for leg in spread.legs for x in leg), spread.stops[-1]]
    for start, end in zip(ends[::2], ends[1::2], strict=True):
        yield Wire((Point(start, y), Point(end, y)))


def draw_frames(
    walk: PotentialWalk, symbols: tuple[Symbol, ...], signs: list[Box], metrics: Metrics
) -> Iterator[Frame]:
    """Yield a frame round each emf with its internal resistance, and the sign of the cell."""
    pairs = pairwise(zip(walk.legs, symbols, strict=True))
    for (leg, symbol), (following, other) in pairs:
        if leg.element == following.element:
            cell = symbol.box if symbol.shape.is_emf else other.box
            sign = [box for box in signs if box.overlaps(cell, 1.0)]
            box = bounds((symbol.box, other.box, *sign))
            m = metrics.frame
            yield Frame(Box(box.left - m, box.bottom - m, box.right + m, box.top + m))
