"""The verdict on random circuits, against networkx and against the solved currents.

A graph has no K4 minor exactly when its treewidth is at most 2 (Duffin 1965 for circuits; the
theorem on treewidth from memory). networkx finds that width by eliminating nodes of least degree,
which is exact up to 2.
"""

from __future__ import annotations

import random
from fractions import Fraction

import networkx as nx
import pytest
from networkx.algorithms.approximation import treewidth_min_degree

from derive.algebra.term import replace, symbols
from derive.analysis.reduction import Criterion, judge
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.numeric import numeric_solution
from derive.circuit.values import Values, evaluate
from derive.source import Source
from tests.random_circuits import random_circuit

_YES = (Criterion.ONE_BRANCH, Criterion.DEAD_PARTS)


def one_battery(seed: int) -> tuple[Circuit, nx.MultiGraph]:
    """Return a circuit of resistors and one battery, and its graph; the battery is edge 0."""
    rng = random.Random(seed)
    size = rng.randint(2, 7)
    graph = nx.MultiGraph()
    graph.add_edge(0, 1, key=0)
    for node in range(2, size):
        graph.add_edge(node, rng.randrange(node), key=graph.number_of_edges())
    for _ in range(rng.randint(size, 2 * size)):
        graph.add_edge(*rng.sample(range(size), 2), key=graph.number_of_edges())
    while any(degree == 1 for _, degree in graph.degree()):
        node = next(node for node, degree in graph.degree() if degree == 1)
        other = rng.choice([n for n in range(size) if n != node])
        graph.add_edge(node, other, key=graph.number_of_edges())
    lines = []
    for a, b, k in graph.edges(keys=True):
        # Primes keep a bridge from being balanced by chance.
        part = "(-E1+)" if k == 0 else f"(R{k})"
        lines.append(f": P{a} {part} P{b}")
    primes = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79]
    rng.shuffle(primes)
    lines.append("E1 = 60 V")
    lines += [f"R{k} = {primes[k % len(primes)]} ohm" for k in range(1, graph.number_of_edges())]
    return load(Source("x", "\n".join(lines))).circuit, graph


def holds_k4(graph: nx.MultiGraph) -> bool:
    """Tell whether the part of the graph with the battery holds K4."""
    simple = nx.Graph(graph)
    part = next(p for p in nx.biconnected_components(simple) if {0, 1} <= p)
    return int(treewidth_min_degree(simple.subgraph(part))[0]) > 2


@pytest.mark.parametrize("seed", range(120))
def test_one_battery_reduces_exactly_without_k4(seed: int) -> None:
    circuit, graph = one_battery(seed)
    found = judge(circuit)
    parallel_to_battery = graph.number_of_edges(0, 1) > 1
    bridge = not parallel_to_battery and not nx.has_path(
        nx.restricted_view(graph, [], [(0, 1, 0)]), 0, 1
    )
    if bridge:
        assert found.test is Criterion.NO_CURRENT
        return
    if found.test in (Criterion.BALANCED_BRIDGE, Criterion.EQUAL_POTENTIALS):
        assert holds_k4(graph)
    else:
        assert found.test in (*_YES, Criterion.UNBALANCED_BRIDGE)
        assert found.reducible != holds_k4(graph)
    if found.reducible:
        # The resistance seen by the battery, once by series and parallel steps and once by
        # Kirchhoff's rules.
        (loop,) = found.reduced
        through = next(
            current
            for branch, current in zip(circuit.branches, numeric_solution(circuit), strict=True)
            if branch.batteries
        )
        assert value(circuit, loop.resistance) == Fraction(60) / abs(through)


def value(circuit: Circuit, term: object) -> Fraction:
    values = Values(circuit)
    known = {symbol: values.actual(symbol) for symbol in symbols(term)}  # type: ignore[arg-type]
    return evaluate(replace(term, known))  # type: ignore[arg-type]


def heat(circuit: Circuit) -> Fraction:
    """Return the power that all resistances take in."""
    values = Values(circuit)
    return sum(
        (
            current * current * sum((values.number(r) for r in branch.resistances), Fraction(0))
            for branch, current in zip(circuit.branches, numeric_solution(circuit), strict=True)
        ),
        Fraction(0),
    )


@pytest.mark.parametrize("seed", range(400))
def test_what_is_left_takes_in_the_same_power(seed: int) -> None:
    """What a circuit reduces to heats as much as all its resistors do (energy is conserved)."""
    circuit = random_circuit(random.Random(seed), loops=(1, 4))
    found = judge(circuit)
    assert found.text == judge(circuit).text
    if not found.reducible:
        assert not found.reduced
        return
    values = Values(circuit)
    power = Fraction(0)
    for loop in found.reduced:
        emf = sum((values.number(s) if up else -values.number(s) for s, up in loop.emfs),
                  Fraction(0))  # fmt: skip
        power += emf * emf / value(circuit, loop.resistance)
    assert power == heat(circuit)


def test_the_random_circuits_meet_every_verdict_but_rare_ones() -> None:
    met = {judge(random_circuit(random.Random(seed), loops=(1, 4))).test for seed in range(400)}
    met |= {judge(one_battery(seed)[0]).test for seed in range(120)}
    rare = {
        Criterion.EQUAL_CELLS, Criterion.BALANCED_BRIDGE, Criterion.EQUAL_POTENTIALS,
        Criterion.NO_CURRENT, Criterion.CURRENT_SOURCE,
    }  # fmt: skip
    assert met >= set(Criterion) - rare


@pytest.mark.parametrize("seed", range(60))
def test_parts_that_share_no_current_are_those_of_networkx(seed: int) -> None:
    """The parts solved alone are the blocks that hold a battery and a loop (networkx)."""
    circuit = random_circuit(random.Random(7000 + seed), loops=(2, 6))
    graph = nx.Graph()
    place = {node.name: node.name for node in circuit.nodes}
    for branch in circuit.branches:
        if not branch.passages:
            old, new = place[branch.head], place[branch.tail]
            place = {name: new if own == old else own for name, own in place.items()}
    for k, branch in enumerate(circuit.branches):
        if branch.passages:  # each branch by way of a node of its own, to keep parallel ones apart
            nx.add_path(graph, [place[branch.tail], ("mid", k, 0), ("mid", k, 1),
                                place[branch.head]])  # fmt: skip
    alone = sum(
        len(part) > 2
        and any(
            node[0] == "mid" and circuit.branches[node[1]].batteries
            for node in part
            if isinstance(node, tuple)
        )
        for part in nx.biconnected_components(graph)
    )
    assert (judge(circuit).test is Criterion.SEPARABLE) == (alone > 1)
