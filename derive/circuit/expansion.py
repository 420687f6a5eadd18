"""Kirchhoff's sums for a circuit: Δ of each block, and the weight of each loop in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import prod

from derive.algebra.linear import determinant
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import Symbol, Term, total
from derive.algebra.trees import WeightedEdge, multiply, tree_sum
from derive.circuit.model import Circuit, Hop
from derive.circuit.topology import (
    Edge,
    Forest,
    Graph,
    blocks,
    contract,
    fundamental_loops,
    graph_of,
    simple_loops,
    spanning_forest,
)

LookUp = Callable[[Symbol], Term]
"""Says what a quantity stands for."""

_WORK = 50
"""Numbers collapse into few terms but still have to be added up: so many times the bound."""


class TooLarge(Exception):  # noqa: N818  (a verdict on the circuit)
    """A formula would have more terms than allowed."""

    def __init__(self, terms: int, bound: int) -> None:
        """Keep the number of terms (an estimate from above when numbers are mixed in)."""
        super().__init__(f"{terms} terms, more than {bound}")
        self.terms = terms
        self.bound = bound


@dataclass(frozen=True, slots=True)
class Weight:
    """The resistance of a branch, `without` / `within`; both polynomials."""

    within: Poly
    without: Poly


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the circuit that shares no current with the rest."""

    branches: tuple[int, ...]
    """Its branches with resistance."""
    determinant: Poly
    """Δ: the sum over its spanning trees."""
    loops: tuple[tuple[tuple[Hop, ...], Poly], ...]
    """Its loops, branches without resistance included, each with its weight Δ(C)."""


def weights(ring: Ring, resistances: Sequence[tuple[Term, ...]]) -> tuple[Weight, ...]:
    """Return the weight of every branch from the terms of its resistances."""
    found = []
    for terms in resistances:
        above, below = ring.fraction(total(terms))
        found.append(Weight(below, above))
    return tuple(found)


def resistance_terms(circuit: Circuit, look_up: LookUp) -> tuple[tuple[Term, ...], ...]:
    """Return what the resistances of each branch stand for."""
    return tuple(tuple(map(look_up, branch.resistances)) for branch in circuit.branches)


def expand(graph: Graph, weighted: Sequence[Weight], bound: int) -> tuple[Block, ...]:
    """Return the blocks that can carry current, in order of their first branch.

    Raises TooLarge.
    """
    bare = {number for number, weight in enumerate(weighted) if weight.without.is_zero}
    parts, lift = _parts(graph, bare)
    for part in parts:
        _refuse_if_large(part, weighted, bound)
    return tuple(_block(part, weighted, lift) for part in parts)


def count_trees(circuit: Circuit) -> int:
    """Return the number of products in Δ over all blocks, before brackets are multiplied out.

    By Kirchhoff's matrix-tree theorem, as the determinant of the loop matrix for resistances of 1.
    """
    ones = [1] * len(circuit.branches)
    return prod(_weighted_trees(part, ones) for part in _parts_with_resistance(circuit))


def count_terms(circuit: Circuit) -> int:
    """Return the number of terms of the largest Δ of a block, all resistances being letters."""
    sizes = [len(branch.resistances) for branch in circuit.branches]
    return max(
        (_weighted_trees(part, sizes) for part in _parts_with_resistance(circuit)), default=1
    )


def _parts_with_resistance(circuit: Circuit) -> list[Graph]:
    bare = {number for number, branch in enumerate(circuit.branches) if not branch.resistances}
    return _parts(graph_of(circuit), bare)[0]


def _parts(graph: Graph, bare: set[int]) -> tuple[list[Graph], _Lift]:
    """Draw branches without resistance together; return the blocks with a loop, and the way back.

    Of branches without resistance that close a loop the later ones are left out.
    """
    forest = spanning_forest(graph.only(bare))
    left = bare.difference(forest.branches)
    kept = Graph(graph.size, tuple(edge for edge in graph.edges if edge.branch not in left))
    drawn_together = contract(kept, forest)
    parts = [_renumbered(drawn_together, part) for part in blocks(drawn_together)]
    return [part for part in parts if part.size <= len(part.edges)], _Lift(kept, forest)


