"""The way of every branch through a figure: stretches of wire, and which tokens sit on which."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise

from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point, SymbolShape
from derive.drawing.skeleton import Kind, Skeleton, Tag
from derive.drawing.tokens import Mark, Part, Token, room


@dataclass(frozen=True, slots=True)
class Stretch:
    """A straight piece of a branch on which tokens may sit."""

    tag: Tag
    """RISE or LEVEL of an edge, or FOLD of an edge at a vertex."""
    direction: Direction
    """The way of the branch's arrow."""


Route = tuple[Stretch, ...]
Load = tuple[Token, ...]


def route(figure: Skeleton, branch: int) -> Route:
    """Return the stretches of a branch from tail to head."""
    found: list[Stretch] = []
    network = figure.up.embedding.network
    for e in network.chains[branch]:
        edge = network.edges[e]
        up = edge.a == figure.up.low[e]
        if e in figure.level:
            rightwards = (figure.level[e] > 0) == up
            found.append(Stretch(Tag(Kind.LEVEL, e), _level(rightwards)))
            continue
        if (e, edge.a) in figure.folds:
            found.append(Stretch(Tag(Kind.FOLD, e, edge.a), _level(figure.folds[e, edge.a] > 0)))
        found.append(Stretch(Tag(Kind.RISE, e), Direction.UP if up else Direction.DOWN))
        if (e, edge.b) in figure.folds:
            found.append(Stretch(Tag(Kind.FOLD, e, edge.b), _level(figure.folds[e, edge.b] < 0)))
    return tuple(found)


def _level(rightwards: bool) -> Direction:
    return Direction.RIGHT if rightwards else Direction.LEFT


def load_length(load: Load, horizontal: bool, metrics: Metrics) -> float:
    """Return the length of wire that tokens need."""
    if not load:
        return 0.0
    return sum(room(t, horizontal, metrics) for t in load) + metrics.lead * (len(load) + 1)


def distribute(
    stretches: Route, orders: Sequence[Load], available: Mapping[Tag, float], metrics: Metrics
) -> tuple[Load, ...]:
    """Return the tokens of each stretch: as little longer than it would be anyway, cells upright.

    Where that leaves a choice the tokens are spread evenly. `orders` are the possible orders of
    the tokens, the best first. A mark that comes first on a stretch stands at the corner.
    """
    best: tuple[float, tuple[Load, ...]] | None = None
    turned = [False] + [
        a.direction.horizontal != b.direction.horizontal for a, b in pairwise(stretches)
    ]
    for penalty, tokens in enumerate(orders):
        rooms = [[room(t, flat, metrics) for t in tokens] for flat in (False, True)]
        cells = [_has_cell(t) for t in tokens]
        marks = [isinstance(t, Mark) for t in tokens]
        for cuts in combinations_with_replacement(range(len(tokens) + 1), len(stretches) - 1):
            cost, start = 0.3 * penalty, 0
            for k, (stretch, end) in enumerate(zip(stretches, (*cuts, len(tokens)), strict=True)):
                first = start
                if turned[k] and start < end and marks[start]:
                    first += 1
                if end > first:
                    flat = stretch.direction.horizontal
                    length = sum(rooms[flat][first:end]) + metrics.lead * (end - first + 1)
                    cost += 8 * max(0.0, length - available.get(stretch.tag, 0.0))
                    cost += length * length / 60 + 30 * sum(marks[first:end])
                    if flat:
                        cost += 40 * sum(cells[first:end])
                start = end
            if best is None or cost < best[0] - 1e-9:
                starts, ends = (0, *cuts), (*cuts, len(tokens))
                best = (cost, tuple(tokens[s:e] for s, e in zip(starts, ends, strict=True)))
    assert best is not None
    return best[1]


def _has_cell(token: Token) -> bool:
    return isinstance(token, Part) and any(p.shape is SymbolShape.CELL for p in token.pieces)


@dataclass(frozen=True, slots=True)
class Places:
    """Coordinates of a skeleton."""

    figure: Skeleton
    xs: Sequence[float]
    ys: Sequence[float]

    def core(self, vertex: int) -> list[float]:
        """Return where upright wires meet the bar of a vertex, left to right."""
        found = {round(self.xs[e], 6) for e in self.figure.upright_at(vertex)}
        if not found:
            up = self.figure.up
            found = {
                round(self.xs[e], 6)
                for e in up.outs[vertex] + up.ins[vertex]
                if self.figure.drawn(e)
            }
        return sorted(found)

    def ends(self, stretch: Stretch) -> tuple[Point, Point]:
        """Return where a stretch begins and ends, the way of the branch's arrow."""
        tag, up = stretch.tag, self.figure.up
        if tag.kind is Kind.RISE:
            x = round(self.xs[tag.edge], 6)
            one, other = Point(x, self.ys[up.low[tag.edge]]), Point(x, self.ys[up.high[tag.edge]])
            return (one, other) if stretch.direction is Direction.UP else (other, one)
        if tag.kind is Kind.LEVEL:
            y = self.ys[up.low[tag.edge]]
            side = self.figure.level[tag.edge]
            low, high = self.core(up.low[tag.edge]), self.core(up.high[tag.edge])
            start, end = (low[-1], high[0]) if side > 0 else (low[0], high[-1])
            if (side > 0) != (stretch.direction is Direction.RIGHT):
                start, end = end, start
            return Point(start, y), Point(end, y)
        side = self.figure.folds[tag.edge, tag.other]
        y = self.ys[tag.other]
        core = self.core(tag.other)
        bar = Point(core[0] if side < 0 else core[-1], y)
        corner = Point(round(self.xs[tag.edge], 6), y)
        outward = (stretch.direction is Direction.LEFT) == (side < 0)
        return (bar, corner) if outward else (corner, bar)
