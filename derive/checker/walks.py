"""Walks through a circuit: the potential changes that are met, and where they lead."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from derive.algebra.term import ZERO, Negative, Product, Symbol, SymbolKind, Term
from derive.checker.naming import part_symbol
from derive.checker.polynomial import Refused
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Resistor,
    Switch,
    is_gap,
)
from derive.circuit.model import Branch, Circuit, Hop, Loop, Passage
from derive.derivation.laws import Crossing, PartLaw

Place = str | tuple[int, int, bool]
"""A node, or a place inside a branch: (branch, passages before it, inside the next battery)."""


def loop_rows(circuit: Circuit, loop: Loop) -> tuple[Crossing, ...]:
    """Return the rows of a closed walk. Raises Refused where it jumps, repeats or stays open."""
    passed = [hop.branch for hop in loop.hops]
    if not passed or not all(0 <= index < len(circuit.branches) for index in passed):
        raise Refused("the loop passes no branch, or one that does not exist")
    if len(set(passed)) < len(passed):
        raise Refused("the loop passes a branch twice")
    ends = [_hop_ends(circuit, hop) for hop in loop.hops]
    for (_, here), (there, _) in pairwise(ends):
        if here != there:
            raise Refused(f"the loop jumps from {here} to {there}")
    if any(circuit.branches[index].sources for index in passed):
        raise Refused("the loop passes a current source, whose voltage is not known")
    if ends[-1][1] != ends[0][0]:
        raise Refused(f"the loop starts at {ends[0][0]} and ends at {ends[-1][1]}")
    return tuple(row for hop in loop.hops for row in hop_rows(circuit, hop))


def _hop_ends(circuit: Circuit, hop: Hop) -> tuple[str, str]:
    branch = circuit.branches[hop.branch]
    return (branch.tail, branch.head) if hop.along else (branch.head, branch.tail)


def hop_rows(circuit: Circuit, hop: Hop) -> Iterator[Crossing]:
    """Yield the rows of one branch; a current source has none."""
    branch = circuit.branches[hop.branch]
    for passage in branch.passages if hop.along else branch.passages[::-1]:
        yield from _rows(passage, branch.current, hop.along)


def _rows(passage: Passage, flow: Symbol | None, along: bool) -> tuple[Crossing, ...]:
    """Return the rows of one part; along the arrow a battery shows its emf first.

    Without a current, which is what None means, a resistance makes no change.
    """
    element, rows = passage.element, []
    if isinstance(element, Capacitor):
        across = part_symbol(PartLaw.VOLTAGE, element.name)
        change: Term = Negative(across) if along else across
        return (_row(element.name, element.capacitance, None, along, change),)
    if isinstance(element, Battery):
        rise = passage.along == along
        change = element.emf if rise else Negative(element.emf)
        rows.append(_row(element.name, element.emf, None, rise, change))
    if element.resistance is not None:
        change = ZERO
        if flow is not None:
            drop = Product((element.resistance, flow))
            change = Negative(drop) if along else drop
        rows.append(_row(element.name, element.resistance, flow, along, change))
    return tuple(rows if along else rows[::-1])


def _row(
    part: str, quantity: Symbol, current: Symbol | None, along: bool, change: Term
) -> Crossing:
    return Crossing(part=part, quantity=quantity, current=current, along=along, change=change)


def follow(circuit: Circuit, origin: str, to: str, rows: tuple[Crossing, ...]) -> None:
    """Walk along the rows. Raises Refused where a row does not go on from the last, or is wrong."""
    joined = _joined(circuit)
    places = _place(circuit, joined, origin), _place(circuit, joined, to)
    _walk(circuit, joined, places, rows, to)


def follow_past(circuit: Circuit, part: str, rows: tuple[Crossing, ...]) -> None:
    """Walk along the rows from one end of a part to the other, which counts as the higher one."""
    joined = _joined(circuit)
    for index, branch in enumerate(circuit.all_branches):
        for position, passage in enumerate(branch.passages):
            element = passage.element
            if element.name != part:
                continue
            if isinstance(element, Resistor | Battery):
                raise Refused(f"{part} has a law of its own")
            enter, leave = (
                _at(circuit, joined, index, branch, k) for k in (position, position + 1)
            )
            if isinstance(element, CurrentSource):
                places = (enter, leave) if passage.along else (leave, enter)
            elif index >= len(circuit.branches) or circuit.walk_of(part).along:
                places = leave, enter
            else:
                places = enter, leave
            _walk(circuit, joined, places, rows, f"the other end of {part}")
            return
    raise Refused(f"the circuit has no part {part}")


def way_between(circuit: Circuit, origin: str, to: str) -> tuple[Crossing, ...]:
    """Return the rows of some way from one point to another. Raises Refused where there is none.

    It leads past no capacitor.
    """
    joined = _joined(circuit)
    rows = [
        (row, *ends)
        for row, ends in _row_ends(circuit, joined)
        if row.quantity.kind is not SymbolKind.CAPACITANCE
    ]
    start, goal = _place(circuit, joined, origin), _place(circuit, joined, to)
    ways: dict[Place, tuple[Crossing, ...]] = {start: ()}
    waiting = [start]
    for place in waiting:
        for row, here, there in rows:
            if here == place and there not in ways:
                ways[there] = (*ways[place], row)
                waiting.append(there)
    if goal not in ways:
        raise Refused(f"no way leads from {origin} to {to}")
    return ways[goal]


def rows_between(circuit: Circuit) -> tuple[tuple[Crossing, tuple[Place, Place]], ...]:
    """Return every row of every part, both ways, with the places where it begins and ends."""
    return tuple(_row_ends(circuit, _joined(circuit)))


def part_ends(circuit: Circuit) -> Iterator[tuple[Element, tuple[Place, Place]]]:
    """Yield each part with the places where its branch or its walk comes in and goes out."""
    joined = _joined(circuit)
    for index, branch in enumerate(circuit.all_branches):
        for position, passage in enumerate(branch.passages):
            enter, leave = (
                _at(circuit, joined, index, branch, k) for k in (position, position + 1)
            )
            yield passage.element, (enter, leave)


def places_of_points(circuit: Circuit) -> dict[str, Place]:
    """Return the place of every point."""
    joined = _joined(circuit)
    named = (point for node in circuit.nodes for point in node.points)
    met = (point for b in circuit.all_branches for s in b.stations for point in s)
    return {point: _place(circuit, joined, point) for point in (*named, *met)}


def _walk(
    circuit: Circuit,
    joined: dict[Place, Place],
    places: tuple[Place, Place],
    rows: tuple[Crossing, ...],
    goal: str,
) -> None:
    ends = dict(_row_ends(circuit, joined))
    here, to = places
    for row in rows:
        if row not in ends:
            raise Refused(f"{row.part} is not met as this row of the path says")
        start, end = ends[row]
        if start != here:
            raise Refused(f"the path does not go on with {row.part}")
        here = end
    if here != to:
        raise Refused(f"the path does not end at {goal}")


def _joined(circuit: Circuit) -> dict[Place, Place]:
    """Map places to one place of their potential: branches without parts and wires join them."""
    joined: dict[Place, Place] = {node.name: node.name for node in circuit.nodes}
    for branch in circuit.branches:
        if not branch.passages:
            _join(joined, branch.tail, branch.head)
    for branch in circuit.idle:
        if not branch.passages:  # a named wire that leads to a gap
            one, other = (_place(circuit, joined, end) for end in (branch.tail, branch.head))
            _join(joined, one, other)
    for index, branch in enumerate(circuit.all_branches):
        for position, passage in enumerate(branch.passages):
            if is_wire(passage.element):
                one, other = (
                    _at(circuit, joined, index, branch, k) for k in (position, position + 1)
                )
                _join(joined, one, other)
    return joined


def _join(joined: dict[Place, Place], one: Place, other: Place) -> None:
    """Put the places that are joined to one of two together with those of the other."""
    old, new = joined.setdefault(other, other), joined.setdefault(one, one)
    for place, own in joined.items():
        if own == old:
            joined[place] = new


def is_wire(element: Element) -> bool:
    """Tell whether an element is at one potential: a closed switch, an ideal ammeter."""
    if isinstance(element, Switch | Instrument):
        return element.resistance is None and not is_gap(element)
    return False


def _row_ends(
    circuit: Circuit, joined: dict[Place, Place]
) -> Iterator[tuple[Crossing, tuple[Place, Place]]]:
    for index, branch in enumerate(circuit.all_branches):
        flow = branch.current if index < len(circuit.branches) else None
        for position, passage in enumerate(branch.passages):
            before, after = (
                _at(circuit, joined, index, branch, k) for k in (position, position + 1)
            )
            rows = _rows(passage, flow, along=True)
            back = _rows(passage, flow, along=False)
            middle: list[Place] = [(index, position, True)] * (len(rows) - 1)
            places = [before, *middle, after]
            if rows:
                yield from zip(rows, pairwise(places), strict=True)
                places.reverse()
                yield from zip(back, pairwise(places), strict=True)


def _at(
    circuit: Circuit, joined: dict[Place, Place], index: int, branch: Branch, position: int
) -> Place:
    """Return where one is on a branch after so many parts.

    A walk without current ends at points, which may lie inside of a branch.
    """
    place = _inside(branch, index, position)
    if index >= len(circuit.branches) and isinstance(place, str):
        return _place(circuit, joined, place)
    return joined.get(place, place)


def _inside(branch: Branch, index: int, position: int) -> Place:
    if position == 0:
        return branch.tail
    return branch.head if position == len(branch.passages) else (index, position, False)


def _place(circuit: Circuit, joined: dict[Place, Place], point: str) -> Place:
    node = circuit.node_of(point)
    if node is not None:
        return joined[node]
    everything = circuit.all_branches
    for index, branch in enumerate(everything):
        last = len(branch.stations) - 1
        for position, names in enumerate(branch.stations):
            still = index >= len(circuit.branches) and position in (0, last)
            if point in names and not still:
                place = _inside(branch, index, position)
                return joined.get(place, place)
    for branch in circuit.idle:
        for names in (branch.stations[0], branch.stations[-1]):
            if point in names:
                return joined.get(names[0], names[0])
    raise Refused(f"the circuit has no point {point}")
