"""What a circuit itself says, recomputed from incidence alone.

Nothing here looks at a derivation except to compare it: Kirchhoff's rules come from which branch
ends at which node, and from the parts in the order in which they lie in their branches.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from derive.algebra.dimension import AMPERE, COULOMB, JOULE, NUMBER, OHM, SECOND, VOLT, WATT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Number,
    Power,
    Product,
    Quotient,
    Symbol,
    SymbolKind,
    Term,
    constant,
    total,
)
from derive.checker.polynomial import Refused
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Meter,
    Resistor,
    Switch,
    is_gap,
    own_quantity,
)
from derive.circuit.model import Branch, Circuit, Given, Hop, Loop, Passage, Tie
from derive.circuit.preferred import Series
from derive.circuit.question import (
    AskCharge,
    AskChargeOf,
    AskChargeThrough,
    AskCurrentIn,
    AskCurrents,
    AskEfficiency,
    AskEnergy,
    AskEnergyIn,
    AskEnergyOf,
    AskLoadingError,
    AskMatchedLoad,
    AskOpenCircuit,
    AskPotential,
    AskPotentials,
    AskPowerIn,
    AskPowerOf,
    AskPreferred,
    AskReading,
    AskReducible,
    AskResistance,
    AskShortCircuit,
    AskTerminalVoltage,
    AskTransient,
    AskValue,
    AskVoltage,
    AskVoltageAcross,
    Duration,
    Question,
)
from derive.derivation.further import Kept, Most
from derive.derivation.laws import ChooseUnknowns, Crossing, PartLaw

Place = str | tuple[int, int, bool]
"""A node, or a place inside a branch: (branch, passages before it, inside the next battery)."""


def letters(circuit: Circuit) -> Iterator[Symbol]:
    """Yield the symbols of the given quantities of all parts, in file order."""
    for element in circuit.elements:
        if isinstance(element, Battery):
            yield element.emf
        own = own_quantity(element)
        if own is not None:
            yield own
        if element.resistance is not None:
            yield element.resistance


def unknowns(circuit: Circuit) -> ChooseUnknowns:
    """Count the ends of branches at every node, and from that the equations that are needed."""
    degrees = {node.name: 0 for node in circuit.nodes}
    for branch in circuit.branches:
        degrees[branch.tail] += 1
        degrees[branch.head] += 1
    known = set(conditions(circuit))
    given = {circuit.branches[w.branch].current for w in circuit.walks if w.current in known}
    return ChooseUnknowns(
        branches=len(circuit.branches),
        junctions=sum(degree >= 3 for degree in degrees.values()),
        unknowns=(
            *(b.current for b in circuit.branches if not b.sources and b.current not in given),
            *circuit.sought,
        ),
        junction_equations=len(circuit.nodes) - 1,
        loop_equations=sum(not b.sources for b in circuit.branches) - len(circuit.nodes) + 1,
        voltage_equations=sum(s.kind is SymbolKind.VOLTAGE for s in conditions(circuit)),
    )


def conditions(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the currents and voltages that the author gives, from which something is sought."""
    kinds = (SymbolKind.CURRENT, SymbolKind.VOLTAGE)
    return tuple(known.symbol for known in circuit.values if known.symbol.kind in kinds)


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


def known_current(circuit: Circuit, symbol: Symbol, part: str) -> Term:
    """Return the current that a part sets in its branch, or forbids. Raises Refused."""
    for branch in circuit.branches:
        for passage in branch.passages if branch.current == symbol else ():
            element = passage.element
            if isinstance(element, CurrentSource) and element.name == part:
                return element.source if passage.along else Negative(element.source)
    for branch in circuit.idle:
        names = [passage.element.name for passage in branch.passages]
        if branch.current == symbol and part in names:
            return ZERO
    raise Refused(f"{part} says nothing of {symbol.name}")


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
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
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
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
        for position, passage in enumerate(branch.passages):
            enter, leave = (
                _at(circuit, joined, index, branch, k) for k in (position, position + 1)
            )
            yield passage.element, (enter, leave)


