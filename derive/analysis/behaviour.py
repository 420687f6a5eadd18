"""How a fraction of polynomials behaves: limits, derivatives, special cases.

All letters are positive, so that a polynomial whose terms have one sign is never zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import assert_never

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.polynomial import Poly, cancel
from derive.algebra.term import (
    ZERO,
    Equation,
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
    SymbolKind,
    Term,
    negate,
    product,
    quotient,
)
from derive.analysis.expressions import DRIVING, by_battery, shared_letters
from derive.analysis.letters import letters_dimension
from derive.derivation.sense import Response, Toward


@dataclass(frozen=True, slots=True)
class Fraction:
    """A fraction in lowest terms, its divisor with plus signs only."""

    above: Poly
    below: Poly

    def depends_on(self, letter: Symbol) -> bool:
        """Tell whether a letter occurs."""
        return letter in self.above.symbols or letter in self.below.symbols

    def size(self, names: Mapping[Poly, Symbol]) -> int:
        """Return how much there is to write, where some divisors have names."""
        below = () if self.below in names else self.below.monomials()
        return sum(1 + sum(map(int, exponents)) for exponents in (*self.above.monomials(), *below))


def sign(poly: Poly) -> int:
    """Return 1 or −1 where all terms have that sign, else 0."""
    coefficients = poly.coefficients()
    if not coefficients:
        return 0
    return 1 if min(coefficients) > 0 else -1 if max(coefficients) < 0 else 0


def lowest(above: Poly, below: Poly) -> Fraction | None:
    """Return a fraction in lowest terms; None where its divisor may vanish."""
    if not below:
        return None
    top, bottom = cancel(above, below)
    if sign(bottom) < 0:
        top, bottom = -top, -bottom
    return Fraction(top, bottom) if sign(bottom) > 0 else None


def tends_to(fraction: Fraction, letter: Symbol, to: Toward) -> Fraction | None:
    """Return what a fraction tends to; None where it grows without bound."""
    if not fraction.above:
        return fraction
    upper, lower = (part.collect(letter) for part in (fraction.above, fraction.below))
    if to is Toward.INFINITY:
        upper, lower = upper[::-1], lower[::-1]
        order = len(lower) - len(upper)
    else:
        order = _first(upper) - _first(lower)
    if order > 0:
        ring = fraction.above.ring
        return Fraction(ring.zero, ring.one)
    if order < 0:
        return None
    return lowest(upper[_first(upper)], lower[_first(lower)])


def _first(parts: tuple[Poly, ...]) -> int:
    return next(k for k, part in enumerate(parts) if part)


@dataclass(frozen=True, slots=True)
class Rate:
    """How a fraction follows a letter; see `derive.derivation.step.Trend`."""

    response: Response
    above: Poly
    below: Poly
    squared: bool = False
    """Whether the rate is over the square of `below`."""


def rate(fraction: Fraction, letter: Symbol) -> Rate | None:
    """Return which way a fraction goes with a letter; None where that depends on the values."""
    above, below = fraction.above, fraction.below
    over, under = slope(above, letter), slope(below, letter)
    change = over * below - above * under
    direction = sign(change)
    if not direction:
        return None
    response = Response.RISES if direction > 0 else Response.FALLS
    if not under:
        return Rate(response, *cancel(over * direction, below))
    return Rate(response, change * direction, below, squared=True)


def weakening(fraction: Fraction, letter: Symbol) -> Rate | None:
    """Return how a fraction gets smaller in size with a letter of its divisor alone, or None."""
    under = slope(fraction.below, letter)
    if letter in fraction.above.symbols or sign(under) <= 0:
        return None
    return Rate(Response.WEAKENS, *cancel(under, fraction.below))


def balancing(factor: Poly, free: Sequence[Symbol]) -> Equation | None:
    """Return ``R1 R4 = R2 R3`` for a difference of two products of resistances that move alone.

    None for any other polynomial. The last resistance ends the left side.
    """
    terms, held, ring = list(factor.terms()), factor.symbols, factor.ring
    if len(terms) != 2 or sign(factor) or not set(held) <= set(free):
        return None
    if any(s.kind is not SymbolKind.RESISTANCE for s in held):
        return None
    letter = held[-1]
    rest, lead = factor.collect(letter)[:2]
    if factor.degree(letter) != 1 or not rest:
        return None
    (((left, one),), ((right, other),)) = list(lead.terms()), list(rest.terms())
    unit = letters_dimension(factor)
    ends = product(ring.monomial(left, abs(one), unit / letter.dimension), letter)
    return Equation(ends, ring.monomial(right, abs(other), unit))


def slope(poly: Poly, letter: Symbol) -> Poly:
    """Return the derivative by a letter."""
    found, power = poly.ring.zero, poly.ring.one
    for exponent, part in enumerate(poly.collect(letter)[1:], start=1):
        found = found + part * power * exponent
        power = power * poly.ring.symbol(letter)
    return found


def term_of(fraction: Fraction, dimension: Dimension, names: Mapping[Poly, Symbol]) -> Term:
    """Return a fraction as it is written, its divisor by its name where it has one."""
    above, below = fraction.above, fraction.below
    if not above:
        return ZERO
    unit = letters_dimension(below)
    top = _product(above, dimension * unit)
    return top if below == 1 else quotient(top, _divisor(below, unit, names))


def rate_term(found: Rate, dimension: Dimension, names: Mapping[Poly, Symbol]) -> Term:
    """Return a rate as it is written."""
    if not found.squared:
        return term_of(Fraction(found.above, found.below), dimension, names)
    unit = letters_dimension(found.below)
    divisor = _divisor(found.below, unit, names)
    return quotient(_product(found.above, dimension * unit**2), Power(divisor, 2))


def _product(poly: Poly, dimension: Dimension) -> Term:
    """Return what all terms share, times the rest grouped by what drives the currents."""
    if sign(poly) < 0:
        return negate(_product(-poly, dimension))
    shared = shared_letters(poly)
    if len(poly) == 1 or any(s.kind in DRIVING for s in shared.symbols):
        return by_battery(poly, dimension)
    outside = letters_dimension(shared)
    return product(poly.ring.term(shared, outside), by_battery(poly / shared, dimension / outside))


def _divisor(below: Poly, unit: Dimension, names: Mapping[Poly, Symbol]) -> Term:
    name = names.get(below)
    return name if name is not None and name.dimension == unit else below.ring.term(below, unit)


def unit_of_term(term: Term) -> Dimension:
    """Return the dimension of a term, all summands of which have the same."""
    match term:
        case Number() | Exponential():
            return NUMBER
        case Quantity(_, dimension) | Symbol(_, _, dimension):
            return dimension
        case Negative(inner):
            return unit_of_term(inner)
        case Sum(terms) | Parallel(terms):
            return unit_of_term(terms[0])
        case Product(factors):
            found = NUMBER
            for factor in factors:
                found = found * unit_of_term(factor)
            return found
        case Quotient(above, below):
            return unit_of_term(above) / unit_of_term(below)
        case Power(base, exponent):
            return unit_of_term(base) ** exponent
        case _:
            assert_never(term)
