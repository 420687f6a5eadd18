"""Graph helpers against networkx."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from derive.circuit.topology import (
    Edge,
    Graph,
    blocks,
    components,
    contract,
    fundamental_loops,
    graph_of,
    simple_loops,
    spanning_forest,
)
from tests.circuit_solution.build import circuit


def _random_graph(seed: int) -> tuple[Graph, nx.MultiGraph]:
    rng = random.Random(seed)
    size = rng.randint(1, 7)
    pairs = [(rng.randrange(size), rng.randrange(size)) for _ in range(rng.randint(0, 12))]
    graph = Graph(size, tuple(Edge(10 + k, a, b) for k, (a, b) in enumerate(pairs)))
    other = nx.MultiGraph()
    other.add_nodes_from(range(size))
    other.add_edges_from((a, b, 10 + k) for k, (a, b) in enumerate(pairs))
    return graph, other


@pytest.mark.parametrize("seed", range(60))
def test_components_forest_and_blocks(seed: int) -> None:
    graph, other = _random_graph(seed)
    parts = list(nx.connected_components(other))
    assert sorted(map(sorted, parts)) == sorted(map(list, components(graph)))
    forest = spanning_forest(graph)
    assert len(forest.branches) == graph.size - len(parts)
    inside = nx.MultiGraph(
        (e.tail, e.head, e.branch) for e in graph.edges if e.branch in forest.branches
    )
    assert not inside or nx.is_forest(inside)
    simple = nx.Graph((a, b) for a, b, _ in other.edges(keys=True) if a != b)
    wanted = [
        sorted(k for a, b, k in other.edges(keys=True) if (a, b) in pairs or (b, a) in pairs)
        for pairs in map(set, nx.biconnected_component_edges(simple))
    ]
    wanted += [[k] for a, b, k in other.edges(keys=True) if a == b]
    assert list(map(list, blocks(graph))) == sorted(wanted)


@pytest.mark.parametrize("seed", range(60))
def test_simple_loops_are_those_of_networkx(seed: int) -> None:
    graph, other = _random_graph(seed)
    # networkx tells loops by their nodes; parallel edges are made distinct by a node on each.
    split = nx.Graph()
    for a, b, k in other.edges(keys=True):
        split.add_edges_from([(a, f"e{k}"), (f"e{k}", f"f{k}"), (f"f{k}", b)])
    wanted = {
        frozenset(int(n[1:]) for n in cycle if isinstance(n, str))
        for cycle in nx.simple_cycles(split)
    }
    found = list(simple_loops(graph))
    assert {frozenset(hop.branch for hop in hops) for hops in found} == wanted
    assert len(found) == len(wanted)
    for hops in found:
        assert _closed(graph, hops)
        assert hops[0].along
        assert hops[0].branch == min(hop.branch for hop in hops)


def _incidence(graph: Graph) -> list[list[int]]:
    """Return a row for each node: +1 where an edge leaves it, −1 where one arrives."""
    rows = [[0] * len(graph.edges) for _ in range(graph.size)]
    for column, edge in enumerate(graph.edges):
        rows[edge.tail][column] += 1
        rows[edge.head][column] -= 1
    return rows


def _closed(graph: Graph, hops: tuple) -> bool:
    edges = {edge.branch: edge for edge in graph.edges}
    ends = [(edges[h.branch].tail, edges[h.branch].head)[:: 1 if h.along else -1] for h in hops]
    return all(a[1] == b[0] for a, b in zip(ends, ends[1:] + ends[:1], strict=True))


@pytest.mark.parametrize("seed", range(30))
def test_fundamental_loops_are_closed_and_as_many_as_links(seed: int) -> None:
    graph, other = _random_graph(seed)
    loops = fundamental_loops(graph, spanning_forest(graph))
    parts = nx.number_connected_components(other)
    assert len(loops) == len(graph.edges) - graph.size + parts
    assert all(_closed(graph, hops) for hops in loops)
    rows = _incidence(graph)
    for hops in loops:
        column = {edge.branch: k for k, edge in enumerate(graph.edges)}
        for row in rows:
            assert sum(row[column[h.branch]] * (1 if h.along else -1) for h in hops) == 0


def test_contracting_a_forest_keeps_the_other_branches() -> None:
    graph = Graph(4, (Edge(0, 0, 1), Edge(1, 1, 2), Edge(2, 2, 3), Edge(3, 3, 0)))
    forest = spanning_forest(graph.only({1}))
    assert contract(graph, forest) == Graph(3, (Edge(0, 0, 1), Edge(2, 1, 2), Edge(3, 2, 0)))


def test_graph_of_a_circuit_follows_the_file() -> None:
    graph = graph_of(circuit([("B", "A", "+E1 R1"), ("A", "B", "R2")]))
    assert graph == Graph(2, (Edge(0, 0, 1), Edge(1, 1, 0)))


def test_a_long_chain_needs_no_recursion() -> None:
    size = 5000
    graph = Graph(size, tuple(Edge(k, k, k + 1) for k in range(size - 1)))
    assert len(blocks(graph)) == size - 1
    assert len(spanning_forest(graph).path(0, size - 1)) == size - 1