def places_of_points(circuit: Circuit) -> dict[str, Place]:
    """Return the place of every point."""
    joined = _joined(circuit)
    named = (point for node in circuit.nodes for point in node.points)
    met = (point for b in (*circuit.branches, *circuit.idle) for s in b.stations for point in s)
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
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
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
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
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
    everything = (*circuit.branches, *circuit.idle)
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


def part_relation(circuit: Circuit, kind: PartLaw, part: str) -> Equation:
    """Return a relation of one part. The internal resistance of a battery is a part as well."""
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
        still = index >= len(circuit.branches)
        for passage in branch.passages:
            element, inner = passage.element, passage.element.resistance
            if part not in (element.name, None if inner is None else inner.name):
                continue
            if kind is PartLaw.CURRENT:
                return _named(kind, part, ZERO if still else _along_own_walk(circuit, branch, part))
            if isinstance(element, CurrentSource | Capacitor):
                return _named(kind, part, _relation_by_voltage(element, kind))
            if isinstance(element, Battery) and part == element.name:
                flow: Term = branch.current if passage.along else Negative(branch.current)
                relation = _battery_relation(element, ZERO if still else flow, kind)
                return _named(kind, part, relation)
            if kind in (PartLaw.VOLTAGE, PartLaw.POWER_IN) and (inner or not is_gap(element)):
                own = ZERO if still else _along_own_walk(circuit, branch, part)
                relation = ZERO if inner is None else _resistance_relation(inner, own, kind)
                return _named(kind, part, relation)
            if kind is PartLaw.POWER_IN:
                return _named(kind, part, ZERO)
    raise Refused(f"no part {part} has such a relation")


def _along_own_walk(circuit: Circuit, branch: Branch, part: str) -> Term:
    """Return the current of a branch, counted along the walk on which a part stands."""
    return branch.current if circuit.walk_of(part).along else Negative(branch.current)


def _relation_by_voltage(element: CurrentSource | Capacitor, kind: PartLaw) -> Term:
    """Return a relation of a part whose voltage all the rest decides."""
    voltage = part_symbol(PartLaw.VOLTAGE, element.name)
    if isinstance(element, CurrentSource):
        power = Product((element.source, voltage))
        if kind is PartLaw.POWER_OF:
            return power
        if kind is PartLaw.POWER_IN:
            return Negative(power)
    elif kind is PartLaw.CHARGE:
        return Product((element.capacitance, voltage))
    elif kind is PartLaw.ENERGY:
        half = Number(Fraction(1, 2))
        return Product((half, element.capacitance, Power(voltage, 2)))
    elif kind is PartLaw.POWER_IN:
        return ZERO
    raise Refused(f"{element.name} has no such relation")


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
        case PartLaw.CHARGE:
            return Symbol(f"Q({part})", SymbolKind.CHARGE, COULOMB)
        case PartLaw.ENERGY:
            return Symbol(f"W({part})", SymbolKind.ENERGY, JOULE)
        case PartLaw.SHORT_CIRCUIT:
            return Symbol(f"Isc({part})", SymbolKind.CURRENT, AMPERE)
        case PartLaw.OPEN_CIRCUIT:
            return Symbol(f"Voc({part})", SymbolKind.VOLTAGE, VOLT)


def duration_symbol(time: Duration) -> Symbol:
    """Return the symbol of the time for which a question lets the currents flow."""
    return Symbol(f"t({time.text})", SymbolKind.AUXILIARY, SECOND)


def over_time(circuit: Circuit, kind: Kept, part: str, time: Duration) -> Equation:
    """Return what a steady power or current of a part makes in a time."""
    match kind:
        case Kept.ENERGY_IN:
            rate: Term = part_relation(circuit, PartLaw.POWER_IN, part).left
        case Kept.ENERGY_OF:
            rate = part_relation(circuit, PartLaw.POWER_OF, part).left
        case Kept.CHARGE_THROUGH:
            rate = part_relation(circuit, PartLaw.CURRENT, part).right
        case Kept.CHARGE_OF:
            rate = _leaving(circuit, part)
    return Equation(kept_symbol(kind, part, time), Product((rate, duration_symbol(time))))


