"""Exact polynomials and fractions of them: the one narrow door to python-flint.

A `Ring` fixes the letters and their order; a `Poly` is an element of it. Polynomials have rational
coefficients and no units: `Ring.term` puts the units back by comparing dimensions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import assert_never

from flint import Ordering, fmpq_mpoly_ctx

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.element import Poly, Scalar, cancel, common_divisor, to_flint, whole_divisor
from derive.algebra.term import (
    ZERO,
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
    constant,
    product,
    total,
)

__all__ = ["NotPolynomial", "Poly", "Ring", "Scalar", "cancel", "common_divisor", "whole_divisor"]


class NotPolynomial(ValueError):  # noqa: N818  (a verdict on a term)
    """A term holds a quotient of polynomials where a polynomial is needed."""


class Ring:
    """Polynomials over the rationals in given letters.

    The order of the letters is the order in which they are written: within a product, and, first
    letter highest, for the terms of a sum (lexicographic order).

    >>> from derive.algebra.term import Negative, Sum, Product, resistance
    >>> r1, r2 = resistance("R1"), resistance("R2")
    >>> ring = Ring((r1, r2))
    >>> a, b = ring.generators
    >>> (a + b) ** 2 - a * a
    2*R1*R2 + R2**2
    >>> ring.poly(Negative(Sum((r1, Product((r2, r2))))))
    -R1 - R2**2
    """

    __slots__ = ("_context", "_count", "_index", "generators", "one", "symbols", "zero")

    def __init__(self, symbols: Sequence[Symbol]) -> None:
        """Make the ring; a letter may occur once only."""
        self.symbols = tuple(symbols)
        self._index = {symbol: position for position, symbol in enumerate(self.symbols)}
        if len(self._index) != len(self.symbols):
            raise ValueError("a letter occurs twice")
        self._count = len(self.symbols)
        # flint's own names are never shown: ours may hold signs that flint would not take.
        names = [f"x{position}" for position in range(self._count)]
        self._context = fmpq_mpoly_ctx.get(names, Ordering.lex)
        self.zero = Poly(self, self._context.constant(0))
        self.one = Poly(self, self._context.constant(1))
        self.generators = tuple(Poly(self, generator) for generator in self._context.gens())

    def __contains__(self, symbol: Symbol) -> bool:
        """Tell whether a letter belongs to the ring."""
        return symbol in self._index

    def constant(self, value: Scalar) -> Poly:
        """Return a number as an element."""
        return Poly(self, self._context.constant(to_flint(value)))

    def symbol(self, symbol: Symbol) -> Poly:
        """Return a letter as an element. Raises KeyError for one outside the ring."""
        return self.generators[self._index[symbol]]

    def build(self, terms: Mapping[tuple[int, ...], Scalar]) -> Poly:
        """Return the polynomial with these coefficients by exponents.

        >>> from derive.algebra.term import resistance
        >>> Ring((resistance("R1"), resistance("R2"))).build({(1, 1): 3, (0, 2): Fraction(1, 2)})
        3*R1*R2 + 1/2*R2**2
        """
        return Poly(self, self._context.from_dict({m: to_flint(c) for m, c in terms.items()}))

    def poly(self, term: Term) -> Poly:
        """Return a term as a polynomial; the units of its quantities are dropped.

        A quotient is accepted when it divides out. Raises NotPolynomial when it does not, KeyError
        for a letter outside the ring, ZeroDivisionError.
        """
        numerator, denominator = self._fraction(term)
        if denominator is self.one:
            return numerator
        try:
            return numerator / denominator
        except ArithmeticError:
            raise NotPolynomial(f"{term} is not a polynomial") from None

    def fraction(self, term: Term) -> tuple[Poly, Poly]:
        """Return any term as numerator and denominator in lowest terms, as `cancel` leaves them.

        >>> from derive.algebra.term import Parallel, Quotient, number, resistance
        >>> r1, r2 = resistance("R1"), resistance("R2")
        >>> Ring((r1, r2)).fraction(Quotient(Parallel((r1, r2)), Quotient(r1, number(2))))
        (2*R2, R1 + R2)
        """
        return cancel(*self._fraction(term))

    def _fraction(self, term: Term) -> tuple[Poly, Poly]:
        """Return numerator and denominator; the denominator *is* `one` where there is none."""
        match term:
            case Symbol():
                return self.symbol(term), self.one
            case Number(value) | Quantity(value, _):
                return self.constant(value), self.one
            case Negative(inner):
                numerator, denominator = self._fraction(inner)
                return -numerator, denominator
            case Sum(terms):
                return self._sum([self._fraction(item) for item in terms])
            case Product(factors):
                numerator = denominator = self.one
                for factor in factors:
                    above, below = self._fraction(factor)
                    numerator = numerator * above
                    denominator = _times(denominator, below, self.one)
                return numerator, denominator
            case Quotient(above_term, below_term):
                above, under = self._fraction(above_term)
                below, over = self._fraction(below_term)
                return self._divide(_times(above, over, self.one), _times(under, below, self.one))
            case Power(base, exponent):
                numerator, denominator = self._fraction(base)
                if denominator is not self.one:
                    denominator = denominator**exponent
                return numerator**exponent, denominator
            case Parallel(terms):
                pairs = [self._fraction(item) for item in terms]
                if any(above.is_zero for above, _ in pairs):
                    return self.zero, self.one
                above, below = self._sum([(below, above) for above, below in pairs])
                return self._divide(below, above)
            case Exponential():
                raise NotPolynomial(f"{term} is not a polynomial")
            case _:
                assert_never(term)

    def _sum(self, pairs: list[tuple[Poly, Poly]]) -> tuple[Poly, Poly]:
        numerator, denominator = self.zero, self.one
        for above, below in pairs:
            if below is self.one or below == denominator:
                if below is not denominator and below is self.one:
                    above = above * denominator
                numerator = numerator + above
            else:
                numerator = numerator * below + above * denominator
                denominator = _times(denominator, below, self.one)
        return numerator, denominator

    def _divide(self, numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
        if denominator.is_zero:
            raise ZeroDivisionError("the denominator is zero")
        if denominator.is_constant:
            return numerator * (1 / denominator.constant_value), self.one
        return numerator, denominator

    def term(self, element: Poly, dimension: Dimension | None = None) -> Term:
        """Return a polynomial as it is written: a sum in the ring's order, signs in front.

        With a dimension, a coefficient takes the unit that its letters leave open.

        >>> from derive.algebra.dimension import OHM
        >>> from derive.algebra.term import resistance
        >>> r1 = resistance("R1")
        >>> ring = Ring((r1,))
        >>> p = ring.symbol(r1) - 2
        >>> ring.term(p) == Sum((r1, Negative(Number(Fraction(2)))))
        True
        >>> ring.term(p, OHM) == Sum((r1, Negative(Quantity(Fraction(2), OHM))))
        True
        """
        if element.is_zero:
            return ZERO
        return total(tuple(self.monomial(m, c, dimension) for m, c in element.terms()))

    def monomial(
        self, exponents: tuple[int, ...], coefficient: Fraction, dimension: Dimension | None = None
    ) -> Term:
        """Return one product of letters with its coefficient, as `term` writes it."""
        factors: list[Term] = []
        residual = NUMBER if dimension is None else dimension
        for symbol, exponent in zip(self.symbols, exponents, strict=True):
            if exponent:
                factors.append(symbol if exponent == 1 else Power(symbol, int(exponent)))
                if dimension is not None:
                    residual = residual / symbol.dimension ** int(exponent)
        return product(constant(coefficient, residual), *factors)


def _times(a: Poly, b: Poly, one: Poly) -> Poly:
    """Multiply, keeping the identity of `one`."""
    return b if a is one else a if b is one else a * b
