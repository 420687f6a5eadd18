"""Choosing the shape of a figure: which window is outside, which way is up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import chain, combinations, islice, pairwise, permutations
from math import log

from derive.analysis.loops import window_order
from derive.circuit.model import Circuit, Loop
from derive.drawing.bars import bar_shape
from derive.drawing.crossings import embed
from derive.drawing.dressing import dress
from derive.drawing.likeness import unlikeness
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction
from derive.drawing.network import Embedding, faces, network_of
from derive.drawing.orientation import Dart, upward
from derive.drawing.placing import Arrangement, Placed, arrange, place, tokens_of
from derive.drawing.routes import is_source
from derive.drawing.skeleton import Skeleton, shape
from derive.drawing.tokens import Part
from derive.drawing.view import View

_MOST_SHAPED = 144
"""Ways round and up for which a shape is made."""
_MOST_PLACED = 24
"""Shapes that are given coordinates, the most promising ones."""
_MANY_BRANCHES = 12
"""Figures with more branches than this are given half of the tries."""

_BEND = 5.0
_LEVEL_CELL = 5.0
_LOST_WINDOW = 4.0
_INNER_BATTERY = 6.0
"""What a bend, a battery that lies level, a loop that is no window, and a battery inside cost."""
_SUPPLY_RIGHT = 2.0
"""What it costs that the first battery or current source of the file is not in the left half."""
_AGAINST = 1000.0
"""What every pair of points costs that lies otherwise than the author places it."""
_MORE = 2
"""How many times as much is tried to follow the author's places or the figure before."""
_PLAIN = View()
_SAME = 1e-3
"""Distances below this are none."""
_LINE = 16.0
"""What every further height at which nodes lie costs: a few long lines are easier to read."""
_ASIDE, _INSIDE = 100.0, 20.0
"""What two terminals cost that are not at the left, the first above the second; and what they cost
where something is above or below both."""
_PAGE, _TOO_WIDE = 150.0, 0.6
"""Width of a usual page of text, in millimetres, and what a millimetre beyond it costs."""
_COLUMN, _ROW = 22.0, 20.0
"""Usual distances of upright and of level wires, in millimetres."""


@dataclass(frozen=True, slots=True)
class Laid:
    """What was found to be the best shape."""

    arrangement: Arrangement
    against: int
    """How many pairs of points lie otherwise to each other than the author places them."""


def layout(circuit: Circuit, loops: Sequence[Loop], metrics: Metrics, view: View = _PLAIN) -> Laid:
    """Return the best shape found; it depends on the circuit, its loops and a view alone.

    Points that the author places lie to the left of each other and above each other as on the
    author's grid, if some shape found allows it. The view says which currents have arrows; its
    terminals stand at the left. Parts stand to each other as they did in a figure before, if any.
    """
    gap = view.gap
    share = 1 if len(circuit.branches) <= _MANY_BRANCHES else 2
    shaped, tried = _MOST_SHAPED // share, _MOST_PLACED // share
    placed = placed_nodes(circuit)
    if len(placed) > 1 or gap is not None or view.like:
        shaped, tried = shaped * _MORE, shaped * _MORE
    tokens = tokens_of(circuit, view, metrics)
    # Between two nodes the text says that the loops are the windows of the figure.
    told = len(circuit.nodes) == 2 and gap is None
    lost = _AGAINST if told else _LOST_WINDOW
    found = islice(_shapes(circuit, loops, lost), shaped)
    likely = sorted(found, key=lambda one: one.reckoned)[:tried]
    best: tuple[float, Laid] | None = None
    for one in likely:
        bars = bar_shape(one.skeleton, len(circuit.branches), len(circuit.nodes))
        arranged = arrange(bars, tokens, metrics)
        figure = place(arranged, tokens, view, metrics)
        against = _against(placed, figure)
        cost = one.lost + _cost(circuit, figure, loops) + _AGAINST * against
        if gap is not None:
            cost += _terminals_cost(figure, gap)
        if view.like and (best is None or cost < best[0]):
            dressed = dress(circuit, figure, view, metrics)
            cost += unlikeness(view.like, (spot.symbol for spot in dressed.pieces))
        if best is None or cost < best[0] - 1e-6:
            best = (cost, Laid(arranged, against))
    assert best is not None, "some way round every crossing can be drawn"
    return best[1]


def placed_nodes(circuit: Circuit) -> dict[int, tuple[Fraction, Fraction]]:
    """Return the author's places of nodes, by the numbers of the nodes."""
    given = {point: (x, y) for point, x, y in circuit.looks.places}
    return {
        k: next(given[point] for point in node.points if point in given)
        for k, node in enumerate(circuit.nodes)
        if any(point in given for point in node.points)
    }


def _against(placed: Mapping[int, tuple[Fraction, Fraction]], figure: Placed) -> int:
    """Count the pairs of nodes that lie otherwise to each other than they are placed."""
    count = 0
    nodes = figure.geometry.nodes
    for (i, (x1, y1)), (j, (x2, y2)) in combinations(placed.items(), 2):
        one, other = nodes[i].places, nodes[j].places
        wrong = [
            _sign(x2 - x1) != _aside((one[0].x, one[-1].x), (other[0].x, other[-1].x), x1 == x2),
            _sign(y2 - y1) != _sign(other[0].y - one[0].y),
        ]
        count += any(wrong)
    return count


