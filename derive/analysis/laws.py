"""Kirchhoff's rules and the relations of the parts, read off the circuit as steps."""

from __future__ import annotations

from collections import deque

from derive.algebra.dimension import VOLT, WATT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    current,
    negate,
    total,
)
from derive.circuit.model import Battery, Circuit, Given, Hop, Loop, Node, Passage, Resistor
from derive.derivation.step import (
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    LoopRule,
    PartLaw,
    PartRule,
    PathRule,
    SameCurrent,
)

CHECK = "check"
"""Name of the loop that is walked once more at the end."""


def choose_unknowns(circuit: Circuit) -> ChooseUnknowns:
    """Return the count of branches, junctions and equations."""
    return ChooseUnknowns(
        branches=len(circuit.branches),
        junctions=len(circuit.junctions),
        unknowns=tuple(branch.current for branch in circuit.branches),
        junction_equations=len(circuit.nodes) - 1,
        loop_equations=len(circuit.branches) - len(circuit.nodes) + 1,
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


def passage_crossings(passage: Passage, flow: Symbol, along: bool) -> tuple[Crossing, ...]:
    """Return the table rows for one part met in (`along`) or against branch direction."""
    element = passage.element
    rows: list[Crossing] = []
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
        drop = Product((element.resistance, flow))
        rows.append(
            Crossing(
                part=element.name,
                quantity=element.resistance,
                current=flow,
                along=along,
                change=Negative(drop) if along else drop,
            )
        )
    return tuple(rows if along else reversed(rows))


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


def voltage_symbol(to: str, origin: str) -> Symbol:
    """Return the symbol of V_to − V_origin."""
    return Symbol(f"V({to},{origin})", SymbolKind.VOLTAGE, VOLT)


def path_rule(circuit: Circuit, origin: str, to: str) -> PathRule:
    """Return the walk from one point to another that meets the fewest parts."""
    rows = _shortest_path(circuit, origin, to)
    return PathRule(
        origin=origin,
        to=to,
        crossings=rows,
        conclusion=Equation(voltage_symbol(to, origin), total(tuple(row.change for row in rows))),
    )


_Station = tuple[int, int] | str
"""A node by its name, or a place inside a branch: (branch, number of passages before it)."""


def _station(circuit: Circuit, point: str) -> _Station:
    node = circuit.node_of(point)
    if node is not None:
        return node
    for index, branch in enumerate(circuit.branches):
        for position, names in enumerate(branch.stations):
            if point in names:
                return (index, position)
    raise KeyError(point)


def _shortest_path(circuit: Circuit, origin: str, to: str) -> tuple[Crossing, ...]:
    """Breadth-first search over nodes and the places between the parts of branches."""
    steps: dict[_Station, list[tuple[_Station, tuple[Crossing, ...]]]] = {}
    for index, branch in enumerate(circuit.branches):
        last = len(branch.passages)
        places: list[_Station] = [branch.tail, *((index, k) for k in range(1, last)), branch.head]
        if last == 0:
            places = [branch.tail, branch.head]
            steps.setdefault(branch.tail, []).append((branch.head, ()))
            steps.setdefault(branch.head, []).append((branch.tail, ()))
            continue
        for k, passage in enumerate(branch.passages):
            ahead = passage_crossings(passage, branch.current, True)
            back = passage_crossings(passage, branch.current, False)
            steps.setdefault(places[k], []).append((places[k + 1], ahead))
            steps.setdefault(places[k + 1], []).append((places[k], back))
    start, goal = _station(circuit, origin), _station(circuit, to)
    paths: dict[_Station, tuple[Crossing, ...]] = {start: ()}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        if here == goal:
            break
        for there, rows in steps.get(here, []):
            if there not in paths:
                paths[there] = paths[here] + rows
                queue.append(there)
    return paths[goal]


def part_rule(circuit: Circuit, part: str, law: PartLaw) -> PartRule:
    """Return a relation of one part in the current of its branch.

    The current in a part, and the voltage across a resistor, count along the part's own walk.

    Raises KeyError when the circuit has no such part, ValueError when the part has no such law.
    """
    index, position = circuit.find_branch(part)
    branch = circuit.branches[index]
    passage = branch.passages[position]
    own: Term = branch.current if circuit.walk_of(part).along else Negative(branch.current)
    match passage.element:
        case Resistor(name=name):
            left, right = _resistor_law(passage.element.resistance, name, own, law)
        case Battery(name=name):
            # The current that leaves the + terminal.
            out: Term = branch.current if passage.along else Negative(branch.current)
            left, right = _battery_law(passage.element, out, law)
    if law is PartLaw.CURRENT:
        left, right = current(f"I({part})"), own
    return PartRule(kind=law, part=part, conclusion=Equation(left, right))


def _resistor_law(letter: Symbol, name: str, flow: Term, law: PartLaw) -> tuple[Symbol, Term]:
    match law:
        case PartLaw.CURRENT:
            return current(f"I({name})"), flow
        case PartLaw.VOLTAGE:
            return Symbol(f"V({name})", SymbolKind.VOLTAGE, VOLT), _times(letter, flow)
        case PartLaw.POWER_IN:
            size = flow.term if isinstance(flow, Negative) else flow
            return (
                Symbol(f"P({name})", SymbolKind.POWER, WATT),
                Product((letter, Power(size, 2))),
            )
        case PartLaw.POWER_OF:
            raise ValueError(f"{name} is no source")


def _battery_law(battery: Battery, out: Term, law: PartLaw) -> tuple[Symbol, Term]:
    name, inner = battery.name, battery.resistance
    drop = None if inner is None else _times(inner, out)
    terminal: Term = battery.emf if drop is None else Sum((battery.emf, negate(drop)))
    match law:
        case PartLaw.CURRENT:
            return current(f"I({name})"), out
        case PartLaw.VOLTAGE:
            return Symbol(f"V({name})", SymbolKind.VOLTAGE, VOLT), terminal
        case PartLaw.POWER_IN:
            return Symbol(f"P({name})", SymbolKind.POWER, WATT), negate(_times(terminal, out))
        case PartLaw.POWER_OF:
            return Symbol(f"Pd({name})", SymbolKind.POWER, WATT), _times(battery.emf, out)


def _times(term: Term, flow: Term) -> Term:
    """Return term · flow with the sign in front."""
    if isinstance(flow, Negative):
        return Negative(Product((term, flow.term)))
    return Product((term, flow))


def internal_heat(circuit: Circuit, battery: str) -> PartRule:
    """Return the heat in a battery's internal resistance, under the name of that resistance."""
    index, position = circuit.find_branch(battery)
    branch = circuit.branches[index]
    element = branch.passages[position].element
    inner = element.resistance
    if inner is None:
        raise ValueError(f"{battery} has no internal resistance")
    left = Symbol(f"P({inner.name})", SymbolKind.POWER, WATT)
    right = Product((inner, Power(branch.current, 2)))
    return PartRule(kind=PartLaw.POWER_IN, part=inner.name, conclusion=Equation(left, right))
