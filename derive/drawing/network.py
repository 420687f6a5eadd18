"""The circuit as a graph that can be drawn: every branch a chain of edges, every edge between
two different vertices, nothing hanging by one vertex.

A loop hung on one node gets a vertex in its middle; where two branches must cross, the crossing
is a vertex of both; edges without a branch are never drawn, they only hold loose pieces in place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from derive.circuit.model import Circuit, Loop
from derive.drawing.planarity import Face, faces_of, rotations


@dataclass(frozen=True, slots=True)
class Edge:
    """A line between two vertices."""

    a: int
    b: int
    branch: int | None
    """None for an edge that is not drawn."""

    def other(self, vertex: int) -> int:
        """Return the far end."""
        return self.b if vertex == self.a else self.a


@dataclass(frozen=True, slots=True)
class Network:
    """Vertices 0, 1, …: first the nodes in file order, then the made ones."""

    size: int
    edges: tuple[Edge, ...]
    chains: tuple[tuple[int, ...], ...]
    """For each branch its edges from tail to head; an edge of a chain runs from `a` to `b`."""
    crossings: tuple[int, ...] = ()
    """Vertices where two branches cross without touching."""

    def path(self, chain: Sequence[int]) -> list[int]:
        """Return the vertices of a chain, from tail to head; none for a branch left out."""
        return [self.edges[chain[0]].a, *(self.edges[e].b for e in chain)] if chain else []


@dataclass(frozen=True, slots=True)
class Embedding:
    """A network with the clockwise order of the edges at each vertex, free of crossings."""

    network: Network
    rotation: tuple[tuple[int, ...], ...]


def network_of(circuit: Circuit) -> Network:
    """Return the network of a circuit, not yet made two-connected."""
    place = {node.name: k for k, node in enumerate(circuit.nodes)}
    size = len(place)
    edges: list[Edge] = []
    chains: list[tuple[int, ...]] = []
    for k, branch in enumerate(circuit.branches):
        tail, head = place[branch.tail], place[branch.head]
        count = len(edges)
        if tail == head:
            edges += [Edge(tail, size, k), Edge(size, head, k)]
            chains.append((count, count + 1))
            size += 1
        else:
            edges.append(Edge(tail, head, k))
            chains.append((count,))
    return Network(size, tuple(edges), tuple(chains))


def embed_plane(network: Network, loops: Sequence[Loop]) -> Embedding | None:
    """Embed a network so that as many of the loops as possible are windows; None if not planar."""
    bound = two_connected(network)
    found = _try(bound, loops)
    if found is not None:
        return found
    kept: list[Loop] = []
    for loop in loops:
        better = _try(bound, [*kept, loop])
        if better is not None:
            kept.append(loop)
            found = better
    return found or _try(bound, ())


def faces(embedding: Embedding) -> list[tuple[tuple[int, int], ...]]:
    """Return the faces as (edge, vertex it is left from) pairs; each face lies to the left."""
    edges, rotation = embedding.network.edges, embedding.rotation
    seen: set[tuple[int, int]] = set()
    found = []
    for k, edge in enumerate(edges):
        for start in (edge.a, edge.b):
            if (k, start) in seen:
                continue
            face = []
            dart = (k, start)
            while dart not in seen:
                seen.add(dart)
                face.append(dart)
                vertex = edges[dart[0]].other(dart[1])
                ring = rotation[vertex]
                dart = (ring[(ring.index(dart[0]) + 1) % len(ring)], vertex)
            found.append(tuple(face))
    return found


def two_connected(network: Network) -> Network:
    """Add edges that are not drawn, until no vertex holds two pieces together."""
    edges = list(network.edges)
    if network.size == 2 and len(edges) == 1:
        edges.append(Edge(0, 1, None))
    while True:
        extra = _missing(network, edges)
        if extra is None:
            return replace(network, edges=tuple(edges))
        edges.append(extra)


def _missing(network: Network, edges: Sequence[Edge]) -> Edge | None:
    near: list[list[int]] = [[] for _ in range(network.size)]
    for edge in edges:
        near[edge.a].append(edge.b)
        near[edge.b].append(edge.a)
    for cut in range(network.size):
        piece = reach(near, near[cut][0], cut)
        loose = next((vertex for vertex in near[cut] if vertex not in piece), None)
        if loose is not None:
            return Edge(near[cut][0], loose, None)
    return None


def reach(near: Sequence[Sequence[int]], start: int, without: int) -> set[int]:
    """Return the vertices that can be reached past a vertex, that one included."""
    found, queue = {start, without}, [start]
    for vertex in queue:
        for other in near[vertex]:
            if other not in found:
                found.add(other)
                queue.append(other)
    return found


def _try(network: Network, loops: Iterable[Loop]) -> Embedding | None:
    """Embed with every loop a window, which a hub joined to all of the loop enforces."""
    plane = _plane(network, loops)
    if plane is None:
        return None
    near, found = plane
    turn = rotations(found, len(near))
    size = network.size
    count = len(network.edges)
    rotation = [
        tuple(mid - size for mid in turn[v] if size <= mid < size + count) for v in range(size)
    ]
    return Embedding(network, tuple(rotation))


def _plane(network: Network, loops: Iterable[Loop]) -> tuple[list[list[int]], list[Face]] | None:
    """Embed the network with each edge cut by a vertex, so that it is a simple graph."""
    size = network.size
    near: list[list[int]] = [[] for _ in range(size + len(network.edges))]

    def join(a: int, b: int) -> None:
        near[a].append(b)
        near[b].append(a)

    for k, edge in enumerate(network.edges):
        join(edge.a, size + k)
        join(size + k, edge.b)
    for loop in loops:
        used = [edge for hop in loop.hops for edge in network.chains[hop.branch]]
        near.append([])
        hub = len(near) - 1
        ends = {v for k in used for v in (network.edges[k].a, network.edges[k].b)}
        for vertex in sorted(ends | {size + k for k in used}):
            join(hub, vertex)
    found = faces_of(near)
    return None if found is None else (near, found)