def _terminals_cost(figure: Placed, gap: str) -> float:
    """Return what two terminals cost: level or upside down, not at the left, not at the height."""
    for route in figure.routes:
        for stretch in route:
            for token in figure.loads.get(stretch.tag, ()):
                if isinstance(token, Part) and token.pieces[0].name == gap:
                    points = [p for pair in figure.geometry.ends.values() for p in pair]
                    own = figure.geometry.ends[stretch.tag]
                    way = Direction.DOWN if token.pieces[0].along else Direction.UP
                    cost = _ASIDE * (stretch.direction is not way)
                    cost += _ASIDE * (own[0].x > min(p.x for p in points) + _SAME)
                    cost += _INSIDE * (max(p.y for p in own) < max(p.y for p in points) - _SAME)
                    cost += _INSIDE * (min(p.y for p in own) > min(p.y for p in points) + _SAME)
                    return cost
    return 0.0


def _aside(one: tuple[float, float], other: tuple[float, float], level: bool) -> int:
    """Return 1 when a bar lies to the right of another by its middle, −1 at the left.

    Where they are to stand above each other it is enough that they have some x in common.
    """
    if level and one[0] <= other[1] and other[0] <= one[1]:
        return 0
    return _sign(sum(other) - sum(one))


def _sign(value: float | Fraction) -> int:
    """Return −1, 0 or 1."""
    return (value > _SAME) - (value < -_SAME)


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


def _shapes(circuit: Circuit, loops: Sequence[Loop], window: float) -> Iterator[_Shaped]:
    """Yield shapes; each loop that is no window of a shape costs `window`."""
    embedding = _embedding(circuit, loops)
    mirror = replace(embedding, rotation=tuple(ring[::-1] for ring in embedding.rotation))
    ways = [_ways_up(circuit, one, loops, window) for one in (embedding, mirror)]
    driven = _driven(circuit)
    without_cell = frozenset(
        k
        for k, edge in enumerate(embedding.network.edges)
        if edge.branch is not None and edge.branch not in driven
    )
    for way in chain.from_iterable(zip(*ways, strict=True)):
        for backwards in (False, True):
            up = upward(way.embedding, way.outer, way.bottom, way.top, backwards)
            figure = shape(up, without_cell)
            if figure is not None:
                yield _Shaped(figure, way.lost)


def _driven(circuit: Circuit) -> set[int]:
    """Return the branches with a battery or a current source."""
    return {k for k, branch in enumerate(circuit.branches) if branch.batteries or branch.sources}


@dataclass(frozen=True, slots=True)
class _WayUp:
    """A face that may be outside, and two of its vertices as the lowest and the highest."""

    embedding: Embedding
    outer: tuple[Dart, ...]
    bottom: int
    top: int
    lost: float


def _ways_up(
    circuit: Circuit, embedding: Embedding, loops: Sequence[Loop], window: float
) -> list[_WayUp]:
    """Return ways up: no loop outside, ends where many wires meet, many parts outside first."""
    edges, crossings = embedding.network.edges, embedding.network.crossings
    wanted = [{hop.branch for hop in loop.hops} for loop in loops]
    driven = _driven(circuit)
    alone = len(edges) == 2
    ranked: list[tuple[float, _WayUp]] = []
    for outer in faces(embedding):
        branches = {edges[e].branch for e, _ in outer}
        drawn = {b for b in branches if b is not None}
        whole = None not in branches and not alone
        lost = window * sum(whole and drawn == loop for loop in wanted)
        lost += _INNER_BATTERY * len(driven - drawn)
        parts = sum(len(circuit.branches[b].passages) for b in drawn)
        ring = sorted({vertex for _, vertex in outer if vertex not in crossings})
        for bottom, top in permutations(ring, 2):
            met = len(embedding.rotation[bottom]) + len(embedding.rotation[top])
            ranked.append((lost - parts - 2.0 * met, _WayUp(embedding, outer, bottom, top, lost)))
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
    cost = _room(*placed.geometry.extent) + _LINE * len(
        {place.places[0].y for place in placed.geometry.nodes}
    )
    for route in placed.routes:
        cost += _BEND * sum(
            a.direction.horizontal != b.direction.horizontal for a, b in pairwise(route)
        )
        level = (stretch.tag for stretch in route if stretch.direction.horizontal)
        cost += _LEVEL_CELL * sum(
            is_source(token) for tag in level for token in placed.loads.get(tag, ())
        )
    return cost + _reading_cost(circuit, placed, loops)


def _room(width: float, height: float) -> float:
    """Return what the size of a figure costs: little room is best, wider than high."""
    width, height = width + 12, height + 8
    ratio = width / height
    shape = 12 * max(0.0, log(1.3 / ratio), log(ratio / 3.0))
    return width * height / 100 + shape + _TOO_WIDE * max(0.0, width - _PAGE)


def _reading_cost(circuit: Circuit, placed: Placed, loops: Sequence[Loop]) -> float:
    """Prefer the order of the file from left to right, and a common rail or the first node low.

    The first source is better at the left.
    """
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
    ends = [point.x for pair in geometry.ends.values() for point in pair]
    first = min(_driven(circuit), default=None)
    if first is not None and middles[first] > (min(ends) + max(ends)) / 2 + _SAME:
        cost += _SUPPLY_RIGHT
    low = min(place.places[0].y for place in geometry.nodes)
    lowest = max(len(place.places) for place in geometry.nodes if place.places[0].y == low)
    cost += 3.0 * (lowest < max(len(place.places) for place in geometry.nodes))
    centres = [sum(middles[h.branch] for h in loop.hops) / len(loop.hops) for loop in loops]
    return cost + 2.0 * sum(a > b + 1e-6 for a, b in pairwise(centres))
