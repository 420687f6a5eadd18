"""From coordinates to wires, symbols, arrows and dots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import hypot

from derive.circuit.model import Circuit
from derive.drawing.board import bounds
from derive.drawing.geometry import NodePlace
from derive.drawing.metrics import Metrics
from derive.drawing.model import (
    Box,
    CurrentArrow,
    Direction,
    Dot,
    Emphasis,
    Frame,
    Point,
    Symbol,
    Wire,
)
from derive.drawing.placing import Placed
from derive.drawing.routes import Stretch
from derive.drawing.tokens import Arrow, Mark, Part, Piece, apart, marks_of, piece_room, room
from derive.drawing.view import View

_OPEN = 1.6
"""An open terminal's circle against a junction dot."""
_FLAT = 1e-3
"""Twice the area of the triangle, in mm², below which three points lie on one line aslant."""
_RING = 2.4
"""The ring round the start of a walk against the dot in it."""


@dataclass(frozen=True, slots=True)
class PieceSpot:
    """A symbol with what its label needs to know."""

    piece: Piece
    symbol: Symbol
    room: Box
    """The symbol's box, or as much of the frame as lies beside it."""
    label_left: bool


@dataclass(frozen=True, slots=True)
class ArrowSpot:
    """A current arrow with what its label needs to know."""

    arrow: Arrow
    head: CurrentArrow
    label_left: bool


@dataclass(frozen=True, slots=True)
class PointSpot:
    """Where points between parts are named."""

    names: tuple[str, ...]
    at: Point
    directions: tuple[Direction, ...]
    """The ways in which wire leaves the place."""
    emphasis: Emphasis


@dataclass(frozen=True, slots=True)
class NodeSpot:
    """Where a node may be named."""

    names: tuple[str, ...]
    places: tuple[Point, ...]
    prefer: Direction
    emphasis: Emphasis


@dataclass
class Dressed:
    """The items of a figure before its labels."""

    wires: list[Wire] = field(default_factory=list)
    pieces: list[PieceSpot] = field(default_factory=list)
    arrows: list[ArrowSpot] = field(default_factory=list)
    frames: list[Frame] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    points: list[PointSpot] = field(default_factory=list)
    nodes: list[NodeSpot] = field(default_factory=list)


def dress(circuit: Circuit, placed: Placed, view: View, metrics: Metrics) -> Dressed:
    """Put the parts on the wires, and the nodes between them."""
    result = Dressed()
    degrees = {node.name: node.degree for node in circuit.nodes}
    for k in range(len(circuit.branches)):
        _Walk(circuit, placed, view, metrics, result, k, degrees).run()
    walked = _walked_bars(circuit, placed, view)
    marked = {p for marks in marks_of(circuit, metrics) for mark in marks for p in mark.names}
    for v, node in enumerate(circuit.nodes):
        names = (node.name, *(p for p in node.points if p not in {*marked, node.name}))
        if view.names is not None:
            names = tuple(name for name in names if name in view.names)
        place = placed.geometry.nodes[v]
        _Bar(view, metrics, result, place, walked.get(node.name, [])).lay(names, node.degree)
    _ring_the_start(placed, view, metrics, result)
    order = [Emphasis.FAINT, Emphasis.NORMAL, Emphasis.STRONG]
    result.wires.sort(key=lambda wire: order.index(wire.emphasis))
    return result


def _ring_the_start(placed: Placed, view: View, metrics: Metrics, result: Dressed) -> None:
    """Mark where the walk round the loop begins."""
    if view.loop is None:
        return
    first = view.loop.hops[0]
    route = placed.routes[first.branch]
    ends = placed.geometry.ends[route[0 if first.along else -1].tag]
    start = ends[0 if first.along else 1]
    result.dots = [dot for dot in result.dots if dot.centre != start]
    ring = metrics.dot * _RING
    result.dots.append(Dot(start, metrics.dot, emphasis=Emphasis.STRONG, ring=ring))


def _walked_bars(circuit: Circuit, placed: Placed, view: View) -> dict[str, list[float]]:
    """Return, for each node on the loop, where the loop comes to its bar and leaves it."""
    met: dict[str, list[float]] = {}
    for hop in () if view.loop is None else view.loop.hops:
        branch, route = circuit.branches[hop.branch], placed.routes[hop.branch]
        met.setdefault(branch.tail, []).append(placed.geometry.ends[route[0].tag][0].x)
        met.setdefault(branch.head, []).append(placed.geometry.ends[route[-1].tag][1].x)
    return met


