"""Directing every edge of an embedding upwards, from one bottom vertex to one top vertex.

The order of the vertices is an st-numbering, found as in R. E. Tarjan, "Two streamlined
depth-first search algorithms", Fundamenta Informaticae 9 (1986).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from derive.drawing.network import Embedding, faces

Dart = tuple[int, int]
"""An edge and the vertex it is left from."""


@dataclass(frozen=True, slots=True)
class Upward:
    """An embedding with all edges directed upwards, every window having one way up at each side."""

    embedding: Embedding
    bottom: int
    top: int
    low: tuple[int, ...]
    """For each edge its lower vertex."""
    high: tuple[int, ...]
    outs: tuple[tuple[int, ...], ...]
    """For each vertex the edges that go up from it, left to right."""
    ins: tuple[tuple[int, ...], ...]
    """For each vertex the edges that come up to it, left to right."""
    left: tuple[int, ...]
    """For each edge the window at its left; the outside is two windows, 0 left and 1 right."""
    right: tuple[int, ...]
    windows: int
    """Number of windows, the two outsides included."""


def upward(
    embedding: Embedding, outer: Sequence[Dart], bottom: int, top: int, backwards: bool
) -> Upward:
    """Direct an embedding, with one of its faces outside and two vertices of it as ends.

    `backwards` visits the vertices the other way round, which often directs edges differently.
    """
    network = embedding.network
    order = _numbers(embedding, bottom, top, backwards)
    low = tuple(e.a if order[e.a] < order[e.b] else e.b for e in network.edges)
    high = tuple(e.b if order[e.a] < order[e.b] else e.a for e in network.edges)
    outside = set(outer)
    left, right, count = [0] * len(low), [1] * len(low), 2
    for face in faces(embedding):
        if outside >= set(face):
            continue
        for edge, vertex in face:
            (left if vertex == low[edge] else right)[edge] = count
        count += 1
    outs: list[tuple[int, ...]] = []
    ins: list[tuple[int, ...]] = []
    for vertex in range(network.size):
        rising, falling = _sides(embedding.rotation[vertex], vertex, low, left, right)
        outs.append(rising)
        ins.append(falling)
    return Upward(
        embedding, bottom, top, low, high, tuple(outs), tuple(ins), tuple(left), tuple(right), count
    )


def _numbers(embedding: Embedding, bottom: int, top: int, backwards: bool) -> list[int]:
    edges = embedding.network.edges
    near = [[edges[e].other(v) for e in ring] for v, ring in enumerate(embedding.rotation)]
    if backwards:
        near = [ring[::-1] for ring in near]
    near[bottom] = [top, *near[bottom]]
    near[top] = [bottom, *near[top]]
    place = {bottom: 0}
    parent: dict[int, int] = {}
    visited = [bottom]

    def visit(vertex: int, came: int) -> None:
        place[vertex] = len(visited)
        parent[vertex] = came
        visited.append(vertex)
        for other in near[vertex]:
            if other not in place:
                visit(other, vertex)

    visit(top, bottom)
    lowest = list(range(len(near)))
    for vertex in reversed(visited):
        for other in near[vertex]:
            reached = lowest[other] if parent.get(other) == vertex else other
            if other != parent.get(vertex) and place[reached] < place[lowest[vertex]]:
                lowest[vertex] = reached
    before = {bottom: True}
    line = [bottom, top]
    for vertex in visited[2:]:
        at = line.index(parent[vertex])
        first = before.get(lowest[vertex], False)
        line.insert(at if first else at + 1, vertex)
        before[parent[vertex]] = not first
    return [line.index(vertex) for vertex in range(len(near))]


def _sides(
    ring: tuple[int, ...],
    vertex: int,
    low: Sequence[int],
    left: Sequence[int],
    right: Sequence[int],
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Cut the clockwise ring at a vertex into edges up and edges down, each left to right."""
    rising = [low[e] == vertex for e in ring]
    if all(rising):
        first = next(k for k, e in enumerate(ring) if left[e] == 0)
        return tuple(ring[first:] + ring[:first]), ()
    if not any(rising):
        first = next(k for k, e in enumerate(ring) if right[e] == 1)
        return (), tuple(reversed(ring[first:] + ring[:first]))
    first = next(k for k in range(len(ring)) if rising[k] and not rising[k - 1])
    turned = ring[first:] + ring[:first]
    count = sum(rising)
    return tuple(turned[:count]), tuple(reversed(turned[count:]))
