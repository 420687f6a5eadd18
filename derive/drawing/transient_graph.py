"""The voltage across a capacitor against time, from the start to five time constants later.

The level that it comes to is dashed, and so is the tangent at the start, which meets that level
after one time constant.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp

from derive.algebra.dimension import SECOND, VOLT
from derive.algebra.term import Term
from derive.drawing.board import bounds
from derive.drawing.graph_board import GraphBoard, Place, line_boxes
from derive.drawing.metrics import SMALL, Metrics
from derive.drawing.model import Anchor, Box, Dot, Drawing, Emphasis, Line, Point
from derive.drawing.scale import labelled, ticks
from derive.typesetting.style import Style

SPAN = 5
"""Time constants that are shown."""
_WIDTH, _HEIGHT = 62.0, 32.0
_OVERHANG = 3.0
"""How far the axes go on beyond what is shown."""
_PIECES = 100
"""Straight pieces of the curve: none is off by more than a hundredth of a millimetre."""
_TICK, _TO_TICK = 0.9, 0.7
_GAP, _AIR = 1.0, 0.9


@dataclass(frozen=True, slots=True)
class TransientCurve:
    """What is drawn: values in volts and seconds, and the letters that stand at them."""

    start: Fraction
    end: Fraction
    time_constant: Fraction
    voltage: Term
    time: Term
    start_letter: Term
    end_letter: Term
    time_letter: Term


def transient_graph(curve: TransientCurve, style: Style, metrics: Metrics = SMALL) -> Drawing:
    """Draw a course. Raises ValueError when nothing changes, or there is no time constant."""
    if curve.start == curve.end or curve.time_constant <= 0:
        raise ValueError("nothing changes with time")
    low, high = min(curve.start, curve.end, Fraction(0)), max(curve.start, curve.end, Fraction(0))

    def height(value: Fraction | float) -> float:
        return float((Fraction(value) - low) / (high - low)) * _HEIGHT

    start, end, zero = height(curve.start), height(curve.end), height(Fraction(0))
    one = _WIDTH / SPAN
    shape = [SPAN * k / _PIECES for k in range(_PIECES + 1)]
    path = tuple(Point(one * x, end + (start - end) * exp(-x)) for x in shape)
    drawn = Line(path, Emphasis.STRONG)
    level = Line((Point(0, end), Point(_WIDTH, end)), dashed=True)
    tangent = Line((Point(0, start), Point(one, end)), dashed=True)
    met = Point(one, end + (start - end) * exp(-1))
    foot = end if abs(met.y - zero) < abs(end - zero) else met.y
    guide = Line((Point(one, zero), Point(one, foot)), Emphasis.FAINT)
    dots = (Dot(Point(0, start), metrics.dot), Dot(met, metrics.dot))
    board = GraphBoard(metrics.text, style)
    axes = _axes(board, curve, (low, high), zero)
    lines = (guide, *axes, level, tangent, drawn)
    board.taken += [box for line in lines for box in line_boxes(line)]
    board.taken += [dot.box for dot in dots]
    _name(board, curve, (start, end, zero))
    boxes = [label.box for label in board.labels] + [dot.box for dot in dots]
    boxes += [box for line in lines for box in line_boxes(line)]
    box = bounds(boxes)
    box = Box(box.left, box.bottom - _AIR, box.right, box.top + _AIR)
    return Drawing((), (), (), dots, (), None, tuple(board.labels), box, lines)


def _axes(
    board: GraphBoard, curve: TransientCurve, ends: tuple[Fraction, Fraction], zero: float
) -> list[Line]:
    """Draw the axes, which cross where both are zero, with round values along them."""
    low, high = ends
    upright = Line((Point(0, min(0.0, zero)), Point(0, _HEIGHT + _OVERHANG)))
    level = Line((Point(0, zero), Point(_WIDTH + _OVERHANG, zero)))
    lines = [upright, level]
    values = ticks(low, high)
    for value, label in zip(values, labelled(values, VOLT), strict=True):
        y = float((value - low) / (high - low)) * _HEIGHT
        lines.append(Line((Point(-_TICK, y), Point(0, y))))
        board.put(label, [Place(Point(-_TICK - _TO_TICK, y), Anchor.RIGHT)])
    span = SPAN * curve.time_constant
    # Where the voltage is below zero, the times stand above their axis.
    lift = -1 if high > 0 else 1
    times = ticks(Fraction(0), span)
    for value, label in list(zip(times, labelled(times, SECOND), strict=True))[1:]:
        x = float(value / span) * _WIDTH
        lines.append(Line((Point(x, zero), Point(x, zero + lift * _TICK))))
        board.put(label, [Place(Point(x, zero + lift * (_TICK + _TO_TICK)), Anchor.CENTRE, lift)])
    return lines


def _name(board: GraphBoard, curve: TransientCurve, heights: tuple[float, float, float]) -> None:
    """Set the letters: of the axes, of both ends, and of the time constant."""
    start, end, zero = heights
    one = _WIDTH / SPAN
    board.put(curve.voltage, [Place(Point(1.2, _HEIGHT + _OVERHANG), Anchor.LEFT, 1)])
    beyond = Point(_WIDTH + _OVERHANG + _GAP, zero)
    board.put(curve.time, [Place(beyond, Anchor.LEFT)])
    off = 1 if end >= start else -1
    board.put(
        curve.end_letter,
        [Place(Point(_WIDTH, end + lift * _GAP), Anchor.RIGHT, lift) for lift in (off, -off)]
        + [Place(Point(0.7 * _WIDTH, end + off * _GAP), Anchor.RIGHT, off)],
    )
    board.put(
        curve.start_letter,
        [Place(Point(_GAP + 0.6, start - off * 0.2), Anchor.LEFT, -off)]
        + [Place(Point(x, start + lift * _GAP), Anchor.LEFT, lift)
           for lift in (-off, off) for x in (1.0, 2.5, 4.0)],
    )  # fmt: skip
    board.put(
        curve.time_letter,
        [Place(Point(one, end + off * _GAP), Anchor.CENTRE, off)]
        + [
            Place(Point(one + side * _GAP, zero + share * (start + end - 2 * zero)), anchor)
            for share in (0.12, 0.2, 0.3, 0.4)
            for side, anchor in ((1, Anchor.LEFT), (-1, Anchor.RIGHT))
        ],
    )
