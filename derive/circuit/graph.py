"""From walks to nodes and branches.

Points joined by plain wire are one node. A branch is a maximal chain of parts through places
where just two ends meet: however the walks are cut, parts in series have one current.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from derive.algebra.term import current
from derive.circuit.chains import Chain, chains
from derive.circuit.complaints import Complaints
from derive.circuit.connection import check_connections
from derive.circuit.model import Battery, Branch, Node, Passage, Resistor, WalkCurrent
from derive.circuit.register import Register
from derive.circuit.wiring import Wiring, is_wire, points_of
from derive.language.printer import print_stops
from derive.language.syntax import BatteryStop, PartStop, PointStop, ResistorStop, Walk


@dataclass(frozen=True, slots=True)
class Graph:
    """The circuit without its values and questions."""

    nodes: tuple[Node, ...]
    branches: tuple[Branch, ...]
    walks: tuple[WalkCurrent, ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A walk, or a piece of an unnamed walk between two junctions; one current flows in it."""

    current: str
    edges: tuple[int, ...]


def build(
    walks: Sequence[Walk],
    open_points: frozenset[str],
    register: Register,
    complaints: Complaints,
    *,
    closed: bool = True,
) -> Graph | None:
    """Return nodes, branches and walk currents; None, with complaints, when that is no circuit.

    `open_points` may be ends with nothing connected; a loop there must be if it must be `closed`.
    The currents of walks without a name are
    added to the register.
    """
    wiring = Wiring(walks)
    connected = check_connections(wiring, open_points, complaints, closed=closed)
    pieces = _pieces(walks, wiring, register, complaints)
    solved = all(
        isinstance(part, ResistorStop | BatteryStop) for edge in wiring.edges for part in edge.parts
    )
    if pieces is None or not connected or not solved:
        return None
    found = chains(wiring.edges, wiring.degree)
    walk_of = {edge: piece.current for piece in pieces for edge in piece.edges}
    places = {edge: (k, along) for k, chain in enumerate(found) for edge, along in chain.steps}
    branches = tuple(_branch(chain, wiring, walk_of[chain.first]) for chain in found)
    nodes = _nodes(branches, wiring)
    called = {point: node.name for node in nodes for point in node.points}
    return Graph(
        nodes,
        tuple(
            Branch(b.current, called[b.tail], called[b.head], b.passages, b.stations)
            for b in branches
        ),
        tuple(
            WalkCurrent(current(p.current), *places[p.edges[0]], _parts(p, wiring)) for p in pieces
        ),
    )


def _parts(piece: _Piece, wiring: Wiring) -> tuple[str, ...]:
    return tuple(part.name.text for edge in piece.edges for part in wiring.edges[edge].parts)


def _pieces(
    walks: Sequence[Walk], wiring: Wiring, register: Register, complaints: Complaints
) -> tuple[_Piece, ...] | None:
    """Cut unnamed walks at junctions; complain of named ones that pass a junction."""
    register.missing_currents = True
    runs: list[tuple[Walk, list[int]]] = []
    for number, edge in enumerate(wiring.edges):
        walk = walks[edge.walk]
        if runs and runs[-1][0] is walk and wiring.degree[edge.tail] < 3:
            runs[-1][1].append(number)
        else:
            runs.append((walk, [number]))
    sound = True
    visits = Counter(point for walk in walks for point in dict.fromkeys(points_of(walk)))
    for walk in walks:
        crossed = _crossed_junction(walk, visits, wiring)
        if crossed is not None:
            _complain_of_junction(walk, crossed, complaints)
            sound = False
    if not sound:
        return None
    pieces = []
    for walk, numbers in runs:
        name = register.name_current(walk.span) if walk.name is None else walk.name.text
        pieces.append(_Piece(name, tuple(numbers)))
    register.missing_currents = False
    return tuple(pieces)


def _crossed_junction(walk: Walk, visits: Counter[str], wiring: Wiring) -> int | None:
    """Return the position of a stop where the current of a named walk would divide.

    `visits` tells how many walks name each point.
    """
    if walk.name is None:
        return None
    inner = range(1, len(walk.stops) - 1)
    if is_wire(walk):
        return next((k for k in inner if visits[walk.stops[k].name.text] > 1), None)
    parts = [k for k in inner if not isinstance(walk.stops[k], PointStop)]
    for index in range(parts[0], parts[-1]):
        stop = walk.stops[index]
        if isinstance(stop, PointStop) and wiring.degree[wiring.group(stop.name.text)] >= 3:
            return index
    return None


def _complain_of_junction(walk: Walk, position: int, complaints: Complaints) -> None:
    stop = walk.stops[position]
    assert walk.name is not None
    first, second = walk.stops[: position + 1], walk.stops[position:]
    complaints.error(
        "walk-passes-junction",
        f"the walk of {walk.name.text} passes the junction {stop.name.text}, where the current "
        "divides",
        stop.name.span,
        f"write two walks: `{walk.name.text}: {print_stops(first)}` and "
        f"`: {print_stops(second)}`, the second with a current of its own",
    )


def _branch(chain: Chain, wiring: Wiring, name: str) -> Branch:
    """Return a branch whose ends are groups of points still."""
    passages: list[Passage] = []
    stations: list[list[str]] = [[]]
    for position, (index, along) in enumerate(chain.steps):
        edge = wiring.edges[index]
        ends = (edge.tail_points, edge.head_points)
        enter, leave = ends if along else (ends[1][::-1], ends[0][::-1])
        if position > 0:
            enter = wiring.groups[wiring.group(enter[0])]
        stations[-1].extend(enter)
        for part in edge.parts if along else reversed(edge.parts):
            passages.append(_passage(part, along))
            stations.append([])
        stations[-1].extend(leave)
    met = tuple(tuple(dict.fromkeys(station)) for station in stations)
    return Branch(current(name), chain.tail, chain.head, tuple(passages), met)


def _passage(part: PartStop, along: bool) -> Passage:
    if isinstance(part, BatteryStop):
        internal = None if part.internal is None else part.internal.text
        return Passage(Battery(part.name.text, internal), part.rise == along)
    assert isinstance(part, ResistorStop)
    return Passage(Resistor(part.name.text, part.lamp))


def _nodes(branches: tuple[Branch, ...], wiring: Wiring) -> tuple[Node, ...]:
    """Return the ends of the branches, with all points at their potential.

    A point between an end and the first part has that end's potential, also when the wire
    between them is a walk with a current of its own.
    """
    members: dict[str, list[str]] = {}
    for branch in branches:
        for end in (branch.tail, branch.head):
            members.setdefault(end, list(wiring.groups[end]))
    ends = dict.fromkeys(members)
    for branch in branches:
        first = [p for p in branch.stations[0] if wiring.group(p) not in ends]
        members[branch.tail].extend(first)
        if branch.passages:
            last = [p for p in branch.stations[-1] if wiring.group(p) not in ends]
            members[branch.head].extend(last)
    nodes = [
        Node(points[0], points, wiring.degree[group])
        for group, points in ((g, wiring.in_order(p)) for g, p in members.items())
    ]
    order = {point: index for index, point in enumerate(wiring.places)}
    return tuple(sorted(nodes, key=lambda node: order[node.name]))
