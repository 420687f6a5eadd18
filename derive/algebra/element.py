"""The polynomials themselves: a thin wrapper round python-flint's.

`derive.algebra.polynomial` is the module to import from.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from math import gcd, lcm
from typing import TYPE_CHECKING, Any

from flint import fmpq
from flint.utils.flint_exceptions import DomainError

from derive.algebra.term import Symbol

if TYPE_CHECKING:
    from derive.algebra.polynomial import Ring

Scalar = int | Fraction


class Poly:
    """An immutable polynomial. Operators take polynomials of the same ring, ints and Fractions.

    ``/`` is exact division and raises ArithmeticError when it does not come out.

    >>> from derive.algebra.polynomial import Ring
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
        """Tell whether two polynomials, or a polynomial and a number, are the same.

        Letters count, not their places: polynomials of different rings are compared as well.
        """
        if isinstance(other, Poly) and self.ring is not other.ring:
            return self._by_letters() == other._by_letters()
        if isinstance(other, Poly | int | Fraction):
            return bool(self._value == _raw(other))
        return NotImplemented

    def __hash__(self) -> int:
        """Agree with equality."""
        return hash((frozenset(self.coefficients()), self.total_degree))

    def _by_letters(self) -> dict[frozenset[tuple[Symbol, int]], Fraction]:
        letters = self.ring.symbols
        return {
            frozenset((s, int(e)) for s, e in zip(letters, m, strict=True) if e): c
            for m, c in self.terms()
        }

    def __len__(self) -> int:
        """Return the number of terms."""
        return len(self._value)

    def __bool__(self) -> bool:
        """Tell whether it is not zero."""
        return bool(self._value)

    def __repr__(self) -> str:
        """Return it in letters."""
        return self.text([symbol.name for symbol in self.ring.symbols])

    def text(self, names: Sequence[str]) -> str:
        """Return it in plain text that Python can read, with a name for each letter of the ring."""
        pieces: list[str] = []
        for exponents, c in self.terms():
            factors = [
                name if e == 1 else f"{name}**{e}"
                for name, e in zip(names, exponents, strict=True)
                if e
            ]
            if abs(c) != 1 or not factors:
                factors.insert(0, str(abs(c)))
            if pieces:
                pieces.append(" - " if c < 0 else " + ")
            elif c < 0:
                pieces.append("-")
            pieces.append("*".join(factors))
        return "".join(pieces) or "0"

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

        >>> from derive.algebra.polynomial import Ring
        >>> from derive.algebra.term import resistance
        >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
        >>> (4 * a - b * Fraction(2, 3)).content()
        Fraction(2, 3)
        """
        above, below = 0, 1
        for c in self._value.coeffs():
            above, below = gcd(above, int(c.p)), lcm(below, int(c.q))
        return Fraction(above, below)

    def collect(self, symbol: Symbol) -> tuple[Poly, ...]:
        """Return the coefficients by rising powers of one letter; at least one.

        >>> from derive.algebra.polynomial import Ring
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

        >>> from derive.algebra.polynomial import Ring
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

        >>> from derive.algebra.polynomial import Ring
        >>> from derive.algebra.term import resistance
        >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
        >>> (a * b + a).put({resistance("R2"): Fraction(1, 2)})
        3/2*R1
        """
        index = self.ring._index
        chosen = {index[s]: to_flint(v) for s, v in values.items() if s in index}
        return Poly(self.ring, self._value.subs(chosen)) if chosen else self

    def compose(self, values: Mapping[Symbol, Poly], ring: Ring | None = None) -> Poly:
        """Return it with polynomials in place of letters, in the ring of the polynomials.

        Letters that occur without a replacement must belong to that ring; else KeyError.
        """
        target = self.ring if ring is None else ring
        occurring = self.symbols
        images = [
            values[s] if s in values else target.symbol(s) if s in occurring else target.zero
            for s in self.ring.symbols
        ]
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

    >>> from derive.algebra.polynomial import Ring
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
    above, below = numerator.content(), _signed_content(denominator)
    if above.denominator == 1 and below == 1:
        return numerator, denominator
    ratio = above / below
    upper, lower = numerator * (1 / above), denominator * (1 / below)
    return upper * ratio.numerator, lower * ratio.denominator


def whole_divisor(polys: Iterable[Poly]) -> int:
    """Return the greatest common divisor of all coefficients, which must be whole; 0 for none.

    >>> from derive.algebra.polynomial import Ring
    >>> from derive.algebra.term import resistance
    >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
    >>> whole_divisor([4 * a - 6 * b, 8 * b])
    2
    """
    divisor = 0
    for poly in polys:
        for c in poly._value.coeffs():
            divisor = gcd(divisor, int(c.p))
            if divisor == 1:
                return 1
    return divisor


def _signed_content(poly: Poly) -> Fraction:
    return poly.content() if poly.leading > 0 else -poly.content()


def to_flint(value: Scalar) -> Any:
    """Return a number as flint takes it."""
    return value if isinstance(value, int) else fmpq(value.numerator, value.denominator)


def _raw(other: Poly | Scalar) -> Any:
    return other._value if isinstance(other, Poly) else to_flint(other)


def _exact(value: Any) -> Fraction:
    return Fraction(int(value.p), int(value.q))
