"""A bridge as most books first draw it: four arms along the sides of a diamond, the cross-piece
level between its corners, and the last branch, as a rule the supply, round the left of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import permutations

from derive.circuit.elements import Battery
from derive.circuit.model import Branch, Circuit
from derive.circuit.terminals import OPEN_TERMINALS
from derive.drawing.geometry import Geometry, NodePlace
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point
from derive.drawing.routes import Load, Route, Stretch, load_length
from derive.drawing.skeleton import Kind, Tag
from derive.drawing.tokens import reach
from derive.drawing.view import View

_HALF = 0.5**0.5
_CORNER = 0.7
"""Wire kept free towards the sharp corners, against the distance of two upright wires."""

_LEFT, _TOP, _RIGHT, _BOTTOM = range(4)
"""The corners."""
_SIDES = {
    (_LEFT, _TOP): Direction.RIGHT_UP,
    (_TOP, _RIGHT): Direction.RIGHT_DOWN,
    (_RIGHT, _BOTTOM): Direction.LEFT_DOWN,
    (_BOTTOM, _LEFT): Direction.LEFT_UP,
    (_LEFT, _RIGHT): Direction.RIGHT,
}
"""Ways from corner to corner; the way back is the opposite."""
_ROUND = (Direction.LEFT, Direction.DOWN, Direction.RIGHT)
"""The way of the last branch from the top to the bottom."""
_PREFER = {
    _LEFT: Direction.LEFT,
    _TOP: Direction.UP,
    _RIGHT: Direction.RIGHT,
    _BOTTOM: Direction.DOWN,
}


@dataclass(frozen=True, slots=True)
class Diamond:
    """A bridge with its nodes at the corners of a diamond."""

    corners: tuple[int, ...]
    """For each node the corner at which it stands."""
    routes: tuple[Route, ...]
    ways: tuple[tuple[int, int], ...]
    """For each branch the corners from which and to which its arrow runs."""

    @property
    def supply(self) -> int:
        """The branch that goes round."""
        return next(k for k, way in enumerate(self.ways) if set(way) == {_TOP, _BOTTOM})

    @property
    def outer_left(self) -> frozenset[Tag]:
        """The upright stretch of the supply, and the arms at the left."""
        return frozenset(
            stretch.tag
            for route, way in zip(self.routes, self.ways, strict=True)
            for stretch in route
            if _RIGHT not in way
        )

    def solve(
        self,
        loads: Mapping[Tag, Load],
        left: frozenset[Tag],  # noqa: ARG002  (the sides of the labels ask for no room here)
        view: View,  # noqa: ARG002  (a loop of a diamond needs no more room)
        metrics: Metrics,
    ) -> Geometry:
        """Return coordinates: the arms are as long as the loads of all of them need."""
        side = metrics.loop
        level = upright = shoulder = 0.0
        for route in self.routes:
            for stretch in route:
                flat = stretch.direction.horizontal
                need = load_length(loads.get(stretch.tag, ()), flat, metrics)
                if stretch.direction.aslant:
                    side = max(side, need + metrics.window * _CORNER)
                elif stretch.tag.kind is Kind.FOLD:
                    shoulder = max(shoulder, need)
                elif flat:
                    level = max(level, need + 2 * metrics.window * _CORNER)
                else:
                    upright = max(upright, need)
        half = max(side * _HALF, level / 2, upright / 2)
        rail = Tag(Kind.RISE, self.supply)
        inner = max((reach(t, metrics)[1] for t in loads.get(rail, ())), default=0.0)
        # The name of the left corner stands between it and the rail.
        x = -max(half + metrics.window * 1.3 + inner, shoulder)
        places = {
            _LEFT: Point(-half, 0.0),
            _TOP: Point(0.0, half),
            _RIGHT: Point(half, 0.0),
            _BOTTOM: Point(0.0, -half),
        }
        return self._geometry(places, x, half)

    def _geometry(self, places: Mapping[int, Point], x: float, half: float) -> Geometry:
        ends: dict[Tag, tuple[Point, Point]] = {}
        for k, route in enumerate(self.routes):
            tail, head = self.ways[k]
            if k == self.supply:
                corners = [places[_TOP], Point(x, half), Point(x, -half), places[_BOTTOM]]
                line = corners if tail == _TOP else corners[::-1]
            else:
                line = [places[tail], places[head]]
            for stretch, one, other in zip(route, line, line[1:], strict=False):
                ends[stretch.tag] = _rounded(one), _rounded(other)
        nodes = tuple(
            NodePlace((_rounded(places[c]),), (_rounded(places[c]),), _PREFER[c])
            for c in self.corners
        )
        return Geometry(ends, nodes)


def diamond(circuit: Circuit) -> Diamond | None:
    """Return the diamond of a bridge: four nodes, each joined to each by one branch; else None.

    Batteries with a frame round them cannot be drawn aslant, so they are no arms.
    """
    if len(circuit.nodes) != 4 or len(circuit.branches) != 6:
        return None
    between = {frozenset((b.tail, b.head)): k for k, b in enumerate(circuit.branches)}
    if len(between) != 6 or any(len(pair) != 2 for pair in between):
        return None
    best: tuple[float, dict[str, int]] | None = None
    for names in permutations(node.name for node in circuit.nodes):
        corners = dict(zip(names, range(4), strict=True))
        cost = _cost(circuit, corners)
        if cost is not None and (best is None or cost < best[0]):
            best = cost, corners
    return None if best is None else _built(circuit, best[1])


def _cost(circuit: Circuit, corners: Mapping[str, int]) -> float | None:
    """Prefer a battery in the supply, none in the cross-piece or the arms, and file order.

    Open terminals are in the supply, the first of them at the top.
    """
    cost = 0.0
    for branch in circuit.branches:
        ends = {corners[branch.tail], corners[branch.head]}
        sources = len(branch.batteries) + len(branch.sources)
        if any(passage.element.name == OPEN_TERMINALS for passage in branch.passages):
            if corners[branch.tail] != _TOP or corners[branch.head] != _BOTTOM:
                return None
            sources += 1
        if ends == {_TOP, _BOTTOM}:
            cost += 0.0 if sources else 12.0
        elif ends == {_LEFT, _RIGHT}:
            cost += 6.0 * sources + len(branch.passages)
        else:
            if any(_framed(passage.element) for passage in branch.passages):
                return None
            cost += 4.0 * sources
    order = [corners[node.name] for node in circuit.nodes]
    cost += 0.5 * (order[0] is not _TOP)
    return cost + 0.2 * (order.index(_LEFT) > order.index(_RIGHT))


def _framed(element: object) -> bool:
    return isinstance(element, Battery) and element.internal is not None


def _built(circuit: Circuit, corners: Mapping[str, int]) -> Diamond:
    routes = [tuple(_stretches(k, b, corners)) for k, b in enumerate(circuit.branches)]
    places = tuple(corners[node.name] for node in circuit.nodes)
    ways = tuple((corners[b.tail], corners[b.head]) for b in circuit.branches)
    return Diamond(places, tuple(routes), ways)


def _stretches(k: int, branch: Branch, corners: Mapping[str, int]) -> Iterator[Stretch]:
    tail, head = corners[branch.tail], corners[branch.head]
    if {tail, head} == {_TOP, _BOTTOM}:
        ways = _ROUND if tail == _TOP else tuple(way.opposite for way in reversed(_ROUND))
        for n, way in enumerate(ways):
            yield Stretch(Tag(Kind.RISE, k) if n == 1 else Tag(Kind.FOLD, k, n), way)
        return
    back = (tail, head) not in _SIDES
    way = _SIDES[(head, tail) if back else (tail, head)]
    yield Stretch(Tag(Kind.LEVEL, k), way.opposite if back else way)


def _rounded(point: Point) -> Point:
    return Point(round(point.x, 6), round(point.y, 6))
