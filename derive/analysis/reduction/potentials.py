"""Which nodes are at equal potentials for certain, so that they may be joined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from derive.algebra.term import Symbol
from derive.circuit.model import Battery, Circuit, Given, Valuation
from derive.circuit.numeric import numeric_solution
from derive.circuit.solvability import NoUniqueSolution, branch_emfs, letters_of
from derive.circuit.topology import graph_of, spanning_forest
from derive.circuit.values import Values


def potentials(circuit: Circuit) -> tuple[Fraction, ...] | None:
    """Return the potential of every node, in a unit of its own; None when letters decide them.

    The first node of each connected part has the potential zero.
    """
    known = _in_numbers(circuit)
    if known is None:
        return None
    try:
        currents = numeric_solution(known)
    except NoUniqueSolution:
        return None
    values = Values(known)
    found = [Fraction(0)] * len(circuit.nodes)
    forest = spanning_forest(graph_of(circuit))
    for node in sorted(range(len(found)), key=forest.depths.__getitem__):
        parent = forest.parents[node]
        if parent is None:
            continue
        above, hop = parent
        branch = known.branches[hop.branch]
        drop = currents[hop.branch] * sum(map(values.number, branch.resistances), Fraction(0))
        rise = sum(
            (
                values.number(emf) if along else -values.number(emf)
                for emf, along in branch_emfs(known, hop.branch)
            ),
            Fraction(0),
        )
        found[node] = found[above] + (rise - drop if hop.along else drop - rise)
    return tuple(found)


def _in_numbers(circuit: Circuit) -> Circuit | None:
    """Return the circuit with numbers for letters, where these do not change equal potentials.

    When all resistances are multiples of one letter, its value makes no difference; neither does
    that of the one letter of all emfs.
    """
    values = Values(circuit)
    resistances = [r for branch in circuit.branches for r in branch.resistances]
    emfs = [part.emf for part in circuit.elements if isinstance(part, Battery)]
    letters: list[Symbol] = []
    for quantities in (resistances, emfs):
        found = letters_of([values.actual(quantity) for quantity in quantities])
        if len(found) > 1 or (found and not _are_multiples(circuit, quantities, found[0])):
            return None
        letters.extend(found)
    return _with(circuit, letters, 1) if letters else circuit


def _are_multiples(circuit: Circuit, quantities: Sequence[Symbol], letter: Symbol) -> bool:
    """Tell whether all quantities, linear in one letter, double when it doubles."""
    once, twice = (Values(_with(circuit, [letter], size)) for size in (1, 2))
    return all(twice.number(quantity) == 2 * once.number(quantity) for quantity in quantities)


def _with(circuit: Circuit, letters: Sequence[Symbol], size: int) -> Circuit:
    given = (Valuation(letter, Given(Fraction(size), letter.dimension)) for letter in letters)
    return replace(circuit, values=(*circuit.values, *given))
