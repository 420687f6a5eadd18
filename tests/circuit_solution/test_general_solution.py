"""The general solution against independent answers and against Kirchhoff's theorem."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import networkx as nx
import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from sympy.polys.matrices import DomainMatrix

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.interchange import to_sympy
from derive.algebra.name import identifier
from derive.algebra.plain import plain
from derive.algebra.polynomial import Poly
from derive.algebra.term import (
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    number,
)
from derive.circuit.elements import Battery
from derive.circuit.expansion import TooLarge, count_terms, count_trees
from derive.circuit.model import Circuit
from derive.circuit.numeric import numeric_solution
from derive.circuit.solution import GeneralSolution, NoUniqueSolution, general_solution
from derive.circuit.values import Values
from tests.circuit_solution.build import circuit, quantity
from tests.random_circuits import nodal_currents, random_circuit

_SEEDS = st.integers(0, 10**9)


def _numbers(case: Circuit, solution: GeneralSolution) -> dict[Symbol, Fraction]:
    values = Values(case)
    return {symbol: values.number(symbol) for symbol in solution.full_ring.symbols}


def _value(solution: GeneralSolution, branch: int, at: dict[Symbol, Fraction]) -> Fraction:
    above, below = solution.fraction(branch)
    return above.evaluate(at) / below.evaluate(at)


@settings(max_examples=40, deadline=None)
@given(_SEEDS)
def test_letters_with_values_put_in_agree_with_nodal_analysis(seed: int) -> None:
    case = random_circuit(random.Random(seed), loops=(1, 6))
    try:
        solution = general_solution(case, bound=3000)
    except TooLarge:
        return
    at = _numbers(case, solution)
    for branch, wanted in enumerate(nodal_currents(case)):
        assert float(_value(solution, branch, at)) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(_SEEDS)
def test_given_numbers_agree_with_nodal_analysis(seed: int) -> None:
    case = random_circuit(random.Random(seed))
    solution = general_solution(case, values="given")
    for branch, wanted in enumerate(nodal_currents(case)):
        found = solution.current(branch)
        value = found.constant.constant_value / found.denominator.constant_value
        assert float(value) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(_SEEDS)
def test_some_letters_and_some_numbers(seed: int) -> None:
    rng = random.Random(seed)
    case = random_circuit(rng, loops=(1, 5))
    hidden = {v.symbol for v in case.values if rng.random() < 0.3}
    letters = replace(case, values=tuple(v for v in case.values if v.symbol not in hidden))
    solution = general_solution(letters, values="given")
    assert set(solution.full_ring.symbols) <= hidden
    at = _numbers(case, solution)
    for branch, wanted in enumerate(numeric_solution(case)):
        assert _value(solution, branch, at) == wanted


def _unit_resistances(solution: GeneralSolution, poly: Poly) -> Fraction:
    return poly.evaluate(dict.fromkeys(solution.ring.symbols, Fraction(1)))


@settings(max_examples=30, deadline=None)
@given(_SEEDS)
def test_form_of_the_fractions(seed: int) -> None:
    case = random_circuit(random.Random(seed), loops=(1, 5), letters=True)
    try:
        solution = general_solution(case, bound=2000)
    except TooLarge:
        return
    for found in solution.currents:
        assert found is not None
        assert all(c > 0 for c in found.denominator.coefficients())
        degrees = {sum(exponents) for exponents in found.denominator.monomials()}
        assert len(degrees) == 1
        for symbol, coefficient in found.coefficients:
            assert symbol.kind is SymbolKind.EMF
            assert not coefficient.is_zero
            assert {sum(e) for e in coefficient.monomials()} == {d - 1 for d in degrees}


@settings(max_examples=30, deadline=None)
@given(_SEEDS)
def test_loop_shares_add_up_to_the_current(seed: int) -> None:
    case = random_circuit(random.Random(seed), loops=(1, 5))
    try:
        solution = general_solution(case, bound=2000)
    except TooLarge:
        return
    values = Values(case)
    at = _numbers(case, solution)
    at |= {s: values.number(s) for s in solution.ring.symbols}
    for branch, wanted in enumerate(numeric_solution(case)):
        total = Fraction(0)
        for share in solution.loop_shares(branch):
            emf = sum(values.number(s) if rises else -values.number(s) for s, rises in share.emfs)
            total += share.weight.evaluate(at) * emf / share.denominator.evaluate(at)
        assert total == wanted


@pytest.mark.parametrize("seed", range(12))
def test_agrees_with_sympy_in_letters(seed: int) -> None:
    """Against fraction-free elimination by sympy on node potentials and branch currents."""
    case = random_circuit(random.Random(seed), loops=(2, 3), letters=True)
    place = {node.name: k for k, node in enumerate(case.nodes)}
    n, b = len(place), len(case.branches)
    values = Values(case)
    matrix = sympy.zeros(n + b, n + b)
    right = sympy.zeros(n + b, 1)
    for k, branch in enumerate(case.branches):
        tail, head = place[branch.tail], place[branch.head]
        matrix[tail, n + k] -= 1
        matrix[head, n + k] += 1
        matrix[n + k, tail] += 1
        matrix[n + k, head] -= 1
        for r in branch.resistances:
            matrix[n + k, n + k] -= to_sympy(values.letters(r))
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                rise = to_sympy(values.letters(passage.element.emf))
                right[n + k] -= rise if passage.along else -rise
    matrix[0, :] = sympy.zeros(1, n + b)
    matrix[0, 0] = 1
    both = DomainMatrix.from_Matrix(matrix.row_join(right))
    numerators, denominator = both[:, : n + b].solve_den(both[:, n + b :])
    domain = both.domain
    solution = general_solution(case)
    for k in range(b):
        above, below = solution.fraction(k)
        ours = [domain.from_sympy(to_sympy(solution.full_ring.term(p))) for p in (above, below)]
        theirs = numerators[n + k, 0].element
        assert ours[0] * denominator == theirs * ours[1]


@pytest.mark.parametrize("seed", range(20))
def test_determinant_counts_the_spanning_trees(seed: int) -> None:
    """Kirchhoff's matrix-tree theorem; counted by networkx one by one, and by numpy."""
    rng = random.Random(seed)
    nodes = rng.randint(3, 6)
    graph = nx.gnm_random_graph(nodes, rng.randint(nodes, 2 * nodes), seed=seed)
    for k in range(1, nodes):
        graph.add_edge(k - 1, k)
    edges = list(graph.edges)
    branches = [(f"N{a}", f"N{b}", f"+E{k} R{k}") for k, (a, b) in enumerate(edges)]
    case = circuit(branches)
    wanted = sum(1 for _ in nx.SpanningTreeIterator(graph))
    laplacian = _laplacian(nodes, edges)
    assert round(float(np.linalg.det(laplacian[1:, 1:]))) == wanted
    assert count_trees(case) == wanted
    product = Fraction(1)
    solution = general_solution(case)
    for block in solution.blocks:
        product *= _unit_resistances(solution, block.determinant)
        assert len(block.determinant) == _unit_resistances(solution, block.determinant)
    assert product == wanted


