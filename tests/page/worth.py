"""What a side is worth: exactly, or at two places drawn at random modulo a prime.

Every name and every unit has a value drawn at random from the integers modulo a prime (J. T.
Schwartz, 1980, and R. Zippel, 1979, from memory: two different fractions agree there with a
probability of their degree over the prime, which has 127 bits). The same is done with the terms of
the checked steps, so that no algebra is needed to compare the two.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import Dimension
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
from derive.circuit.appearance import EmfSymbol
from tests.page import names
from tests.page.mathematics import PREFIXES, SYMBOLS, Tree

PRIME = 2**127 - 1
_UNITS: dict[str, tuple[Fraction, tuple[int, int, int]]] = {
    "V": (Fraction(1), (1, 0, 0)), "Ω": (Fraction(1), (0, 1, 0)), "s": (Fraction(1), (0, 0, 1)),
    "A": (Fraction(1), (1, -1, 0)), "W": (Fraction(1), (2, -1, 0)), "S": (Fraction(1), (0, -1, 0)),
    "C": (Fraction(1), (1, -1, 1)), "F": (Fraction(1), (0, -1, 1)), "J": (Fraction(1), (2, -1, 1)),
    "%": (Fraction(1, 100), (0, 0, 0)), "Wh": (Fraction(3600), (2, -1, 1)),
    "Ah": (Fraction(3600), (1, -1, 1)), "min": (Fraction(60), (0, 0, 1)),
    "h": (Fraction(3600), (0, 0, 1)), "d": (Fraction(86400), (0, 0, 1)),
}  # fmt: skip
"""Units by V, Ω and s (SI Brochure, 9th edition, tables 4 and 8, from memory)."""
Print = tuple[int, int]
"""What a side is worth at the two places."""


@dataclass(frozen=True)
class Worth:
    """A value in SI base units, its dimension, and the worth of one in its last digit."""

    value: Fraction
    dimension: tuple[int, int, int]
    step: Fraction = Fraction(0)


def worth(tree: Tree) -> Worth | None:
    """Return what a side is worth that is one value; None for any other side."""
    match tree:
        case ("number", digits):
            after = len(digits.partition(".")[2])
            return Worth(Fraction(digits), (0, 0, 0), Fraction(1, 10**after))
        case ("unit", sign):
            prefix, unit = SYMBOLS[sign]
            size, dimension = _UNITS[unit]
            return Worth(size * Fraction(10) ** PREFIXES[prefix], dimension)
        case ("-", inner):
            found = worth(inner)
            return found and Worth(-found.value, found.dimension, found.step)
        case ("+", inner):
            return worth(inner)
        case ("quotient", above, below) if above[0] == below[0] == "number":
            return Worth(Fraction(above[1]) / Fraction(below[1]), (0, 0, 0))
        case ("power", base, exponent) if base[0] == "unit" or base == ("number", "10"):
            found = worth(base)
            assert found is not None
            return Worth(found.value**exponent, tuple(exponent * d for d in found.dimension))
        case ("product", *factors):
            value, step, dimension = Fraction(1), Fraction(0), (0, 0, 0)
            for place, factor in enumerate(factors):
                found = worth(factor)
                if found is None or (factor[0] not in ("unit", "power") and place):
                    return None
                value *= found.value
                step = step * found.value if place else found.step
                dimension = tuple(a + b for a, b in zip(dimension, found.dimension, strict=True))
            return Worth(value, dimension, step)
    return None


class Place:
    """A value for every name and unit."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.known: dict[str, int] = {}
        self.units = tuple(self.drawn(f"unit {k}") for k in range(3))

    def drawn(self, key: str) -> int:
        """Return the value of a key, always the same."""
        if key not in self.known:
            self.known[key] = random.Random(f"{self.seed} {key}").randrange(1, PRIME)
        return self.known[key]

    def tree(self, tree: Tree) -> int:
        """Work out what a page says."""
        match tree:
            case ("number", digits):
                return self.fraction(Fraction(digits))
            case ("name", said):
                return self.drawn(said)
            case ("unit", sign):
                prefix, unit = SYMBOLS[sign]
                size, dimension = _UNITS[unit]
                return self.quantity(size * Fraction(10) ** PREFIXES[prefix], dimension)
            case ("-", inner):
                return -self.tree(inner) % PRIME
            case ("+", inner):
                return self.tree(inner)
            case ("sum", *terms):
                signed = ((1 if sign == "+" else -1) * self.tree(t) for sign, t in terms)
                return sum(signed) % PRIME
            case ("product", *factors):
                return _product(map(self.tree, factors))
            case ("quotient", above, below):
                return self.tree(above) * _inverse(self.tree(below)) % PRIME
            case ("power", base, exponent):
                return pow(self.tree(base), exponent, PRIME)
            case ("parallel", *terms):
                return _inverse(sum(_inverse(self.tree(t)) for t in terms))
            case ("e", power):
                return self.drawn(f"e^{self.tree(power)}")
        raise AssertionError(tree)

    def term(self, term: Term, emf: EmfSymbol) -> int:
        """Work out a term of the derivation by its definition."""
        match term:
            case Number(value):
                return self.fraction(value)
            case Quantity(value, Dimension(volt, ohm, second)):
                return self.quantity(value, (volt, ohm, second))
            case Symbol():
                return self.drawn(names.symbol(term, emf))
            case Negative(inner):
                return -self.term(inner, emf) % PRIME
            case Sum(terms):
                return sum(self.term(t, emf) for t in terms) % PRIME
            case Product(factors):
                return _product(self.term(f, emf) for f in factors)
            case Quotient(above, below):
                return self.term(above, emf) * _inverse(self.term(below, emf)) % PRIME
            case Power(base, exponent):
                return pow(self.term(base, emf), exponent, PRIME)
            case Parallel(terms):
                return _inverse(sum(_inverse(self.term(t, emf)) for t in terms))
            case Exponential(power):
                return self.drawn(f"e^{self.term(power, emf)}")

    def fraction(self, value: Fraction) -> int:
        """Return a number modulo the prime."""
        return value.numerator * _inverse(value.denominator) % PRIME

    def quantity(self, value: Fraction, dimension: tuple[int, ...]) -> int:
        """Return a value with its unit modulo the prime."""
        found = self.fraction(value)
        for unit, power in zip(self.units, dimension, strict=True):
            found = found * pow(unit, power, PRIME) % PRIME
        return found


