"""Planar embedding of small graphs, by adding one path at a time inside a face.

G. Demoucron, Y. Malgrange, R. Pertuiset, Rev. Française de Recherche Opérationnelle 8 (1964).
Quadratic, which is plenty for circuits of some dozens of branches.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

Face = tuple[int, ...]


def faces_of(neighbours: Sequence[Sequence[int]]) -> list[Face] | None:
    """Return the faces of a plane drawing of a two-connected simple graph; None if there is none.

    The faces are walked all in the same sense: each edge is passed once in each direction.
    """
    cycle = _cycle(neighbours)
    faces: list[Face] = [cycle, cycle[::-1]]
    placed = set(cycle)
    drawn = {frozenset(pair) for pair in zip(cycle, cycle[1:] + cycle[:1], strict=True)}
    total = sum(len(near) for near in neighbours) // 2
    while len(drawn) < total:
        best: tuple[list[int], list[int]] | None = None
        for contacts, path in _fragments(neighbours, placed, drawn):
            room = [k for k, face in enumerate(faces) if contacts <= set(face)]
            if not room:
                return None
            if best is None or len(room) < len(best[1]):
                best = (path, room)
                if len(room) == 1:
                    break
        assert best is not None, "the graph is connected"
        path, room = best
        faces[room[0] : room[0] + 1] = _split(faces[room[0]], path)
        placed.update(path)
        drawn.update(frozenset(pair) for pair in pairwise(path))
    return faces


def rotations(faces: Sequence[Face], size: int) -> list[list[int]]:
    """Return the neighbours of each vertex in clockwise order."""
    after: list[dict[int, int]] = [{} for _ in range(size)]
    for face in faces:
        for k, vertex in enumerate(face):
            after[vertex][face[k - 1]] = face[(k + 1) % len(face)]
    rotation = []
    for turn in after:
        first = min(turn)
        ring = [first]
        while turn[ring[-1]] != first:
            ring.append(turn[ring[-1]])
        rotation.append(ring)
    return rotation


def _cycle(neighbours: Sequence[Sequence[int]]) -> Face:
    path, seen = [0], {0: 0}
    while True:
        here = path[-1]
        came = path[-2] if len(path) > 1 else -1
        onward = next(n for n in neighbours[here] if n != came)
        if onward in seen:
            return tuple(path[seen[onward] :])
        seen[onward] = len(path)
        path.append(onward)


def _fragments(
    neighbours: Sequence[Sequence[int]], placed: set[int], drawn: set[frozenset[int]]
) -> list[tuple[set[int], list[int]]]:
    """Return what is not drawn yet, piece by piece: its contacts, and a path between two."""
    found: list[tuple[set[int], list[int]]] = []
    for a in sorted(placed):
        for b in neighbours[a]:
            if a < b and b in placed and frozenset((a, b)) not in drawn:
                found.append(({a, b}, [a, b]))
    seen: set[int] = set()
    for start in range(len(neighbours)):
        if start in placed or start in seen:
            continue
        piece, contacts = [start], set()
        seen.add(start)
        for vertex in piece:
            for near in neighbours[vertex]:
                if near in placed:
                    contacts.add(near)
                elif near not in seen:
                    seen.add(near)
                    piece.append(near)
        found.append((contacts, _path(neighbours, set(piece), min(contacts), placed)))
    return found


def _path(
    neighbours: Sequence[Sequence[int]], piece: set[int], origin: int, placed: set[int]
) -> list[int]:
    """Return a shortest path from a placed vertex through a piece to another placed vertex."""
    came = {near: origin for near in neighbours[origin] if near in piece}
    queue = list(came)
    for vertex in queue:
        for near in neighbours[vertex]:
            if near in placed and near != origin:
                path = [near, vertex]
                while path[-1] != origin:
                    path.append(came[path[-1]])
                return path
            if near in piece and near not in came:
                came[near] = vertex
                queue.append(near)
    raise AssertionError("the graph is two-connected")


def _split(face: Face, path: Sequence[int]) -> tuple[Face, Face]:
    a, b = face.index(path[0]), face.index(path[-1])
    if a > b:
        path, a, b = path[::-1], b, a
    inner = tuple(path[1:-1])
    return face[: a + 1] + inner + face[b:], face[a : b + 1] + inner[::-1]
