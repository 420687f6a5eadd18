"""Polynomials and fractions against sympy and against plain evaluation."""

from __future__ import annotations

from fractions import Fraction

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.dimension import NUMBER, OHM, VOLT, Dimension
from derive.algebra.interchange import to_sympy
from derive.algebra.plain import plain, plain_polynomial
from derive.algebra.polynomial import NotPolynomial, Poly, Ring, cancel, common_divisor
from derive.algebra.term import (
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
    Term,
    children,
    emf,
    number,
    replace,
    resistance,
)
from derive.circuit.values import evaluate

_SYMBOLS = (emf("E1"), resistance("R1"), resistance("R2"))
_E1, _R1, _R2 = _SYMBOLS
_RING = Ring(_SYMBOLS)

_leaves: st.SearchStrategy[Term] = st.one_of(
    st.sampled_from(_SYMBOLS),
    st.fractions(0, 9, max_denominator=4).map(Number),
    st.fractions(0, 9, max_denominator=4).map(lambda v: Quantity(v, OHM)),
)


def _branches(inner: st.SearchStrategy[Term]) -> st.SearchStrategy[Term]:
    several = st.lists(inner, min_size=1, max_size=3).map(tuple)
    return st.one_of(
        inner.map(Negative),
        several.map(Sum),
        several.map(Product),
        several.map(Parallel),
        st.tuples(inner, inner).map(lambda pair: Quotient(*pair)),
        st.tuples(inner, st.integers(2, 3)).map(lambda pair: Power(*pair)),
    )


_terms = st.recursive(_leaves, _branches, max_leaves=8)
_polys = st.dictionaries(
    st.tuples(*[st.integers(0, 2)] * 3),
    st.fractions(-9, 9, max_denominator=4),
    max_size=5,
).map(_RING.build)


def _at(term: Term, values: dict[Symbol, Fraction]) -> Fraction | None:
    """Return the value of a term by the rules of arithmetic; None where it has none."""
    numbers = {s: Quantity(v, NUMBER) for s, v in values.items()}
    try:
        return evaluate(replace(term, numbers))
    except ZeroDivisionError:
        return None


@settings(max_examples=150, deadline=None)
@given(_terms, st.tuples(*[st.fractions(1, 9, max_denominator=3)] * 3))
def test_fraction_has_the_value_of_the_term(term: Term, point: tuple[Fraction, ...]) -> None:
    values = dict(zip(_SYMBOLS, point, strict=True))
    wanted = _at(term, values)
    try:
        above, below = _RING.fraction(term)
    except ZeroDivisionError:
        assert wanted is None
        return
    if wanted is not None and below.evaluate(values):
        assert above.evaluate(values) / below.evaluate(values) == wanted


@settings(max_examples=100, deadline=None)
@given(_terms)
def test_fraction_is_in_lowest_terms_with_whole_coefficients(term: Term) -> None:
    try:
        above, below = _RING.fraction(term)
    except ZeroDivisionError:
        return
    assert below.leading > 0
    assert all(c.denominator == 1 for p in (above, below) for c in p.coefficients())
    if not above.is_zero:
        assert sympy.gcd(_sympy(above), _sympy(below)) == 1


def _sympy(poly: Poly) -> sympy.Expr:
    return to_sympy(_RING.term(poly))


@settings(max_examples=60, deadline=None)
@given(_polys, _polys, _polys)
def test_arithmetic_agrees_with_sympy(a: Poly, b: Poly, c: Poly) -> None:
    assert sympy.expand(_sympy(a * b - c) - (_sympy(a) * _sympy(b) - _sympy(c))) == 0
    if b:
        assert (a * b) / b == a
        shared = common_divisor(a * b, c * b)
        theirs = sympy.gcd(_sympy(a * b), _sympy(c * b))
        assert sympy.cancel(_sympy(shared) / theirs).is_number


@settings(max_examples=60, deadline=None)
@given(_polys)
def test_term_and_text_come_back_to_the_polynomial(poly: Poly) -> None:
    assert _RING.poly(_RING.term(poly)) == poly
    assert _RING.poly(_RING.term(poly, VOLT)) == poly
    names = {s.name: Fraction(k + 2) for k, s in enumerate(_SYMBOLS)}
    values = {s: names[s.name] for s in _SYMBOLS}
    text = plain_polynomial(poly)
    assert sympy.sympify(text, locals={n: sympy.Symbol(n) for n in names}).subs(names) == (
        poly.evaluate(values)
    )
    assert text == plain(_RING.term(poly))


