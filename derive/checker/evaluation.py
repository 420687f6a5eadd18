"""Read off terms without expanding them: symbols, divisors, units, values at a test point."""

from __future__ import annotations

from collections.abc import Mapping
from typing import assert_never

from derive.algebra.dimension import NUMBER, Dimension, unit_of
from derive.algebra.term import (
    Exponential,
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
)
from derive.checker.polynomial import Refused, whole_exponent


def survey(*terms: Term) -> tuple[dict[Symbol, None], list[Term]]:
    """Return the symbols of some terms, each once, and everything that the terms divide by."""
    found: dict[int, Symbol] = {}
    divisors: list[Term] = []
    waiting = list(terms)
    while waiting:
        term = waiting.pop()
        if isinstance(term, Symbol):
            found[id(term)] = term
        elif isinstance(term, Product):
            waiting.extend(term.factors)
        else:
            if isinstance(term, Quotient):
                divisors.append(term.denominator)
            elif isinstance(term, Parallel):
                divisors.extend((*term.terms, term))
            waiting.extend(children(term))
    return dict.fromkeys(found.values()), divisors


def occurring(*terms: Term) -> dict[Symbol, None]:
    """Return the symbols of some terms, each once, as the keys of a dictionary."""
    return survey(*terms)[0]


PRIME = 2**61 - 1
"""Test points lie in the field of residues of this prime. What is not zero there is not zero."""


def point_value(index: int) -> int:
    """Return the value of the letter of some number at the test point, without any pattern."""
    return pow(1_000_003 + index, 314_159_265_358_979, PRIME)


def residue(term: Term, values: Mapping[Symbol, int]) -> int:
    """Return the value of a term at the test point. Raises Refused when it divides by zero."""
    match term:
        case Number(value) | Quantity(value, _):
            return value.numerator * _inverse_residue(value.denominator) % PRIME
        case Symbol():
            return values[term]
        case Negative(inner):
            return -residue(inner, values) % PRIME
        case Sum(terms):
            return sum(residue(item, values) for item in terms) % PRIME
        case Product(factors):
            found = 1
            for factor in factors:
                found = found * residue(factor, values) % PRIME
            return found
        case Quotient(numerator, denominator):
            below = _inverse_residue(residue(denominator, values))
            return residue(numerator, values) * below % PRIME
        case Power(base, exponent):
            return pow(residue(base, values), whole_exponent(exponent), PRIME)
        case Parallel(terms):
            return _inverse_residue(
                sum(_inverse_residue(residue(item, values)) for item in terms) % PRIME
            )
        case Exponential():
            raise Refused("an exponential stands where algebra is done")
        case _:
            assert_never(term)


def _inverse_residue(value: int) -> int:
    if value == 0:
        raise Refused("it divides by zero")
    return value if value == 1 else pow(value, -1, PRIME)


def dimension(term: Term) -> Dimension | None:
    """Return the dimension of a term; None for zero, which fits with every dimension.

    Raises Refused when a sum adds quantities of different kinds.
    """
    match term:
        case Number(value):
            return NUMBER if value else None
        case Quantity(_, found) | Symbol(_, _, found):
            return found
        case Negative(inner):
            return dimension(inner)
        case Sum(terms) | Parallel(terms):
            return _common_dimension(terms)
        case Product(factors):
            return _product_dimension(factors)
        case Quotient(numerator, denominator):
            above, below = dimension(numerator), dimension(denominator)
            if below is None:
                raise Refused("it divides by zero")
            return None if above is None else above / below
        case Power(base, exponent):
            below = dimension(base)
            return None if below is None else below**exponent
        case Exponential(exponent=power):
            if dimension(power) not in (None, NUMBER):
                raise Refused("the exponent of e has a unit")
            return NUMBER
        case _:
            assert_never(term)


def _common_dimension(terms: tuple[Term, ...]) -> Dimension | None:
    found: Dimension | None = None
    for term in terms:
        other = dimension(term)
        if found is not None and other is not None and found != other:
            raise Refused(f"a sum adds {unit_text(found)} and {unit_text(other)}")
        found = found or other
    return found


def _product_dimension(factors: tuple[Term, ...]) -> Dimension | None:
    volt = ohm = second = 0
    zero = False
    for factor in factors:
        part = factor.dimension if isinstance(factor, Symbol) else dimension(factor)
        if part is None:
            zero = True
        else:
            volt, ohm, second = volt + part.volt, ohm + part.ohm, second + part.second
    return None if zero else Dimension(volt, ohm, second)


def unit_text(found: Dimension) -> str:
    """Return the SI unit of a dimension for a message."""
    pairs = unit_of(found)
    return "·".join(unit if power == 1 else f"{unit}^{power}" for unit, power in pairs) or "1"
