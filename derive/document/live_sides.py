"""How the sides of a chain follow the values: numbers put in, worked out, rounded.

A recipe is taken only when it gives, for the values of the file, exactly the side that is printed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import assert_never

from derive.algebra.dimension import OHM, Dimension
from derive.algebra.name import natural_key
from derive.algebra.term import (
    ONE,
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
    SymbolKind,
    Term,
    constant,
    number,
    product,
    symbols,
    total,
)
from derive.algebra.term import replace as put_in
from derive.document.live_values import Known, Live, has_quantities, value_of
from derive.document.model import Chain, Relation
from derive.typesetting.style import Decimal, Expression


class How(Enum):
    """How numbers stand in for letters."""

    BATTERIES = "batteries"
    """In a fraction, what stands beside each emf is reckoned out, positive terms first."""
    LETTERS = "letters"
    """Each letter gives way to its value."""
    PRODUCTS = "products"
    """A sum of products of resistances becomes one of bare numbers, its unit behind it."""


@dataclass(frozen=True, slots=True)
class PutIn:
    """A side that shows the numbers put into a term."""

    how: How
    term: Term

    @property
    def unit(self) -> Dimension:
        """The dimension of the term."""
        return _unit(self.term)


@dataclass(frozen=True, slots=True)
class ChainRecipe:
    """Numbers that follow some sides in letters."""

    kept: int
    """Sides in front that stay as they are."""
    put_in: tuple[PutIn, ...]
    value: Term
    exact: bool
    """Whether the exact value is shown where it can be read."""
    always: bool
    """Whether it is shown in any case."""
    rounded: bool
    """Whether the rounded value ends the chain."""

    @property
    def unit(self) -> Dimension:
        """The dimension of the value."""
        return _unit(self.value)


@dataclass(frozen=True, slots=True)
class ZeroRecipe:
    """A sum in numbers that is zero whatever the values are."""

    put_in: PutIn


@dataclass(frozen=True, slots=True)
class InputRecipe:
    """A given value, shown as it is typed."""

    symbol: Symbol


def put_into(recipe: PutIn, known: Known, unit: int) -> Term | None:
    """Carry a recipe out; bare numbers are in units of ``10**unit`` Ω. None where it fails."""
    terms = {s: constant(v, s.dimension) for s, v in known.items()}
    match recipe.how:
        case How.LETTERS:
            return put_in(recipe.term, terms)
        case How.BATTERIES:
            return _by_batteries(recipe.term, known)
        case How.PRODUCTS:
            return _products(recipe.term, known, unit)


@dataclass(frozen=True, slots=True)
class BatteryFraction:
    """A fraction whose numerator is linear in emfs and source currents."""

    rows: tuple[tuple[Symbol, Term, Dimension], ...]
    """Each emf and each source current with what stands beside it, and the dimension of that."""
    below: Term | None
    unit_below: Dimension


def battery_fraction(term: Term) -> BatteryFraction | None:
    """Take a formula apart; None where it is no such fraction."""
    negative = isinstance(term, Negative)
    body = term.term if isinstance(term, Negative) else term
    above, below = (
        (body.numerator, body.denominator) if isinstance(body, Quotient) else (body, None)
    )
    emfs = {s for s in symbols(above) if s.kind in _DRIVING}
    rows = []
    for emf in sorted(emfs, key=lambda s: (_DRIVING.index(s.kind), natural_key(s.name))):
        beside = _beside(above, emf, emfs)
        unit = _unit(above) / emf.dimension
        rows.append((emf, Negative(beside) if negative else beside, unit))
    if not rows:
        return None
    unit_below = Dimension() if below is None else _unit(below)
    return BatteryFraction(tuple(rows), below, unit_below)


_DRIVING = (SymbolKind.EMF, SymbolKind.SOURCE_CURRENT)


def _beside(above: Term, emf: Symbol, emfs: set[Symbol]) -> Term:
    """Return the coefficient of an emf: what is left when it is 1 and the others are 0."""
    items = above.terms if isinstance(above, Sum) else (above,)
    mine = tuple(item for item in items if emf in set(symbols(item)))
    return put_in(total(mine), {s: ONE if s == emf else ZERO for s in emfs})


def _by_batteries(term: Term, known: Known) -> Term | None:
    fraction = battery_fraction(term)
    if fraction is None:
        return None
    terms = []
    for emf, beside, unit in fraction.rows:
        size = value_of(beside, known)
        if size is None:
            return None
        if size:
            factor = constant(size, unit)
            terms.append(product(factor, constant(known[emf], emf.dimension)))
    if not terms:
        return None
    terms.sort(key=lambda one: isinstance(one, Negative))
    if fraction.below is None:
        return total(tuple(terms))
    divisor = value_of(fraction.below, known)
    if not divisor:
        return None
    return Quotient(total(tuple(terms)), constant(divisor, fraction.unit_below))


def _dimension(factors: Iterable[Term]) -> Dimension:
    unit = Dimension()
    for factor in factors:
        unit = unit * _unit(factor)
    return unit


def _unit(term: Term) -> Dimension:
    """Return the dimension of a term whose summands all have one."""
    match term:
        case Number():
            return Dimension()
        case Quantity(_, dimension) | Symbol(_, _, dimension):
            return dimension
        case Negative(inner):
            return _unit(inner)
        case Product(factors):
            return _dimension(factors)
        case Sum(terms):
            return _unit(terms[0])
        case Quotient(numerator, denominator):
            return _unit(numerator) / _unit(denominator)
        case Power(base, exponent):
            return _unit(base) ** exponent
        case Exponential():
            return Dimension()
        case Parallel(terms):
            return _unit(terms[0])
        case _:
            assert_never(term)


def _products(term: Term, known: Known, unit: int) -> Term | None:
    if not isinstance(term, Sum):
        return None
    size = Fraction(10) ** unit
    rows: list[Term] = []
    for item in term.terms:
        factors: list[Term] = []
        for factor in item.factors if isinstance(item, Product) else (item,):
            if isinstance(factor, Number):
                factors.append(factor)
                continue
            base, exponent = (
                (factor.base, factor.exponent) if isinstance(factor, Power) else (factor, 1)
            )
            if not isinstance(base, Symbol) or base.dimension != OHM:
                return None
            factors += [number(known[base] / size)] * exponent
        rows.append(factors[0] if len(factors) == 1 else Product(tuple(factors)))
    power = _unit(term)
    return Product((Sum(tuple(rows)), Quantity(size**power.ohm, power)))


def is_value(side: Expression) -> bool:
    """Tell whether a side is one value, worked out."""
    if isinstance(side, Negative):
        side = side.term
    return isinstance(side, Number | Quantity)


def in_letters(side: Expression) -> bool:
    """Tell whether a side holds letters and no value with a unit."""
    if isinstance(side, Decimal) or has_quantities(side):
        return False
    return any(True for _ in symbols(side))


def recipe_of(
    chain: Chain, live: Live, others: Iterable[Term], unit: int
) -> ChainRecipe | ZeroRecipe | None:
    """Return how a chain with numbers follows the values; None where no recipe gives it.

    `others` are terms in letters that numbers may have been put into, beside the chain's own.
    """
    kept = 0
    while kept < len(chain.sides) and in_letters(chain.sides[kept]):
        kept += 1
    letters = [s for s in chain.sides[:kept] if not isinstance(s, Decimal)]
    numbers = chain.sides[kept:]
    sources = [*reversed(letters), *others]
    if not letters:
        return _zero(chain, live, sources, unit)
    if any(r is not Relation.EQUAL for r in chain.relations[: kept - 1]):
        return None
    if not all(live.everywhere(letters[0], other) for other in letters):
        return None
    shown = []
    rest = list(numbers)
    while rest and not isinstance(rest[0], Decimal) and not is_value(rest[0]):
        put = _source_of(rest.pop(0), live, sources, unit)
        if put is None or not live.everywhere(put.term, letters[0]):
            return None
        shown.append(put)
    value = value_of(letters[0], live.file)
    exact = bool(rest) and is_value(rest[0])
    if exact:
        side = rest.pop(0)
        if isinstance(side, Decimal) or value_of(side, {}) != value:
            return None
    rounded = bool(rest) and isinstance(rest[0], Decimal)
    if value is None or len(rest) != rounded:
        return None
    told = exact or bool(shown) or kept > 1
    always = not rounded and (exact or not shown)
    return ChainRecipe(kept, tuple(shown), letters[0], told, always, rounded)


def _source_of(side: Expression, live: Live, sources: list[Term], unit: int) -> PutIn | None:
    for term in sources:
        for how in How:
            recipe = PutIn(how, term)
            known = all(s in live.file for s in symbols(term))
            if known and put_into(recipe, live.file, unit) == side:
                return recipe
    return None


def _zero(chain: Chain, live: Live, sources: list[Term], unit: int) -> ZeroRecipe | None:
    if len(chain.sides) != 2 or chain.relations != (Relation.EQUAL,):
        return None
    sum_, zero = chain.sides
    put = _source_of(sum_, live, sources, unit)
    if put is None or zero != Number(Fraction(0)):
        return None
    return ZeroRecipe(put) if live.everywhere(put.term, zero) else None