def _laplacian(nodes: int, edges: list[tuple[int, int]]) -> np.ndarray:
    matrix = np.zeros((nodes, nodes))
    for a, b in edges:
        matrix[a, a] += 1
        matrix[b, b] += 1
        matrix[a, b] -= 1
        matrix[b, a] -= 1
    return matrix


def test_formula_text_is_read_by_python() -> None:
    case = circuit(
        [("A", "B", "+E1 R1"), ("A", "B", "-E2|r' R2"), ("B", "A", "R3")],
        {"E1": 12, "E2": 9, "R1": 2, "r'": Fraction(1, 2), "R2": 1, "R3": 4},
    )
    solution = general_solution(case)
    names = {identifier(s.name): v for s, v in _numbers(case, solution).items()}
    for branch, wanted in enumerate(numeric_solution(case)):
        assert eval(plain(solution.formula(branch)), {}, names) == wanted
    assert plain(solution.formula(0)) == (
        "(E1*(R2 + R3 + r_prime) + E2*R3)/(R1*R2 + R1*R3 + R1*r_prime + R2*R3 + R3*r_prime)"
    )


@settings(max_examples=40, deadline=None)
@given(_SEEDS, st.sampled_from(["letters", "given", "mixed"]))
def test_direct_text_is_that_of_the_formula(seed: int, kind: str) -> None:
    case = random_circuit(random.Random(seed), loops=(1, 4), letters=kind == "letters")
    if kind == "mixed":
        case = replace(case, values=case.values[::2])
    try:
        solution = general_solution(case, values="letters" if kind == "letters" else "given")
    except (NoUniqueSolution, TooLarge):
        return
    for branch in range(len(case.branches)):
        assert solution.text(branch) == plain(solution.formula(branch))


def test_hinged_parts_do_not_mix() -> None:
    solution = general_solution(
        circuit([("A", "A", "+E1 R1"), ("A", "B", "R9"), ("B", "B", "+E2 R2")])
    )
    assert [plain(solution.formula(k)) for k in range(3)] == ["E1/R1", "0", "E2/R2"]


def test_an_ideal_battery_splits_what_it_feeds() -> None:
    solution = general_solution(
        circuit([("A", "B", "+E1"), ("B", "A", "R1"), ("B", "A", "-E2 R2 R3")])
    )
    assert plain(solution.formula(1)) == "E1/R1"
    assert plain(solution.formula(2)) == "(E1 - E2)/(R2 + R3)"
    assert plain(solution.formula(0)) == "(E1*(R1 + R2 + R3) - E2*R1)/(R1*R2 + R1*R3)"


def test_ties_are_put_in_and_cancelled() -> None:
    r1 = quantity("R1")
    solution = general_solution(
        circuit(
            [("A", "B", "+E1 R1"), ("A", "B", "R2"), ("A", "B", "R3")],
            {"R2": Product((number(2), r1)), "R3": Product((number(2), r1))},
        )
    )
    assert plain(solution.formula(0)) == "E1/(2*R1)"
    assert plain(solution.formula(1)) == "-E1/(4*R1)"


def test_numbers_keep_their_units() -> None:
    solution = general_solution(
        circuit([("A", "A", "+E1 R1 R2")], {"E1": 6, "R2": 3}), values="given"
    )
    assert solution.formula(0) == Quotient(
        Quantity(Fraction(6), VOLT), Sum((quantity("R1"), Quantity(Fraction(3), OHM)))
    )


def test_too_large_is_told_before_the_work() -> None:
    nodes = 8
    branches = [
        (f"N{a}", f"N{b}", f"+E{a}{b} R{a}{b}") for a in range(nodes) for b in range(a + 1, nodes)
    ]
    with pytest.raises(TooLarge) as caught:
        general_solution(circuit(branches))
    assert caught.value.terms == 8**6  # Cayley's formula n^(n−2)
    assert caught.value.bound == 20000


def test_the_bound_counts_terms_after_brackets_are_opened() -> None:
    case = circuit([("A", "A", "+E1 R1 R2 R3")])
    with pytest.raises(TooLarge) as caught:
        general_solution(case, bound=2)
    assert caught.value.terms == count_terms(case) == 3
    assert len(general_solution(case, bound=3).current(0).denominator) == 3
