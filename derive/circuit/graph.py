"""From walks to nodes and branches.

Points joined by plain wire are one node. A branch is a maximal chain of parts through places
where just two ends meet: however the walks are cut, parts in series have one current. Walks in
which no current can flow end nowhere as far as the currents are concerned: they are kept apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from derive.algebra.term import current
from derive.circuit.chains import Chain, chains
from derive.circuit.complaints import Complaints
from derive.circuit.connection import check_connections
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Meter,
    Resistor,
    Switch,
)
from derive.circuit.graph_faults import (
    complain_of_gap,
    complain_of_junction,
    crossed_junction,
    in_one_piece,
    no_source_at_gap,
)
from derive.circuit.idle import is_gap
from derive.circuit.live_wires import LiveWires, live_wires
from derive.circuit.model import Branch, Drawn, Hop, Node, Passage, Terminals, WalkCurrent
from derive.circuit.register import Register
from derive.circuit.wiring import Wiring, points_of
from derive.language.syntax import (
    BatteryStop,
    CapacitorStop,
    CurrentSourceStop,
    MeterStop,
    PartStop,
    ResistorStop,
    SwitchStop,
    Walk,
)


@dataclass(frozen=True, slots=True)
class Graph:
    """The circuit without its values and questions."""

    nodes: tuple[Node, ...]
    branches: tuple[Branch, ...]
    walks: tuple[WalkCurrent, ...]
    idle: tuple[Branch, ...] = ()
    drawn: Drawn | None = None
    terminals: Terminals | None = None


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
    real: Collection[str] = (),
    otherwise: Sequence[Walk] = (),
    gap: Walk | None = None,
) -> Graph | None:
    """Return nodes, branches and walk currents; None, with complaints, when that is no circuit.

    `open_points` may be ends with nothing connected; a loop there must be if it must be `closed`.
    The meters named in `real` have a resistance. The currents of walks without a name are added
    to the register. `otherwise` are the same walks with switches in other states, if some change:
    walks without a name are cut so that they have the same currents, by name, in both. `gap` is
    the one between two terminals of the figure.
    """
    wires = live_wires(walks, open_points, real)
    wiring, idle, live = wires.wiring, wires.idle, wires.live
    connected = check_connections(wiring, open_points, complaints, closed=closed)
    states = [wires, live_wires(otherwise, open_points, real)] if otherwise else [wires]
    pieces = _pieces(walks, states, register, complaints)
    sound = connected and no_source_at_gap(wires, complaints)
    if pieces is None or not sound or not in_one_piece(wires, live, complaints):
        return None
    flowing = [piece for piece in pieces if piece.edges[0] not in idle]
    nodes, branches, places = _branches(wires, live, wires.degree, flowing)
    found = tuple(
        WalkCurrent(current(p.current), *places[p.edges[0]], _parts(p, wiring)) for p in flowing
    )
    arrows = [p for p in pieces if any(p.edges[0] not in state.idle for state in states)]
    terminals = None if gap is None else _terminals(gap, walks, wires, pieces, places, arrows)
    if not idle:
        return Graph(nodes, branches, found, terminals=terminals)
    still = tuple(_idle_branch(piece, wires) for piece in pieces if piece.edges[0] in idle)
    drawn = _drawn(wires, pieces, places, arrows)
    return Graph(nodes, branches, found, still, drawn, terminals)


_Places = Mapping[int, tuple[int, bool]]
"""For each edge its branch, and whether it runs along it."""


def _branches(
    wires: LiveWires, edges: Sequence[int], degree: Mapping[str, int], pieces: Sequence[_Piece]
) -> tuple[tuple[Node, ...], tuple[Branch, ...], _Places]:
    """Put edges together to nodes and branches."""
    wiring = wires.wiring
    found = chains(wiring.edges, degree, edges)
    walk_of = {edge: piece.current for piece in pieces for edge in piece.edges}
    places = {edge: (k, along) for k, chain in enumerate(found) for edge, along in chain.steps}
    branches = tuple(_branch(chain, wires, walk_of[chain.first]) for chain in found)
    nodes = _nodes(branches, wiring, degree)
    called = {point: node.name for node in nodes for point in node.points}
    named = tuple(
        Branch(b.current, called[b.tail], called[b.head], b.passages, b.stations) for b in branches
    )
    return nodes, named, places


def _drawn(
    wires: LiveWires,
    pieces: Sequence[_Piece],
    places: _Places,
    arrows: Sequence[_Piece],
    ends: tuple[str, ...] = (),
) -> Drawn:
    """Return all parts for the figure, with an arrow for the current of some pieces.

    Branches end at some places also where just two wires meet.
    """
    wiring = wires.wiring
    everything = range(len(wiring.edges))
    parting = {group: max(3, wiring.degree[group]) for group in ends}
    nodes, branches, shown = _branches(wires, everything, wiring.degree | parting, pieces)
    nodes = tuple(replace(n, degree=wiring.degree[wiring.group(n.name)]) for n in nodes)
    walks = tuple(
        WalkCurrent(current(p.current), *shown[p.edges[0]], _parts(p, wiring)) for p in arrows
    )
    count = max((k for k, _ in places.values()), default=-1) + 1
    hops: list[list[Hop]] = [[] for _ in range(count)]
    chain_of = chains(wiring.edges, wires.degree, wires.live)
    for number, chain in enumerate(chain_of):
        for edge, along in chain.steps:
            branch, way = shown[edge]
            hop = Hop(branch, way == along)
            if not hops[number] or hops[number][-1] != hop:
                hops[number].append(hop)
    return Drawn(nodes, branches, walks, tuple(map(tuple, hops)))


def _terminals(
    gap: Walk,
    walks: Sequence[Walk],
    wires: LiveWires,
    pieces: Sequence[_Piece],
    places: _Places,
    arrows: Sequence[_Piece],
) -> Terminals | None:
    """Return what the figure shows with a gap between two points.

    None if they are one place, or not both of them are points.
    """
    one, other = points_of(gap)
    if not {one, other} <= wires.wiring.places.keys():
        return None  # what has that name is told where the question is read
    ends = wires.wiring.group(one), wires.wiring.group(other)
    if ends[0] == ends[1]:
        return None
    last = len(wires.wiring.edges)
    parted = replace(wires, wiring=Wiring([*walks, gap]), idle=wires.idle | {last})
    across = _Piece(_still_name(parted, [last]), (last,))
    return Terminals(one, other, _drawn(parted, [*pieces, across], places, arrows, ends))


def _idle_branch(piece: _Piece, wires: LiveWires) -> Branch:
    """Return a walk without current; its ends are points."""
    wiring = wires.wiring
    steps = tuple((edge, True) for edge in piece.edges)
    tail, head = wiring.edges[piece.edges[0]].tail, wiring.edges[piece.edges[-1]].head
    branch = _branch(Chain(piece.edges[0], steps, tail, head), wires, piece.current)
    inner = branch.stations[1:-1]
    ends = wiring.groups[tail], wiring.groups[head]
    return replace(branch, stations=(ends[0], *inner, ends[1]))


def _parts(piece: _Piece, wiring: Wiring) -> tuple[str, ...]:
    return tuple(part.name.text for edge in piece.edges for part in wiring.edges[edge].parts)


def _pieces(
    walks: Sequence[Walk], states: Sequence[LiveWires], register: Register, complaints: Complaints
) -> tuple[_Piece, ...] | None:
    """Cut unnamed walks at junctions; complain of named ones that pass a junction.

    The first of the `states` is the one of this circuit, another that of the same circuit with
    its switches changed: an unnamed walk is cut where it is in either.
    """
    register.missing_currents = True
    wires = states[0]
    wiring, idle = wires.wiring, wires.idle
    runs: list[tuple[Walk, list[int]]] = []
    for number, edge in enumerate(wiring.edges):
        walk = walks[edge.walk]
        if (
            runs
            and runs[-1][0] is walk
            and (walk.name or all(_goes_on(state, number) for state in states))
        ):
            runs[-1][1].append(number)
        else:
            runs.append((walk, [number]))
    sound = True
    visits = Counter(point for walk in walks for point in dict.fromkeys(points_of(walk)))
    for place, walk in enumerate(walks):
        mine = [k for k, edge in enumerate(wiring.edges) if edge.walk == place]
        crossed = None if idle.issuperset(mine) else crossed_junction(walk, visits, wires)
        if crossed is not None:
            complain_of_junction(walk, crossed, complaints)
            sound = False
        elif walk.name is not None and idle.intersection(mine) and not idle.issuperset(mine):
            complain_of_gap(walk, mine, wires, complaints)
            sound = False
    if not sound:
        return None
    pieces = []
    for walk, numbers in runs:
        if walk.name is not None:
            name = walk.name.text
        elif all(numbers[0] in state.idle for state in states):
            name = _still_name(wires, numbers)
        else:
            name = register.name_current(walk.span)
        pieces.append(_Piece(name, tuple(numbers)))
    register.missing_currents = False
    return tuple(pieces)


def _goes_on(wires: LiveWires, number: int) -> bool:
    """Tell whether the current of an edge is that of the edge before it on an unnamed walk."""
    edge = wires.wiring.edges[number]
    degree = wires.wiring.degree if number in wires.idle else wires.degree
    return degree[edge.tail] < 3 and (number in wires.idle) == (number - 1 in wires.idle)


def _still_name(wires: LiveWires, numbers: Sequence[int]) -> str:
    """Return what the current of an unnamed walk without current is called: by its first part."""
    parts = [part for k in numbers for part in wires.wiring.edges[k].parts]
    gap = next((part for part in parts if is_gap(part, wires.real)), parts[0])
    return f"I({gap.name.text})"


def _branch(chain: Chain, wires: LiveWires, name: str) -> Branch:
    """Return a branch whose ends are groups of points still."""
    wiring = wires.wiring
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
            passages.append(_passage(part, along, wires.real))
            stations.append([])
        stations[-1].extend(leave)
    met = tuple(tuple(dict.fromkeys(station)) for station in stations)
    return Branch(current(name), chain.tail, chain.head, tuple(passages), met)


def _passage(part: PartStop, along: bool, real: Collection[str]) -> Passage:
    name = part.name.text
    match part:
        case BatteryStop(internal=internal, rise=rise):
            own = None if internal is None else internal.text
            return Passage(Battery(name, own), rise == along)
        case CurrentSourceStop(along=way):
            return Passage(CurrentSource(name), way == along)
        case _:
            return Passage(_element(part, real))


def _element(part: PartStop, real: Collection[str]) -> Element:
    name = part.name.text
    match part:
        case ResistorStop(lamp=lamp):
            return Resistor(name, lamp)
        case SwitchStop(closed=closed):
            return Switch(name, closed)
        case MeterStop(meter=meter):
            return Instrument(name, Meter(meter.value), name in real)
        case CapacitorStop():
            return Capacitor(name)
        case _:
            raise AssertionError(part)


def _nodes(
    branches: tuple[Branch, ...], wiring: Wiring, degree: Mapping[str, int]
) -> tuple[Node, ...]:
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
        Node(points[0], points, degree[group])
        for group, points in ((g, wiring.in_order(p)) for g, p in members.items())
    ]
    order = {point: index for index, point in enumerate(wiring.places)}
    return tuple(sorted(nodes, key=lambda node: order[node.name]))