@settings(max_examples=100, deadline=None)
@given(_terms)
def test_plain_text_has_the_value_of_the_term(term: Term) -> None:
    values = {s: Fraction(k + 2) for k, s in enumerate(_SYMBOLS)}
    wanted = _at(term, values)
    if wanted is None:
        return
    names = {s.name: sympy.Rational(v) for s, v in values.items()}
    found = sympy.sympify(plain(term), locals=names)
    # Two zeros in parallel are written 0·0/(0 + 0); a circuit has none.
    assert found == sympy.Rational(wanted) or (found is sympy.nan and _zeros_in_parallel(term))


def _zeros_in_parallel(term: Term) -> bool:
    if isinstance(term, Parallel):
        return any(_vanishes(item) for item in term.terms)
    return any(map(_zeros_in_parallel, children(term)))


def _vanishes(term: Term) -> bool:
    return _at(term, {s: Fraction(k + 2) for k, s in enumerate(_SYMBOLS)}) == 0


@settings(max_examples=40, deadline=None)
@given(_polys)
def test_every_coefficient_carries_the_unit_that_is_open(poly: Poly) -> None:
    if poly.is_zero:
        assert _RING.term(poly, VOLT) == ZERO
        return
    term = _RING.term(poly, VOLT)
    for item in term.terms if isinstance(term, Sum) else (term,):
        assert _dimension(item) == VOLT


def _dimension(term: Term) -> Dimension:
    match term:
        case Symbol(_, _, dimension) | Quantity(_, dimension):
            return dimension
        case Number():
            return NUMBER
        case Power(base, exponent):
            return _dimension(base) ** exponent
        case _:
            product = NUMBER
            for child in children(term):
                product = product * _dimension(child)
            return product


def test_quotient_that_does_not_divide_out_is_no_polynomial() -> None:
    with pytest.raises(NotPolynomial):
        _RING.poly(Quotient(_R1, _R2))
    assert _RING.poly(Quotient(Product((_R1, _R2)), _R2)) == _RING.symbol(_R1)


def test_division_by_zero_is_told() -> None:
    with pytest.raises(ZeroDivisionError):
        _RING.fraction(Quotient(_R1, Sum((_R1, Negative(_R1)))))
    with pytest.raises(ZeroDivisionError):
        cancel(_RING.one, _RING.zero)
    with pytest.raises(ArithmeticError):
        _ = _RING.symbol(_R1) / _RING.symbol(_R2)


def test_parallel_with_nothing_is_nothing() -> None:
    above, _ = _RING.fraction(Parallel((_R1, number(0))))
    assert above.is_zero


def test_letters_outside_the_ring_are_refused() -> None:
    with pytest.raises(KeyError):
        _RING.poly(resistance("R9"))
    with pytest.raises(ValueError, match="twice"):
        Ring((_R1, _R1))


def test_a_ring_without_letters_holds_numbers() -> None:
    ring = Ring(())
    assert (ring.constant(3) / 2).constant_value == Fraction(3, 2)
    assert ring.term(ring.constant(-2)) == Negative(Number(Fraction(2)))


def test_composition_moves_between_rings() -> None:
    small = Ring((_R1,))
    moved = (small.symbol(_R1) ** 2).compose({_R1: _RING.symbol(_E1) + 1}, _RING)
    assert moved == (_RING.symbol(_E1) + 1) ** 2
    assert (_RING.symbol(_R1) + 2).compose({}, small) == small.symbol(_R1) + 2
    with pytest.raises(KeyError):
        _RING.symbol(_R2).compose({}, small)


def test_factors_multiply_back() -> None:
    a, b = _RING.symbol(_R1), _RING.symbol(_R2)
    poly = (a + b) ** 2 * (a - b) * Fraction(3, 2)
    lead, factors = poly.factors()
    back = _RING.constant(lead)
    for factor, exponent in factors:
        back = back * factor**exponent
    assert back == poly
    assert sorted(exponent for _, exponent in factors) == [1, 2]


def test_letters_come_to_sympy_with_what_is_known_of_them() -> None:
    found = to_sympy(Product((_E1, _R1)))
    assert {s.name: s.is_positive for s in found.free_symbols} == {"E1": None, "R1": True}
    assert all(s.is_real for s in found.free_symbols)


def test_equality_looks_at_letters_not_at_their_places() -> None:
    a, b, c = (resistance(name) for name in ("R1", "R2", "R3"))
    first, second, wider = Ring((a, b)), Ring((b, c)), Ring((c, b, a))
    assert first.symbol(a) != second.symbol(b)
    assert first.symbol(b) == second.symbol(b)
    product = first.symbol(a) * first.symbol(b) - 2
    assert product == wider.symbol(a) * wider.symbol(b) - 2
    assert hash(product) == hash(wider.symbol(a) * wider.symbol(b) - 2)
    assert len({first.symbol(b), second.symbol(b), wider.symbol(b)}) == 1
