"""Coordinates for a skeleton of level bars and upright edges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from derive.drawing.geometry import Geometry, NodePlace
from derive.drawing.metrics import Metrics
from derive.drawing.model import Direction, Point
from derive.drawing.routes import Load, Route, Stretch, load_length
from derive.drawing.skeleton import Kind, Skeleton, Tag
from derive.drawing.tokens import reach, thickness
from derive.drawing.view import View


@dataclass(frozen=True, slots=True)
class BarShape:
    """A skeleton seen as the ways of the branches."""

    skeleton: Skeleton
    routes: tuple[Route, ...]
    nodes: int
    """How many of the vertices are nodes."""

    @property
    def outer_left(self) -> frozenset[Tag]:
        """Upright edges with nothing to the left of them."""
        faces = self.skeleton.up.left
        return frozenset(Tag(Kind.RISE, e) for e, face in enumerate(faces) if face == 0)

    def solve(
        self, loads: Mapping[Tag, Load], left: frozenset[Tag], view: View, metrics: Metrics
    ) -> Geometry:
        """Return coordinates that leave room for the loads; labels of `left` stand at the left."""
        rows = _rows(self.skeleton, loads, metrics)
        distances = _Distances(self.skeleton, loads, left, view, metrics, rows)
        xs = [round(x, 6) for x in self.skeleton.xs.solve(distances.across)]
        ys = [round(y, 6) for y in self.skeleton.ys.solve(distances.upwards)]
        places = _Places(self.skeleton, xs, ys)
        ends = {s.tag: places.ends(s) for route in self.routes for s in route}
        return Geometry(ends, tuple(places.node(v) for v in range(self.nodes)))


def bar_shape(skeleton: Skeleton, branches: int, nodes: int) -> BarShape:
    """Return a skeleton as the ways of the branches."""
    return BarShape(skeleton, tuple(_route(skeleton, k) for k in range(branches)), nodes)


def _route(skeleton: Skeleton, branch: int) -> Route:
    found: list[Stretch] = []
    network = skeleton.up.embedding.network
    folds = skeleton.folds
    for e in network.chains[branch]:
        edge = network.edges[e]
        up = edge.a == skeleton.up.low[e]
        if e in skeleton.level:
            rightwards = (skeleton.level[e] > 0) == up
            found.append(Stretch(Tag(Kind.LEVEL, e), _level(rightwards)))
            continue
        if (e, edge.a) in folds:
            found.append(Stretch(Tag(Kind.FOLD, e, edge.a), _level(folds[e, edge.a] > 0)))
        found.append(Stretch(Tag(Kind.RISE, e), Direction.UP if up else Direction.DOWN))
        if (e, edge.b) in folds:
            found.append(Stretch(Tag(Kind.FOLD, e, edge.b), _level(folds[e, edge.b] < 0)))
    return tuple(found)


def _level(rightwards: bool) -> Direction:
    return Direction.RIGHT if rightwards else Direction.LEFT


def _rows(
    skeleton: Skeleton, loads: Mapping[Tag, Load], metrics: Metrics
) -> dict[int, tuple[float, float]]:
    rows: dict[int, tuple[float, float]] = {}
    for tag, load in loads.items():
        if tag.kind is not Kind.RISE and load:
            vertex = tag.other if tag.kind is Kind.FOLD else skeleton.up.low[tag.edge]
            row = skeleton.ys.place(vertex)
            reaches = [rows.get(row, (0.0, 0.0)), *(thickness(t, metrics) for t in load)]
            rows[row] = max(b for b, _ in reaches), max(a for _, a in reaches)
    return rows


@dataclass(frozen=True, slots=True)
class _Distances:
    """Says how far apart constraints keep things."""

    skeleton: Skeleton
    loads: Mapping[Tag, Load]
    left: frozenset[Tag]
    view: View
    metrics: Metrics
    rows: Mapping[int, tuple[float, float]]
    """For the rows of the figure, how far things on them reach below and above."""

    def across(self, tag: Tag) -> float:
        """Return a distance in x."""
        metrics = self.metrics
        match tag.kind:
            case Kind.WINDOW:
                both = self.skeleton.drawn(tag.edge) and self.skeleton.drawn(tag.other)
                need = metrics.window if both else metrics.window / 2
                need += self._reach(tag.edge, True) + self._reach(tag.other, False)
                walked = self._walked(tag.edge) and self._walked(tag.other)
                return max(need, metrics.loop) if walked else need
            case Kind.FOLD:
                return max(metrics.lead * 2, load_length(self.loads.get(tag, ()), True, metrics))
            case Kind.APART:
                return metrics.window
            case Kind.LEVEL:
                whole = load_length(self.loads.get(Tag(Kind.LEVEL, tag.edge), ()), True, metrics)
                whole = max(whole, metrics.window)
                ends = (self.skeleton.up.low[tag.edge], self.skeleton.up.high[tag.edge])
                loose = any(self.skeleton.alone_at(tag.edge, vertex) for vertex in ends)
                return whole if loose else whole / 2
            case Kind.RISE:
                raise AssertionError("a rise is no distance across")

    def upwards(self, tag: Tag) -> float:
        """Return a distance in y."""
        metrics = self.metrics
        need = load_length(self.loads.get(tag, ()), False, metrics)
        up = self.skeleton.up
        below = self._thickness(up.high[tag.edge])[0]
        above = self._thickness(up.low[tag.edge])[1]
        facing = above + below + metrics.gap if above and below else metrics.rise
        return max(need, facing, metrics.loop if self._walked(tag.edge) else metrics.rise)

    def _thickness(self, vertex: int) -> tuple[float, float]:
        """Return how far things on the row of a bar reach below and above it."""
        return self.rows.get(self.skeleton.ys.place(vertex), (0.0, 0.0))

    def _walked(self, edge: int) -> bool:
        branch = self.skeleton.up.embedding.network.edges[edge].branch
        return self.view.loop is not None and any(h.branch == branch for h in self.view.loop.hops)

    def _reach(self, edge: int, rightwards: bool) -> float:
        tag = Tag(Kind.RISE, edge)
        reaches = [reach(token, self.metrics) for token in self.loads.get(tag, ())]
        labels_there = rightwards != (tag in self.left)
        return max((near if labels_there else far for near, far in reaches), default=0.0)


@dataclass(frozen=True, slots=True)
class _Places:
    """Coordinates of the edges and vertices of a skeleton."""

    skeleton: Skeleton
    xs: Sequence[float]
    ys: Sequence[float]

    def core(self, vertex: int) -> list[float]:
        """Return where upright wires meet the bar of a vertex, left to right."""
        found = {self.xs[e] for e in self.skeleton.upright_at(vertex)}
        if not found:
            up = self.skeleton.up
            found = {self.xs[e] for e in up.outs[vertex] + up.ins[vertex] if self.skeleton.drawn(e)}
        return sorted(found)

    def ends(self, stretch: Stretch) -> tuple[Point, Point]:
        """Return where a stretch begins and ends."""
        tag, up = stretch.tag, self.skeleton.up
        if tag.kind is Kind.RISE:
            x = self.xs[tag.edge]
            one, other = Point(x, self.ys[up.low[tag.edge]]), Point(x, self.ys[up.high[tag.edge]])
            return (one, other) if stretch.direction is Direction.UP else (other, one)
        if tag.kind is Kind.LEVEL:
            y = self.ys[up.low[tag.edge]]
            side = self.skeleton.level[tag.edge]
            low, high = self.core(up.low[tag.edge]), self.core(up.high[tag.edge])
            start, end = (low[-1], high[0]) if side > 0 else (low[0], high[-1])
            if (side > 0) != (stretch.direction is Direction.RIGHT):
                start, end = end, start
            return Point(start, y), Point(end, y)
        side = self.skeleton.folds[tag.edge, tag.other]
        y = self.ys[tag.other]
        core = self.core(tag.other)
        bar = Point(core[0] if side < 0 else core[-1], y)
        corner = Point(self.xs[tag.edge], y)
        outward = (stretch.direction is Direction.LEFT) == (side < 0)
        return (bar, corner) if outward else (corner, bar)

    def node(self, vertex: int) -> NodePlace:
        """Return where a node lies."""
        core, y = self.core(vertex), self.ys[vertex]
        joints = tuple(Point(x, y) for x in core if self._wires(vertex, x, core) >= 3)
        prefer = Direction.DOWN if vertex == self.skeleton.up.bottom else Direction.UP
        return NodePlace(tuple(Point(x, y) for x in core), joints, prefer)

    def _wires(self, vertex: int, x: float, core: list[float]) -> int:
        """Count the ways in which wire leaves a place of a bar."""
        count = sum(self.xs[e] == x for e in self.skeleton.upright_at(vertex))
        for side, end in ((-1, core[0]), (1, core[-1])):
            count += x != end or self.skeleton.end_taken(vertex, side)
        return count
