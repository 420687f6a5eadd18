"""Choosing the shape of a figure: which window is outside, which way is up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, pairwise
from math import log

from derive.analysis.loops import window_order
from derive.circuit.model import Circuit, Loop
from derive.drawing.bars import bar_shape
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction
from derive.drawing.network import Embedding, embed, faces, network_of
from derive.drawing.orientation import Dart, upward
from derive.drawing.placing import Arrangement, Placed, arrange, place
from derive.drawing.routes import has_cell
from derive.drawing.skeleton import Skeleton, shape
from derive.drawing.view import View

_MOST_TRIED = 24
"""Shapes tried at most for one figure."""
_MANY_BRANCHES = 12
"""Figures with more branches than this are given fewer tries."""


def layout(circuit: Circuit, loops: Sequence[Loop], metrics: Metrics) -> Arrangement:
    """Return the best shape found; it depends on the circuit and its loops alone."""
    tries = _MOST_TRIED if len(circuit.branches) <= _MANY_BRANCHES else _MOST_TRIED // 3
    view = View()
    best: tuple[float, Arrangement] | None = None
    for figure in islice(_shapes(circuit, loops), tries):
        bars = bar_shape(figure, len(circuit.branches), len(circuit.nodes))
        arranged = arrange(circuit, bars, metrics)
        cost = _cost(circuit, place(circuit, arranged, view, metrics), loops)
        if best is None or cost < best[0] - 1e-6:
            best = (cost, arranged)
    assert best is not None, "some way round every crossing can be drawn"
    return best[1]


def _shapes(circuit: Circuit, loops: Sequence[Loop]) -> Iterator[Skeleton]:
    embedding = _embedding(circuit, loops)
    without_cell = frozenset(
        k
        for k, edge in enumerate(embedding.network.edges)
        if edge.branch is not None and not circuit.branches[edge.branch].batteries
    )
    for outer in _outsides(circuit, embedding, loops):
        ring = list(dict.fromkeys(vertex for _, vertex in outer))
        ends = sorted(v for v in ring if v not in embedding.network.crossings)
        pairs = [(b, t) for b in ends for t in ends if b != t]
        for bottom, top in pairs:
            for backwards in (False, True):
                up = upward(embedding, outer, bottom, top, backwards)
                figure = shape(up, without_cell)
                if figure is not None:
                    yield figure


def _outsides(
    circuit: Circuit, embedding: Embedding, loops: Sequence[Loop]
) -> list[tuple[Dart, ...]]:
    """Return the faces that may be outside: not a loop, many parts first."""
    edges = embedding.network.edges
    wanted = [{hop.branch for hop in loop.hops} for loop in loops]

    def rank(face: tuple[Dart, ...]) -> tuple[bool, int]:
        branches = {edges[e].branch for e, _ in face}
        drawn = {b for b in branches if b is not None}
        parts = sum(len(circuit.branches[b].passages) for b in drawn)
        return drawn in wanted and None not in branches, -parts - len(drawn)

    found = sorted(faces(embedding), key=rank)
    if len(embedding.network.edges) == 2:
        return found
    return found[:1] if loops else found[:2]


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
    width = max(p.x for p in points) - min(p.x for p in points) + 12
    height = max(p.y for p in points) - min(p.y for p in points) + 8
    cost = width * height / 100 + 12 * abs(log(width / height / 1.7))
    for route in placed.routes:
        cost += 5 * sum(
            a.direction.horizontal != b.direction.horizontal for a, b in pairwise(route)
        )
        level = (stretch.tag for stretch in route if stretch.direction.horizontal)
        cost += 5 * sum(has_cell(token) for tag in level for token in placed.loads.get(tag, ()))
    return cost + _reading_cost(circuit, placed, loops)


def _reading_cost(circuit: Circuit, placed: Placed, loops: Sequence[Loop]) -> float:
    """Prefer the order of the file from left to right, and the first node at the bottom."""
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
    centres = [sum(middles[h.branch] for h in loop.hops) / len(loop.hops) for loop in loops]
    return cost + 2.0 * sum(a > b + 1e-6 for a, b in pairwise(centres))
