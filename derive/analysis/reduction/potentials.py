"""Which nodes are at equal potentials for certain, so that they may be joined."""

from __future__ import annotations

from fractions import Fraction

from derive.analysis.sizes import in_numbers
from derive.circuit.model import Circuit
from derive.circuit.numeric import numeric_solution
from derive.circuit.solvability import NoUniqueSolution, branch_emfs
from derive.circuit.topology import graph_of, spanning_forest
from derive.circuit.values import Values


def potentials(circuit: Circuit) -> tuple[Fraction, ...] | None:
    """Return the potential of every node, in a unit of its own; None when letters decide them.

    The first node of each connected part has the potential zero.
    """
    known = in_numbers(circuit)
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
