"""The circuit as a graph: trees, loops, blocks. Everything comes in source order.

Nodes are numbers, edges keep the number of their branch, so that a part of a graph, or a graph
with some edges contracted, can still be read as a part of the circuit.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from derive.circuit.model import Circuit, Hop


@dataclass(frozen=True, slots=True)
class Edge:
    """A branch between two numbered nodes, along its current arrow."""

    branch: int
    tail: int
    head: int


@dataclass(frozen=True, slots=True)
class Graph:
    """A multigraph; loops at one node are allowed."""

    size: int
    """Number of nodes; they are numbered from 0."""
    edges: tuple[Edge, ...]

    def incident(self) -> list[list[tuple[int, Hop]]]:
        """Return for each node its ways out as (other node, hop), in edge order.

        A loop at one node is listed once.
        """
        ways: list[list[tuple[int, Hop]]] = [[] for _ in range(self.size)]
        for edge in self.edges:
            ways[edge.tail].append((edge.head, Hop(edge.branch, along=True)))
            if edge.tail != edge.head:
                ways[edge.head].append((edge.tail, Hop(edge.branch, along=False)))
        return ways

    def only(self, branches: Collection[int]) -> Graph:
        """Return the graph with these edges and all its nodes."""
        return Graph(self.size, tuple(edge for edge in self.edges if edge.branch in branches))


def graph_of(circuit: Circuit) -> Graph:
    """Return the graph that loops may follow: nodes and branches without a current source."""
    place = {node.name: number for number, node in enumerate(circuit.nodes)}
    edges = (
        Edge(number, place[branch.tail], place[branch.head])
        for number, branch in enumerate(circuit.branches)
        if not branch.sources
    )
    return Graph(len(place), tuple(edges))


@dataclass(frozen=True, slots=True)
class Forest:
    """A spanning tree of each connected part, grown breadth first from its first node."""

    parents: tuple[tuple[int, Hop] | None, ...]
    """For each node its parent and the hop from the parent; None at a root."""
    depths: tuple[int, ...]
    roots: tuple[int, ...]
    """For each node the root of its tree."""

    @property
    def branches(self) -> tuple[int, ...]:
        """The branches of the trees, in order."""
        return tuple(sorted(parent[1].branch for parent in self.parents if parent))

    def path(self, origin: int, goal: int) -> tuple[Hop, ...]:
        """Return the way from one node to another of the same tree."""
        up: list[Hop] = []
        down: list[Hop] = []
        while origin != goal:
            if self.depths[origin] >= self.depths[goal]:
                origin, hop = self._above(origin)
                up.append(Hop(hop.branch, not hop.along))
            else:
                goal, hop = self._above(goal)
                down.append(hop)
        return (*up, *reversed(down))

    def _above(self, node: int) -> tuple[int, Hop]:
        parent = self.parents[node]
        if parent is None:
            raise ValueError("the two nodes lie in different trees")
        return parent


def spanning_forest(graph: Graph) -> Forest:
    """Return a spanning tree of each connected part."""
    ways = graph.incident()
    parents: list[tuple[int, Hop] | None] = [None] * graph.size
    depths = [0] * graph.size
    roots = [-1] * graph.size
    for root in range(graph.size):
        if roots[root] >= 0:
            continue
        roots[root] = root
        queue = deque([root])
        while queue:
            node = queue.popleft()
            for other, hop in ways[node]:
                if roots[other] < 0:
                    roots[other] = root
                    parents[other] = (node, hop)
                    depths[other] = depths[node] + 1
                    queue.append(other)
    return Forest(tuple(parents), tuple(depths), tuple(roots))


def components(graph: Graph) -> tuple[tuple[int, ...], ...]:
    """Return the nodes of each connected part."""
    parts: dict[int, list[int]] = {}
    for node, root in enumerate(spanning_forest(graph).roots):
        parts.setdefault(root, []).append(node)
    return tuple(tuple(part) for part in parts.values())


def fundamental_loops(graph: Graph, forest: Forest) -> tuple[tuple[Hop, ...], ...]:
    """Return for each edge outside the forest the loop that it closes, the edge first, along."""
    inside = set(forest.branches)
    return tuple(
        (Hop(edge.branch, along=True), *forest.path(edge.head, edge.tail))
        for edge in graph.edges
        if edge.branch not in inside
    )


def blocks(graph: Graph) -> tuple[tuple[int, ...], ...]:
    """Return the branches of each block: the parts that hang together by single nodes only.

    A bridge, and a loop at one node, is a block of one branch. The blocks come in the order of
    their first branch. (Hopcroft & Tarjan 1973, with a stack of our own in place of recursion.)
    """
    ways = graph.incident()
    entered = [-1] * graph.size
    low = [0] * graph.size
    clock = 0
    found: list[list[int]] = [[edge.branch] for edge in graph.edges if edge.tail == edge.head]
    passed: list[int] = []
    used = {branch for block in found for branch in block}
    for root in range(graph.size):
        if entered[root] >= 0:
            continue
        entered[root] = low[root] = clock
        clock += 1
        trail: list[tuple[int, int, Iterator[tuple[int, Hop]]]] = [(root, 0, iter(ways[root]))]
        while trail:
            node, mark, rest = trail[-1]
            for other, hop in rest:
                if hop.branch in used:
                    continue
                used.add(hop.branch)
                passed.append(hop.branch)
                if entered[other] >= 0:
                    low[node] = min(low[node], entered[other])
                    continue
                entered[other] = low[other] = clock
                clock += 1
                trail.append((other, len(passed) - 1, iter(ways[other])))
                break
            else:
                trail.pop()
                if not trail:
                    continue
                above = trail[-1][0]
                low[above] = min(low[above], low[node])
                if low[node] >= entered[above]:
                    found.append(passed[mark:])
                    del passed[mark:]
    return tuple(sorted(tuple(sorted(block)) for block in found))


def contract(graph: Graph, forest: Forest) -> Graph:
    """Return the graph with each tree of the forest drawn together to one node.

    The edges of the forest vanish; node numbers follow the order of the roots.
    """
    place: dict[int, int] = {}
    for root in forest.roots:
        place.setdefault(root, len(place))
    gone = set(forest.branches)
    edges = (
        Edge(edge.branch, place[forest.roots[edge.tail]], place[forest.roots[edge.head]])
        for edge in graph.edges
        if edge.branch not in gone
    )
    return Graph(len(place), tuple(edges))


def simple_loops(graph: Graph) -> Iterator[tuple[Hop, ...]]:
    """Yield every loop that meets no node twice, once, from its first edge and along it."""
    ways = graph.incident()
    for first in graph.edges:
        start = Hop(first.branch, along=True)
        if first.tail == first.head:
            yield (start,)
            continue
        seen = {first.head}
        hops = [start]
        trail = [iter(ways[first.head])]
        nodes = [first.head]
        while trail:
            for other, hop in trail[-1]:
                if hop.branch <= first.branch or other in seen:
                    continue
                if other == first.tail:
                    yield (*hops, hop)
                    continue
                seen.add(other)
                nodes.append(other)
                hops.append(hop)
                trail.append(iter(ways[other]))
                break
            else:
                trail.pop()
                hops.pop()
                seen.discard(nodes.pop())
