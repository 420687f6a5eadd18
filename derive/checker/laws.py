"""What a circuit itself says, recomputed from incidence alone.

Nothing here looks at a derivation except to compare it: Kirchhoff's rules come from which branch
ends at which node, and from the parts in the order in which they lie in their branches.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from derive.algebra.dimension import AMPERE, OHM, VOLT, WATT
from derive.algebra.term import (
    Equation,
    Negative,
    Power,
    Product,
    Symbol,
    SymbolKind,
    Term,
    constant,
    total,
)
from derive.checker.polynomial import Refused
from derive.circuit.model import (
    AskCurrentIn,
    AskCurrents,
    AskPotential,
    AskPowerIn,
    AskPowerOf,
    AskReducible,
    AskResistance,
    AskTerminalVoltage,
    AskVoltage,
    AskVoltageAcross,
    Battery,
    Branch,
    Circuit,
    Given,
    Hop,
    Loop,
    Passage,
    Question,
    Tie,
)
from derive.derivation.step import ChooseUnknowns, Crossing, PartLaw

Place = str | tuple[int, int, bool]
"""A node, or a place inside a branch: (branch, passages before it, inside the next battery)."""


def letters(circuit: Circuit) -> Iterator[Symbol]:
    """Yield the symbols of the emfs and resistances, in file order."""
    for element in circuit.elements:
        if isinstance(element, Battery):
            yield element.emf
        if element.resistance is not None:
            yield element.resistance


def unknowns(circuit: Circuit) -> ChooseUnknowns:
    """Count the ends of branches at every node, and from that the equations that are needed."""
    degrees = {node.name: 0 for node in circuit.nodes}
    for branch in circuit.branches:
        degrees[branch.tail] += 1
        degrees[branch.head] += 1
    return ChooseUnknowns(
        branches=len(circuit.branches),
        junctions=sum(degree >= 3 for degree in degrees.values()),
        unknowns=tuple(branch.current for branch in circuit.branches),
        junction_equations=len(circuit.nodes) - 1,
        loop_equations=len(circuit.branches) - len(circuit.nodes) + 1,
    )


def given(circuit: Circuit, symbol: Symbol) -> Term | None:
    """Return what the author says of a quantity."""
    value = circuit.valuation(symbol)
    return None if value is None else _said(value)


def all_given(circuit: Circuit) -> dict[Symbol, Term]:
    """Return what the author says of every quantity."""
    return {known.symbol: _said(known.value) for known in reversed(circuit.values)}


def _said(value: Given | Tie) -> Term:
    return constant(value.value, value.dimension) if isinstance(value, Given) else value.term


def same_current(circuit: Circuit, walk: Symbol) -> Equation:
    """Return the current of a walk by that of its branch."""
    for found in circuit.walks:
        if found.current == walk:
            own = circuit.branches[found.branch].current
            return Equation(walk, own if found.along else Negative(own))
    raise Refused(f"no walk has the current {walk.name}")


def flows(circuit: Circuit, node: str) -> tuple[tuple[Symbol, ...], tuple[Symbol, ...]]:
    """Return the currents into and out of a node; a branch that does both is left out."""
    if all(node != known.name for known in circuit.nodes):
        raise Refused(f"the circuit has no node {node}")
    ends = [branch for branch in circuit.branches if branch.tail != branch.head]
    return (
        tuple(branch.current for branch in ends if branch.head == node),
        tuple(branch.current for branch in ends if branch.tail == node),
    )


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
    if ends[-1][1] != ends[0][0]:
        raise Refused(f"the loop starts at {ends[0][0]} and ends at {ends[-1][1]}")
    return tuple(row for hop in loop.hops for row in _hop_rows(circuit, hop))


def _hop_ends(circuit: Circuit, hop: Hop) -> tuple[str, str]:
    branch = circuit.branches[hop.branch]
    return (branch.tail, branch.head) if hop.along else (branch.head, branch.tail)


def _hop_rows(circuit: Circuit, hop: Hop) -> Iterator[Crossing]:
    branch = circuit.branches[hop.branch]
    for passage in branch.passages if hop.along else branch.passages[::-1]:
        yield from _rows(passage, branch.current, hop.along)


def _rows(passage: Passage, flow: Symbol, along: bool) -> tuple[Crossing, ...]:
    """Return the rows of one part; along the arrow a battery shows its emf first."""
    element, rows = passage.element, []
    if isinstance(element, Battery):
        rise = passage.along == along
        change: Term = element.emf if rise else Negative(element.emf)
        rows.append(_row(element.name, element.emf, None, rise, change))
    if element.resistance is not None:
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
    ends = dict(_row_ends(circuit))
    here = _place(circuit, joined, origin)
    for row in rows:
        if row not in ends:
            raise Refused(f"{row.part} is not met as this row of the path says")
        start, end = (joined.get(place, place) for place in ends[row])
        if start != here:
            raise Refused(f"the path does not go on with {row.part}")
        here = end
    if here != _place(circuit, joined, to):
        raise Refused(f"the path does not end at {to}")


def _joined(circuit: Circuit) -> dict[Place, Place]:
    """Map every node to one node of its potential: branches without parts are wires."""
    joined: dict[Place, Place] = {node.name: node.name for node in circuit.nodes}
    for branch in circuit.branches:
        if not branch.passages:
            old, new = joined[branch.head], joined[branch.tail]
            joined = {node: new if own == old else own for node, own in joined.items()}
    return joined


def _row_ends(circuit: Circuit) -> Iterator[tuple[Crossing, tuple[Place, Place]]]:
    for index, branch in enumerate(circuit.branches):
        for position, passage in enumerate(branch.passages):
            before, after = _inside(branch, index, position), _inside(branch, index, position + 1)
            rows = _rows(passage, branch.current, along=True)
            back = _rows(passage, branch.current, along=False)
            middle: list[Place] = [(index, position, True)] * (len(rows) - 1)
            places = [before, *middle, after]
            yield from zip(rows, pairwise(places), strict=True)
            places.reverse()
            yield from zip(back, pairwise(places), strict=True)


def _inside(branch: Branch, index: int, position: int) -> Place:
    if position == 0:
        return branch.tail
    return branch.head if position == len(branch.passages) else (index, position, False)


def _place(circuit: Circuit, joined: dict[Place, Place], point: str) -> Place:
    node = circuit.node_of(point)
    if node is not None:
        return joined[node]
    for index, branch in enumerate(circuit.branches):
        for position, names in enumerate(branch.stations):
            if point in names:
                place = _inside(branch, index, position)
                return joined.get(place, place)
    raise Refused(f"the circuit has no point {point}")


def part_relation(circuit: Circuit, kind: PartLaw, part: str) -> Equation:
    """Return a relation of one part. The internal resistance of a battery is a part as well."""
    for branch in circuit.branches:
        for passage in branch.passages:
            inner = passage.element.resistance
            if passage.element.name == part and isinstance(passage.element, Battery):
                flow: Term = branch.current if passage.along else Negative(branch.current)
                relation = _battery_relation(passage.element, flow, kind)
                if relation is None:
                    relation = _along_own_walk(circuit, branch, part)
                return _named(kind, part, relation)
            if inner is not None and inner.name == part and kind is not PartLaw.POWER_OF:
                own = _along_own_walk(circuit, branch, part)
                return _named(kind, part, _resistance_relation(inner, own, kind))
    raise Refused(f"no part {part} has such a relation")


def _along_own_walk(circuit: Circuit, branch: Branch, part: str) -> Term:
    """Return the current of a branch, counted along the walk on which a part stands."""
    return branch.current if circuit.walk_of(part).along else Negative(branch.current)


def _named(kind: PartLaw, part: str, right: Term) -> Equation:
    return Equation(part_symbol(kind, part), right)


def part_symbol(kind: PartLaw, part: str) -> Symbol:
    """Return the symbol that a relation of a part defines."""
    match kind:
        case PartLaw.CURRENT:
            return Symbol(f"I({part})", SymbolKind.CURRENT, AMPERE)
        case PartLaw.VOLTAGE:
            return Symbol(f"V({part})", SymbolKind.VOLTAGE, VOLT)
        case PartLaw.POWER_IN:
            return Symbol(f"P({part})", SymbolKind.POWER, WATT)
        case PartLaw.POWER_OF:
            return Symbol(f"Pd({part})", SymbolKind.POWER, WATT)


def _battery_relation(battery: Battery, out: Term, kind: PartLaw) -> Term | None:
    """Return a relation in the current that leaves the + terminal; None for the current itself."""
    terminal: Term = battery.emf
    if battery.resistance is not None:
        terminal = total((battery.emf, Negative(Product((battery.resistance, out)))))
    match kind:
        case PartLaw.CURRENT:
            return None
        case PartLaw.VOLTAGE:
            return terminal
        case PartLaw.POWER_IN:
            return Negative(Product((terminal, out)))
        case PartLaw.POWER_OF:
            return Product((battery.emf, out))


def _resistance_relation(resistance: Symbol, flow: Term, kind: PartLaw) -> Term:
    if kind is PartLaw.CURRENT:
        return flow
    if kind is PartLaw.VOLTAGE:
        return Product((resistance, flow))
    return Product((resistance, Power(flow, 2)))


def path_symbol(origin: str, to: str) -> Symbol:
    """Return the symbol of V_to − V_origin."""
    return Symbol(f"V({to},{origin})", SymbolKind.VOLTAGE, VOLT)


def resistance_symbol(one: str, other: str) -> Symbol:
    """Return the symbol of the resistance between two points."""
    return Symbol(f"R({one},{other})", SymbolKind.RESISTANCE, OHM)


def seen_by_symbol(battery: str) -> Symbol:
    """Return the symbol of the resistance that an emf sees."""
    return Symbol(f"R({battery})", SymbolKind.RESISTANCE, OHM)


def answer_symbols(circuit: Circuit, question: Question) -> tuple[Symbol, ...]:
    """Return the symbols that answer a question, which for the currents are many."""
    match question:
        case AskCurrentIn(part):
            return (part_symbol(PartLaw.CURRENT, part),)
        case AskVoltageAcross(part) | AskTerminalVoltage(part):
            return (part_symbol(PartLaw.VOLTAGE, part),)
        case AskPowerIn(part):
            return (part_symbol(PartLaw.POWER_IN, part),)
        case AskPowerOf(part):
            return (part_symbol(PartLaw.POWER_OF, part),)
        case AskVoltage(to, origin):
            return (path_symbol(origin, to),)
        case AskPotential(point):
            return () if circuit.ground is None else (path_symbol(circuit.ground, point),)
        case AskCurrents():
            return tuple(walk.current for walk in circuit.walks)
        case AskResistance(one, other):
            return (resistance_symbol(one, other),)
        case AskReducible():
            return ()
