"""What the walks of a file say that no circuit can be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from derive.circuit.complaints import Complaints
from derive.circuit.idle import is_gap
from derive.circuit.live_wires import LiveWires
from derive.circuit.wiring import is_wire
from derive.diagnostic import Note
from derive.language.printer import print_stops
from derive.language.syntax import CurrentSourceStop, PointStop, Walk


def no_source_at_gap(wires: LiveWires, complaints: Complaints) -> bool:
    """Complain of current sources whose current has no way to go."""
    edges = [wires.wiring.edges[k] for k in sorted(wires.idle)]
    gaps = [part for edge in edges for part in edge.parts if is_gap(part, wires.real)]
    sound = True
    for edge in edges:
        for part in edge.parts:
            if not isinstance(part, CurrentSourceStop):
                continue
            sound = False
            near = [gap for gap in edge.parts if is_gap(gap, wires.real)] or gaps
            names = ", ".join(gap.name.text for gap in near[:3])
            complaints.error(
                "source-at-gap",
                f"the current source {part.name.text} would drive its current through {names}, "
                "where none can pass: no currents obey both",
                part.span,
                f"give its current a way round: a resistor beside {part.name.text}",
            )
    return sound


def in_one_piece(wires: LiveWires, live: Sequence[int], complaints: Complaints) -> bool:
    """Complain where gaps alone hold circuits together: nothing fixes their voltages then."""
    edges = wires.wiring.edges
    parent = {group: group for group in wires.wiring.groups}

    def root(group: str) -> str:
        while parent[group] != group:
            parent[group] = parent[parent[group]]
            group = parent[group]
        return group

    # What leads to a gap and has a current no more still joins potentials.
    for edge in edges:
        if not any(is_gap(part, wires.real) for part in edge.parts):
            parent[root(edge.head)] = root(edge.tail)
    roots = dict.fromkeys(root(edges[k].tail) for k in live)
    if len(roots) < 2:
        return True
    apart = [edge for edge in edges if root(edge.tail) != root(edge.head)]
    between = [part for edge in apart for part in edge.parts if is_gap(part, wires.real)]
    first, second = list(roots)[:2]
    names = " and ".join(part.name.text for part in between)
    complaints.error(
        "joined-by-gaps",
        f"only {names} {'joins' if len(between) == 1 else 'join'} the circuit at {first} to the "
        f"circuit at {second}, and no current passes there, so nothing fixes the voltage between "
        "the two",
        between[0].span,
        f"join them, for instance by a wire: `: {first} {second}`",
        "or solve each circuit in a file of its own",
    )
    return False


def crossed_junction(walk: Walk, visits: Counter[str], wires: LiveWires) -> int | None:
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
        if isinstance(stop, PointStop) and wires.degree[wires.wiring.group(stop.name.text)] >= 3:
            return index
    return None


def complain_of_gap(
    walk: Walk, edges: Sequence[int], wires: LiveWires, complaints: Complaints
) -> None:
    """Complain of a walk that has a current in one piece and none in another."""
    assert walk.name is not None
    still = next(k for k in edges if k in wires.idle)
    first = still == edges[0]
    turn = next(k for k in edges[1:] if (k in wires.idle) != first)
    point = wires.wiring.edges[turn].tail_points[0]
    places = [k for k, s in enumerate(walk.stops) if s.name.text == point]
    one, other = walk.stops[: places[0] + 1], walk.stops[places[0] :]
    gap = next(
        (p for k in edges if k in wires.idle for p in wires.wiring.edges[k].parts
         if is_gap(p, wires.real)),
        wires.wiring.edges[still].parts[0],
    )  # fmt: skip
    complaints.error(
        "walk-with-two-currents",
        f"the walk of {walk.name.text} has a current on one side of {point} and none on the other",
        walk.name.span,
        f"write two walks: `{walk.name.text}: {print_stops(one)}` and `: {print_stops(other)}`",
        notes=(Note(f"no current passes {gap.name.text}", gap.span),),
    )


def complain_of_junction(walk: Walk, position: int, complaints: Complaints) -> None:
    """Complain of a walk with a name that passes a junction."""
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
