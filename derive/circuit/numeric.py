"""All currents of a circuit of numbers, exactly, by loop currents.

This route shares no code with the general solution in letters, so that each can test the other.
"""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.linear import solve
from derive.circuit.elements import CurrentSource
from derive.circuit.model import Circuit, Hop
from derive.circuit.solvability import (
    NoUniqueSolution,
    Undetermined,
    branch_emfs,
    judge,
    solvability,
)
from derive.circuit.topology import Forest, fundamental_loops, graph_of, spanning_forest
from derive.circuit.values import Values


def numeric_solution(circuit: Circuit) -> tuple[Fraction, ...]:
    """Return the current of every branch, in amperes.

    Raises MissingValue when a quantity is a letter, NoUniqueSolution when the rules fail.
    """
    values = Values(circuit)
    resistances: list[Fraction] = []
    emfs: list[Fraction] = []
    for number, branch in enumerate(circuit.branches):
        resistances.append(sum((values.number(r) for r in branch.resistances), Fraction(0)))
        emf = Fraction(0)
        for symbol, along in branch_emfs(circuit, number):
            emf += values.number(symbol) if along else -values.number(symbol)
        emfs.append(emf)
    if circuit.has_sources and (found := solvability(circuit)):
        raise NoUniqueSolution(found)
    graph = graph_of(circuit)
    forest = spanning_forest(graph)
    sources = _source_flows(circuit, forest, values)
    bare = [number for number, value in enumerate(resistances) if not value]

    def cancels(hops: tuple[Hop, ...]) -> bool:
        return not sum(emfs[hop.branch] if hop.along else -emfs[hop.branch] for hop in hops)

    report = judge(graph, bare, cancels)
    if report:
        raise NoUniqueSolution(report)
    loops = fundamental_loops(graph, forest)
    size = len(loops)
    matrix = [[Fraction(0)] * size for _ in range(size)]
    right = [Fraction(0)] * size
    users: list[list[tuple[int, int]]] = [[] for _ in circuit.branches]
    for number, hops in enumerate(loops):
        for hop in hops:
            sign = 1 if hop.along else -1
            users[hop.branch].append((number, sign))
            drop = resistances[hop.branch] * sources[hop.branch]
            right[number] += sign * (emfs[hop.branch] - drop)
    for branch_users, value in zip(users, resistances, strict=True):
        for i, sign in branch_users:
            for j, other in branch_users:
                matrix[i][j] += value if sign == other else -value
    try:
        flows = solve(matrix, right)
    except ZeroDivisionError:
        # Only negative resistances can do this: positive ones leave a positive determinant.
        report = Undetermined(tuple(k for k, used in enumerate(users) if used), ())
        raise NoUniqueSolution(report) from None
    return tuple(
        sum((sign * flows[i] for i, sign in used), own)
        for used, own in zip(users, sources, strict=True)
    )


def _source_flows(circuit: Circuit, forest: Forest, values: Values) -> list[Fraction]:
    """Return, for each branch, what the current sources alone drive through the forest."""
    flows = [Fraction(0)] * len(circuit.branches)
    place = {node.name: number for number, node in enumerate(circuit.nodes)}
    for number, branch in enumerate(circuit.branches):
        for passage in branch.sources:
            assert isinstance(passage.element, CurrentSource)
            value = values.number(passage.element.source)
            flow = value if passage.along else -value
            flows[number] += flow
            for hop in forest.path(place[branch.head], place[branch.tail]):
                flows[hop.branch] += flow if hop.along else -flow
    return flows
