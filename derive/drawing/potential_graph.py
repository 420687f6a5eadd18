"""The potential against the position on a walk round a loop.

The walk is drawn out straight below the graph, part by part, so that each rise and fall stands
over the part that makes it: level along wire, a steep step at a battery, a slope in a resistance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from derive.algebra.dimension import VOLT
from derive.algebra.term import Negative, Sum, SymbolKind, Term
from derive.algebra.term import Symbol as Letter
from derive.drawing.board import bounds
from derive.drawing.graph_board import GraphBoard, Place, line_boxes
from derive.drawing.metrics import SMALL, Metrics
from derive.drawing.model import (
    Anchor,
    Box,
    Dot,
    Drawing,
    Emphasis,
    Label,
    Line,
    PlusSign,
    Point,
    PointNames,
    Signed,
)
from derive.drawing.reckoning import label_size, letter_in
from derive.drawing.scale import labelled, ticks
from derive.drawing.straight_walk import (
    PotentialWalk,
    Spread,
    draw_frames,
    draw_symbols,
    draw_wires,
    spread_out,
)
from derive.typesetting.style import Style

_HEIGHT = 24.5
"""Height of the graph, from its lowest level to its highest."""
_FLOOR = -8.0
"""Height of the walk drawn out below, from the lowest level."""
_STRETCHES = (1.0, 1.12, 1.25, 1.4, 1.6, 1.85, 2.2)
_OVERHANG = 2.0
_TICK = 0.9
_TO_TICK = 0.7
_AIR = 0.9
_GAP = 1.1
"""From the curve to a label."""


@dataclass(frozen=True, slots=True)
class GraphFrame:
    """What of a graph stays where it is when the changes of potential become others."""

    places: Spread
    backdrop: Drawing
    """The walk drawn out below, the names of its points and of the axis."""
    labels: tuple[Label, ...]
    """The change at each leg in letters; where it stands depends on the changes."""
    taken: tuple[Box, ...]
    """Room of the backdrop that no label may be put in."""
    height: float = _HEIGHT
    """From the lowest level, at 0, to the highest."""
    floor: float = _FLOOR
    """Where the walk is drawn out."""
    overhang: float = _OVERHANG
    """How far the axis goes on beyond the highest level."""
    tick: float = _TICK
    to_tick: float = _TO_TICK
    """From the axis to its values."""
    dot: float = SMALL.dot
    gap: float = _GAP
    air: float = _AIR


def potential_graph(walk: PotentialWalk, style: Style, metrics: Metrics = SMALL) -> Drawing:
    """Draw the potential along a walk that comes back to where it began.

    The graph is stretched until no label is in the way of anything. Raises ValueError when the
    potential does not come back, or does not change at all.
    """
    return _stretched(walk, style, metrics).drawing


def graph_frame(walk: PotentialWalk, style: Style, metrics: Metrics = SMALL) -> GraphFrame:
    """Return what stays of the graph of a walk; raises as `potential_graph` does."""
    drawn = _stretched(walk, style, metrics)
    own = len(walk.legs)
    labels = drawn.drawing.labels[drawn.values : -own]
    backdrop = replace(drawn.drawing, lines=(), dots=drawn.feet, labels=labels)
    taken = [label.box for label in labels] + [dot.box for dot in drawn.feet]
    taken += [symbol.box for symbol in backdrop.symbols]
    taken += [frame.box for frame in backdrop.frames]
    return GraphFrame(
        drawn.places,
        replace(backdrop, box=bounds(taken)),
        drawn.drawing.labels[-own:],
        tuple(taken),
        dot=metrics.dot,
    )


@dataclass(frozen=True, slots=True)
class _Drawn:
    drawing: Drawing
    places: Spread
    feet: tuple[Dot, ...]
    """The points on the walk below."""
    values: int
    """How many labels the axis has: the first ones. Those of the legs come last."""
    crowded: int
    """How many labels found no free room."""


def _stretched(walk: PotentialWalk, style: Style, metrics: Metrics) -> _Drawn:
    levels = walk.levels
    if levels[-1] != 0:
        raise ValueError("the changes do not add up to zero")
    if not any(levels):
        raise ValueError("the potential is the same everywhere")
    best: _Drawn | None = None
    for stretch in _STRETCHES:
        drawn = _draw(walk, levels, stretch, style, metrics)
        if best is None or drawn.crowded < best.crowded:
            best = drawn
        if not drawn.crowded:
            break
    assert best is not None
    return best


def _draw(
    walk: PotentialWalk,
    levels: tuple[Fraction, ...],
    stretch: float,
    style: Style,
    metrics: Metrics,
) -> _Drawn:
    places = spread_out(walk, stretch, metrics)
    low, high = min(levels), max(levels)
    heights = [float((level - low) / (high - low)) * _HEIGHT for level in levels]
    end = places.stops[-1]
    marks = [Point(x, y) for x, y, _ in _named(walk, places, heights)]
    start = Line((Point(0, heights[0]), Point(end, heights[0])), dashed=True)
    guides = [Line((at, Point(at.x, _FLOOR)), Emphasis.FAINT) for at in marks[1:] if at.x > 0]
    curve = Line(tuple(_corners(places, heights)), Emphasis.STRONG)
    symbols = tuple(draw_symbols(walk, places, _FLOOR, metrics))
    feet = tuple(Dot(Point(at.x, _FLOOR), metrics.dot) for at in marks)
    dots = (*(Dot(at, metrics.dot) for at in marks), *feet)
    board = GraphBoard(metrics.text, style)
    axis = _axis(board, (low, high), heights[0])
    values = len(board.labels)
    board.labels += [letter for symbol in symbols for letter in letter_in(symbol, metrics.text)]
    board.taken += [symbol.box for symbol in symbols]
    board.taken += [box for line in (curve, start, *guides, *axis) for box in line_boxes(line)]
    board.taken += [dot.box for dot in dots]
    _put_signs(board, walk, places, metrics)
    signs = [label.box for label in board.labels if isinstance(label.content, PlusSign)]
    frames = tuple(draw_frames(walk, symbols, signs, metrics))
    board.taken += [frame.box for frame in frames]
    _tell(board, walk, places, heights, metrics)
    wires = tuple(draw_wires(places, _FLOOR))
    drawing = Drawing(
        wires, symbols, frames, dots, (), None, tuple(board.labels),
        Box(0, 0, 0, 0), (*guides, start, *axis, curve),
    )  # fmt: skip
    drawing = replace(drawing, box=_room(drawing))
    return _Drawn(drawing, places, feet, values, board.crowded)


def _named(
    walk: PotentialWalk, places: Spread, heights: list[float]
) -> Iterator[tuple[float, float, tuple[str, ...]]]:
    """Yield place, height and names of every stop that has a name."""
    for x, y, names in zip(places.stops, heights, walk.stops, strict=True):
        if names:
            yield x, y, names


def _corners(places: Spread, heights: list[float]) -> Iterator[Point]:
    """Yield the corners of the curve: each leg begins at the height where the last one ended."""
    yield Point(places.stops[0], heights[0])
    for (x, end), (low, high) in zip(places.legs, pairwise(heights), strict=True):
        yield Point(x, low)
        yield Point(end, high)
    yield Point(places.stops[-1], heights[-1])


def _axis(board: GraphBoard, ends: tuple[Fraction, Fraction], start: float) -> list[Line]:
    """Draw the axis with its marks; `start` is the height of the starting level."""
    values = ticks(*ends)
    scale = _HEIGHT / float(ends[1] - ends[0])
    lines = [Line((Point(0, _FLOOR), Point(0, _HEIGHT + _OVERHANG)))]
    for value, label in zip(values, labelled(values, VOLT), strict=True):
        y = start + float(value) * scale
        lines.append(Line((Point(-_TICK, y), Point(0, y))))
        board.put(label, [Place(Point(-_TICK - _TO_TICK, y), Anchor.RIGHT)])
    return lines


def _put_signs(board: GraphBoard, walk: PotentialWalk, places: Spread, metrics: Metrics) -> None:
    """Set a plus beside the long plate of every cell."""
    for leg, (x, end) in zip(walk.legs, places.legs, strict=True):
        if leg.shape.is_emf:
            y = _FLOOR + metrics.cell[1] / 2
            after, before = (
                Place(Point(end + 0.7, y), _AFTER, -1),
                Place(Point(x - 0.7, y), _BEFORE, -1),
            )
            board.put(PlusSign(), [after if leg.along else before])


def _tell(
    board: GraphBoard,
    walk: PotentialWalk,
    places: Spread,
    heights: list[float],
    metrics: Metrics,
) -> None:
    """Set the names of the points and the changes."""
    above = Point(1.2, _HEIGHT + _OVERHANG)
    board.put(_title(walk), [Place(above, Anchor.LEFT, 1)])
    for x, _, names in _named(walk, places, heights):
        below = Point(x, _FLOOR - metrics.dot - metrics.gap)
        board.put(PointNames(names), [Place(below, Anchor.CENTRE, -1)])
    runs = zip(walk.legs, places.legs, pairwise(heights), strict=True)
    for leg, (x, end), (low, high) in runs:
        label = Signed(leg.label)
        height = label_size(label, board.size, board.style)[1]
        board.put(label, list(_beside(Point(x, low), Point(end, high), _GAP, height)))


def _title(walk: PotentialWalk) -> Term:
    """Return V − V_A: the potential, counted from the start of the walk."""
    potential = Letter("V", SymbolKind.POTENTIAL, VOLT)
    if not walk.stops[0]:
        return potential
    origin = Letter(f"V({walk.stops[0][0]})", SymbolKind.POTENTIAL, VOLT)
    return Sum((potential, Negative(origin)))


_AFTER, _BEFORE = Anchor.LEFT, Anchor.RIGHT
"""Text after a place has its left side there."""


def _beside(start: Point, end: Point, gap: float, height: float) -> Iterator[Place]:
    """Yield places for a label of some height at a rise or fall: above it first, then below."""
    rise, run = end.y - start.y, end.x - start.x
    middle = (start.x + end.x) / 2
    if abs(rise) < 3.0:
        yield Place(Point(middle, max(start.y, end.y) + gap), Anchor.CENTRE, 1)
        yield Place(Point(middle, min(start.y, end.y) - gap), Anchor.CENTRE, -1)
    steep = abs(rise) > run
    sides = (_BEFORE, _AFTER) if rise > 0 else (_AFTER, _BEFORE)
    near = (0.5,) if steep else (0.5, 0.4, 0.6, 0.3, 0.7)
    for shares in (near, (0.4, 0.6, 0.3, 0.7), (0.2, 0.8, 0.1, 0.9)):
        for side, lift in zip(sides, (1, -1), strict=True):
            way = 1 if side is _AFTER else -1
            for share in shares:
                x, y = start.x + share * run, start.y + share * rise
                if steep:
                    # Beside a steep slope stands the middle of the text, and half of it leans over.
                    off = gap + abs(run / rise) * height / 2
                    yield Place(Point(x + way * off, y), side)
                else:
                    yield Place(Point(x + way * gap * 0.6, y + lift * gap * 0.9), side, lift)
    top, foot = (end, start) if rise > 0 else (start, end)
    for anchor in (Anchor.CENTRE, _BEFORE, _AFTER):
        yield Place(Point(top.x, top.y + gap), anchor, 1)
        yield Place(Point(foot.x, foot.y - gap), anchor, -1)


def _room(drawing: Drawing) -> Box:
    """Return the room of a graph, with some air above and below it."""
    boxes = [label.box for label in drawing.labels]
    boxes += [symbol.box for symbol in drawing.symbols]
    boxes += [frame.box for frame in drawing.frames]
    boxes += [dot.box for dot in drawing.dots]
    boxes += [box for line in drawing.lines for box in line_boxes(line)]
    box = bounds(boxes)
    return Box(box.left, box.bottom - _AIR, box.right, box.top + _AIR)