@dataclass(frozen=True, slots=True)
class _Bar:
    """Lays down the plain wire of a node."""

    view: View
    metrics: Metrics
    result: Dressed
    node: NodePlace
    walked: list[float]
    """Where the loop comes and leaves; empty for a node it does not pass."""

    def lay(self, names: tuple[str, ...], degree: int) -> None:
        places = self.node.places
        for one, other in pairwise(places):
            self.result.wires.append(Wire((one, other), self._shade(one, other)))
        if degree == 1:
            shade = self._shade(places[0], places[0])
            self.result.dots.append(Dot(places[0], self.metrics.dot * _OPEN, True, shade))
        for joint in self.node.joints:
            shade = self._shade(joint, joint)
            self.result.dots.append(Dot(joint, self.metrics.dot, emphasis=shade))
        shades = [self._shade(place, place) for place in places]
        shown = Emphasis.STRONG if Emphasis.STRONG in shades else shades[0]
        spots = tuple(p for p, shade in zip(places, shades, strict=True) if shade is shown)
        if names:
            self.result.nodes.append(NodeSpot(names, spots, self.node.prefer, shown))

    def _shade(self, one: Point, other: Point) -> Emphasis:
        if self.view.loop is None:
            return Emphasis.NORMAL
        inside = self.walked and min(self.walked) <= one.x and other.x <= max(self.walked)
        return Emphasis.STRONG if inside else Emphasis.FAINT


def emphasis_of(view: View, branch: int) -> Emphasis:
    """Return how much a branch stands out."""
    if view.loop is None:
        return Emphasis.NORMAL
    walked = any(hop.branch == branch for hop in view.loop.hops)
    return Emphasis.STRONG if walked else Emphasis.FAINT


