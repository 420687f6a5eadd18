"""Terms as the reader sees them: nothing is reordered, collected or evaluated.

These are the only expressions that steps, documents and writers know. Arithmetic on them is the
business of `derive.algebra.engine`, and, independently, of `derive.checker`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import assert_never

from derive.algebra.dimension import AMPERE, FARAD, NUMBER, OHM, VOLT, Dimension


class SymbolKind(Enum):
    """What a symbol stands for; decides how writers set it."""

    RESISTANCE = "resistance"
    EMF = "emf"
    CURRENT = "current"
    SOURCE_CURRENT = "source current"
    """The current of a current source, which no voltage changes (IEC 60050-131, from memory)."""
    VOLTAGE = "voltage"
    """A potential difference; named ``V(B,A)`` for V_B − V_A, or ``V(R1)`` across a part."""
    POTENTIAL = "potential"
    """The potential of one point; named ``V(B)``."""
    POWER = "power"
    """Named ``P(R1)``."""
    AUXILIARY = "auxiliary"
    """A name given to a sub-expression on the way, such as Δ."""
    CAPACITANCE = "capacitance"
    CHARGE = "charge"
    """Named ``Q(C1)``."""
    ENERGY = "energy"
    """Named ``W(C1)``."""
    COURSE = "course"
    """A quantity that changes with time; named ``v(C1)`` or ``i(C1)``, and set as v(t)."""
    TIME = "time"
    COUNT = "count"
    """A pure number of things: b branches, n junctions."""


@dataclass(frozen=True, slots=True)
class Number:
    """A dimensionless exact number."""

    value: Fraction


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact number with a unit, in SI base units."""

    value: Fraction
    dimension: Dimension


@dataclass(frozen=True, slots=True)
class Symbol:
    """A letter with what it stands for."""

    name: str
    """As in the circuit file: ``R1``, ``E_load``, ``I2``; see `SymbolKind` for made names."""
    kind: SymbolKind
    dimension: Dimension

    def __hash__(self) -> int:
        """Hash the name alone: symbols are hashed often, and hardly ever share a name."""
        return hash(self.name)


@dataclass(frozen=True, slots=True)
class Negative:
    """A term with a minus sign in front."""

    term: Term


@dataclass(frozen=True, slots=True)
class Sum:
    """Terms added in the order shown; a `Negative` item is printed as a subtraction."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Product:
    """Factors multiplied in the order shown."""

    factors: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Quotient:
    """A fraction."""

    numerator: Term
    denominator: Term


@dataclass(frozen=True, slots=True)
class Power:
    """A term raised to a whole power of at least 2."""

    base: Term
    exponent: int


@dataclass(frozen=True, slots=True)
class Parallel:
    """Resistances in parallel, R1 ∥ R2 ∥ …: the reciprocal of the sum of the reciprocals."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class Exponential:
    """The number e raised to a dimensionless term: e^(−t/τ).

    No polynomial: it stands in what tells a course in time, and nowhere in the algebra of
    currents.
    """

    exponent: Term