def _weighted_trees(graph: Graph, values: Sequence[int]) -> int:
    """Return Σ over spanning trees of the product of the values outside the tree."""
    loops = fundamental_loops(graph, spanning_forest(graph))
    users: dict[int, list[tuple[int, int]]] = {}
    for number, hops in enumerate(loops):
        for hop in hops:
            users.setdefault(hop.branch, []).append((number, 1 if hop.along else -1))
    matrix = [[0] * len(loops) for _ in loops]
    for branch, used in users.items():
        for i, sign in used:
            for j, other in used:
                matrix[i][j] += sign * other * values[branch]
    return determinant(matrix)


def _refuse_if_large(part: Graph, weighted: Sequence[Weight], bound: int) -> None:
    sizes = [max(1, len(weight.without)) for weight in weighted]
    terms = _weighted_trees(part, sizes)
    terms *= prod(len(weighted[edge.branch].within) for edge in part.edges)
    if terms <= bound:
        return
    # With few letters, or letters that occur often, many products fall together.
    highest: dict[Symbol, int] = {}
    for edge in part.edges:
        weight = weighted[edge.branch]
        for symbol in {*weight.within.symbols, *weight.without.symbols}:
            degree = max(weight.within.degree(symbol), weight.without.degree(symbol))
            highest[symbol] = highest.get(symbol, 0) + degree
    distinct = min(terms, prod(degree + 1 for degree in highest.values()))
    if distinct > bound:
        raise TooLarge(distinct, bound)
    trees = _weighted_trees(part, [1] * len(weighted))
    if trees > _WORK * bound:
        raise TooLarge(trees, _WORK * bound)


def _renumbered(graph: Graph, branches: tuple[int, ...]) -> Graph:
    """Return the part with these branches, its nodes numbered from 0."""
    place: dict[int, int] = {}
    edges = []
    for edge in graph.only(frozenset(branches)).edges:
        tail = place.setdefault(edge.tail, len(place))
        edges.append(Edge(edge.branch, tail, place.setdefault(edge.head, len(place))))
    return Graph(len(place), tuple(edges))


def _block(part: Graph, weighted: Sequence[Weight], lift: _Lift) -> Block:
    ring = weighted[0].within.ring
    edges = {edge.branch: edge for edge in part.edges}
    found = []
    for hops in simple_loops(part):
        weight = _loop_weight(ring, part, edges, weighted, hops)
        if not weight.is_zero:
            found.append((lift(hops), weight))
    return Block(
        branches=tuple(edges),
        determinant=_tree_sum(ring, range(part.size), part.edges, weighted),
        loops=tuple(found),
    )


def _loop_weight(
    ring: Ring,
    part: Graph,
    edges: dict[int, Edge],
    weighted: Sequence[Weight],
    hops: tuple[Hop, ...],
) -> Poly:
    """Return Δ of the part with a loop drawn together to one node."""
    place = list(range(part.size))
    ends = [edges[hop.branch] for hop in hops]
    for edge in ends:
        place[edge.tail] = place[edge.head] = ends[0].tail
    passed = {hop.branch for hop in hops}
    rest = [
        Edge(edge.branch, place[edge.tail], place[edge.head])
        for edge in part.edges
        if edge.branch not in passed
    ]
    inner = multiply(ring, (weighted[branch].within for branch in passed))
    return inner * _tree_sum(ring, dict.fromkeys(place), rest, weighted)


def _tree_sum(
    ring: Ring,
    nodes: range | dict[int, None],
    edges: Sequence[Edge],
    weighted: Sequence[Weight],
) -> Poly:
    return tree_sum(
        ring,
        nodes,
        [
            WeightedEdge(e.tail, e.head, weighted[e.branch].within, weighted[e.branch].without)
            for e in edges
        ],
    )


class _Lift:
    """Turns a loop among points drawn together into the loop of the circuit it stands for."""

    def __init__(self, graph: Graph, forest: Forest) -> None:
        self._edges = {edge.branch: edge for edge in graph.edges}
        self._forest = forest
        self._trivial = not forest.branches

    def __call__(self, hops: tuple[Hop, ...]) -> tuple[Hop, ...]:
        if self._trivial:
            return hops
        whole: list[Hop] = []
        for hop, following in pairwise((*hops, hops[0])):
            whole.append(hop)
            whole.extend(self._forest.path(self._ends(hop)[1], self._ends(following)[0]))
        return tuple(whole)

    def _ends(self, hop: Hop) -> tuple[int, int]:
        edge = self._edges[hop.branch]
        return (edge.tail, edge.head) if hop.along else (edge.head, edge.tail)
