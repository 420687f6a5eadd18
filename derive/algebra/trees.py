"""Sums over the spanning trees of a weighted graph, as polynomials.

Each edge has two weights: `within`, its factor when it belongs to the tree, and `without`, its
factor when it does not. For a resistance q/p the pair is (p, q), so that the sum is Kirchhoff's
determinant cleared of fractions: every product has the sign of its weights and nothing cancels.
The work is therefore proportional to the result.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from derive.algebra.polynomial import Poly, Ring


@dataclass(frozen=True, slots=True)
class WeightedEdge:
    """An edge between two numbered nodes with its two weights."""

    tail: int
    head: int
    within: Poly
    without: Poly


_Weights = tuple[Poly, Poly]
_Adjacency = dict[int, dict[int, _Weights]]


def tree_sum(ring: Ring, nodes: Iterable[int], edges: Sequence[WeightedEdge]) -> Poly:
    """Return Σ over spanning trees of Π weights; zero for a graph that is not connected.

    >>> from derive.algebra.term import resistance
    >>> ring = Ring(tuple(resistance(f"R{k}") for k in (1, 2, 3)))
    >>> edges = [WeightedEdge(0, 1, ring.one, r) for r in ring.generators]
    >>> tree_sum(ring, range(2), edges)
    R1*R2 + R1*R3 + R2*R3
    """
    graph: _Adjacency = {node: {} for node in nodes}
    factors: list[Poly] = []
    for edge in edges:
        _join(graph, edge.tail, edge.head, (edge.within, edge.without), factors)
    return _sum(ring, graph, factors)


def _join(graph: _Adjacency, a: int, b: int, weights: _Weights, factors: list[Poly]) -> None:
    """Add an edge; a loop at one node is in no tree, parallel edges become one."""
    within, without = weights
    if a == b:
        factors.append(without)
        return
    other = graph[a].get(b)
    if other is not None:
        within, without = within * other[1] + without * other[0], without * other[1]
    graph[a][b] = graph[b][a] = (within, without)


def _sum(ring: Ring, graph: _Adjacency, factors: list[Poly]) -> Poly:
    """Reduce what is in series or parallel, then split over one edge."""
    waiting = [node for node, ways in graph.items() if len(ways) <= 2]
    while waiting:
        node = waiting.pop()
        ways = graph.get(node)
        if ways is None or len(ways) > 2 or len(graph) == 1:
            continue
        if not ways:
            return ring.zero
        del graph[node]
        ends = list(ways)
        for end in ends:
            del graph[end][node]
        if len(ends) == 1:
            factors.append(ways[ends[0]][0])
        else:
            (p, q), (r, s) = ways.values()
            _join(graph, ends[0], ends[1], (p * r, p * s + q * r), factors)
        waiting.extend(end for end in ends if len(graph[end]) <= 2)
    if len(graph) > 1:
        factors.append(_split(ring, graph))
    return multiply(ring, factors)


def _split(ring: Ring, graph: _Adjacency) -> Poly:
    """Trees with an edge (the graph with its ends joined), and trees without it."""
    node = min(graph, key=lambda n: len(graph[n]))
    other = min(graph[node], key=lambda n: len(graph[n]))
    within, without = graph[node][other]
    rest = {n: dict(ways) for n, ways in graph.items()}
    del rest[node][other], rest[other][node]
    result = ring.zero
    if not without.is_zero:
        open_graph = {n: dict(ways) for n, ways in rest.items()}
        result = _sum(ring, open_graph, [without])
    factors = [within]
    for far, weights in rest.pop(node).items():
        del rest[far][node]
        _join(rest, other, far, weights, factors)
    return result + _sum(ring, rest, factors)


def multiply(ring: Ring, factors: Iterable[Poly]) -> Poly:
    """Return a product, small factors first."""
    result = ring.one
    for factor in sorted(factors, key=len):
        result = result * factor
    return result


def add(ring: Ring, terms: Sequence[Poly]) -> Poly:
    """Return a sum of many polynomials, in pairs, so that no term is copied often."""
    layer = list(terms)
    while len(layer) > 1:
        paired = [a + b for a, b in zip(layer[::2], layer[1::2], strict=False)]
        layer = paired + layer[len(paired) * 2 :]
    return layer[0] if layer else ring.zero
