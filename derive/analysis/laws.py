"""Kirchhoff's rules and the relations of the parts, read off the circuit as steps."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Collection

from derive.algebra.dimension import COULOMB
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Symbol,
    SymbolKind,
    Term,
    constant,
    total,
    voltage,
    voltage_across,
)
from derive.circuit.elements import Battery, Capacitor, CurrentSource, is_gap
from derive.circuit.model import Branch, Circuit, Hop, Loop, Node, Passage
from derive.circuit.stations import Station, station_of, stations
from derive.circuit.valuation import Given
from derive.derivation.laws import (
    AcrossRule,
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PathRule,
    SameCurrent,
)

CHECK = "check"
"""Name of the loop that is walked once more at the end."""


def choose_unknowns(circuit: Circuit) -> ChooseUnknowns:
    """Return the count of branches, junctions and equations."""
    known = circuit.given_currents
    return ChooseUnknowns(
        branches=len(circuit.branches),
        junctions=len(circuit.junctions),
        unknowns=(
            *(
                branch.current
                for k, branch in enumerate(circuit.branches)
                if not branch.sources and k not in known
            ),
            *circuit.sought,
        ),
        junction_equations=len(circuit.nodes) - 1,
        loop_equations=loop_count(circuit),
        voltage_equations=sum(v.symbol.kind is SymbolKind.VOLTAGE for v in circuit.conditions),
    )


def loop_count(circuit: Circuit) -> int:
    """Return how many loop equations the currents need: b − s − (n − 1) with s current sources."""
    unknown = sum(not branch.sources for branch in circuit.branches)
    return unknown - len(circuit.nodes) + 1


def known_currents(circuit: Circuit) -> tuple[KnownCurrent, ...]:
    """Return the currents that sources set, and those of walks in which none can flow."""
    steps = []
    for branch in circuit.branches:
        for passage in branch.sources:
            assert isinstance(passage.element, CurrentSource)
            source = passage.element.source
            right: Term = source if passage.along else Negative(source)
            steps.append(_known(branch, passage.element.name, right))
    for branch in circuit.idle:
        names = [p.element.name for p in branch.passages]
        gaps = [p.element.name for p in branch.passages if is_gap(p.element)]
        # A wire with a current of its own may lead to a gap.
        steps.append(_known(branch, next(iter((*gaps, *names)), ""), ZERO))
    return tuple(steps)


def _known(branch: Branch, part: str, right: Term) -> KnownCurrent:
    return KnownCurrent(
        current=branch.current, part=part, conclusion=Equation(branch.current, right)
    )


def given_values(circuit: Circuit) -> tuple[GivenValue, ...]:
    """Return what the author says of each quantity, in file order."""
    steps = []
    for valuation in circuit.values:
        value = valuation.value
        term = constant(value.value, value.dimension) if isinstance(value, Given) else value.term
        steps.append(
            GivenValue(symbol=valuation.symbol, conclusion=Equation(valuation.symbol, term))
        )
    return tuple(steps)


def same_currents(circuit: Circuit) -> tuple[SameCurrent, ...]:
    """Return the walks whose current is that of a branch named by another walk."""
    steps = []
    for walk in circuit.walks:
        own = circuit.branches[walk.branch].current
        if walk.current != own:
            right: Term = own if walk.along else Negative(own)
            steps.append(SameCurrent(walk=walk.current, conclusion=Equation(walk.current, right)))
    return tuple(steps)


def junction_rule(circuit: Circuit, node: Node) -> JunctionRule:
    """Return what flows in and out at a node."""
    flows_in = tuple(
        b.current for b in circuit.branches if b.head == node.name and b.tail != node.name
    )
    flows_out = tuple(
        b.current for b in circuit.branches if b.tail == node.name and b.head != node.name
    )
    conclusion = Equation(total(flows_in), total(flows_out))
    if not flows_in:
        # A reader expects the sum on the left and the zero on the right.
        conclusion = Equation(total(flows_out), ZERO)
    return JunctionRule(
        node=node.name, flows_in=flows_in, flows_out=flows_out, conclusion=conclusion
    )


def passage_crossings(passage: Passage, flow: Symbol | None, along: bool) -> tuple[Crossing, ...]:
    """Return the table rows for one part met in (`along`) or against branch direction.

    `flow` is None where no current can flow: a resistance makes no change there.
    """
    element = passage.element
    rows: list[Crossing] = []
    if isinstance(element, Capacitor):
        across = voltage_across(element.name)
        change: Term = Negative(across) if along else across
        letter = element.capacitance
        return (
            Crossing(part=element.name, quantity=letter, current=None, along=along, change=change),
        )
    if isinstance(element, Battery):
        rise = passage.along == along
        source: Term = element.emf
        rows.append(
            Crossing(
                part=element.name,
                quantity=element.emf,
                current=None,
                along=rise,
                change=source if rise else Negative(source),
            )
        )
    if element.resistance is not None:
        drop = ZERO if flow is None else Product((element.resistance, flow))
        rows.append(
            Crossing(
                part=element.name,
                quantity=element.resistance,
                current=flow,
                along=along,
                change=Negative(drop) if along and flow is not None else drop,
            )
        )
    return tuple(rows if along else reversed(rows))


def charge_on(capacitor: str) -> Symbol:
    """Return the symbol of the charge of a capacitor."""
    return Symbol(f"Q({capacitor})", SymbolKind.CHARGE, COULOMB)


def hop_crossings(circuit: Circuit, hop: Hop) -> tuple[Crossing, ...]:
    """Return the table rows for one branch, in travel order."""
    branch = circuit.branches[hop.branch]
    passages = branch.passages if hop.along else tuple(reversed(branch.passages))
    return tuple(
        row for passage in passages for row in passage_crossings(passage, branch.current, hop.along)
    )


def loop_rule(circuit: Circuit, loop: Loop, name: str) -> LoopRule:
    """Return the walk round a loop."""
    rows = tuple(row for hop in loop.hops for row in hop_crossings(circuit, hop))
    return LoopRule(
        name=name,
        loop=loop,
        crossings=rows,
        conclusion=Equation(total(tuple(row.change for row in rows)), ZERO),
    )


def points_of_voltage(symbol: Symbol) -> tuple[str, str]:
    """Return the points of ``V(B,A)``: B, then A."""
    found = re.fullmatch(r"V\(([^,]*),([^,]*)\)", symbol.name)
    assert found is not None
    to, origin = found.groups()
    return to, origin


def path_rule(circuit: Circuit, origin: str, to: str, past: Collection[str] = ()) -> PathRule:
    """Return the walk from one point to another that meets the fewest parts.

    It may lead past the capacitors in `past`, whose voltages are known. Raises NoPath.
    """
    start, goal = station_of(circuit, origin), station_of(circuit, to)
    rows = shortest_way(circuit, start, goal, NoPath(None, (origin, to)), past)
    changes = total(tuple(row.change for row in rows if row.change != ZERO))
    return PathRule(
        origin=origin,
        to=to,
        crossings=rows,
        conclusion=Equation(voltage(to, origin), changes),
    )


class NoPath(Exception):  # noqa: N818  (a finding about the circuit)
    """Nothing but gaps and current sources joins two places, so nothing fixes their voltage."""

    def __init__(self, part: str | None, points: tuple[str, ...]) -> None:
        """Keep the part across which a voltage is sought, or the points between which."""
        super().__init__(f"no path leads past {part}" if part else f"no path between {points}")
        self.part = part
        self.points = points


Ways = dict[Station, list[tuple[Station, tuple[Crossing, ...]]]]
"""Where one part or a wire leads from each place, and the rows met on the way."""


def ways(circuit: Circuit, past: Collection[str] = ()) -> Ways:
    """Return where one may walk: past all parts but current sources and gaps.

    The capacitors in `past`, whose voltages are known, may be passed as well.
    """
    steps: Ways = {}
    for index, branch in enumerate(circuit.all_branches):
        flow = branch.current if index < len(circuit.branches) else None
        places = stations(circuit, index)
        if not branch.passages:
            steps.setdefault(branch.tail, []).append((branch.head, ()))
            steps.setdefault(branch.head, []).append((branch.tail, ()))
            continue
        for k, passage in enumerate(branch.passages):
            closed = is_gap(passage.element) and passage.element.name not in past
            if closed or isinstance(passage.element, CurrentSource):
                continue
            ahead = passage_crossings(passage, flow, True)
            back = passage_crossings(passage, flow, False)
            steps.setdefault(places[k], []).append((places[k + 1], ahead))
            steps.setdefault(places[k + 1], []).append((places[k], back))
    return steps


def shortest_way(
    circuit: Circuit, start: Station, goal: Station, none: NoPath, past: Collection[str] = ()
) -> tuple[Crossing, ...]:
    """Return the rows of the shortest way from one place to another, by breadth-first search.

    It may lead past the capacitors in `past`. Raises `none` where there is no way.
    """
    steps = ways(circuit, past)
    paths: dict[Station, tuple[Crossing, ...]] = {start: ()}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        if here == goal:
            return paths[goal]
        for there, rows in steps.get(here, []):
            if there not in paths:
                paths[there] = paths[here] + rows
                queue.append(there)
    raise none


def across_rule(circuit: Circuit, part: str, past: Collection[str] = ()) -> AcrossRule:
    """Return the voltage across a current source, a switch, a voltmeter or a capacitor.

    The way may lead past the capacitors in `past`, whose voltages are known. Raises NoPath where
    nothing fixes it, KeyError when there is no such part.
    """
    index, position = circuit.find_branch(part)
    places = stations(circuit, index)
    first, last = places[position], places[position + 1]
    passage = circuit.all_branches[index].passages[position]
    if isinstance(passage.element, CurrentSource):
        low, high = (first, last) if passage.along else (last, first)
    else:
        along = index >= len(circuit.branches) or circuit.walk_of(part).along
        low, high = (last, first) if along else (first, last)
    rows = shortest_way(circuit, low, high, NoPath(part, ()), past)
    changes = total(tuple(row.change for row in rows if row.change != ZERO))
    return AcrossRule(part=part, crossings=rows, conclusion=Equation(voltage_across(part), changes))
