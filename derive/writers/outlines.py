"""The shapes of symbols as lines, and the pens they are drawn with: the same in every writer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, degrees, radians, sin

from derive.drawing.model import (
    CONTACT,
    Area,
    Box,
    CurrentArrow,
    Emphasis,
    Hatch,
    Label,
    LoopArrow,
    LoopName,
    Point,
    Symbol,
    SymbolShape,
)

WEIGHT = {Emphasis.NORMAL: 0.7, Emphasis.STRONG: 1.25, Emphasis.FAINT: 0.5}
"""Widths of lines in points."""
COLOUR = {
    Emphasis.NORMAL: "loopwalkink",
    Emphasis.STRONG: "loopwalktint",
    Emphasis.FAINT: "loopwalkfaint",
}
"""Names of the colours in `derive.writers.tex_macros`."""
FAINT_TYPE = "loopwalkquiet"
"""Type that steps back is darker than lines that do: it has to be read."""
DASH = {Emphasis.FAINT: (2.4, 2.0)}
"""Dashes of wires and the gaps between them, in points; the other wires are solid."""
LOOP_WEIGHT = 0.9
_INNER = 0.55
"""Place of the inner plates of two cells, in halves of the symbol from its middle."""
_LIFTED = 30
"""Angle between the blade of an open switch and the wire, in degrees."""
CELLS_DASH = (1.6, 1.5)
"""Of the line between two cells, in points."""
FRAME_WEIGHT = 0.4
FRAME_DASH = (2.0, 1.6)
LINE_WEIGHT = {Emphasis.NORMAL: 0.4, Emphasis.STRONG: 1.25, Emphasis.FAINT: 0.4}
HATCH_WEIGHT = 0.3
LOOP_HEAD = (5.0, 4.2)
"""Length and width of the head of a loop arrow, in points."""


def label_colour(label: Label) -> str:
    """Return the name of the colour of a label."""
    if isinstance(label.content, LoopName):
        return COLOUR[Emphasis.STRONG]
    return FAINT_TYPE if label.emphasis is Emphasis.FAINT else COLOUR[Emphasis.NORMAL]


def box(symbol: Symbol) -> list[Point]:
    """Return the corners of a resistor drawn as a box, its first corner not repeated."""
    return [_on(symbol, a, b) for a, b in ((-1, 1), (1, 1), (1, -1), (-1, -1))]


def zigzag(symbol: Symbol) -> list[Point]:
    """Return the corners of a zigzag resistor, its two ends included."""
    teeth = [_on(symbol, (2 * k + 1) / 6 - 1, 1 if k % 2 == 0 else -1) for k in range(6)]
    return [_on(symbol, -1, 0), *teeth, _on(symbol, 1, 0)]


def cross(symbol: Symbol) -> tuple[list[Point], list[Point]]:
    """Return the two strokes in the circle of a lamp, upright on the page however it lies."""
    d, c = symbol.length / 2 * 0.5**0.5, symbol.centre
    first, second = (
        [Point(c.x - d, c.y + side * d), Point(c.x + d, c.y - side * d)] for side in (1, -1)
    )
    return first, second


def source_arrow(symbol: Symbol) -> tuple[list[Point], list[Point]]:
    """Return the arrow in a circle or a diamond: its shaft, and the outline of its head."""
    way = symbol.direction.dx, symbol.direction.dy
    tip, length = _on(symbol, 0.68, 0), symbol.length * 0.34
    return [_on(symbol, -0.68, 0), _on(symbol, 0.3, 0)], _head(tip, way, length, length * 0.42)


def diamond(symbol: Symbol) -> list[Point]:
    """Return the corners of a dependent source, its first corner not repeated."""
    return [_on(symbol, a, b) for a, b in ((-1, 0), (0, 1), (1, 0), (0, -1))]


def signs(symbol: Symbol) -> list[list[Point]]:
    """Return the strokes of the signs in a dependent voltage source: −, then +.

    They stand upright on the page, however the symbol lies.
    """
    half, minus, plus = symbol.length * 0.09, _on(symbol, -0.46, 0), _on(symbol, 0.46, 0)
    level = [[Point(at.x - half, at.y), Point(at.x + half, at.y)] for at in (minus, plus)]
    return [*level, [Point(plus.x, plus.y - half), Point(plus.x, plus.y + half)]]


def contacts(symbol: Symbol) -> tuple[Point, Point]:
    """Return the middles of the contacts of a switch: its hinge, at the left or below, first."""
    at = 1 - 2 * CONTACT
    hinge, other = (_on(_as_on_page(symbol), side * at, 0) for side in (-1, 1))
    return hinge, other


def contact_radius(symbol: Symbol) -> float:
    """Return the radius of the contacts of a switch."""
    return symbol.length * CONTACT


def blade(symbol: Symbol) -> list[Point]:
    """Return the blade of a switch: it lies on both contacts, or is lifted clear of one.

    It is lifted upwards, or to the left of an upright wire, whichever way the branch runs.
    """
    radius, span = contact_radius(symbol), symbol.length * (1 - 2 * CONTACT)
    if symbol.shape is SymbolShape.CLOSED_SWITCH:
        ends = [(0.0, radius), (span, radius)]
    else:
        turn = radians(_LIFTED)
        ends = [(reach * cos(turn), reach * sin(turn)) for reach in (radius, span)]
    start, page = radius - symbol.length / 2, _as_on_page(symbol)
    return [
        _on(page, (start + ahead) / (symbol.length / 2), up / (symbol.breadth / 2))
        for ahead, up in ends
    ]


def _as_on_page(symbol: Symbol) -> Symbol:
    """Return a symbol that runs from left to right, or upwards."""
    way = symbol.direction
    forward = (way.dx, way.dy) > (0, 0)
    return symbol if forward else replace(symbol, direction=way.opposite)


def capacitor_plates(symbol: Symbol) -> list[list[Point]]:
    """Return the two plates of a capacitor, which are alike."""
    return [[_on(symbol, at, 1), _on(symbol, at, -1)] for at in (-1, 1)]


def plus_plates(symbol: Symbol) -> list[list[Point]]:
    """Return the long plates of a battery, the one at its + terminal last."""
    return [[_on(symbol, at, 1), _on(symbol, at, -1)] for at in (*_inner(symbol, -1), 1)]


def minus_plates(symbol: Symbol) -> list[list[Point]]:
    """Return the short plates of a battery, which are drawn with a broader pen."""
    return [[_on(symbol, at, 0.5), _on(symbol, at, -0.5)] for at in (-1, *_inner(symbol, 1))]


def between_cells(symbol: Symbol) -> list[Point]:
    """Return the dashes that stand for further cells; nothing for a single one."""
    return [_on(symbol, at, 0) for side in (-1, 1) for at in _inner(symbol, side)]


def _inner(symbol: Symbol, side: int) -> list[float]:
    """Return where the inner plate of the first (−1) or the last cell of several stands."""
    return [side * _INNER] if symbol.shape is SymbolShape.CELLS else []


def minus_weight(emphasis: Emphasis) -> float:
    """Return the width of the short plate in points."""
    return WEIGHT[emphasis] * (2.0 if emphasis is Emphasis.STRONG else 2.6)


def arrowhead(arrow: CurrentArrow) -> list[Point]:
    """Return the outline of the head of a current arrow, its tip first."""
    d = arrow.direction
    return _head(arrow.tip, (d.dx, d.dy), arrow.length, arrow.length * 0.42)


def _head(tip: Point, way: tuple[float, float], length: float, half: float) -> list[Point]:
    dx, dy = way
    back = Point(tip.x - dx * length, tip.y - dy * length)
    notch = Point(back.x + dx * length * 0.25, back.y + dy * length * 0.25)
    wings = [Point(back.x - dy * half * s, back.y + dx * half * s) for s in (1, -1)]
    return [tip, wings[0], notch, wings[1]]


SLANTED, CROSSED = 1.5, 2.2
"""Distance of the lines of a hatching along a side of the area, in millimetres."""


def hatching(area: Area) -> list[list[Point]]:
    """Return the lines that fill an area."""
    match area.hatch:
        case Hatch.NONE:
            return []
        case Hatch.SLANTED:
            return _slanted(area.box, SLANTED)
        case Hatch.CROSSED:
            lines = _slanted(area.box, CROSSED)
            mirror = area.box.left + area.box.right
            return lines + [[Point(mirror - p.x, p.y) for p in line] for line in lines]


def _slanted(box: Box, distance: float) -> list[list[Point]]:
    """Return the lines that rise at 45 degrees; neighbouring areas have the same ones."""
    lines = []
    # Each has its own x − y.
    low, high = box.left - box.top, box.right - box.bottom
    k = int(low // distance) + 1
    while k * distance < high:
        shift = k * distance
        start = max(box.left, box.bottom + shift)
        end = min(box.right, box.top + shift)
        lines.append([Point(start, start - shift), Point(end, end - shift)])
        k += 1
    return lines


def _on(symbol: Symbol, along: float, across: float) -> Point:
    """Return a place given along the wire and to the left of it, in halves of the symbol."""
    a, b = along * symbol.length / 2, across * symbol.breadth / 2
    dx, dy = symbol.direction.dx, symbol.direction.dy
    return Point(symbol.centre.x + dx * a - dy * b, symbol.centre.y + dy * a + dx * b)


@dataclass(frozen=True, slots=True)
class Arc:
    """A loop arrow as a part of a circle and a head."""

    start: Point
    end: Point
    """Where the line ends within the head."""
    large: bool
    """True for more than half of the circle."""
    head: list[Point]


def arc(arrow: LoopArrow, length: float, width: float) -> Arc:
    """Return a loop arrow with a head of a length and a width in millimetres."""
    sense = 1 if arrow.sweep > 0 else -1
    turn = degrees(length / arrow.radius)
    # The head lies along the chord between its tip and its back, so that it follows the circle.
    last = arrow.start + arrow.sweep
    tip, back = _around(arrow, last), _around(arrow, last - sense * turn)
    gap = ((tip.x - back.x) ** 2 + (tip.y - back.y) ** 2) ** 0.5
    way = ((tip.x - back.x) / gap, (tip.y - back.y) / gap)
    return Arc(
        _around(arrow, arrow.start),
        _around(arrow, last - sense * turn * 0.6),
        abs(arrow.sweep) - turn * 0.6 > 180,
        _head(tip, way, length, width / 2),
    )


def _around(arrow: LoopArrow, angle: float) -> Point:
    c, r = arrow.centre, arrow.radius
    return Point(c.x + r * cos(radians(angle)), c.y + r * sin(radians(angle)))
