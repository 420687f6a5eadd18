"""The curved arrow inside the loop that is walked."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf

from derive.drawing.geometry import winding
from derive.drawing.metrics import Metrics
from derive.drawing.model import Box, LoopArrow, Point

_STEPS = 22
_SWEEP = 280.0


def loop_arrow(outline: list[Point], taken: Sequence[Box], metrics: Metrics) -> LoopArrow | None:
    """Return an arrow in the widest free place inside the loop; None when there is none.

    Its sense is that of the walk round that very place.
    """
    xs, ys = [p.x for p in outline], [p.y for p in outline]
    left, right, bottom, top = min(xs), max(xs), min(ys), max(ys)
    middle = Point((left + right) / 2, (bottom + top) / 2)
    least, most = metrics.loop_radius
    across = [left + (right - left) * k / _STEPS for k in range(1, _STEPS)]
    upwards = [bottom + (top - bottom) * k / _STEPS for k in range(1, _STEPS)]
    places = [Point(x, y) for x in across for y in upwards]
    # From the middle outwards: a place further off cannot be better than the widest one here.
    places.sort(key=lambda at: round(hypot(at.x - middle.x, at.y - middle.y), 9))
    boxes = list(taken)
    best: tuple[float, Point, float] | None = None
    for at in places:
        off = hypot(at.x - middle.x, at.y - middle.y)
        if best is not None and most - 0.1 * off <= best[0] + 1e-9:
            break
        floor = least if best is None else max(least, best[0] + 0.1 * off + 1e-9)
        reach = _free(at, boxes, 1.3 * metrics.gap, floor)
        if reach is not None and winding(outline, Point(at.x, at.y + 1e-4)) != 0:
            best = (min(reach, most) - 0.1 * off, at, min(reach, most))
    if best is None:
        return None
    _, centre, radius = best
    clockwise = winding(outline, Point(centre.x, centre.y + 1e-4)) < 0
    open_half = (360.0 - _SWEEP) / 2
    if clockwise:
        return LoopArrow(centre, radius, 270.0 - open_half, -_SWEEP)
    return LoopArrow(centre, radius, 270.0 + open_half, _SWEEP)


def _free(at: Point, boxes: list[Box], gap: float, floor: float) -> float | None:
    """Return how far a place is from all boxes, less a gap; None where that is below `floor`.

    A box that is too near comes first from then on, since it is so for the next place, too.
    """
    reach = inf
    for k, box in enumerate(boxes):
        dx = max(box.left - at.x, 0.0, at.x - box.right)
        dy = max(box.bottom - at.y, 0.0, at.y - box.top)
        reach = min(reach, hypot(dx, dy) - gap)
        if reach < floor:
            boxes.insert(0, boxes.pop(k))
            return None
    return reach
