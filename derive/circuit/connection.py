"""Is there a circuit at all: closed, in one piece, with no loose ends?"""

from __future__ import annotations

from collections.abc import Sequence

from derive.circuit.complaints import Complaints
from derive.circuit.wiring import Edge, Wiring
from derive.language.nearest import nearest

_SHOWN = 6


def check_connections(
    wiring: Wiring, open_points: frozenset[str], complaints: Complaints, *, closed: bool
) -> bool:
    """Complain of loose ends, separate circuits, and walks that close no loop if one must be.

    An end with nothing connected is allowed at the points in `open_points`.
    """
    components = _components(wiring)
    if not components:
        return False
    if closed and len(wiring.edges) - len(wiring.degree) + len(components) == 0:
        _complain_of_no_loop(wiring, complaints)
        return False
    sound = True
    for points in components[1:]:
        _complain_of_separation(components[0], points, wiring, complaints)
        sound = False
    for group, points in wiring.groups.items():
        if wiring.degree[group] == 1 and open_points.isdisjoint(points):
            _complain_of_loose_end(group, wiring, complaints)
            sound = False
    return sound


def _components(wiring: Wiring) -> list[tuple[str, ...]]:
    """Return the points of each connected piece, in file order."""
    parent = {group: group for group in wiring.degree}

    def root(group: str) -> str:
        while parent[group] != group:
            parent[group] = parent[parent[group]]
            group = parent[group]
        return group

    for edge in wiring.edges:
        parent[root(edge.head)] = root(edge.tail)
    pieces: dict[str, list[str]] = {}
    for point in wiring.places:
        pieces.setdefault(root(wiring.group(point)), []).append(point)
    return [tuple(points) for points in pieces.values()]


def _complain_of_no_loop(wiring: Wiring, complaints: Complaints) -> None:
    loose = [group for group, count in wiring.degree.items() if count == 1]
    ends = f": it ends at {_listed(loose)}" if loose else ""
    span = wiring.places[loose[-1]] if loose else next(iter(wiring.places.values()))
    complaints.error(
        "nothing-closed",
        f"nothing in this circuit is closed, so no current flows{ends}",
        span,
        "a current needs a way back: end a walk at a point where another one begins, "
        "or join two points by a wire",
        *([f"a wire between the ends: `: {loose[-1]} {loose[0]}`"] if len(loose) > 1 else []),
    )


def _complain_of_separation(
    first: tuple[str, ...], points: tuple[str, ...], wiring: Wiring, complaints: Complaints
) -> None:
    twins = [(a, b) for a in points for b in first if a.lower() == b.lower()]
    hints = [f"are `{a}` and `{b}` meant to be the same point?" for a, b in twins[:1]]
    complaints.error(
        "two-circuits",
        "these are two separate circuits: no walk leads from the points "
        f"{_listed(first)} to the points {_listed(points)}",
        wiring.places[points[0]],
        *hints,
        f"join them, for instance by a wire: `: {first[0]} {points[0]}`",
        "or solve each circuit in a file of its own",
    )


def _complain_of_loose_end(group: str, wiring: Wiring, complaints: Complaints) -> None:
    point = next(p for edge in wiring.edges for p in _points_at(edge, group))
    edge = next(edge for edge in wiring.edges if group in (edge.tail, edge.head))
    part = ""
    if edge.parts:
        part = f" behind {(edge.parts[-1] if edge.head == group else edge.parts[0]).name.text}"
    others = [other for other, count in wiring.degree.items() if other != group and count]
    near = nearest(point, others)
    hints = [f"did you mean the point `{near}`?"] if near is not None else []
    complaints.error(
        "loose-end",
        f"the point {point} is a loose end: nothing goes on{part}",
        wiring.places[point],
        *hints,
        f"lead a walk or a wire on from {point}",
        f"to leave it open on purpose, ask for its potential: ask voltage {point} {others[0]}",
    )


def _points_at(edge: Edge, group: str) -> tuple[str, ...]:
    if edge.tail == group:
        return edge.tail_points
    return edge.head_points if edge.head == group else ()


def _listed(points: Sequence[str]) -> str:
    shown = list(points[:_SHOWN]) + (["…"] if len(points) > _SHOWN else [])
    return ", ".join(shown)
