"""What a circuit itself says, recomputed from incidence alone.

Nothing here looks at a derivation except to compare it: Kirchhoff's rules come from which branch
ends at which node, and from the parts in the order in which they lie in their branches.
"""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import ZERO, Equation, Negative, Symbol, SymbolKind, Term, constant
from derive.checker.polynomial import Refused
from derive.circuit.elements import Battery, CurrentSource, own_quantity
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie
from derive.derivation.laws import ChooseUnknowns


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
        names = [passage.element.name for passage in branch.passages] or [""]  # a named wire
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
