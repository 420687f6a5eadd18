"""The shape of a figure: which edges run upright, which lie level, where wires turn.

At first every vertex is a level bar and every edge an upright line between two bars (a visibility
representation: R. Tamassia, I. G. Tollis, Discrete & Computational Geometry 1 (1986)); x follows
the order of the windows and y the upward order, so nothing can cross. Then edges are laid level
where the two orders allow it, outer edges are folded over the ends of their bars, and edges above
and below a bar are put in line. Each such wish is granted only while the orders stay orders.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from derive.drawing.orientation import Upward
from derive.drawing.tracks import Constraint, Tracks


class Kind(Enum):
    """What a constraint keeps apart."""

    WINDOW = "window"
    """Two edges at the left and right of one window."""
    RISE = "rise"
    """The bars at the two ends of an edge."""
    FOLD = "fold"
    """The corner of an edge and what else stands on the bar."""
    LEVEL = "level"
    """The middle of a level edge and what else stands on the bar at one end."""
    APART = "apart"
    """An edge above and an edge below a bar."""


@dataclass(frozen=True, slots=True)
class Tag:
    """Names a constraint, so that its distance can be asked for later."""

    kind: Kind
    edge: int
    other: int = -1
    """The edge at the right of the window; else the vertex."""


@dataclass
class Skeleton:
    """The shape of a figure on the way."""

    up: Upward
    xs: Tracks[Tag]
    """Of the edges."""
    ys: Tracks[Tag]
    """Of the vertices."""
    level: dict[int, int] = field(default_factory=dict)
    """Level edges, with 1 when they run to the right from their low vertex, else −1."""
    folds: dict[tuple[int, int], int] = field(default_factory=dict)
    """Edges that turn at a vertex, with −1 when their corner is at the left end of its bar."""

    def drawn(self, edge: int) -> bool:
        """Tell whether an edge belongs to a branch."""
        return self.up.embedding.network.edges[edge].branch is not None

    def upright_at(self, vertex: int) -> list[int]:
        """Return the drawn edges that meet the bar of a vertex from above or below."""
        found = [
            e
            for e in self.up.outs[vertex] + self.up.ins[vertex]
            if self.drawn(e) and e not in self.level and (e, vertex) not in self.folds
        ]
        return found

    def alone_at(self, edge: int, vertex: int) -> bool:
        """Tell whether no other drawn edge ends at a vertex."""
        return not any(
            self.drawn(e) and e != edge for e in self.up.outs[vertex] + self.up.ins[vertex]
        )

    def end_taken(self, vertex: int, side: int) -> bool:
        """Tell whether something runs off the bar of a vertex at that end."""
        level = any(
            e in self.level
            and (self.level[e] if self.up.low[e] == vertex else -self.level[e]) == side
            for e in self.up.outs[vertex] + self.up.ins[vertex]
        )
        return level or any(v == vertex and s == side for (_, v), s in self.folds.items())


def shape(up: Upward, prefer_level: frozenset[int]) -> Skeleton | None:
    """Return the shape of a figure; None when a crossing cannot be drawn this way round.

    Edges of `prefer_level` are laid level before others.
    """
    network = up.embedding.network
    xs: Tracks[Tag] = Tracks(len(network.edges))
    ys: Tracks[Tag] = Tracks(network.size)
    for edge, (low, high) in enumerate(zip(up.low, up.high, strict=True)):
        ys.order(low, high, Tag(Kind.RISE, edge))
    for window in range(2, up.windows):
        for one in (e for e, w in enumerate(up.right) if w == window):
            for other in (e for e, w in enumerate(up.left) if w == window):
                xs.order(one, other, Tag(Kind.WINDOW, one, other))
    figure = Skeleton(up, xs, ys)
    if not all(_open_crossing(figure, vertex) for vertex in network.crossings):
        return None
    edges = [e for e in range(len(network.edges)) if figure.drawn(e)]
    ends = {up.bottom, up.top}
    edges.sort(key=lambda e: (e not in prefer_level, up.low[e] in ends or up.high[e] in ends))
    for edge in edges:
        if not _lay_level(figure, edge, 1):
            _lay_level(figure, edge, -1)
    for vertex in range(network.size):
        _fold_ends(figure, vertex)
    for vertex in range(network.size):
        _line_up(figure, vertex)
    return figure


def _beyond(
    figure: Skeleton, edge: int, vertex: int, side: int, kind: Kind
) -> list[Constraint[Tag]]:
    """Keep everything else on a bar clear of an edge at its left (−1) or right (1) end."""
    tag = Tag(kind, edge, vertex)
    others = [
        e for e in figure.up.outs[vertex] + figure.up.ins[vertex] if e != edge and figure.drawn(e)
    ]
    return [
        Constraint(edge, other, tag) if side < 0 else Constraint(other, edge, tag)
        for other in others
    ]


def _extreme(figure: Skeleton, edge: int, vertex: int, side: int) -> bool:
    row = [e for e in figure.up.outs[vertex] if figure.drawn(e)]
    if edge not in row:
        row = [e for e in figure.up.ins[vertex] if figure.drawn(e)]
    return row[0 if side < 0 else -1] == edge


def _fold(figure: Skeleton, edge: int, vertex: int, side: int) -> bool:
    """Let an edge turn at an end of a bar, so that its parts may sit on the bar too."""
    if not _extreme(figure, edge, vertex, side) or figure.end_taken(vertex, side):
        return False
    rest = [e for e in figure.upright_at(vertex) if e != edge]
    if not rest or not figure.xs.try_order(_beyond(figure, edge, vertex, side, Kind.FOLD)):
        return False
    figure.folds[edge, vertex] = side
    return True


def _open_crossing(figure: Skeleton, vertex: int) -> bool:
    """Let one branch pass upright and the other level."""
    outs = [e for e in figure.up.outs[vertex] if figure.drawn(e)]
    ins = [e for e in figure.up.ins[vertex] if figure.drawn(e)]
    if len(outs) not in (1, 2, 3):
        return False
    if len(outs) == 2:
        ways = [(ins[0], outs[1], outs[0], ins[1]), (ins[1], outs[0], ins[0], outs[1])]
    elif len(outs) == 3:
        ways = [(ins[0], outs[1], outs[0], outs[2])]
    else:
        ways = [(ins[1], outs[0], ins[0], ins[2])]
    for one, other, left, right in ways:
        state = figure.xs.mark()
        if (
            figure.xs.try_equal(one, other)
            and figure.xs.try_order(_beyond(figure, left, vertex, -1, Kind.FOLD))
            and figure.xs.try_order(_beyond(figure, right, vertex, 1, Kind.FOLD))
        ):
            figure.folds[left, vertex] = -1
            figure.folds[right, vertex] = 1
            return True
        figure.xs.restore(state)
    return False


def _lay_level(figure: Skeleton, edge: int, side: int) -> bool:
    """Lay an edge level, its low vertex at the left for side 1."""
    low, high = figure.up.low[edge], figure.up.high[edge]
    crossings = figure.up.embedding.network.crossings
    for vertex, end in ((low, side), (high, -side)):
        if figure.folds.get((edge, vertex), end) != end or not _extreme(figure, edge, vertex, end):
            return False
        if (edge, vertex) not in figure.folds and (
            vertex in crossings or figure.end_taken(vertex, end)
        ):
            return False
        rest = [e for e in figure.upright_at(vertex) if e != edge]
        if not rest and not figure.alone_at(edge, vertex):
            return False
    if figure.alone_at(edge, low) and figure.alone_at(edge, high):
        return False
    states = figure.xs.mark(), figure.ys.mark()
    if (
        figure.xs.try_order(_beyond(figure, edge, low, side, Kind.LEVEL))
        and figure.xs.try_order(_beyond(figure, edge, high, -side, Kind.LEVEL))
        and figure.ys.try_equal(low, high, Tag(Kind.RISE, edge))
    ):
        figure.level[edge] = side
        figure.folds.pop((edge, low), None)
        figure.folds.pop((edge, high), None)
        return True
    figure.xs.restore(states[0])
    figure.ys.restore(states[1])
    return False


def _fold_ends(figure: Skeleton, vertex: int) -> None:
    """Fold the edges at the outside, and those of a made vertex, over the ends of a bar."""
    made = vertex >= figure.up.embedding.network.size - _made(figure)
    # The point of a single loop is to stand at the lower left, and open terminals at the left of one
    # with all of its parts on the other sides.
    ends = {figure.up.bottom}
    if not made and len(figure.upright_at(vertex)) == 2:
        ends.add(figure.up.top)
    sides = ((1, 1), (-1, 0)) if vertex in ends else ((-1, 0), (1, 1))
    for side, outside in sides:
        faces = figure.up.left if side < 0 else figure.up.right
        for edge in figure.up.outs[vertex] + figure.up.ins[vertex]:
            free = figure.drawn(edge) and edge not in figure.level
            if not made and _has_opposite(figure, edge, vertex, side):
                continue
            free = free and (edge, vertex) not in figure.folds
            if free and (made or faces[edge] == outside) and _fold(figure, edge, vertex, side):
                break


def _has_opposite(figure: Skeleton, edge: int, vertex: int, side: int) -> bool:
    """Tell whether an edge may go straight on across a bar instead of turning there."""
    up = figure.up
    beyond = up.outs[vertex] if edge in up.ins[vertex] else up.ins[vertex]
    beyond = tuple(e for e in beyond if e in figure.upright_at(vertex))
    return bool(beyond) and not figure.end_taken(vertex, side)


def _made(figure: Skeleton) -> int:
    network = figure.up.embedding.network
    met = [0] * network.size
    for chain in network.chains:
        for edge in chain[:-1]:
            met[network.edges[edge].b] = 1
    return sum(met)


def _line_up(figure: Skeleton, vertex: int) -> None:
    """Put edges above and below a bar in line at its free ends; elsewhere keep them apart."""
    outs = [e for e in figure.up.outs[vertex] if e in figure.upright_at(vertex)]
    ins = [e for e in figure.up.ins[vertex] if e in figure.upright_at(vertex)]
    if vertex in figure.up.embedding.network.crossings or not outs or not ins:
        return
    for side, index in ((-1, 0), (1, -1)):
        if not figure.end_taken(vertex, side):
            figure.xs.try_equal(ins[index], outs[index])
    for one in ins:
        for other in outs:
            if figure.xs.place(one) == figure.xs.place(other):
                continue
            tag = Tag(Kind.APART, one, other)
            if not figure.xs.try_order([Constraint(one, other, tag)]):
                figure.xs.try_order([Constraint(other, one, tag)])
