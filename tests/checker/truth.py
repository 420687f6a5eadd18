"""Whether what a step says of a formula is true, by sympy's limits and derivatives."""

from __future__ import annotations

import random

import sympy

from derive.algebra.interchange import to_sympy
from derive.algebra.term import Equation, Product, Quotient, Symbol, Term, symbols
from derive.algebra.term import replace as put_in
from derive.derivation.algebra import Define
from derive.derivation.laws import GivenValue
from derive.derivation.sense import (
    Dimensions,
    Limit,
    Response,
    SenseStep,
    SpecialCase,
    Toward,
    Trend,
)
from derive.derivation.step import Derivation


def _meant(derivation: Derivation, term: Term, assumed: dict[Symbol, Term]) -> sympy.Expr:
    """Return a term for sympy: names and assumptions put in, all letters positive."""
    names: dict[Symbol, Term] = {}
    for step in derivation.steps:
        if isinstance(step, Define):
            names[step.symbol] = put_in(step.conclusion.right, names)
        elif isinstance(step, GivenValue) and any(True for _ in symbols(step.conclusion.right)):
            names[step.symbol] = put_in(step.conclusion.right, names)  # a tie
    found = to_sympy(put_in(put_in(term, names), assumed))
    return found.subs({s: _letter(str(s)) for s in found.free_symbols})


def _letter(name: str) -> sympy.Symbol:
    return sympy.Symbol(name, positive=True)


def solved(assumption: Equation) -> tuple[Symbol, Term]:
    """Return the letter that ends the left side, and what it is."""
    left, right = assumption.left, assumption.right
    *others, letter = left.factors if isinstance(left, Product) else (left,)
    assert isinstance(letter, Symbol)
    return letter, Quotient(right, Product(tuple(others))) if others else right


def _is_nothing(found: sympy.Expr) -> bool:
    """Tell whether a quotient of polynomials is zero, by its exact values at three places.

    To bring it to lowest terms would take minutes for nested formulas.
    """
    rng = random.Random(7)
    letters = sorted(found.free_symbols, key=str)
    places = ({s: sympy.Rational(rng.randint(1, 10**6), 997) for s in letters} for _ in range(3))
    return all(found.subs(place) == 0 for place in places)


def is_true(derivation: Derivation, step: SenseStep) -> bool:
    """Tell by sympy whether a step is true; the terms of a formula have units that fit."""
    premise = derivation.steps[step.premise]
    conclusion = getattr(premise, "conclusion", None)
    if conclusion is None or not isinstance(conclusion.left, Symbol):
        return False
    formula = _meant(derivation, conclusion.right, {})
    match step:
        case Limit(letter=letter, to=to, limit=limit):
            at = sympy.oo if to is Toward.INFINITY else 0
            found = sympy.limit(formula, _letter(letter.name), at)
            if limit is None:
                return bool(found.is_infinite)
            return _is_nothing(found - _meant(derivation, limit, {}))
        case SpecialCase(assumptions=assumptions, result=result):
            assumed = dict(map(solved, assumptions))
            found = _meant(derivation, conclusion.right, assumed)
            return _is_nothing(found - _meant(derivation, result, assumed))
        case Trend(letter=letter, response=response, rate=rate):
            size = _meant(derivation, rate, {})
            slope_of = sympy.diff(formula, _letter(letter.name))
            told = {Response.RISES: size, Response.FALLS: -size, Response.WEAKENS: -size * formula}
            return _is_nothing(slope_of - told[response])
        case Dimensions():
            return step.above / step.below == conclusion.left.dimension
    return False