Term = (
    Number | Quantity | Symbol | Negative | Sum | Product | Quotient | Power | Parallel
    | Exponential
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Equation:
    """Two terms said to be equal."""

    left: Term
    right: Term


ZERO = Number(Fraction(0))
ONE = Number(Fraction(1))


def resistance(name: str) -> Symbol:
    """Return the symbol of a resistance."""
    return Symbol(name, SymbolKind.RESISTANCE, OHM)


def emf(name: str) -> Symbol:
    """Return the symbol of an emf."""
    return Symbol(name, SymbolKind.EMF, VOLT)


def source_current(name: str) -> Symbol:
    """Return the symbol of the current of a current source."""
    return Symbol(name, SymbolKind.SOURCE_CURRENT, AMPERE)


def voltage(to: str, origin: str) -> Symbol:
    """Return the symbol of the potential of one point against another: V_to − V_origin."""
    return Symbol(f"V({to},{origin})", SymbolKind.VOLTAGE, VOLT)


def voltage_across(part: str) -> Symbol:
    """Return the symbol of the voltage across a part."""
    return Symbol(f"V({part})", SymbolKind.VOLTAGE, VOLT)


def potential(point: str) -> Symbol:
    """Return the symbol of the potential of a point against the grounded point."""
    return Symbol(f"V({point})", SymbolKind.POTENTIAL, VOLT)


def capacitance(name: str) -> Symbol:
    """Return the symbol of a capacitance."""
    return Symbol(name, SymbolKind.CAPACITANCE, FARAD)


def current(name: str) -> Symbol:
    """Return the symbol of a current."""
    return Symbol(name, SymbolKind.CURRENT, AMPERE)


def auxiliary(name: str, dimension: Dimension) -> Symbol:
    """Return a name for a sub-expression."""
    return Symbol(name, SymbolKind.AUXILIARY, dimension)


def number(value: int | Fraction) -> Number:
    """Return a dimensionless number."""
    return Number(Fraction(value))


def constant(value: Fraction, dimension: Dimension) -> Term:
    """Return an exact value as a number or a quantity, with its minus sign in front."""
    magnitude: Term = Number(abs(value)) if dimension == NUMBER else Quantity(abs(value), dimension)
    return Negative(magnitude) if value < 0 else magnitude


def negate(term: Term) -> Term:
    """Return the term with the opposite sign, without stacking two minus signs."""
    return term.term if isinstance(term, Negative) else Negative(term)


def total(terms: tuple[Term, ...]) -> Term:
    """Return a sum; nothing for no term, the term itself for one."""
    if not terms:
        return ZERO
    return terms[0] if len(terms) == 1 else Sum(terms)


def product(*factors: Term) -> Term:
    """Return a product; factors of one are left out, products are joined, signs come in front."""
    kept: list[Term] = []
    negative = False
    for factor in factors:
        if isinstance(factor, Negative):
            negative = not negative
            factor = factor.term
        if factor == ONE:
            continue
        kept.extend(factor.factors if isinstance(factor, Product) else (factor,))
    term: Term = ONE if not kept else kept[0] if len(kept) == 1 else Product(tuple(kept))
    return Negative(term) if negative else term


def quotient(above: Term, below: Term) -> Term:
    """Return a fraction; a minus sign of the numerator comes in front of it."""
    if isinstance(above, Negative):
        return Negative(Quotient(above.term, below))
    return Quotient(above, below)


def children(term: Term) -> tuple[Term, ...]:
    """Return the terms directly inside a term, in reading order."""
    match term:
        case Number() | Quantity() | Symbol():
            return ()
        case Negative(inner):
            return (inner,)
        case Sum(terms) | Parallel(terms):
            return terms
        case Product(factors):
            return factors
        case Quotient(numerator, denominator):
            return (numerator, denominator)
        case Power(base, _):
            return (base,)
        case Exponential(exponent):
            return (exponent,)
        case _:
            assert_never(term)


def symbols(term: Term) -> Iterator[Symbol]:
    """Yield every symbol of a term in reading order, repeats included."""
    if isinstance(term, Symbol):
        yield term
    for child in children(term):
        yield from symbols(child)


def without_zeros(term: Term) -> Term:
    """Return the term without what is zero because something in it is the number 0.

    >>> r, i = resistance("R1"), current("I1")
    >>> without_zeros(Sum((Product((r, ZERO)), i))) == i
    True
    """
    match term:
        case Negative(inner):
            kept = without_zeros(inner)
            return ZERO if kept == ZERO else negate(kept)
        case Sum(terms):
            return total(tuple(t for t in map(without_zeros, terms) if t != ZERO))
        case Product(factors):
            parts = tuple(map(without_zeros, factors))
            return ZERO if ZERO in parts else Product(parts)
        case Quotient(numerator, denominator):
            above = without_zeros(numerator)
            return ZERO if above == ZERO else Quotient(above, denominator)
        case Power(base, exponent):
            below = without_zeros(base)
            return ZERO if below == ZERO else Power(below, exponent)
        case _:
            return term


def replace(term: Term, values: Mapping[Symbol, Term]) -> Term:
    """Return the term with symbols replaced and nothing else changed."""
    match term:
        case Symbol():
            return values.get(term, term)
        case Number() | Quantity():
            return term
        case Negative(inner):
            return negate(replace(inner, values))
        case Sum(terms):
            return Sum(tuple(replace(item, values) for item in terms))
        case Parallel(terms):
            return Parallel(tuple(replace(item, values) for item in terms))
        case Product(factors):
            return Product(tuple(replace(factor, values) for factor in factors))
        case Quotient(numerator, denominator):
            return Quotient(replace(numerator, values), replace(denominator, values))
        case Power(base, exponent):
            return Power(replace(base, values), exponent)
        case Exponential(exponent):
            return Exponential(replace(exponent, values))
        case _:
            assert_never(term)