def kept_symbol(kind: Kept, part: str, time: Duration) -> Symbol:
    """Return the symbol of an energy or a charge over a time."""
    head = {Kept.ENERGY_IN: "W", Kept.ENERGY_OF: "Wd", Kept.CHARGE_THROUGH: "Q",
            Kept.CHARGE_OF: "Qd"}[kind]  # fmt: skip
    name = f"{head}({part},{time.text})"
    if kind in (Kept.ENERGY_IN, Kept.ENERGY_OF):
        return Symbol(name, SymbolKind.ENERGY, JOULE)
    return Symbol(name, SymbolKind.CHARGE, COULOMB)


def _leaving(circuit: Circuit, battery: str) -> Term:
    """Return the current that leaves a battery at its + terminal."""
    for index, branch in enumerate((*circuit.branches, *circuit.idle)):
        for passage in branch.passages:
            if isinstance(passage.element, Battery) and passage.element.name == battery:
                if index >= len(circuit.branches):
                    return ZERO
                return branch.current if passage.along else Negative(branch.current)
    raise Refused(f"the circuit has no battery {battery}")


def efficiency(circuit: Circuit, battery: str, *, charged: bool) -> Equation:
    """Return the efficiency of a battery that delivers, or of one that is being charged."""
    emf, voltage = emf_of(circuit, battery), part_symbol(PartLaw.VOLTAGE, battery)
    sides = (emf, voltage) if charged else (voltage, emf)
    return Equation(efficiency_symbol(battery), Quotient(*sides))


def emf_of(circuit: Circuit, battery: str) -> Symbol:
    """Return the emf of a battery with an internal resistance. Raises Refused."""
    for element in circuit.elements:
        if isinstance(element, Battery) and element.name == battery and element.resistance:
            return element.emf
    raise Refused(f"{battery} has no such relation")


def largest_symbol(kind: Most, part: str) -> Symbol:
    """Return the symbol of a matched load, or of the power in it."""
    if kind is Most.LOAD:
        return Symbol(f"Rm({part})", SymbolKind.RESISTANCE, OHM)
    return Symbol(f"Pm({part})", SymbolKind.POWER, WATT)


def efficiency_symbol(battery: str) -> Symbol:
    """Return the symbol of the efficiency of a battery."""
    return Symbol(f"η({battery})", SymbolKind.AUXILIARY, NUMBER)


def _battery_relation(battery: Battery, out: Term, kind: PartLaw) -> Term:
    """Return a relation in the current that leaves the + terminal."""
    terminal: Term = battery.emf
    if battery.resistance is not None:
        terminal = total((battery.emf, Negative(Product((battery.resistance, out)))))
    match kind:
        case PartLaw.VOLTAGE:
            return terminal
        case PartLaw.POWER_IN:
            return Negative(Product((terminal, out)))
        case PartLaw.POWER_OF:
            return Product((battery.emf, out))
        case PartLaw.OPEN_CIRCUIT:
            return battery.emf
        case PartLaw.SHORT_CIRCUIT if battery.resistance is not None:
            return Quotient(battery.emf, battery.resistance)
        case _:
            raise Refused(f"{battery.name} has no such relation")


def _resistance_relation(resistance: Symbol, flow: Term, kind: PartLaw) -> Term:
    if kind is PartLaw.VOLTAGE:
        return Product((resistance, flow))
    return Product((resistance, Power(flow, 2)))


def path_symbol(origin: str, to: str) -> Symbol:
    """Return the symbol of V_to − V_origin."""
    return Symbol(f"V({to},{origin})", SymbolKind.VOLTAGE, VOLT)


def potential_symbol(point: str) -> Symbol:
    """Return the symbol of the potential of a point against the grounded one."""
    return Symbol(f"V({point})", SymbolKind.POTENTIAL, VOLT)


def preferred_symbol(symbol: Symbol, series: Series) -> Symbol:
    """Return the symbol of the preferred value next to a quantity."""
    name = f"{symbol.name[0]}n({symbol.name},{series.name})"
    return Symbol(name, SymbolKind.AUXILIARY, symbol.dimension)


