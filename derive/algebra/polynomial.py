"""Exact polynomials and fractions of them: the one narrow door to python-flint.

A `Ring` fixes the letters and their order; a `Poly` is an element of it. Polynomials have rational
coefficients and no units: `Ring.term` puts the units back by comparing dimensions.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import gcd
from typing import Any, assert_never

from flint import Ordering, fmpq, fmpq_mpoly_ctx
from flint.utils.flint_exceptions import DomainError

from derive.algebra.dimension import NUMBER, Dimension
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
    constant,
    product,
    total,
)

Scalar = int | Fraction


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
    2*R1*R2 + R2^2
    >>> ring.poly(Negative(Sum((r1, Product((r2, r2))))))
    -R1 - R2^2
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
        return Poly(self, self._context.constant(_scalar(value)))

    def symbol(self, symbol: Symbol) -> Poly:
        """Return a letter as an element. Raises KeyError for one outside the ring."""
        return self.generators[self._index[symbol]]

    def build(self, terms: Mapping[tuple[int, ...], Scalar]) -> Poly:
        """Return the polynomial with these coefficients by exponents.

        >>> from derive.algebra.term import resistance
        >>> Ring((resistance("R1"), resistance("R2"))).build({(1, 1): 3, (0, 2): Fraction(1, 2)})
        3*R1*R2 + 1/2*R2^2
        """
        return Poly(self, self._context.from_dict({m: _scalar(c) for m, c in terms.items()}))

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
                factors.append(symbol if exponent == 1 else Power(symbol, exponent))
                if dimension is not None:
                    residual = residual / symbol.dimension**exponent
        return product(constant(coefficient, residual), *factors)


class Poly:
    """An immutable polynomial. Operators take polynomials of the same ring, ints and Fractions.

    ``/`` is exact division and raises ArithmeticError when it does not come out.

    >>> from derive.algebra.term import resistance
    >>> ring = Ring((resistance("R1"), resistance("R2")))
    >>> a, b = ring.generators
    >>> (a * a - b * b) / (a + b), 2 * a == a + a, (a - a).is_zero, len(a + b + 1)
    (R1 - R2, True, True, 3)
    """

    __slots__ = ("_value", "ring")

    def __init__(self, ring: Ring, value: Any) -> None:
        """Wrap a flint polynomial; use the methods of `Ring` instead."""
        self.ring = ring
        self._value = value

    def __add__(self, other: Poly | Scalar) -> Poly:
        """Return the sum."""
        return Poly(self.ring, self._value + _raw(other))

    def __sub__(self, other: Poly | Scalar) -> Poly:
        """Return the difference."""
        return Poly(self.ring, self._value - _raw(other))

    def __mul__(self, other: Poly | Scalar) -> Poly:
        """Return the product."""
        return Poly(self.ring, self._value * _raw(other))

    __radd__ = __add__
    __rmul__ = __mul__

    def __rsub__(self, other: Scalar) -> Poly:
        """Return the difference."""
        return Poly(self.ring, _raw(other) - self._value)

    def __neg__(self) -> Poly:
        """Return the polynomial with the opposite sign."""
        return Poly(self.ring, -self._value)

    def __pow__(self, exponent: int) -> Poly:
        """Return a whole power."""
        return Poly(self.ring, self._value**exponent)

    def __truediv__(self, other: Poly | Scalar) -> Poly:
        """Return the exact quotient. Raises ArithmeticError when there is none."""
        try:
            return Poly(self.ring, self._value / _raw(other))
        except DomainError:
            raise ArithmeticError(f"{self} / {other} is not a polynomial") from None

    def __eq__(self, other: object) -> bool:
        """Tell whether two polynomials, or a polynomial and a number, are the same."""
        if isinstance(other, Poly | int | Fraction):
            return bool(self._value == _raw(other))
        return NotImplemented

    def __hash__(self) -> int:
        """Agree with equality."""
        return hash(tuple(self.terms()))

    def __len__(self) -> int:
        """Return the number of terms."""
        return len(self._value)

    def __bool__(self) -> bool:
        """Tell whether it is not zero."""
        return bool(self._value)

    def __repr__(self) -> str:
        """Return it in letters, for messages of tests."""
        return _show(self)

    @property
    def is_zero(self) -> bool:
        """Whether it is 0."""
        return not self._value

    @property
    def is_constant(self) -> bool:
        """Whether it holds no letter."""
        return bool(self._value.is_constant())

    @property
    def constant_value(self) -> Fraction:
        """The value of a polynomial without letters. Raises ValueError for another."""
        if not self._value:
            return Fraction(0)
        if not self._value.is_constant():
            raise ValueError(f"{self} is not a number")
        return _exact(self._value.leading_coefficient())

    @property
    def leading(self) -> Fraction:
        """The coefficient of its first term; 0 for zero."""
        return _exact(self._value.leading_coefficient()) if self._value else Fraction(0)

    @property
    def total_degree(self) -> int:
        """The highest sum of exponents; -1 for zero."""
        return int(self._value.total_degree()) if self._value else -1

    def degree(self, symbol: Symbol) -> int:
        """Return the highest exponent of a letter; -1 for zero."""
        return int(self._value.degrees()[self.ring._index[symbol]]) if self._value else -1

    @property
    def symbols(self) -> tuple[Symbol, ...]:
        """The letters that occur, in the ring's order."""
        if not self._value:
            return ()
        degrees = self._value.degrees()
        return tuple(s for s, degree in zip(self.ring.symbols, degrees, strict=True) if degree)

    def coefficients(self) -> tuple[Fraction, ...]:
        """Return the coefficients in the ring's order of terms."""
        return tuple(_exact(c) for c in self._value.coeffs())

    def monomials(self) -> tuple[tuple[int, ...], ...]:
        """Return the exponents of each term, in the ring's order."""
        return tuple(self._value.monoms())

    def terms(self) -> Iterator[tuple[tuple[int, ...], Fraction]]:
        """Yield exponents and coefficient of each term, in the ring's order."""
        return zip(self.monomials(), self.coefficients(), strict=True)

    def content(self) -> Fraction:
        """Return the positive rational that leaves whole coefficients without common divisor.

        >>> from derive.algebra.term import resistance
        >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
        >>> (4 * a - b * Fraction(2, 3)).content()
        Fraction(2, 3)
        """
        above, below = 0, 1
        for c in self.coefficients():
            above = gcd(above, c.numerator)
            below = below * c.denominator // gcd(below, c.denominator)
        return Fraction(above, below)

    def collect(self, symbol: Symbol) -> tuple[Poly, ...]:
        """Return the coefficients by rising powers of one letter; at least one.

        >>> from derive.algebra.term import resistance
        >>> ring = Ring((resistance("R1"), resistance("R2")))
        >>> a, b = ring.generators
        >>> (a * b - 3 * a + b).collect(resistance("R1"))
        (R2, R2 - 3)
        """
        position = self.ring._index[symbol]
        count = max(self.degree(symbol), 0) + 1
        parts: list[dict[tuple[int, ...], Any]] = [{} for _ in range(count)]
        for exponents, c in self._value.terms():
            rest = (*exponents[:position], 0, *exponents[position + 1 :])
            parts[exponents[position]][rest] = c
        make = self.ring._context.from_dict
        return tuple(Poly(self.ring, make(part)) for part in parts)

    def linear(self, symbols: Sequence[Symbol]) -> tuple[tuple[Poly, ...], Poly]:
        """Return (coefficient of each letter, rest) of a polynomial linear in these letters.

        Raises ValueError when it is not linear in them together.

        >>> from derive.algebra.term import current, resistance
        >>> ring = Ring((current("I1"), current("I2"), resistance("R1")))
        >>> i1, i2, r1 = ring.generators
        >>> (r1 * i1 - 2 * i2 + r1).linear((current("I1"), current("I2")))
        ((R1, -2), R1)
        """
        positions = [self.ring._index[symbol] for symbol in symbols]
        parts: list[dict[tuple[int, ...], Any]] = [{} for _ in range(len(positions) + 1)]
        for exponents, c in self._value.terms():
            target = len(positions)
            rest = list(exponents)
            for number, position in enumerate(positions):
                if exponents[position]:
                    if exponents[position] > 1 or target < len(positions):
                        raise ValueError(f"{self} is not linear")
                    target = number
                    rest[position] = 0
            parts[target][tuple(rest)] = c
        made = [Poly(self.ring, self.ring._context.from_dict(part)) for part in parts]
        return tuple(made[:-1]), made[-1]

    def put(self, values: Mapping[Symbol, Scalar]) -> Poly:
        """Return it with numbers in place of letters, in the same ring; other letters stay.

        >>> from derive.algebra.term import resistance
        >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
        >>> (a * b + a).put({resistance("R2"): Fraction(1, 2)})
        3/2*R1
        """
        index = self.ring._index
        chosen = {index[s]: _scalar(v) for s, v in values.items() if s in index}
        return Poly(self.ring, self._value.subs(chosen)) if chosen else self

    def compose(self, values: Mapping[Symbol, Poly], ring: Ring | None = None) -> Poly:
        """Return it with polynomials in place of letters, in the ring of the polynomials.

        Letters without a replacement must belong to that ring.
        """
        target = self.ring if ring is None else ring
        images = [values[s] if s in values else target.symbol(s) for s in self.ring.symbols]
        raw = self._value.compose(*(p._value for p in images), ctx=target._context)
        return Poly(target, raw)

    def evaluate(self, values: Mapping[Symbol, Scalar]) -> Fraction:
        """Return its value with a number for every letter that occurs. Raises ValueError."""
        return self.put(values).constant_value

    def factors(self) -> tuple[Fraction, tuple[tuple[Poly, int], ...]]:
        """Return (constant, ((irreducible factor, exponent), …))."""
        lead, found = self._value.factor()
        return _exact(lead), tuple((Poly(self.ring, p), int(k)) for p, k in found)


