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
        piece = _reach(near, near[cut][0], cut)
        loose = next((vertex for vertex in near[cut] if vertex not in piece), None)
        if loose is not None:
            return Edge(near[cut][0], loose, None)
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
    while True:
        found = _try(_two_connected(base), ())
        assert found is not None, "crossings were put where they are needed"
        touching = next((v for v in base.crossings if not _crosses(found, v)), None)
        if touching is None:
            return found
        base = _uncross(base, touching)


def _crosses(embedding: Embedding, vertex: int) -> bool:
    """Tell whether the two branches at a vertex lie across each other; else they only touch."""
    edges = embedding.network.edges
    ring = [edges[e].branch for e in embedding.rotation[vertex] if edges[e].branch is not None]
    return ring[0] == ring[2]


def _uncross(network: Network, vertex: int) -> Network:
    paths = [
        [v - (v > vertex) for v in path if v != vertex]
        for path in map(network.path, network.chains)
    ]
    crossings = tuple(v - (v > vertex) for v in network.crossings if v != vertex)
    return _along(paths, network.size - 1, crossings)


def _along(paths: Sequence[Sequence[int]], size: int, crossings: tuple[int, ...]) -> Network:
    """Return the network whose branches run through the given vertices."""
    edges: list[Edge] = []
    chains = []
    for branch, path in enumerate(paths):
        chains.append(tuple(range(len(edges), len(edges) + max(0, len(path) - 1))))
        edges += [Edge(a, b, branch) for a, b in pairwise(path)]
    return Network(size, tuple(edges), tuple(chains), crossings)


def _without(network: Network, branches: Sequence[int]) -> Network | None:
    """Return the network without some branches; None when it would fall apart."""
    if any(len(network.chains[k]) > 1 for k in branches):
        return None
    paths = [[] if k in branches else network.path(chain) for k, chain in enumerate(network.chains)]
    rest = _along(paths, network.size, ())
    near: list[list[int]] = [[] for _ in range(network.size)]
    for edge in rest.edges:
        near[edge.a].append(edge.b)
        near[edge.b].append(edge.a)
    return rest if len(_reach(near, 0, 0)) == network.size else None


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
    paths = [base.path(chain) for chain in base.chains]
    paths[branch] = [wanted.a]
    size = base.size
    for cut in crossed:
        edge = base.edges[cut]
        assert edge.branch is not None
        paths[branch].append(size)
        path = paths[edge.branch]
        path.insert(path.index(edge.a) + 1, size)
        size += 1
    paths[branch].append(wanted.b)
    return _along(paths, size, (*base.crossings, *range(base.size, size)))