def _inverse(value: int) -> int:
    return pow(value % PRIME, -1, PRIME)


def _product(values: Iterable[int]) -> int:
    found = 1
    for value in values:
        found = found * value % PRIME
    return found


PLACES = (Place(1), Place(2))


def print_of(tree: Tree) -> Print:
    """Return what a side of a page is worth at both places."""
    one, other = (place.tree(tree) for place in PLACES)
    return one, other


def is_rounding(shown: Worth, exact: Fraction) -> bool:
    """Tell whether digits are those of an exact value, rounded to the nearest."""
    return abs(shown.value - exact) * 2 <= abs(shown.step)


def value_of(term: Term) -> Worth | None:
    """Work out a term without letters; None for one that has some."""
    match term:
        case Number(value):
            return Worth(value, (0, 0, 0))
        case Quantity(value, Dimension(volt, ohm, second)):
            return Worth(value, (volt, ohm, second))
        case Negative(inner):
            found = value_of(inner)
            return found and Worth(-found.value, found.dimension)
        case Sum(terms):
            sizes = [value_of(t) for t in terms]
            if not sizes or any(size is None for size in sizes):
                return None
            known = [size for size in sizes if size is not None]
            return Worth(sum((s.value for s in known), Fraction(0)), known[0].dimension)
        case Product(factors):
            total = Worth(Fraction(1), (0, 0, 0))
            for factor in factors:
                size = value_of(factor)
                if size is None:
                    return None
                total = Worth(total.value * size.value, times(total.dimension, size.dimension, 1))
            return total
        case Quotient(above, below):
            over, under = value_of(above), value_of(below)
            if over is None or under is None:
                return None
            return Worth(over.value / under.value, times(over.dimension, under.dimension, -1))
        case Power(base, exponent):
            size = value_of(base)
            if size is None:
                return None
            a, b, c = (exponent * d for d in size.dimension)
            return Worth(size.value**exponent, (a, b, c))
    return None


def times(
    one: tuple[int, int, int], other: tuple[int, int, int], sign: int
) -> tuple[int, int, int]:
    """Return the dimension of a product, or of a quotient for a sign of -1."""
    a, b, c = (x + sign * y for x, y in zip(one, other, strict=True))
    return a, b, c
