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
    best: tuple[float, Point, float] | None = None
    for i in range(1, _STEPS):
        for j in range(1, _STEPS):
            at = Point(left + (right - left) * i / _STEPS, bottom + (top - bottom) * j / _STEPS)
            off = hypot(at.x - middle.x, at.y - middle.y)
            reach, beaten = inf, best is not None and most - 0.1 * off <= best[0] + 1e-9
            for box in () if beaten else taken:
                # Further boxes make the place no wider, so that a beaten one is left at once.
                reach = min(reach, _distance(at, box) - 1.3 * metrics.gap)
                score = min(reach, most) - 0.1 * off
                beaten = reach < least or (best is not None and score <= best[0] + 1e-9)
                if beaten:
                    break
            if not beaten and winding(outline, Point(at.x, at.y + 1e-4)) != 0:
                best = (min(reach, most) - 0.1 * off, at, min(reach, most))
    if best is None:
        return None
    _, centre, radius = best
    clockwise = winding(outline, Point(centre.x, centre.y + 1e-4)) < 0
    open_half = (360.0 - _SWEEP) / 2
    if clockwise:
        return LoopArrow(centre, radius, 270.0 - open_half, -_SWEEP)
    return LoopArrow(centre, radius, 270.0 + open_half, _SWEEP)


def _distance(at: Point, box: Box) -> float:
    dx = max(box.left - at.x, 0.0, at.x - box.right)
    dy = max(box.bottom - at.y, 0.0, at.y - box.top)
    return hypot(dx, dy)
