"""The graph of a capacitor's voltage in words."""

from __future__ import annotations

from derive.drawing.graph_description import amount
from derive.drawing.transient_graph import TransientCurve

SHORT = "Graph of the voltage across {part} against time: it {way} {start} towards {end}."
LONG = (
    "At the start the voltage across {part} is {start}. It {way} fast at first, then ever more "
    "slowly, and comes near to {end}, a dashed level. The dashed tangent at the start meets that "
    "level after one time constant, {time}; by then the curve has gone 63 % of the way. The graph "
    "ends after five time constants, {span}."
)
RISES, FALLS = ("rises from", "rises"), ("falls from", "falls")


def transient_short(curve: TransientCurve, part: str, *, comma: bool = False) -> str:
    """Return one sentence about the graph of a course; with `comma` that is the decimal marker."""
    way = RISES if curve.end > curve.start else FALLS
    start, end = (amount(level, "V", comma=comma) for level in (curve.start, curve.end))
    return SHORT.format(part=part, way=way[0], start=start, end=end)


def transient_long(curve: TransientCurve, part: str, *, comma: bool = False) -> str:
    """Return the description of the graph of a course."""
    way = RISES if curve.end > curve.start else FALLS
    return LONG.format(
        part=part,
        way=way[1],
        start=amount(curve.start, "V", comma=comma),
        end=amount(curve.end, "V", comma=comma),
        time=amount(curve.time_constant, "s", comma=comma),
        span=amount(5 * curve.time_constant, "s", comma=comma),
    )
