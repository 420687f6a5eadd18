"""Coordinates for a skeleton, from the room its tokens take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from derive.circuit.model import Circuit
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point
from derive.drawing.routes import Load, Places, Route, Stretch, distribute, load_length, route
from derive.drawing.skeleton import Kind, Skeleton, Tag
from derive.drawing.tokens import Arrow, Mark, Part, Token, arrows_of, marks_of, parts_of, reach
from derive.drawing.view import View

Key = tuple[str, int]
"""Names a token of a branch in every view: its kind, and which of that kind."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A shape with the tokens of each stretch; the same for all views of a circuit."""

    figure: Skeleton
    routes: tuple[Route, ...]
    loads: Mapping[Tag, tuple[Key, ...]]
    corners: Mapping[Tag, Key]
    """Marks at the corner where a stretch begins."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An arrangement with coordinates, for one view."""

    places: Places
    routes: tuple[Route, ...]
    loads: Mapping[Tag, Load]
    corners: Mapping[Tag, Mark]
    label_left: frozenset[int]
    """Upright edges whose labels stand at the left."""


def arrange(circuit: Circuit, figure: Skeleton, metrics: Metrics) -> Arrangement:
    """Put tokens on stretches: branches with one stretch first, the others folded beside them."""
    view = View()
    routes = tuple(route(figure, k) for k in range(len(circuit.branches)))
    tokens = _tokens(circuit, view, metrics)
    loads: dict[Tag, Load] = {}
    for stretches, held in zip(routes, tokens, strict=True):
        if len(stretches) == 1:
            loads[stretches[0].tag] = _orders(held)[0]
    rough = _solve(figure, loads, _outer_left(figure), view, metrics)
    available = {s.tag: _length(rough, s) for stretches in routes for s in stretches}
    corners: dict[Tag, Key] = {}
    for stretches, held in zip(routes, tokens, strict=True):
        if len(stretches) == 1:
            continue
        chosen = distribute(stretches, _orders(held), available, metrics)
        before = stretches[0]
        for stretch, load in zip(stretches, chosen, strict=True):
            turned = before.direction.horizontal != stretch.direction.horizontal
            if turned and load and isinstance(load[0], Mark):
                corners[stretch.tag] = _key(load[0])
                load = load[1:]
            loads[stretch.tag] = load
            before = stretch
    keys = {tag: tuple(_key(token) for token in load) for tag, load in loads.items()}
    return Arrangement(figure, routes, keys, corners)


def place(circuit: Circuit, arranged: Arrangement, view: View, metrics: Metrics) -> Placed:
    """Return coordinates for one view."""
    figure, routes = arranged.figure, arranged.routes
    loads: dict[Tag, Load] = {}
    corners: dict[Tag, Mark] = {}
    for stretches, held in zip(routes, _tokens(circuit, view, metrics), strict=True):
        for tag in (stretch.tag for stretch in stretches):
            loads[tag] = tuple(held[k] for k in arranged.loads.get(tag, ()) if k in held)
            mark = held.get(arranged.corners.get(tag, ("", 0)))
            if isinstance(mark, Mark):
                corners[tag] = mark
    left = _outer_left(figure)
    places = _solve(figure, loads, left, view, metrics)
    if view.loop is not None:
        left = _outside_left(routes, places, view, left)
        places = _solve(figure, loads, left, view, metrics)
    return Placed(places, routes, loads, corners, left)


def _outer_left(figure: Skeleton) -> frozenset[int]:
    return frozenset(e for e, w in enumerate(figure.up.left) if w == 0)


def _key(token: Token) -> Key:
    match token:
        case Part(position=position):
            return "part", position
        case Mark(station=station):
            return "mark", station
        case Arrow(index=index):
            return "arrow", index


def _tokens(circuit: Circuit, view: View, metrics: Metrics) -> list[dict[Key, Token]]:
    """Return what each branch carries in a view; a faint branch carries its parts alone."""
    walked = None if view.loop is None else {hop.branch for hop in view.loop.hops}
    marks = marks_of(circuit, metrics)
    found = []
    for k in range(len(circuit.branches)):
        labels = walked is None or k in walked
        held: list[Token] = [*parts_of(circuit, k, metrics, view.values, labels)]
        if labels and view.currents:
            held += arrows_of(circuit, k, metrics)
        if labels and view.points:
            held += marks[k]
        found.append({_key(token): token for token in held})
    return found


