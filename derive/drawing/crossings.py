"""Where branches have to cross: a vertex at every crossing, as few of them as are found.

Branches are taken out until the rest is planar, and put back across as few others as possible
(C. Batini, M. Talamo, R. Tamassia, Journal of Systems and Software 4 (1984), from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice, pairwise, permutations

from derive.bounds import MOST_CROSSED
from derive.circuit.model import Loop
from derive.diagnostic import Diagnostic, Rejected
from derive.drawing.network import (
    Edge,
    Embedding,
    Network,
    embed_plane,
    faces,
    reach,
)

_MOST_STARTS, _MOST_ORDERS = 10, 6
"""How many ways of taking branches out are tried, and of putting each set of them back."""


def embed(network: Network, loops: Sequence[Loop]) -> Embedding:
    """Embed a network so that as many of the loops as possible are windows.

    A network that is not planar gets vertices where branches cross.
    """
    return embed_plane(network, loops) or _embed_with_crossings(network)


def _embed_with_crossings(network: Network) -> Embedding:
    """Return the embedding with the fewest crossings, over several ways of taking branches out."""
    count = len(network.chains)
    if count > MOST_CROSSED:
        told = (
            f"no figure of this circuit is without crossings, and it has {count} branches; "
            f"{MOST_CROSSED} are the most of such a circuit"
        )
        hint = "a figure of that size could not be read; solve a piece of the circuit"
        raise Rejected([Diagnostic("too-many-crossings", told, None, (hint,))])
    best: Embedding | None = None
    branches = list(range(count))
    for start in reversed(branches[-_MOST_STARTS:]):
        order = [start, *(branch for branch in reversed(branches) if branch != start)]
        left_out = _to_leave_out(network, order)
        for back in islice(permutations(left_out), _MOST_ORDERS):
            found = _with_crossings(network, back)
            crossings = len(found.network.crossings)
            if best is None or crossings < len(best.network.crossings):
                best = found
            if crossings == 1:
                return found
    assert best is not None
    return best


def _to_leave_out(network: Network, order: Sequence[int]) -> list[int]:
    """Return branches without which a network is planar: the first in an order that serve."""
    left_out: list[int] = []
    for branch in order:
        rest = _without(network, (*left_out, branch))
        if rest is None:
            continue
        left_out.append(branch)
        if embed_plane(rest, ()) is not None:
            break
    for branch in list(left_out):
        # A branch that was taken out in vain goes back at once.
        fewer = [b for b in left_out if b != branch]
        rest = _without(network, fewer)
        if rest is not None and fewer and embed_plane(rest, ()) is not None:
            left_out = fewer
    return left_out


def _with_crossings(network: Network, left_out: Sequence[int]) -> Embedding:
    base = _without(network, left_out)
    assert base is not None
    for branch in left_out:
        base = _insert(base, network, branch)
    while True:
        found = embed_plane(base, ())
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
    return rest if len(reach(near, 0, 0)) == network.size else None


def _insert(base: Network, whole: Network, branch: int) -> Network:
    """Put a branch into a planar network, across the fewest branches."""
    embedding = embed_plane(base, ())
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
