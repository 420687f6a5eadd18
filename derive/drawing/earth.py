"""The sign at the point whose potential is zero: the earth of IEC 60617, three bars on a stub."""

from __future__ import annotations

from collections.abc import Iterable

from derive.drawing.board import bounds, wire_boxes
from derive.drawing.dressing import Dressed, step
from derive.drawing.metrics import Metrics
from derive.drawing.model import Box, Direction, Dot, Emphasis, Point, Wire

_BARS = (1.0, 0.62, 0.25)
"""Half lengths of the bars against the first."""
_WAYS = (Direction.DOWN, Direction.RIGHT, Direction.LEFT, Direction.UP)


def add_earth(figure: Dressed, point: str, whole: bool, metrics: Metrics) -> bool:
    """Hang the sign on a point of a figure, below it if there is room; tell whether there is any.

    In a figure that is not `whole`, because it shows a loop, the sign is faint.
    """
    taken = [box for wire in figure.wires for box in wire_boxes(wire)]
    taken += [spot.symbol.box for spot in figure.pieces]
    taken += [spot.head.box for spot in figure.arrows]
    taken += [frame.box for frame in figure.frames]
    emphasis = Emphasis.NORMAL if whole else Emphasis.FAINT
    for way in _WAYS:
        for place in _places(figure, point):
            wires = _sign(place, way, metrics, emphasis)
            # The bars and the lower half of the stub; its upper half starts on the wire.
            box = bounds(box for wire in wires for box in wire_boxes(wire))
            room = _beyond(box, place, way, metrics.dot * 2)
            if any(room.overlaps(other, metrics.gap / 2) for other in taken):
                continue
            figure.wires += wires
            if all(dot.centre != place for dot in figure.dots):
                figure.dots.append(Dot(place, metrics.dot, emphasis=emphasis))
            return True
    return False


def _places(figure: Dressed, point: str) -> Iterable[Point]:
    for spot in figure.points:
        if point in spot.names:
            yield spot.at
    for node in figure.nodes:
        if point in node.names:
            yield from node.places


def _sign(at: Point, way: Direction, metrics: Metrics, emphasis: Emphasis) -> list[Wire]:
    stub, half = metrics.lead, metrics.cell[1] / 3
    foot = step(at, way, stub)
    across = Direction((abs(way.dy), abs(way.dx)))
    bars = [
        (step(middle, across, -half * share), step(middle, across, half * share))
        for share, middle in zip(
            _BARS, (step(foot, way, k * half * 0.45) for k in range(len(_BARS))), strict=True
        )
    ]
    return [Wire(line, emphasis) for line in [(at, foot), *bars]]


def _beyond(box: Box, at: Point, way: Direction, off: float) -> Box:
    """Return the part of a box that lies further in a direction than `off` from a place."""
    return Box(
        max(box.left, at.x + off) if way is Direction.RIGHT else box.left,
        max(box.bottom, at.y + off) if way is Direction.UP else box.bottom,
        min(box.right, at.x - off) if way is Direction.LEFT else box.right,
        min(box.top, at.y - off) if way is Direction.DOWN else box.top,
    )
