"""Elimination in letters with names: short lines, safe divisors, the right currents."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
import sympy

from derive.algebra.interchange import to_sympy
from derive.algebra.term import Quotient, Symbol, SymbolKind, Term, children, symbols
from derive.algebra.term import replace as put
from derive.analysis.answers import derive
from derive.analysis.solve import PRODUCTS_SHOWN
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.expansion import count_terms
from derive.circuit.question import AskCurrents
from derive.circuit.valuation import Given
from derive.derivation.algebra import Combine, Define, Isolate
from derive.derivation.goal import Goal
from derive.derivation.step import Conclude, Derivation
from derive.source import Source
from tests.random_circuits import in_letters, nodal_currents, random_circuit

SEEDS = [s for s in range(40) if 3 <= s % 7 <= 6][:14]


def circuit(seed: int, *, letters: bool) -> tuple[Derivation, object]:
    case = random_circuit(random.Random(seed), loops=(3, 5))
    if letters:
        case = in_letters(case)
    return derive(case), case


def stage_steps(derivation: Derivation, goal: Goal, kind: type) -> list[int]:
    return [
        k
        for stage in derivation.stages
        if stage.goal is goal
        for k in stage.ids
        if isinstance(derivation.steps[k], kind)
    ]


def letters_of(term: Term) -> int:
    return sum(1 for _ in symbols(term))


@pytest.mark.parametrize("seed", SEEDS)
def test_lines_stay_short(seed: int) -> None:
    derivation, case = circuit(seed, letters=True)
    assert check(case, derivation).refusal is None  # type: ignore[arg-type]
    for k in stage_steps(derivation, Goal.ELIMINATE, Combine):
        equation = derivation.equation(k)
        unknowns = sum(s.kind is SymbolKind.CURRENT for s in symbols(equation.left))
        # Each coefficient is a name or a product of few letters, never a sum.
        assert letters_of(equation.left) <= 4 * unknowns + 1
    for k in stage_steps(derivation, Goal.ELIMINATE, Define):
        right = derivation.equation(k).right
        assert letters_of(right) <= 16


@pytest.mark.parametrize("seed", SEEDS)
def test_going_back_gives_the_currents(seed: int) -> None:
    """The lines from the last to the first, by sympy, against the closed forms."""
    derivation, _ = circuit(seed, letters=True)
    back = stage_steps(derivation, Goal.GO_BACK, Isolate)
    if not back:
        pytest.skip("numbers among the letters: no names")
    definitions = {}
    for goal in (Goal.NAME, Goal.ELIMINATE, Goal.FRACTIONS):
        for k in stage_steps(derivation, goal, Define):
            definitions[derivation.equation(k).left] = derivation.equation(k).right
    # One exact point: the resistances and emfs as different primes.
    point: dict[sympy.Symbol, sympy.Rational] = {}
    known: dict[Symbol, sympy.Rational] = {}

    def value(term: Term) -> sympy.Rational:
        for symbol in symbols(term):
            if symbol in known:
                point[to_sympy(symbol)] = known[symbol]
            elif symbol in definitions:
                point[to_sympy(symbol)] = value(definitions[symbol])
            else:
                letter = to_sympy(symbol)
                point.setdefault(letter, sympy.prime(len(point) + 3))
        return to_sympy(term).subs(point)

    for k in back:
        equation = derivation.equation(k)
        assert isinstance(equation.left, Symbol)
        known[equation.left] = value(equation.right)
    for step in derivation.steps:
        if isinstance(step, Conclude) and step.symbol in known:
            assert step.formula is not None
            assert value(derivation.equation(step.formula).right) == known[step.symbol]


@pytest.mark.parametrize("seed", SEEDS)
def test_divisors_cannot_vanish(seed: int) -> None:
    """Every divisor, written out, is a sum of products of resistances with one sign."""
    derivation, _ = circuit(seed, letters=True)
    definitions: dict[Symbol, Term] = {}
    for goal in (Goal.NAME, Goal.ELIMINATE):
        for k in stage_steps(derivation, goal, Define):
            symbol = derivation.equation(k).left
            assert isinstance(symbol, Symbol)
            definitions[symbol] = put(derivation.equation(k).right, definitions)
    for k in stage_steps(derivation, Goal.GO_BACK, Isolate):
        right = derivation.equation(k).right
        divisor = right.denominator if isinstance(right, Quotient) else None
        if divisor is None:
            continue
        written = sympy.factor_list(to_sympy(put(divisor, definitions)))
        for factor, _ in written[1]:
            signs = {c > 0 for c in sympy.Poly(factor).coeffs()}
            assert len(signs) == 1, factor


def test_long_formulas_take_their_numbers_by_name() -> None:
    for seed in range(60):
        case = random_circuit(random.Random(seed), loops=(4, 5))
        if PRODUCTS_SHOWN < count_terms(case) < 300:
            break
    derivation = derive(case)
    stages = {stage.goal for stage in derivation.stages}
    assert Goal.NAME in stages or Goal.ELIMINATE in stages
    expected = dict(zip((b.current for b in case.branches), nodal_currents(case), strict=True))
    for step in derivation.steps:
        if isinstance(step, Conclude) and isinstance(step.question, AskCurrents):
            assert step.value is not None
            value = to_sympy(derivation.equation(step.value).right)
            assert isinstance(value, sympy.Rational)
            if step.symbol in expected:
                assert abs(float(value) - expected[step.symbol]) < 1e-9 * max(1, abs(float(value)))


def depth(term: Term) -> int:
    return 1 + max((depth(child) for child in children(term)), default=0)


def test_random_values_of_a_fraction_are_exact() -> None:
    case = random_circuit(random.Random(3), loops=(2, 2))
    derivation = derive(case)
    for step in derivation.steps:
        if isinstance(step, Conclude) and step.value is not None:
            right = derivation.equation(step.value).right
            assert depth(right) <= 2
            assert isinstance(Fraction(str(to_sympy(right))), Fraction)


@pytest.mark.parametrize("seed", [3075, 5591])
def test_sums_written_out_on_a_later_level(seed: int) -> None:
    """Found by the long bench: a sum of letters that got its name late was written out again."""
    case = random_circuit(random.Random(seed))
    assert check(case, derive(case)).refusal is None


@pytest.mark.parametrize("name", ["R1", "R2", "R3", "R4", "R5", "R6", "R7", "R8"])
def test_a_resistance_of_zero_is_no_divisor(name: str) -> None:
    path = Path(__file__).parents[2] / "examples" / "four_loops.circuit"
    case = load(Source(path.name, path.read_text("utf-8"))).circuit
    values = tuple(
        replace(v, value=replace(v.value, value=Fraction(0))) if v.symbol.name == name else v
        for v in case.values
        if isinstance(v.value, Given)
    )
    case = replace(case, values=values)
    derivation = derive(case)
    assert check(case, derivation).refusal is None
    expected = dict(zip((b.current for b in case.branches), nodal_currents(case), strict=True))
    for step in derivation.steps:
        if isinstance(step, Conclude) and step.symbol in expected:
            assert step.value is not None
            found = float(to_sympy(derivation.equation(step.value).right))
            assert abs(found - expected[step.symbol]) < 1e-9 * max(1, abs(found))