def _orders(held: Mapping[Key, Token]) -> list[Load]:
    """Return the orders in which tokens may be met: arrows after the parts, or before them."""
    parts = [token for token in held.values() if isinstance(token, Part)]
    arrows = [token for token in held.values() if isinstance(token, Arrow)]
    line: list[Token] = []
    for k in range(len(parts) + 1):
        line += [held["mark", k]] if ("mark", k) in held else []
        line += parts[k : k + 1]
    after, before = (*line, *arrows), (*arrows, *line)
    return [after, before] if line and arrows else [after]


def _length(places: Places, stretch: Stretch) -> float:
    one, other = places.ends(stretch)
    return abs(one.x - other.x) + abs(one.y - other.y)


def _solve(
    figure: Skeleton,
    loads: Mapping[Tag, Load],
    left: frozenset[int],
    view: View,
    metrics: Metrics,
) -> Places:
    network = figure.up.embedding.network
    in_loop = set() if view.loop is None else {hop.branch for hop in view.loop.hops}

    def walked(edge: int) -> bool:
        return network.edges[edge].branch in in_loop

    def side(edge: int, right: bool) -> float:
        if not figure.drawn(edge):
            return 0.0
        reaches = [reach(t, metrics) for t in loads.get(Tag(Kind.RISE, edge), ())]
        return max((far if right == (edge in left) else near for near, far in reaches), default=0.0)

    def across(tag: Tag) -> float:
        match tag.kind:
            case Kind.WINDOW:
                both = figure.drawn(tag.edge) and figure.drawn(tag.other)
                base = metrics.window if both else metrics.window / 2
                need = side(tag.edge, True) + side(tag.other, False) + base
                return max(need, metrics.loop) if walked(tag.edge) and walked(tag.other) else need
            case Kind.FOLD:
                return max(metrics.lead * 2, load_length(loads.get(tag, ()), True, metrics))
            case Kind.APART:
                return metrics.window
            case Kind.LEVEL:
                whole = load_length(loads.get(Tag(Kind.LEVEL, tag.edge), ()), True, metrics)
                whole = max(whole, metrics.window)
                ends = (figure.up.low[tag.edge], figure.up.high[tag.edge])
                return whole if any(figure.alone_at(tag.edge, v) for v in ends) else whole / 2
            case Kind.RISE:
                raise AssertionError("no constraint across")

    def upwards(tag: Tag) -> float:
        need = load_length(loads.get(tag, ()), False, metrics)
        return max(need, metrics.loop if walked(tag.edge) else metrics.rise)

    return Places(figure, figure.xs.solve(across), figure.ys.solve(upwards))


def _outside_left(
    routes: tuple[Route, ...],
    places: Places,
    view: View,
    otherwise: frozenset[int],
) -> frozenset[int]:
    """Return the upright edges whose labels are better at the left: those with the loop at right."""
    assert view.loop is not None
    outline = loop_outline(routes, places, view)
    found = set(otherwise)
    for hop in view.loop.hops:
        for stretch in routes[hop.branch]:
            if stretch.direction in (Direction.UP, Direction.DOWN):
                one, other = places.ends(stretch)
                middle = Point(one.x + 0.01, (one.y + other.y) / 2 + 0.003)
                (found.add if winding(outline, middle) else found.discard)(stretch.tag.edge)
    return frozenset(found)


def loop_outline(routes: tuple[Route, ...], places: Places, view: View) -> list[Point]:
    """Return the corners of the loop in travel order."""
    assert view.loop is not None
    outline: list[Point] = []
    for hop in view.loop.hops:
        way = [point for stretch in routes[hop.branch] for point in places.ends(stretch)]
        outline += way if hop.along else reversed(way)
    return outline


def winding(outline: list[Point], at: Point) -> int:
    """Return how often a closed walk goes round a point, anticlockwise counted positive."""
    turns = 0
    for k, one in enumerate(outline):
        other = outline[(k + 1) % len(outline)]
        # Walks run along the axes: only upright pieces to the right of the point count.
        if one.x == other.x and one.x > at.x:
            if one.y <= at.y < other.y:
                turns += 1
            elif other.y <= at.y < one.y:
                turns -= 1
    return turns