@dataclass
class _Walk:
    """Goes along a branch from tail to head and lays down what it meets."""

    circuit: Circuit
    placed: Placed
    view: View
    metrics: Metrics
    result: Dressed
    branch: int
    degrees: dict[str, int]
    wire: list[Point] = field(default_factory=list)
    emphasis: Emphasis = Emphasis.NORMAL

    def run(self) -> None:
        self.emphasis = emphasis_of(self.view, self.branch)
        route = self.placed.routes[self.branch]
        for k, stretch in enumerate(route):
            start, end = self.placed.geometry.ends[stretch.tag]
            # The wire of an open terminal ends at its circle.
            if k == 0:
                start = step(start, stretch.direction, self._trim(0))
            if k == len(route) - 1:
                end = step(end, stretch.direction, -self._trim(-1))
            if stretch.tag in self.placed.corners:
                self._corner(self.placed.corners[stretch.tag], start, route[k - 1], stretch)
            self._stretch(stretch, start, end)
        self._close()

    def _trim(self, which: int) -> float:
        branch = self.circuit.branches[self.branch]
        name = branch.tail if which == 0 else branch.head
        return self.metrics.dot * _OPEN if self.degrees[name] == 1 else 0.0

    def _stretch(self, stretch: Stretch, start: Point, end: Point) -> None:
        way, flat = stretch.direction, stretch.direction.horizontal
        load = self.placed.loads.get(stretch.tag, ())
        rooms = [room(token, flat, self.metrics) for token in load]
        length = hypot(end.x - start.x, end.y - start.y)
        free = (length - sum(rooms)) / (len(load) + 1)
        self._go(start)
        passed = free
        for token, need in zip(load, rooms, strict=True):
            middle = step(start, way, passed + need / 2)
            match token:
                case Arrow():
                    self._arrow(token, middle, stretch)
                case Mark():
                    self._mark(token, middle, stretch)
                case Part():
                    self._part(token, step(start, way, passed), stretch)
            passed += need + free
        self._go(end)

    def _corner(self, mark: Mark, at: Point, before: Stretch, after: Stretch) -> None:
        ways = (before.direction.opposite, after.direction)
        if before.direction is after.direction:
            self.result.dots.append(Dot(at, self.metrics.dot * 0.8, emphasis=self.emphasis))
        self.result.points.append(PointSpot(mark.names, at, ways, self.emphasis))

    def _mark(self, mark: Mark, at: Point, stretch: Stretch) -> None:
        ways = (stretch.direction, stretch.direction.opposite)
        self.result.dots.append(Dot(at, self.metrics.dot * 0.8, emphasis=self.emphasis))
        self.result.points.append(PointSpot(mark.names, at, ways, self.emphasis))

    def _go(self, to: Point) -> None:
        if not self.wire or self.wire[-1] != to:
            self.wire.append(to)

    def _close(self) -> None:
        points = _corners(self.wire)
        if len(points) > 1:
            self.result.wires.append(Wire(points, self.emphasis))
        self.wire = []

    def _arrow(self, token: Arrow, centre: Point, stretch: Stretch) -> None:
        way = stretch.direction if token.along else stretch.direction.opposite
        tip = step(centre, way, self.metrics.arrow / 2)
        head = CurrentArrow(tip, way, self.metrics.arrow, token.letter.name, self.emphasis)
        self.result.arrows.append(ArrowSpot(token, head, self._left(stretch)))

    def _left(self, stretch: Stretch) -> bool:
        return stretch.tag in self.placed.label_left

    def _part(self, token: Part, start: Point, stretch: Stretch) -> None:
        way, flat = stretch.direction, stretch.direction.horizontal
        framed = self.metrics.frame if len(token.pieces) > 1 else 0.0
        bare = apart(token, flat, self.metrics)
        passed = bare + framed
        symbols = []
        for piece in token.pieces:
            need = piece_room(piece, flat, self.metrics)
            if piece.name == self.view.gap:
                self._terminals(piece, step(start, way, passed + need / 2), way)
                return
            symbols.append(self._piece(piece, step(start, way, passed + need / 2), way))
            passed += need + self.metrics.lead
        rooms = [symbol.box for symbol in symbols]
        if framed:
            end = step(start, way, room(token, flat, self.metrics) - bare)
            frame = _frame(step(start, way, bare), end, grown(bounds(rooms), framed))
            self.result.frames.append(Frame(frame, self.emphasis))
            rooms = [_across(box, frame, flat) for box in rooms]
        for piece, symbol, space in zip(token.pieces, symbols, rooms, strict=True):
            self.result.pieces.append(PieceSpot(piece, symbol, space, self._left(stretch)))

    def _terminals(self, piece: Piece, centre: Point, way: Direction) -> None:
        """Leave a gap between two open terminals where the symbol would be."""
        off = self.metrics.dot * _OPEN
        names = self.view.gap_names if piece.along else self.view.gap_names[::-1]
        for name, sense in zip(names, (-1, 1), strict=True):
            at = step(centre, way, sense * (piece.length / 2))
            self._go(step(at, way, sense * off))
            if sense < 0:
                self._close()
            self.result.dots.append(Dot(at, off, is_open=True, emphasis=self.emphasis))
            ways = (way, way.opposite)
            self.result.points.append(PointSpot((name,), at, ways, self.emphasis))

    def _piece(self, piece: Piece, centre: Point, way: Direction) -> Symbol:
        self._go(step(centre, way, -piece.length / 2))
        self._close()
        self._go(step(centre, way, piece.length / 2))
        facing = way if piece.along else way.opposite
        shade = Emphasis.STRONG if piece.name in self.view.parts else self.emphasis
        return Symbol(piece.shape, centre, facing, piece.length, piece.breadth, piece.name, shade)


def grown(box: Box, by: float) -> Box:
    """Return a box with more room on all sides."""
    return Box(box.left - by, box.bottom - by, box.right + by, box.top + by)


def _frame(start: Point, end: Point, hull: Box) -> Box:
    """Return a box from start to end along the wire, as broad as the hull."""
    if start.y == end.y:
        return Box(min(start.x, end.x), hull.bottom, max(start.x, end.x), hull.top)
    return Box(hull.left, min(start.y, end.y), hull.right, max(start.y, end.y))


def _across(box: Box, frame: Box, flat: bool) -> Box:
    if flat:
        return Box(box.left, frame.bottom, box.right, frame.top)
    return Box(frame.left, box.bottom, frame.right, box.top)


def step(start: Point, way: Direction, length: float) -> Point:
    """Return the point so far off in a direction."""
    return Point(start.x + way.dx * length, start.y + way.dy * length)


def _corners(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return a polyline without the points at which it goes straight on."""
    kept: list[Point] = []
    for point in points:
        while len(kept) > 1 and _straight(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return tuple(kept)


def _straight(one: Point, middle: Point, other: Point) -> bool:
    if one.x == middle.x == other.x or one.y == middle.y == other.y:
        return True
    if one.x == middle.x or one.y == middle.y:
        return False
    area = (middle.x - one.x) * (other.y - one.y) - (other.x - one.x) * (middle.y - one.y)
    return abs(area) < _FLAT
