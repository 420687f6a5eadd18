"""All that the currents of a circuit must satisfy, for putting them back at the end."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import ZERO, Equation, Negative, Power, Product, Term, total
from derive.checker.laws import flows, loop_rows, same_current
from derive.circuit.model import Battery, Branch, Circuit, Hop, Loop


def equations(circuit: Circuit) -> Iterator[tuple[str, Equation]]:
    """Yield all that the currents must satisfy: every junction, independent loops, every walk."""
    for node in circuit.nodes:
        into, out = flows(circuit, node.name)
        yield f"the junction rule at {node.name}", Equation(total(into), total(out))
    for loop in fundamental_loops(circuit):
        changes = tuple(row.change for row in loop_rows(circuit, loop))
        first = circuit.branches[loop.hops[0].branch].current.name
        yield f"the loop rule round the branch of {first}", Equation(total(changes), ZERO)
    for walk in circuit.walks:
        yield f"the walk of {walk.current.name}", same_current(circuit, walk.current)


def fundamental_loops(circuit: Circuit) -> Iterator[Loop]:
    """Yield, for each branch outside a spanning tree, the loop that it closes."""
    root = circuit.nodes[0].name
    routes: dict[str, tuple[Hop, ...]] = {root: ()}
    waiting = [root]
    tree: set[int] = set()
    for node in waiting:
        for index, branch in enumerate(circuit.branches):
            for start, end, along in _both_ways(branch):
                if start == node and end not in routes:
                    routes[end] = (*routes[node], Hop(index, along))
                    waiting.append(end)
                    tree.add(index)
    for index, branch in enumerate(circuit.branches):
        if index not in tree:
            back, out = routes[branch.head], routes[branch.tail]
            while back and out and back[0] == out[0]:
                back, out = back[1:], out[1:]
            turned = tuple(Hop(hop.branch, not hop.along) for hop in reversed(back))
            yield Loop((Hop(index, True), *turned, *out))


def _both_ways(branch: Branch) -> tuple[tuple[str, str, bool], ...]:
    return (branch.tail, branch.head, True), (branch.head, branch.tail, False)


def power_balance(circuit: Circuit) -> Equation:
    """Return: what the emfs deliver is what the resistances take in."""
    delivered: list[Term] = []
    taken: list[Term] = []
    for branch in circuit.branches:
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                power = Product((passage.element.emf, branch.current))
                delivered.append(power if passage.along else Negative(power))
            if passage.element.resistance is not None:
                taken.append(Product((passage.element.resistance, Power(branch.current, 2))))
    return Equation(total(tuple(delivered)), total(tuple(taken)))
