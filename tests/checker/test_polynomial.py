"""The checker's arithmetic against sympy, on random terms."""

from __future__ import annotations

from fractions import Fraction

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.dimension import AMPERE, NUMBER, OHM, VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    current,
    emf,
    number,
    resistance,
)
from derive.checker.evaluation import PRIME, dimension, occurring, residue, survey
from derive.checker.polynomial import Expansion, Refused

A, B, C = (Symbol(name, SymbolKind.AUXILIARY, NUMBER) for name in "abc")
_LEAVES = st.sampled_from((A, B, C, ONE, number(2), number(-3), Number(Fraction(2, 5)), ZERO))


def _wider(inner: st.SearchStrategy[Term]) -> st.SearchStrategy[Term]:
    several = st.lists(inner, min_size=1, max_size=3).map(tuple)
    return st.one_of(
        st.builds(Negative, inner),
        st.builds(Sum, several),
        st.builds(Product, several),
        st.builds(Quotient, inner, inner),
        st.builds(Power, inner, st.integers(1, 3)),
        st.builds(Parallel, several),
    )


TERMS = st.recursive(_LEAVES, _wider, max_leaves=9)


def to_sympy(term: Term) -> sympy.Expr:
    """Return a term for sympy. Raises ZeroDivisionError when it divides by zero."""
    match term:
        case Number(value):
            return sympy.Rational(value.numerator, value.denominator)
        case Symbol(name):
            return sympy.Symbol(name)
        case Negative(inner):
            return -to_sympy(inner)
        case Sum(terms):
            return sympy.Add(*map(to_sympy, terms))
        case Product(factors):
            return sympy.Mul(*map(to_sympy, factors))
        case Quotient(above, below):
            return to_sympy(above) * _inverse(to_sympy(below))
        case Power(base, exponent):
            return to_sympy(base) ** exponent
        case Parallel(terms):
            return _inverse(sympy.Add(*(_inverse(to_sympy(item)) for item in terms)))
        case _:
            raise TypeError


def _inverse(expression: sympy.Expr) -> sympy.Expr:
    expression = sympy.cancel(expression)
    if expression == 0:
        raise ZeroDivisionError
    return 1 / expression


def _expected(term: Term) -> sympy.Expr | None:
    try:
        return sympy.cancel(to_sympy(term))
    except ZeroDivisionError:
        return None


@given(TERMS, TERMS)
@settings(max_examples=150, deadline=None, derandomize=True)
def test_equality_is_that_of_sympy(first: Term, second: Term) -> None:
    expected = _expected(Sum((first, Negative(second))))
    if expected is None:
        with pytest.raises(Refused):
            Expansion().is_zero(Sum((first, Negative(second))))
    else:
        assert Expansion().is_zero(Sum((first, Negative(second)))) == (expected == 0)


@given(TERMS)
@settings(max_examples=150, deadline=None, derandomize=True)
def test_a_term_equals_what_sympy_makes_of_it(term: Term) -> None:
    expected = _expected(term)
    if expected is not None:
        above, below = sympy.fraction(sympy.together(expected))
        back = Quotient(_from_sympy(above), _from_sympy(below))
        assert Expansion().is_zero(Sum((term, Negative(back))))
        assert not Expansion().is_zero(Sum((term, Negative(back), number(Fraction(1, 7)))))


def _from_sympy(expression: sympy.Expr) -> Term:
    polynomial = sympy.Poly(expression, *sympy.symbols("a b c"))
    terms: list[Term] = []
    for exponents, coefficient in polynomial.terms():
        factors: list[Term] = [Number(Fraction(int(coefficient.p), int(coefficient.q)))]
        for symbol, exponent in zip((A, B, C), exponents, strict=True):
            factors.extend([symbol] * exponent)
        terms.append(Product(tuple(factors)))
    return Sum(tuple(terms))


@given(TERMS, st.tuples(*[st.integers(-9, 9)] * 3))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_the_value_at_a_point_is_that_of_sympy(term: Term, point: tuple[int, int, int]) -> None:
    values = dict(zip((A, B, C), (v % PRIME for v in point), strict=True))
    numbers = dict(zip(sympy.symbols("a b c"), point, strict=True))
    try:
        found = residue(term, values)
    except Refused:
        return  # zero at this point; the polynomials need not be
    expected = _expected(term)
    assert expected is not None
    below = sympy.fraction(expected)[1].subs(numbers)
    value = sympy.Rational(expected.subs(numbers))
    assert below != 0
    assert found * int(value.q) % PRIME == int(value.p) % PRIME


def test_replacements_reach_through_each_other() -> None:
    rules: dict[Symbol, Term] = {A: Sum((B, ONE)), B: Product((number(2), C))}
    assert Expansion(rules).is_zero(Sum((A, Negative(C), Negative(C), number(-1))))


@pytest.mark.parametrize("rules", [{A: A}, {A: Sum((B, ONE)), B: Quotient(ONE, A)}])
def test_replacements_in_a_circle_are_refused(rules: dict[Symbol, Term]) -> None:
    with pytest.raises(Refused, match="circle"):
        Expansion(rules).is_zero(A)


@pytest.mark.parametrize("exponent", [0, -1, 2**16])
def test_an_exponent_that_cannot_be_held_is_refused(exponent: int) -> None:
    with pytest.raises(Refused):
        Expansion().is_zero(Power(A, exponent))


def test_exponents_never_run_into_the_next_symbol() -> None:
    high: Term = A
    for _ in range(3):
        high = Power(high, 40)  # 64 000, near the limit of 16 bits
    with pytest.raises(Refused, match="too high"):
        Expansion().is_zero(Sum((Product((high, high)), Negative(B))))


def test_a_constant_is_found_and_a_letter_is_not() -> None:
    assert Expansion().constant(Quotient(number(7), number(21))) == Fraction(1, 3)
    assert Expansion().constant(Sum((A, Negative(A)))) == 0
    assert Expansion().constant(Quotient(A, A)) is None
    assert Expansion().constant(A) is None


R, E, I = resistance("R1"), emf("E1"), current("I1")  # noqa: E741  (a current)


@pytest.mark.parametrize(
    ("term", "expected"),
    [
        (Product((R, I)), VOLT),
        (Quotient(E, R), AMPERE),
        (Sum((E, Negative(Product((R, I))), ZERO)), VOLT),
        (Parallel((R, R)), OHM),
        (Power(R, 3), OHM**3),
        (ZERO, None),
        (Product((ZERO, R)), None),
        (Quotient(ZERO, R), None),
        (ONE, NUMBER),
        (Quantity(Fraction(0), VOLT), VOLT),
        (auxiliary("x", OHM**2), OHM**2),
    ],
)
def test_dimension(term: Term, expected: object) -> None:
    assert dimension(term) == expected


@pytest.mark.parametrize("term", [Sum((R, E)), Parallel((R, I)), Sum((R, ONE)), Quotient(R, ZERO)])
def test_no_dimension(term: Term) -> None:
    with pytest.raises(Refused):
        dimension(term)


def test_a_survey_finds_symbols_and_divisors() -> None:
    term = Sum((Quotient(E, R), Parallel((R, I))))
    symbols, divisors = survey(term)
    assert set(symbols) == {R, E, I} == set(occurring(term))
    assert set(divisors) == {R, I, Parallel((R, I))}


def test_two_symbols_of_one_name_stay_two() -> None:
    other = Symbol("R1", SymbolKind.RESISTANCE, VOLT)
    assert set(occurring(Sum((R, other)))) == {R, other}
    assert not Expansion().is_zero(Sum((R, Negative(other))))
