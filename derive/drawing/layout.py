"""Choosing the shape of a figure: which window is outside, which way is up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise, permutations
from math import log

from derive.analysis.loops import window_order
from derive.circuit.model import Circuit, Loop
from derive.drawing.bars import bar_shape
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction
from derive.drawing.network import Embedding, embed, faces, network_of
from derive.drawing.orientation import Dart, upward
from derive.drawing.placing import Arrangement, Placed, arrange, place, tokens_of
from derive.drawing.routes import has_cell
from derive.drawing.skeleton import Skeleton, shape
from derive.drawing.view import View

_MOST_SHAPED = 72
"""Ways round and up for which a shape is made."""
_MOST_PLACED = 12
"""Shapes that are given coordinates, the most promising ones."""
_MANY_BRANCHES = 12
"""Figures with more branches than this are given half of the tries."""

_BEND = 5.0
_LEVEL_CELL = 5.0
_LOST_WINDOW = 12.0
"""What a bend, a battery that lies level, and a loop that is no window cost."""
_LINE = 9.0
"""What every further height at which nodes lie costs: a few long lines are easier to read."""
_COLUMN, _ROW = 22.0, 20.0
"""Usual distances of upright and of level wires, in millimetres."""


def layout(circuit: Circuit, loops: Sequence[Loop], metrics: Metrics) -> Arrangement:
    """Return the best shape found; it depends on the circuit and its loops alone."""
    share = 1 if len(circuit.branches) <= _MANY_BRANCHES else 2
    view = View()
    tokens = tokens_of(circuit, view, metrics)
    found = islice(_shapes(circuit, loops), _MOST_SHAPED // share)
    likely = sorted(found, key=lambda one: one.reckoned)[: _MOST_PLACED // share]
    best: tuple[float, Arrangement] | None = None
    for one in likely:
        bars = bar_shape(one.skeleton, len(circuit.branches), len(circuit.nodes))
        arranged = arrange(bars, tokens, metrics)
        cost = one.lost + _cost(circuit, place(arranged, tokens, view, metrics), loops)
        if best is None or cost < best[0] - 1e-6:
            best = (cost, arranged)
    assert best is not None, "some way round every crossing can be drawn"
    return best[1]


@dataclass(frozen=True, slots=True)
class _Shaped:
    """A shape that may be worth coordinates."""

    skeleton: Skeleton
    lost: float
    """What the loops that are not its windows cost."""

    @property
    def reckoned(self) -> float:
        """What it will cost, by a rough reckoning."""
        columns = _COLUMN * max(self.skeleton.xs.solve(lambda _: 1.0))
        heights = self.skeleton.ys.solve(lambda _: 1.0)
        room = _room(columns, _ROW * max(heights)) + _LINE * len(set(heights))
        return self.lost + _BEND * len(self.skeleton.folds) + room


def _shapes(circuit: Circuit, loops: Sequence[Loop]) -> Iterator[_Shaped]:
    embedding = _embedding(circuit, loops)
    without_cell = frozenset(
        k
        for k, edge in enumerate(embedding.network.edges)
        if edge.branch is not None and not circuit.branches[edge.branch].batteries
    )
    for way in _ways_up(circuit, embedding, loops):
        for backwards in (False, True):
            up = upward(embedding, way.outer, way.bottom, way.top, backwards)
            figure = shape(up, without_cell)
            if figure is not None:
                yield _Shaped(figure, way.lost)


@dataclass(frozen=True, slots=True)
class _WayUp:
    """A face that may be outside, and two of its vertices as the lowest and the highest."""

    outer: tuple[Dart, ...]
    bottom: int
    top: int
    lost: float


def _ways_up(circuit: Circuit, embedding: Embedding, loops: Sequence[Loop]) -> list[_WayUp]:
    """Return ways up: no loop outside, ends where many wires meet, many parts outside first."""
    edges, crossings = embedding.network.edges, embedding.network.crossings
    wanted = [{hop.branch for hop in loop.hops} for loop in loops]
    alone = len(edges) == 2
    ranked: list[tuple[float, _WayUp]] = []
    for outer in faces(embedding):
        branches = {edges[e].branch for e, _ in outer}
        drawn = {b for b in branches if b is not None}
        whole = None not in branches and not alone
        lost = _LOST_WINDOW * sum(whole and drawn == loop for loop in wanted)
        parts = sum(len(circuit.branches[b].passages) for b in drawn)
        ring = sorted({vertex for _, vertex in outer if vertex not in crossings})
        for bottom, top in permutations(ring, 2):
            met = len(embedding.rotation[bottom]) + len(embedding.rotation[top])
            ranked.append((lost - parts - 2.0 * met, _WayUp(outer, bottom, top, lost)))
    ranked.sort(key=lambda item: item[0])
    return [way for _, way in ranked]


def _embedding(circuit: Circuit, loops: Sequence[Loop]) -> Embedding:
    network = network_of(circuit)
    hanging = any(branch.tail == branch.head for branch in circuit.branches)
    if len(circuit.nodes) == 2 and len(circuit.branches) > 2 and not hanging:
        order = _side_by_side(window_order(circuit), loops)
        return Embedding(network, (order, order[::-1]))
    return embed(network, loops)


def _side_by_side(order: Sequence[int], loops: Sequence[Loop]) -> tuple[int, ...]:
    """Order the branches between two nodes so that loops are neighbours where possible."""
    strings = {branch: [branch] for branch in order}
    for loop in loops:
        if len(loop.hops) != 2:
            continue
        one, other = (strings[hop.branch] for hop in loop.hops)
        a, b = (hop.branch for hop in loop.hops)
        if one is other or a not in (one[0], one[-1]) or b not in (other[0], other[-1]):
            continue
        if order.index(min(one, key=order.index)) > order.index(min(other, key=order.index)):
            one, other, a, b = other, one, b, a
        if one[-1] != a:
            one.reverse()
        if other[0] != b:
            other.reverse()
        one += other
        for branch in other:
            strings[branch] = one
    result: list[int] = []
    for branch in order:
        if branch not in result:
            string = strings[branch]
            result += string if order.index(string[0]) <= order.index(string[-1]) else string[::-1]
    return tuple(result)


def _cost(circuit: Circuit, placed: Placed, loops: Sequence[Loop]) -> float:
    """Return how far a figure is from what a careful hand would draw."""
    points = [point for pair in placed.geometry.ends.values() for point in pair]
    width = max(p.x for p in points) - min(p.x for p in points)
    height = max(p.y for p in points) - min(p.y for p in points)
    cost = _room(width, height) + _LINE * len({place.places[0].y for place in placed.geometry.nodes})
    for route in placed.routes:
        cost += _BEND * sum(
            a.direction.horizontal != b.direction.horizontal for a, b in pairwise(route)
        )
        level = (stretch.tag for stretch in route if stretch.direction.horizontal)
        cost += _LEVEL_CELL * sum(has_cell(token) for tag in level for token in placed.loads.get(tag, ()))
    return cost + _reading_cost(circuit, placed, loops)


def _room(width: float, height: float) -> float:
    """Return what the size of a figure costs: little room is best, wider than high."""
    width, height = width + 12, height + 8
    ratio = width / height
    return width * height / 100 + 12 * max(0.0, log(1.3 / ratio), log(ratio / 3.0))


def _reading_cost(circuit: Circuit, placed: Placed, loops: Sequence[Loop]) -> float:
    """Prefer the order of the file from left to right, and a common rail or the first node low."""
    geometry = placed.geometry
    middles: list[float] = []
    cost = 0.0
    for branch, route in zip(circuit.branches, placed.routes, strict=True):
        points = [point for stretch in route for point in geometry.ends[stretch.tag]]
        middles.append(sum(p.x for p in points) / len(points))
        if branch.tail == branch.head:
            # A loop hung on one node is walked clockwise, from its lower left corner.
            cost += 3.0 * (route[0].direction not in (Direction.UP, Direction.RIGHT))
            cost += 3.0 * (points[0].x > middles[-1]) + 3.0 * (route[0].direction.horizontal)
    cost += sum(a > b + 1e-6 for a, b in pairwise(middles))
    cost += 1.5 * (geometry.nodes[0].prefer is not Direction.DOWN)
    low = min(place.places[0].y for place in geometry.nodes)
    lowest = max(len(place.places) for place in geometry.nodes if place.places[0].y == low)
    cost += 3.0 * (lowest < max(len(place.places) for place in geometry.nodes))
    centres = [sum(middles[h.branch] for h in loop.hops) / len(loop.hops) for loop in loops]
    return cost + 2.0 * sum(a > b + 1e-6 for a, b in pairwise(centres))
