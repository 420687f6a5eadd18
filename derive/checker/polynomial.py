"""Exact arithmetic of the checker: polynomials and rational functions.

A polynomial is a dictionary from monomials to whole coefficients. A monomial is one integer that
holds 16 bits of exponent for each symbol, so that two monomials are multiplied by adding them. A
rational function is a polynomial over a whole number and powers of factors; factors are told apart
by comparing them, and no greatest common divisor of polynomials is ever taken: two functions are
equal when the numerator of their difference over a common denominator is empty.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import gcd, lcm
from typing import NamedTuple, assert_never

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
)

Polynomial = dict[int, int]

_BITS = 16
_MOST_PRODUCTS = 50_000_000
"""A multiplication with more pairs of terms than this is refused rather than waited for."""
_MOST_POWER = 4096
"""The highest exponent in what `fraction` returns: a few such polynomials may be multiplied."""


class Refused(Exception):  # noqa: N818  (a verdict, not a failure of the program)
    """A step does not hold; the text says why."""


class Rational(NamedTuple):
    """``numerator / (scale · Π factor^exponent)``. A tuple, because very many are made."""

    numerator: Polynomial
    scale: int = 1
    """Positive."""
    factors: tuple[tuple[int, int], ...] = ()
    """(number of the factor in its expansion, exponent), in order of number."""
    degree: int = 0
    """No exponent of the numerator is larger; keeps the 16 bits from running over."""


class Expansion:
    """Turns terms into rational functions, with some symbols replaced by what they stand for."""

    def __init__(self, rules: Mapping[Symbol, Term] | None = None) -> None:
        """Take the replacements; a right side may hold further symbols that are replaced."""
        self._rules = rules or {}
        self._known: dict[Symbol, Rational] = {}
        self._asked: set[Symbol] = set()
        # Hashing a symbol is slow, so the same object is found by its identity. It is kept in the
        # value, because an identity is good only as long as its object lives.
        self._objects: dict[int, tuple[Symbol, Rational]] = {}
        self._numbers: dict[frozenset[tuple[int, int]], int] = {}
        self._factors: list[tuple[Polynomial, int]] = []

    def is_zero(self, term: Term) -> bool:
        """Return whether a term is zero for all values of the symbols that are left in it.

        Raises Refused when it divides by zero or when replacements go round in a circle.
        """
        return not self.rational(term).numerator

    def is_plainly_positive(self, term: Term) -> bool:
        """Return whether a term is a quotient of sums of positive products, and not zero."""
        found = self.rational(term)
        below = (self._factors[number][0] for number, _ in found.factors)
        sums = (found.numerator, *below)
        return bool(found.numerator) and all(c > 0 for p in sums for c in p.values())

    def constant(self, term: Term) -> Fraction | None:
        """Return the value of a term; None when a symbol is left in it."""
        found = self.rational(term)
        if found.factors or any(found.numerator):
            return None
        return Fraction(found.numerator.get(0, 0), found.scale)

    def monomials(self, term: Term) -> dict[tuple[tuple[Symbol, int], ...], Fraction] | None:
        """Return a polynomial by its products of powers; None where a symbol is divided by."""
        found = self.rational(term)
        if found.factors:
            return None
        places = [
            (next(iter(known.numerator)).bit_length() - 1, symbol)
            for symbol, known in self._known.items()
            if symbol not in self._rules
        ]
        top = (1 << _BITS) - 1
        return {
            tuple((s, power) for place, s in places if (power := monomial >> place & top)):
            Fraction(coefficient, found.scale)
            for monomial, coefficient in found.numerator.items()
        }  # fmt: skip

    def rational(self, term: Term) -> Rational:
        """Return the rational function a term stands for. Raises Refused as `is_zero` does."""
        match term:
            case Symbol():
                found = self._objects.get(id(term))
                if found is None:
                    found = self._objects[id(term)] = (term, self._symbol(term))
                return found[1]
            case Number(value) | Quantity(value, _):
                return Rational({0: value.numerator} if value else {}, value.denominator)
            case Negative(inner):
                return _negated(self.rational(inner))
            case Sum(terms):
                return self._add([self.rational(item) for item in terms])
            case Product(factors):
                return self._product(factors)
            case Quotient(numerator, denominator):
                return _multiply([self.rational(numerator), self._reciprocal(denominator)])
            case Power(base, exponent):
                return _multiply([self.rational(base)] * whole_exponent(exponent))
            case Parallel(terms):
                return self._inverse(self._add([self._reciprocal(item) for item in terms]))
            case Exponential():
                raise Refused("an exponential stands where algebra is done")
            case _:
                assert_never(term)

    def fraction(self, term: Term) -> tuple[Polynomial, Polynomial]:
        """Return a term as numerator and denominator. Raises Refused as `is_zero` does."""
        found = self.rational(term)
        below, degree = self._expanded(found.factors)
        if max(degree, found.degree) > _MOST_POWER:
            raise Refused("the powers in it are too high to be checked")
        return found.numerator, times({0: found.scale}, below)

    def place(self, symbol: Symbol) -> int:
        """Return where the exponent of a symbol stands in a monomial, for `powers`.

        Raises Refused for one that is replaced by more than a letter.
        """
        monomials = list(self._symbol(symbol).numerator)
        if symbol in self._rules or len(monomials) != 1:
            raise Refused(f"{symbol.name} stands for other letters")
        return monomials[0].bit_length() - 1

    @property
    def left(self) -> set[Symbol]:
        """The symbols met so far that nothing replaces."""
        return self._asked - self._rules.keys()

    def _product(self, factors: tuple[Term, ...]) -> Rational:
        """Multiply factors. Most terms of a long sum are products of symbols met before."""
        known = self._objects
        items = []
        for factor in factors:
            found = known.get(id(factor))
            items.append(self.rational(factor) if found is None else found[1])
        return _multiply(items)

    def _symbol(self, symbol: Symbol) -> Rational:
        if symbol not in self._known:
            if symbol in self._asked:
                raise Refused(f"the expression for {symbol.name} goes round in a circle")
            self._asked.add(symbol)
            if symbol in self._rules:
                self._known[symbol] = self.rational(self._rules[symbol])
            else:
                # The number of the symbol is its place among all symbols that were asked for.
                position = _BITS * (len(self._asked) - 1)
                self._known[symbol] = Rational({1 << position: 1}, degree=1)
        return self._known[symbol]

    def _reciprocal(self, term: Term) -> Rational:
        """Return one over a term, keeping the factors of a product apart."""
        match term:
            case Product(factors):
                return _multiply([self._reciprocal(factor) for factor in factors])
            case Power(base, exponent):
                return _multiply([self._reciprocal(base)] * whole_exponent(exponent))
            case Quotient(numerator, denominator):
                return _multiply([self.rational(denominator), self._reciprocal(numerator)])
            case _:
                return self._inverse(self.rational(term))

    def _inverse(self, rational: Rational) -> Rational:
        if not rational.numerator:
            raise Refused("it divides by zero")
        content = gcd(*rational.numerator.values())
        if rational.numerator[max(rational.numerator)] < 0:
            content = -content
        factor = {m: c // content for m, c in rational.numerator.items()}
        over, degree = self._expanded(rational.factors)
        sign = 1 if content > 0 else -1
        numerator = times({0: sign * rational.scale}, over)
        below = () if factor == {0: 1} else ((self._number(factor, rational.degree), 1),)
        return _reduced(Rational(numerator, abs(content), below, degree))

    def _number(self, factor: Polynomial, degree: int) -> int:
        key = frozenset(factor.items())
        if key not in self._numbers:
            self._numbers[key] = len(self._factors)
            self._factors.append((factor, degree))
        return self._numbers[key]

    def _expanded(self, factors: Iterable[tuple[int, int]]) -> tuple[Polynomial, int]:
        polynomial, total = {0: 1}, 0
        for number, exponent in factors:
            factor, degree = self._factors[number]
            total = _bounded(total + degree * exponent)
            for _ in range(exponent):
                polynomial = times(polynomial, factor)
        return polynomial, total

    def _add(self, items: list[Rational]) -> Rational:
        """Add over the least common multiple of the denominators, whose factors are atoms."""
        scale = lcm(*(item.scale for item in items))
        sums: dict[tuple[tuple[int, int], ...], tuple[Polynomial, int]] = {}
        common: dict[int, int] = {}
        for item in items:
            polynomial, degree = sums.setdefault(item.factors, ({}, 0))
            _accumulate(polynomial, item.numerator, scale // item.scale)
            sums[item.factors] = (polynomial, max(degree, item.degree))
            for number, exponent in item.factors:
                common[number] = max(exponent, common.get(number, 0))
        numerator: Polynomial = {}
        highest = 0
        for factors, (polynomial, degree) in sums.items():
            own = dict(factors)
            missing = [(n, e - own.get(n, 0)) for n, e in common.items()]
            cofactor, more = self._expanded(missing)
            highest = max(highest, _bounded(degree + more))
            _accumulate(numerator, times(polynomial, cofactor), 1)
        left = {m: c for m, c in numerator.items() if c}
        return _reduced(Rational(left, scale, tuple(sorted(common.items())), highest))


def minus(first: Polynomial, second: Polynomial) -> Polynomial:
    """Subtract."""
    found = dict(first)
    _accumulate(found, second, -1)
    return {m: c for m, c in found.items() if c}


def powers(polynomial: Polynomial, place: int) -> dict[int, Polynomial]:
    """Return the coefficients of the powers of one symbol that occur."""
    found: dict[int, Polynomial] = {}
    for monomial, coefficient in polynomial.items():
        exponent = monomial >> place & (1 << _BITS) - 1
        found.setdefault(exponent, {})[monomial - (exponent << place)] = coefficient
    return found


def slope(polynomial: Polynomial, place: int) -> Polynomial:
    """Return the derivative by one symbol."""
    found: Polynomial = {}
    for exponent, part in powers(polynomial, place).items():
        if exponent:
            shift = exponent - 1 << place
            found |= {monomial + shift: exponent * c for monomial, c in part.items()}
    return found


def sign(polynomial: Polynomial) -> int:
    """Return 1 or −1 where all terms have that sign, so that positive letters cannot change it."""
    if not polynomial:
        return 0
    return 1 if min(polynomial.values()) > 0 else -1 if max(polynomial.values()) < 0 else 0


def whole_exponent(exponent: int) -> int:
    """Return an exponent. Raises Refused when it is none that a power may have."""
    if exponent < 1:
        raise Refused(f"a power has the exponent {exponent}")
    return _bounded(exponent)


def _bounded(degree: int) -> int:
    if degree >= 1 << _BITS:
        raise Refused("the powers in it are too high to be checked")
    return degree


def _accumulate(into: Polynomial, polynomial: Polynomial, times: int) -> None:
    for monomial, coefficient in polynomial.items():
        into[monomial] = into.get(monomial, 0) + coefficient * times


def times(first: Polynomial, second: Polynomial) -> Polynomial:
    """Multiply. Raises Refused for too many pairs of terms; exponents must not run over."""
    short, long = (first, second) if len(first) <= len(second) else (second, first)
    if len(short) == 1:
        [(shift, factor)] = short.items()
        return {shift + m: factor * c for m, c in long.items()}
    if len(short) * len(long) > _MOST_PRODUCTS:
        raise Refused("it is too large to be checked")
    found: Polynomial = {}
    for shift, factor in short.items():
        for monomial, coefficient in long.items():
            place = shift + monomial
            found[place] = found.get(place, 0) + factor * coefficient
    return {m: c for m, c in found.items() if c}


def _multiply(items: list[Rational]) -> Rational:
    """Multiply; single terms, which are most of what is met, are gathered into one."""
    scale, degree, monomial, coefficient = 1, 0, 0, 1
    long: list[Polynomial] = []
    exponents: dict[int, int] = {}
    for item in items:
        degree += item.degree
        if len(item.numerator) == 1:
            [(shift, factor)] = item.numerator.items()
            monomial += shift
            coefficient *= factor
        else:
            long.append(item.numerator)
        if item.scale != 1:
            scale *= item.scale
        for number, exponent in item.factors:
            exponents[number] = exponents.get(number, 0) + exponent
    numerator = {monomial: coefficient}
    for polynomial in long:
        numerator = times(numerator, polynomial)
    below = tuple(sorted(exponents.items())) if exponents else ()
    return _reduced(Rational(numerator, scale, below, _bounded(degree)))


def _negated(rational: Rational) -> Rational:
    numerator = {m: -c for m, c in rational.numerator.items()}
    return Rational(numerator, rational.scale, rational.factors, rational.degree)


def _reduced(rational: Rational) -> Rational:
    """Take whole numbers out of numerator and scale, so that they stay small."""
    common = gcd(rational.scale, *rational.numerator.values()) if rational.scale > 1 else 1
    if common == 1:
        return rational
    numerator = {m: c // common for m, c in rational.numerator.items()}
    return Rational(numerator, rational.scale // common, rational.factors, rational.degree)
