"""Putting the tokens of every branch on its stretches, and the whole into coordinates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from derive.circuit.model import Circuit
from derive.drawing.geometry import Geometry, Shape, loop_outline, winding
from derive.drawing.metrics import Metrics
from derive.drawing.model import Point, SymbolShape
from derive.drawing.reckoning import style_of
from derive.drawing.routes import Load, Route, corner, distribute
from derive.drawing.skeleton import Tag
from derive.drawing.tokens import Arrow, Mark, Part, Piece, Token, arrows_of, marks_of, parts_of
from derive.drawing.view import View

_MOST_TURNED = 3
"""Branches with more arrows than this have all of them late on their walks, or all early."""

Key = tuple[str, int]
"""Names a token of a branch in every view: its kind, and which of that kind."""
Held = Mapping[Key, Token]
"""What one branch carries in one view."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A shape with the tokens of each stretch; the same for all views of a circuit."""

    shape: Shape
    loads: Mapping[Tag, tuple[Key, ...]]
    corners: Mapping[Tag, Key]
    """Marks at the corner where a stretch begins."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An arrangement with coordinates, for one view."""

    geometry: Geometry
    routes: tuple[Route, ...]
    loads: Mapping[Tag, Load]
    corners: Mapping[Tag, Mark]
    label_left: frozenset[Tag]
    """Upright stretches whose labels stand at the left."""


def tokens_of(circuit: Circuit, view: View, metrics: Metrics) -> list[Held]:
    """Return what each branch carries in a view; a faint branch carries its parts alone."""
    walked = None if view.loop is None else {hop.branch for hop in view.loop.hops}
    marks, style = marks_of(circuit, metrics), style_of(circuit)
    found: list[Held] = []
    for k in range(len(circuit.branches)):
        labels = walked is None or k in walked
        parts = parts_of(circuit, k, metrics, style, view.values, labels)
        held: list[Token] = [_shown(part, view, metrics) for part in parts]
        if labels and view.currents:
            arrows = arrows_of(circuit, k, metrics, style)
            held += (a for a in arrows if view.arrows is None or a.letter in view.arrows)
        if labels and view.points:
            held += marks[k]
        found.append({_key(token): token for token in held})
    return found


def _shown(part: Part, view: View, metrics: Metrics) -> Part:
    """Return what a view shows in the place of a battery: a current source, two terminals."""
    (piece, *others) = part.pieces
    if others:
        return part
    if piece.name == view.gap:
        # Like a source it stands upright where it can; it is no broader than its circles.
        shape, broad = SymbolShape.CURRENT_SOURCE, 2 * metrics.dot
        piece = Piece(shape, piece.name, piece.along, metrics.window, broad, (), (0.0, 0.0))
    elif piece.name in view.current_sources:
        size = metrics.source
        piece = replace(piece, shape=SymbolShape.CURRENT_SOURCE, length=size, breadth=size)
    return replace(part, pieces=(piece,))


def arrange(shape: Shape, tokens: Sequence[Held], metrics: Metrics) -> Arrangement:
    """Put tokens on stretches: branches with one stretch first, the others folded beside them."""
    view = View()
    routes = shape.routes
    loads: dict[Tag, Load] = {}
    for stretches, held in zip(routes, tokens, strict=True):
        if len(stretches) == 1:
            loads[stretches[0].tag] = _orders(held)[0]
    rough = shape.solve(loads, shape.outer_left, view, metrics)
    available = {s.tag: rough.length(s) for stretches in routes for s in stretches}
    corners: dict[Tag, Key] = {}
    for stretches, held in zip(routes, tokens, strict=True):
        if len(stretches) == 1:
            continue
        chosen = distribute(stretches, _orders(held), available, metrics)
        before = stretches[0]
        for stretch, load in zip(stretches, chosen, strict=True):
            if corner(before, stretch) and load and isinstance(load[0], Mark):
                corners[stretch.tag] = _key(load[0])
                load = load[1:]
            loads[stretch.tag] = load
            before = stretch
    keys = {tag: tuple(_key(token) for token in load) for tag, load in loads.items()}
    return Arrangement(shape, keys, corners)


def place(arranged: Arrangement, tokens: Sequence[Held], view: View, metrics: Metrics) -> Placed:
    """Return coordinates for one view, whose tokens are given."""
    shape, routes = arranged.shape, arranged.shape.routes
    loads: dict[Tag, Load] = {}
    corners: dict[Tag, Mark] = {}
    for stretches, held in zip(routes, tokens, strict=True):
        for tag in (stretch.tag for stretch in stretches):
            loads[tag] = tuple(held[k] for k in arranged.loads.get(tag, ()) if k in held)
            mark = held.get(arranged.corners.get(tag, ("", 0)))
            if isinstance(mark, Mark):
                corners[tag] = mark
    left = shape.outer_left
    geometry = shape.solve(loads, left, view, metrics)
    if view.loop is not None:
        left = _outside_left(routes, geometry, view, left)
        geometry = shape.solve(loads, left, view, metrics)
    return Placed(geometry, routes, loads, corners, left)


def _key(token: Token) -> Key:
    match token:
        case Part(position=position):
            return "part", position
        case Mark(station=station):
            return "mark", station
        case Arrow(index=index):
            return "arrow", index


def _orders(held: Held) -> list[Load]:
    """Return the orders in which tokens may be met: arrows late on their walks, or early."""
    count = sum(isinstance(token, Part) for token in held.values())
    arrows = [token for token in held.values() if isinstance(token, Arrow)]
    if len(arrows) == 1:
        line = _in_order(held, count, (), ())
        return [(*line, *arrows), (*arrows, *line)] if line else [(*arrows,)]
    # A wire comes after the walk that ends at its points, and before the one that begins there.
    wires = [arrow for arrow in arrows if arrow.between[0] == arrow.between[1]]
    walks = [arrow for arrow in arrows if arrow not in wires]
    sides = [*product((True, False), repeat=len(arrows))] if len(arrows) <= _MOST_TURNED else []
    orders = []
    for side in sides or [(True,) * len(arrows), (False,) * len(arrows)]:
        ends = {arrow.index for arrow, end in zip(arrows, side, strict=True) if end}
        late = [arrow for arrow in (*walks, *wires) if arrow.index in ends]
        early = [arrow for arrow in (*wires, *walks) if arrow.index not in ends]
        orders.append(_in_order(held, count, late, early))
    return orders


def _in_order(held: Held, count: int, late: Sequence[Arrow], early: Sequence[Arrow]) -> Load:
    """Return marks and parts in order, with some arrows at the end or the start of their walks."""
    line: list[Token] = []
    for k in range(count + 1):
        line += [arrow for arrow in late if arrow.between[1] == k]
        line += [held["mark", k]] if ("mark", k) in held else []
        line += [arrow for arrow in early if arrow.between[0] == k]
        line += [held["part", k]] if k < count else []
    return tuple(line)


def _outside_left(
    routes: tuple[Route, ...], geometry: Geometry, view: View, otherwise: frozenset[Tag]
) -> frozenset[Tag]:
    """Return the upright stretches whose labels are better at the left: the loop is at right."""
    outline = loop_outline(routes, geometry, view)
    found = set(otherwise)
    for hop in () if view.loop is None else view.loop.hops:
        for stretch in routes[hop.branch]:
            if not stretch.direction.horizontal:
                one, other = geometry.ends[stretch.tag]
                middle = Point(one.x + 0.01, (one.y + other.y) / 2 + 0.003)
                (found.add if winding(outline, middle) else found.discard)(stretch.tag)
    return frozenset(found)
