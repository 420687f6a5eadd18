"""The least and the greatest value of a quantity while the values of a circuit move.

A current or a voltage u is a fraction of two polynomials. In a letter that both hold to the first
power at most it is fractional linear, hence monotone while the denominator keeps its sign: over
such letters the extremes lie at corners (common practice in worst-case analysis, no source). What
is left is a function of one letter, whose turning points are the zeros of a polynomial. A power is
c·u or c·u²: for a given c, the square is greatest at a corner too, and least at one unless u
changes its sign, when the least value is zero.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.polynomial import Poly
from derive.algebra.term import Negative, Power, Product, Quotient, Symbol, SymbolKind
from derive.analysis.tolerance.moving import Moving, Unsettled
from derive.analysis.tolerance.turning import (
    derivative,
    minus,
    times,
    value,
    zeros_between,
)
from derive.derivation.spread import Unbounded

Point = tuple[tuple[Symbol, Fraction], ...]
Lines = tuple[list[Fraction], ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """A quantity as ``factor · (above/determinant)**power``."""

    factor: Poly
    above: Poly
    power: int


@dataclass(frozen=True, slots=True)
class Extremes:
    """The ends of a range, exact, and where they are met; nowhere for the zero of a square."""

    low: Fraction
    low_at: Point
    high: Fraction
    high_at: Point


_LINEAR = (SymbolKind.CURRENT, SymbolKind.VOLTAGE, SymbolKind.POTENTIAL)


def shape_of(moving: Moving, symbol: Symbol) -> Shape:
    """Take a quantity apart. Raises Unsettled for a product of two quantities that both move."""
    term = moving.laws.get(symbol, symbol)
    if symbol.kind in _LINEAR:
        whole, over = moving.fraction(term)
        return Shape(moving.ring.one, whole if over else whole * moving.determinant, 1)
    sign, body = (-1, term.term) if isinstance(term, Negative) else (1, term)
    factor = moving.ring.constant(sign)
    if isinstance(body, Quotient):
        factor = factor / moving.number(body.denominator)
        body = body.numerator
    above: Poly | None = None
    exponent = 1
    for item in body.factors if isinstance(body, Product) else (body,):
        base, power = (item.base, item.exponent) if isinstance(item, Power) else (item, 1)
        if isinstance(base, Symbol) and base in moving.laws and base.kind is SymbolKind.POWER:
            inner = shape_of(moving, base)  # the energy of a power that lasts
            factor, part, over, power = factor * inner.factor, inner.above, 1, inner.power
        else:
            part, over = moving.fraction(base)
        if not over:
            factor = factor * part**power
        elif over == 1 and power <= 2 and above is None:
            above, exponent = part, power
        else:
            raise Unsettled(Unbounded.TERMINALS)
    if above is None:  # nothing, where no current can flow
        return Shape(moving.ring.one, factor * moving.determinant, 1)
    return Shape(factor, above, exponent)


def extremes(moving: Moving, shape: Shape) -> Extremes:
    """Return the least and the greatest value of a quantity. Raises Unsettled."""
    letters = moving.ring.symbols
    polys = (shape.factor, shape.above, moving.determinant)
    bent = [s for s in letters if polys[0].degree(s) > 0 or any(p.degree(s) > 1 for p in polys[1:])]
    if len(bent) > 1:
        raise Unsettled(Unbounded.BENDS)
    found: list[tuple[Fraction, Point]] = []
    signs: set[bool] = set()
    roots: list[Fraction] = []
    for point, (factor, above, below) in _corners(polys, [s for s in letters if s not in bent],
                                                  moving.ends, bent):  # fmt: skip
        for at in _candidates(moving, bent, (factor, above, below), shape.power):
            under = value(below, at)
            if not under:
                raise Unsettled(Unbounded.OPEN)
            signs.add(under > 0)
            root = value(above, at) / under
            size = value(factor, at)
            if shape.power > 1 and size < 0:
                raise Unsettled(Unbounded.BENDS)
            roots.append(root)
            own = ((bent[0], at),) if bent else ()
            whole = dict((*point, *own))
            found.append((size * root**shape.power, tuple((s, whole[s]) for s in letters)))
    if len(signs) != 1:
        raise Unsettled(Unbounded.OPEN)
    low, low_at = min(found, key=lambda item: item[0])
    high, high_at = max(found, key=lambda item: item[0])
    if shape.power > 1 and low > 0 and min(roots) < 0 < max(roots):
        low, low_at = Fraction(0), ()
    return Extremes(low, low_at, high, high_at)


def _candidates(moving: Moving, bent: list[Symbol], lines: Lines, power: int) -> list[Fraction]:
    """Return the ends of the one letter that is left, and where the quantity turns round."""
    if not bent:
        return [Fraction(0)]
    factor, above, below = lines
    low, high = moving.ends[bent[0]]
    under = zeros_between(below, low, high)
    if under is None or under:
        raise Unsettled(Unbounded.OPEN)
    # (f·u^k)' = u^(k−1)·(f'·u + k·f·u'), with u = a/b; the denominators are positive or negative.
    rising = times(times(derivative(factor), above), below)
    bending = minus(times(derivative(above), below), times(above, derivative(below)))
    turns = minus(rising, [-power * c for c in times(factor, bending)])
    found = [zeros_between(turns, low, high)]
    found += [zeros_between(above, low, high)] if power > 1 else []
    inner: list[Fraction] = []
    for zeros in found:
        if zeros is None:
            raise Unsettled(Unbounded.BENDS)
        inner += zeros
    if power > 1 and zeros_between(factor, low, high) != []:
        raise Unsettled(Unbounded.BENDS)
    return [low, high, *sorted(set(inner))]


def _corners(
    polys: tuple[Poly, ...],
    letters: list[Symbol],
    ends: Mapping[Symbol, tuple[Fraction, Fraction]],
    bent: list[Symbol],
    point: Point = (),
) -> Iterator[tuple[Point, Lines]]:
    """Yield each corner with the polynomials there, in the one letter that is left."""
    if not letters:
        yield point, tuple(_line(poly, bent) for poly in polys)
        return
    first, *rest = letters
    for at in ends[first]:
        put = tuple(poly.put({first: at}) for poly in polys)
        yield from _corners(put, rest, ends, bent, (*point, (first, at)))


def _line(poly: Poly, bent: list[Symbol]) -> list[Fraction]:
    parts = poly.collect(bent[0]) if bent else (poly,)
    return [part.constant_value for part in parts]
