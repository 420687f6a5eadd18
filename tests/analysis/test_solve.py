"""Branch currents against the independent nodal solution, and every algebraic step by sympy."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
import sympy

from derive.algebra.term import (
    Equation,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
    current,
)  # fmt: skip
from derive.analysis.solve import Currents, derive_currents
from derive.circuit.elaborate import load
from derive.derivation.algebra import AlgebraStep, Define, certificate
from derive.derivation.step import Derivation
from derive.derivation.step_id import StepId
from derive.source import Source
from tests.random_circuits import nodal_currents, random_circuit


@cache
def letter(name: str) -> sympy.Symbol:
    return sympy.Symbol(name)


def expression(term: Term) -> sympy.Expr:
    match term:
        case Number(value) | Quantity(value, _):
            return sympy.Rational(value.numerator, value.denominator)
        case Symbol():
            return letter(term.name)
        case Negative(inner):
            return -expression(inner)
        case Sum(terms):
            return sympy.Add(*map(expression, terms))
        case Product(factors):
            return sympy.Mul(*map(expression, factors))
        case Quotient(above, below):
            return expression(above) / expression(below)
        case Power(base, exponent):
            return expression(base) ** exponent
        case Parallel():
            raise AssertionError("not made by this analysis")


def refuted(found: Currents, step_id: StepId) -> bool:
    """Say whether the certificate of an algebraic step fails as an identity (style of mathlib)."""
    steps = found.derivation.steps
    step = steps[step_id]
    if not isinstance(step, AlgebraStep):
        return False
    proof = certificate(step)
    assert all(part.premise < step_id for part in proof.combination)
    assert all(k < step_id for k in proof.rewriting)
    equation = step.conclusion
    difference = expression(equation.left) - expression(equation.right)
    for part in proof.combination:
        premise = found.derivation.equation(part.premise)
        difference -= expression(part.multiplier) * (
            expression(premise.left) - expression(premise.right)
        )
    rules = [found.derivation.equation(k) for k in proof.rewriting]
    for _ in range(len(rules) + 1):
        changed = difference
        for rule in rules:
            assert isinstance(rule.left, Symbol)
            changed = changed.subs(letter(rule.left.name), expression(rule.right))
        if changed == difference:
            break
        difference = changed
    return bool(sympy.cancel(sympy.together(difference)) != 0)


def exact(found: Currents, step: StepId) -> Fraction:
    value = expression(found.derivation.equation(step).right)
    return Fraction(int(value.p), int(value.q))


@pytest.mark.parametrize("seed", range(40))
def test_numbers_first_equals_the_nodal_solution(seed: int) -> None:
    circuit = random_circuit(random.Random(seed), loops=(2, 6))
    found = derive_currents(circuit, numbers_first=True)
    for branch, expected in zip(circuit.branches, nodal_currents(circuit), strict=True):
        value = exact(found, found.values[branch.current])
        assert float(value) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(100, 112))
def test_letters_first_gives_the_same_and_every_step_holds(seed: int) -> None:
    circuit = random_circuit(random.Random(seed), loops=(2, 3))
    first = derive_currents(circuit, numbers_first=True)
    found = derive_currents(circuit)
    for branch in circuit.branches:
        own = exact(found, found.values[branch.current])
        assert own == exact(first, first.values[branch.current])
    for route in (first, found):
        wrong = [k for k in range(len(route.derivation.steps)) if refuted(route, k)]
        assert not wrong


@pytest.mark.parametrize("seed", range(8))
def test_the_common_denominator_has_plus_signs_only(seed: int) -> None:
    # Kirchhoff 1847: a sum over spanning trees of products of resistances, all with plus signs.
    circuit = random_circuit(random.Random(seed), loops=(2, 3), letters=True)
    found = derive_currents(circuit)
    assert not found.values
    for step in found.derivation.steps:
        if isinstance(step, Define) and step.symbol.name.startswith("Delta"):
            below = sympy.Poly(expression(step.conclusion.right))
            assert all(c > 0 for c in below.coeffs())


def test_a_changed_conclusion_is_refuted() -> None:
    # The judge of the tests above must itself be able to say no.
    circuit = random_circuit(random.Random(7), loops=(2, 3))
    for numbers_first in (True, False):
        found = derive_currents(circuit, numbers_first=numbers_first)
        steps = found.derivation.steps
        tried = 0
        for k, step in enumerate(steps):
            if isinstance(step, AlgebraStep):
                doubled = Product((Number(Fraction(2)), step.conclusion.right))
                wrong = Equation(Sum((step.conclusion.left, Number(Fraction(1)))), doubled)
                forged = (*steps[:k], replace(step, conclusion=wrong), *steps[k + 1 :])
                assert refuted(replace(found, derivation=Derivation(forged)), k)
                tried += 1
        assert tried > 4


def test_a_source_may_follow_a_voltage_past_a_battery_without_current() -> None:
    """By hand: with all resistances 1 Ω, 8 V = 3.5 v + E3/2, v being the voltage of B; I1 = 8 − v."""
    found = derive_currents(
        load(
            Source(
                "test",
                "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (-E3+) D (open S1) A\n"
                "I4: B (-E2+) (R4) A\nE2 = 0.5 * V(D,A)\n",
            )
        ).circuit
    )
    formula = expression(found.derivation.equation(found.formulas[current("I1")]).right)
    names = {s.symbol: s.conclusion.right for s in found.derivation.steps if isinstance(s, Define)}
    for symbol, term in names.items():
        formula = formula.subs(letter(symbol.name), expression(term))
    assert formula.subs({"E1": 8, "E3": 2, "R1": 1, "R2": 1, "R4": 1}) == 6