def common_divisor(a: Poly, b: Poly) -> Poly:
    """Return the greatest common divisor, primitive with a positive first coefficient.

    >>> from derive.algebra.term import resistance
    >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
    >>> common_divisor(2 * a * a - 2 * b * b, 4 * a + 4 * b)
    R1 + R2
    """
    raw = Poly(a.ring, a._value.gcd(b._value))
    return raw if not raw else raw * (1 / _signed_content(raw))


def cancel(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    """Return an equal fraction in lowest terms.

    All coefficients are whole, without a common divisor over both, and the first one of the
    denominator is positive. Raises ZeroDivisionError.
    """
    if denominator.is_zero:
        raise ZeroDivisionError("the denominator is zero")
    if numerator.is_zero:
        return numerator.ring.zero, numerator.ring.one
    if not denominator.is_constant:
        shared = numerator._value.gcd(denominator._value)
        if not shared.is_constant():
            numerator = Poly(numerator.ring, numerator._value / shared)
            denominator = Poly(numerator.ring, denominator._value / shared)
    below = _signed_content(denominator)
    ratio = numerator.content() / below
    upper = numerator * (1 / numerator.content())
    lower = denominator * (1 / below)
    return upper * ratio.numerator, lower * ratio.denominator


def _signed_content(poly: Poly) -> Fraction:
    return poly.content() if poly.leading > 0 else -poly.content()


def _times(a: Poly, b: Poly, one: Poly) -> Poly:
    """Multiply, keeping the identity of `one`."""
    return b if a is one else a if b is one else a * b


def _scalar(value: Scalar) -> Any:
    return value if isinstance(value, int) else fmpq(value.numerator, value.denominator)


def _raw(other: Poly | Scalar) -> Any:
    return other._value if isinstance(other, Poly) else _scalar(other)


def _exact(value: Any) -> Fraction:
    return Fraction(int(value.p), int(value.q))


def _show(poly: Poly) -> str:
    text = ""
    for exponents, c in poly.terms():
        letters = "*".join(
            s.name + (f"^{e}" if e > 1 else "")
            for s, e in zip(poly.ring.symbols, exponents, strict=True)
            if e
        )
        size = "" if abs(c) == 1 and letters else str(abs(c))
        body = "*".join(piece for piece in (size, letters) if piece)
        sign = " - " if c < 0 else " + "
        text += (sign if text else sign.strip(" +")) + body
    return text or "0"