def resistance_symbol(one: str, other: str) -> Symbol:
    """Return the symbol of the resistance between two points."""
    return Symbol(f"R({one},{other})", SymbolKind.RESISTANCE, OHM)


def seen_by_symbol(battery: str) -> Symbol:
    """Return the symbol of the resistance that an emf sees."""
    return Symbol(f"R({battery})", SymbolKind.RESISTANCE, OHM)


def further_symbols(question: Question) -> tuple[Symbol, ...]:
    """Return the symbols that may answer a question as well, but need not."""
    # There is no share of nothing.
    return (
        (relative_loading_symbol(question.part),) if isinstance(question, AskLoadingError) else ()
    )


def _is_ammeter(circuit: Circuit, part: str) -> bool:
    element = next((e for e in circuit.elements if e.name == part), None)
    return isinstance(element, Instrument) and element.meter is Meter.AMMETER


def reading_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of what a meter shows."""
    ammeter = _is_ammeter(circuit, part)
    return part_symbol(PartLaw.CURRENT if ammeter else PartLaw.VOLTAGE, part)


def ideal_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of what an ideal meter would show."""
    shown = reading_symbol(circuit, part)
    return Symbol(f"{shown.name[0]}ideal({part})", shown.kind, shown.dimension)


def loading_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of the loading error of a meter."""
    shown = reading_symbol(circuit, part)
    return Symbol(f"e({part})", shown.kind, shown.dimension)


def relative_loading_symbol(part: str) -> Symbol:
    """Return the symbol of the loading error over the reading of an ideal meter."""
    return Symbol(f"δ({part})", SymbolKind.AUXILIARY, NUMBER)


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
        case AskReading(part):
            return (reading_symbol(circuit, part),)
        case AskLoadingError(part):
            return ideal_symbol(circuit, part), loading_symbol(circuit, part)
        case AskVoltage(to, origin):
            return (path_symbol(origin, to),)
        case AskPotential(point):
            return () if circuit.ground is None else (potential_symbol(point),)
        case AskPotentials():
            if circuit.ground is None:
                return ()
            return tuple(potential_symbol(p) for p in circuit.points if p != circuit.ground)
        case AskCurrents():
            still = (branch.current for branch in circuit.idle)
            named = tuple(symbol for symbol in still if "(" not in symbol.name)
            return (*(walk.current for walk in circuit.walks), *named)
        case AskCharge(capacitor):
            return (part_symbol(PartLaw.CHARGE, capacitor),)
        case AskEnergy(capacitor):
            return (part_symbol(PartLaw.ENERGY, capacitor),)
        case AskResistance(one, other):
            return (resistance_symbol(one, other),)
        case AskValue(quantity):
            return tuple(symbol for symbol in circuit.sought if symbol.name == quantity)
        case AskEnergyIn(part, time):
            return (kept_symbol(Kept.ENERGY_IN, part, time),)
        case AskEnergyOf(part, time):
            return (kept_symbol(Kept.ENERGY_OF, part, time),)
        case AskChargeThrough(part, time):
            return (kept_symbol(Kept.CHARGE_THROUGH, part, time),)
        case AskChargeOf(part, time):
            return (kept_symbol(Kept.CHARGE_OF, part, time),)
        case AskShortCircuit(battery):
            return (part_symbol(PartLaw.SHORT_CIRCUIT, battery),)
        case AskOpenCircuit(battery):
            return (part_symbol(PartLaw.OPEN_CIRCUIT, battery),)
        case AskPreferred(series, part):
            owner = next(s for s in letters(circuit) if s.name == part)
            return (preferred_symbol(owner, series),)
        case AskMatchedLoad(part):
            return tuple(largest_symbol(kind, part) for kind in Most)
        case AskEfficiency(battery):
            return (efficiency_symbol(battery),)
        case AskReducible():
            return ()
        case AskTransient(capacitor):
            # Steady voltages: the one at the start, before switches change, or the last one.
            return (part_symbol(PartLaw.VOLTAGE, capacitor),)
