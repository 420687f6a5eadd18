"""The circuit as a graph that can be drawn: every branch a chain of edges, every edge between
two different vertices, nothing hanging by one vertex.

A loop hung on one node gets a vertex in its middle; where two branches must cross, the crossing
is a vertex of both; edges without a branch are never drawn, they only hold loose pieces in place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

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

    def at(self, vertex: int) -> list[int]:
        """Return the edges that end at a vertex."""
        return [k for k, edge in enumerate(self.edges) if vertex in (edge.a, edge.b)]


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


def embed(network: Network, loops: Sequence[Loop]) -> Embedding:
    """Embed a network so that as many of the loops as possible are windows.

    A network that is not planar gets vertices where branches cross.
    """
    bound = _two_connected(network)
    found = _try(bound, loops)
    if found is not None:
        return found
    kept: list[Loop] = []
    for loop in loops:
        better = _try(bound, [*kept, loop])
        if better is not None:
            kept.append(loop)
            found = better
    found = found or _try(bound, ())
    return found or _embed_with_crossings(network)


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


def _two_connected(network: Network) -> Network:
    """Add edges that are not drawn, until no vertex holds two pieces together."""
    edges = list(network.edges)
    if network.size == 2 and len(edges) == 1:
        edges.append(Edge(0, 1, None))
    while True:
        extra = _missing(network.size, edges)
        if extra is None:
            return replace(network, edges=tuple(edges))
        edges.append(extra)


def _missing(size: int, edges: Sequence[Edge]) -> Edge | None:
    near: list[list[int]] = [[] for _ in range(size)]
    for edge in edges:
        near[edge.a].append(edge.b)
        near[edge.b].append(edge.a)
    for cut in range(size):
        piece = _reach(near, near[cut][0], cut)
        loose = [n for n in near[cut] if n not in piece]
        if loose:
            return Edge(near[cut][0], loose[0], None)
    return None


def _reach(near: Sequence[Sequence[int]], start: int, without: int) -> set[int]:
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


def _plane(
    network: Network, loops: Iterable[Loop]
) -> tuple[list[list[int]], list[Face]] | None:
    """Embed the network with each edge cut by a vertex, so that it is a simple graph."""
    size = network.size
    near: list[list[int]] = [[] for _ in range(size + len(network.edges))]

    def join(a: int, b: int) -> None:
        near[a].append(b)
        near[b].append(a)

    for k, edge in enumerate(network.edges):
        join(edge.a, size + k)
        join(size + k, edge.b)
    for vertex in network.crossings:
        # A rim round the crossing keeps its four ends in alternating order.
        first, second = _through(network, vertex)
        ring = (first[0], second[0], first[1], second[1])
        for k, mid in enumerate(ring):
            join(size + ring[k - 1], size + mid)
    for loop in loops:
        used = [edge for hop in loop.hops for edge in network.chains[hop.branch]]
        near.append([])
        hub = len(near) - 1
        ends = {v for k in used for v in (network.edges[k].a, network.edges[k].b)}
        for vertex in sorted(ends | {size + k for k in used}):
            join(hub, vertex)
    found = faces_of(near)
    return None if found is None else (near, found)


def _through(network: Network, vertex: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return the two pairs of edges that go straight on at a crossing."""
    pairs = [
        (e, f)
        for chain in network.chains
        for e, f in pairwise(chain)
        if network.edges[e].b == vertex
    ]
    return pairs[0], pairs[1]


def _embed_with_crossings(network: Network) -> Embedding:
    """Take branches out until the rest is planar, then put each back across as few as possible."""
    left_out: list[int] = []
    base = network
    for branch in reversed(range(len(network.chains))):
        rest = _without(network, (*left_out, branch))
        if rest is None:
            continue
        left_out.append(branch)
        base = rest
        if _plane(_two_connected(rest), ()) is not None:
            break
    for branch in reversed(list(left_out)):
        # A branch that was taken out in vain goes back at once.
        fewer = [b for b in left_out if b != branch]
        rest = _without(network, fewer)
        if rest is not None and fewer and _plane(_two_connected(rest), ()) is not None:
            left_out, base = fewer, rest
    for branch in left_out:
        base = _insert(base, network, branch)
    found = _try(_two_connected(base), ())
    assert found is not None, "crossings were put where they are needed"
    return found


def _without(network: Network, branches: Sequence[int]) -> Network | None:
    """Return the network without some branches; None when it would fall apart."""
    edges: list[Edge] = []
    chains: list[tuple[int, ...]] = []
    for k, chain in enumerate(network.chains):
        if k in branches:
            if len(chain) > 1:
                return None
            chains.append(())
            continue
        chains.append(tuple(range(len(edges), len(edges) + len(chain))))
        edges += [network.edges[e] for e in chain]
    near: list[list[int]] = [[] for _ in range(network.size)]
    for edge in edges:
        near[edge.a].append(edge.b)
        near[edge.b].append(edge.a)
    if not near[0] or len(_reach(near, 0, 0)) < network.size:
        return None
    return Network(network.size, tuple(edges), tuple(chains))


def _insert(base: Network, whole: Network, branch: int) -> Network:
    """Put a branch into a planar network, across the fewest branches."""
    embedding = _try(_two_connected(base), ())
    assert embedding is not None
    edges = embedding.network.edges
    wanted = whole.edges[whole.chains[branch][0]]
    areas = faces(embedding)
    side = {dart: k for k, face in enumerate(areas) for dart in face}
    goals = {k for k, face in enumerate(areas) if any(v == wanted.b for _, v in face)}
    queue = [k for k, face in enumerate(areas) if any(v == wanted.a for _, v in face)]
    came: dict[int, tuple[int, int] | None] = dict.fromkeys(queue)
    for area in queue:
        if area in goals:
            crossed = []
            step = came[area]
            while step is not None:
                crossed.append(step[1])
                step = came[step[0]]
            real = [e for e in reversed(crossed) if edges[e].branch is not None]
            return _cross(base, branch, wanted, real)
        for edge, vertex in areas[area]:
            beyond = side[(edge, edges[edge].other(vertex))]
            if beyond not in came:
                came[beyond] = (area, edge)
                queue.append(beyond)
    raise AssertionError("every window can be reached from every other")


def _cross(base: Network, branch: int, wanted: Edge, crossed: Sequence[int]) -> Network:
    edges = list(base.edges)
    chains = [list(chain) for chain in base.chains]
    crossings = list(base.crossings)
    size, here = base.size, wanted.a
    for cut in crossed:
        vertex, size = size, size + 1
        old = edges[cut]
        assert old.branch is not None
        edges[cut] = Edge(old.a, vertex, old.branch)
        edges.append(Edge(vertex, old.b, old.branch))
        chain = chains[old.branch]
        chain.insert(chain.index(cut) + 1, len(edges) - 1)
        edges.append(Edge(here, vertex, branch))
        chains[branch].append(len(edges) - 1)
        crossings.append(vertex)
        here = vertex
    edges.append(Edge(here, wanted.b, branch))
    chains[branch].append(len(edges) - 1)
    return Network(size, tuple(edges), tuple(tuple(c) for c in chains), tuple(crossings))
