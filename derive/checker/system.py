"""All that the currents of a circuit must satisfy, for putting them back at the end."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Symbol,
    SymbolKind,
    Term,
    replace,
    total,
)
from derive.checker.evaluation import occurring
from derive.checker.laws import all_given, conditions, flows, known_current, same_current
from derive.checker.walks import hop_rows, loop_rows, way_between
from derive.circuit.elements import Battery
from derive.circuit.model import Branch, Circuit, Hop, Loop


def equations(circuit: Circuit) -> Iterator[tuple[str, Equation]]:
    """Yield all that the currents must satisfy: every junction, independent loops, every walk."""
    for node in circuit.nodes:
        into, out = flows(circuit, node.name)
        yield f"the junction rule at {node.name}", Equation(total(into), total(out))
    for loop in fundamental_loops(circuit):
        changes = tuple(row.change for row in loop_rows(circuit, loop))
        first = circuit.branches[loop.hops[0].branch].current.name
        yield f"the loop rule round the branch of {first}", Equation(total(changes), ZERO)
    for branch in circuit.branches:
        for passage in branch.sources:
            name = passage.element.name
            right = known_current(circuit, branch.current, name)
            yield f"the current source {name}", Equation(branch.current, right)
    for branch in circuit.idle:
        yield f"the gap in {branch.current.name}", Equation(branch.current, ZERO)
    for symbol in circuit.dependent:
        yield f"what {symbol.name} depends on", Equation(symbol, _in_currents(circuit, symbol))
    for voltage in conditions(circuit):
        if voltage.kind is SymbolKind.VOLTAGE:
            changes = tuple(row.change for row in way_between(circuit, *points(voltage)))
            yield f"the given voltage {voltage.name}", Equation(voltage, total(changes))
    for walk in circuit.walks:
        yield f"the walk of {walk.current.name}", same_current(circuit, walk.current)


def _in_currents(circuit: Circuit, source: Symbol) -> Term:
    """Return the value of a dependent source with each voltage as a sum of changes on some way."""
    term = all_given(circuit)[source]
    met = occurring(term)
    return replace(
        term,
        {
            symbol: total(tuple(row.change for row in way_between(circuit, *points(symbol))))
            for symbol in met
            if symbol.kind is SymbolKind.VOLTAGE
        },
    )


def points(voltage: Symbol) -> tuple[str, str]:
    """Return the points of ``V(B,A)``, the one it is counted from first."""
    to, origin = voltage.name[2:-1].split(",")
    return origin, to


def fundamental_loops(circuit: Circuit) -> Iterator[Loop]:
    """Yield, for each branch outside a spanning tree, the loop that it closes.

    Branches with a current source are neither in the tree nor on a loop.
    """
    routes, tree = _routes(circuit)
    for index, branch in enumerate(circuit.branches):
        if index not in tree and not branch.sources:
            yield Loop(_closed(routes, branch, Hop(index, True)))


def _closed(routes: dict[str, tuple[Hop, ...]], branch: Branch, first: Hop) -> tuple[Hop, ...]:
    """Return a hop along a branch and the way back to where it began."""
    back, out = routes[branch.head], routes[branch.tail]
    while back and out and back[0] == out[0]:
        back, out = back[1:], out[1:]
    turned = tuple(Hop(hop.branch, not hop.along) for hop in reversed(back))
    return (first, *turned, *out)


def _routes(circuit: Circuit) -> tuple[dict[str, tuple[Hop, ...]], set[int]]:
    """Return the way from the first node to every node, and the branches of this tree."""
    routes: dict[str, tuple[Hop, ...]] = {node.name: () for node in circuit.nodes[:1]}
    waiting = list(routes)
    tree: set[int] = set()
    for node in waiting:
        for index, branch in enumerate(circuit.branches):
            for start, end, along in () if branch.sources else _both_ways(branch):
                if start == node and end not in routes:
                    routes[end] = (*routes[node], Hop(index, along))
                    waiting.append(end)
                    tree.add(index)
    return routes, tree


def _both_ways(branch: Branch) -> tuple[tuple[str, str, bool], ...]:
    return (branch.tail, branch.head, True), (branch.head, branch.tail, False)


def power_balance(circuit: Circuit) -> Equation:
    """Return: what the sources deliver is what the resistances take in."""
    delivered: list[Term] = []
    taken: list[Term] = []
    routes, _ = _routes(circuit)
    for index, branch in enumerate(circuit.branches):
        if branch.sources:
            # Round the loop that it closes the potential must come back, so that the voltage of
            # the source, counted along the branch, is the opposite of all other changes.
            hops = _closed(routes, branch, Hop(index, True))
            rows = (row for hop in hops for row in hop_rows(circuit, hop))
            others = total(tuple(row.change for row in rows))
            delivered.append(Negative(Product((others, branch.current))))
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                power = Product((passage.element.emf, branch.current))
                delivered.append(power if passage.along else Negative(power))
            if passage.element.resistance is not None:
                taken.append(Product((passage.element.resistance, Power(branch.current, 2))))
    return Equation(total(tuple(delivered)), total(tuple(taken)))
