"""Terms made from polynomials, as a person would write them."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.dimension import Dimension
from derive.algebra.polynomial import Poly
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    negate,
    product,
    total,
)
from derive.analysis.letters import letters_dimension
from derive.analysis.plan import LinearRow


def row_equation(row: LinearRow, unknowns: tuple[Symbol, ...], right: Dimension) -> Equation:
    """Return Σ coefficient · unknown = right side as it is written."""
    left = []
    for poly, unknown in zip(row.coefficients, unknowns, strict=True):
        if poly:
            left.append(scaled(poly, unknown, right / unknown.dimension))
    return Equation(total(tuple(left)), by_battery(row.right, right))


def scaled(poly: Poly, unknown: Symbol, dimension: Dimension) -> Term:
    """Return coefficient · unknown, with the minus sign in front where all terms have one."""
    return _times(poly, unknown, dimension)


def _times(poly: Poly, factor: Term, dimension: Dimension) -> Term:
    """Return a polynomial times a term: signs in front, then what all its terms share."""
    coefficients = poly.coefficients()
    if len(coefficients) < 2:
        return product(poly.ring.term(poly, dimension), factor)
    if all(c < 0 for c in coefficients):
        return Negative(_times(-poly, factor, dimension))
    shared = shared_letters(poly)
    if shared == poly.ring.one:
        return Product((positive_first(poly.ring.term(poly, dimension)), factor))
    unit = letters_dimension(shared)
    rest = positive_first(poly.ring.term(poly / shared, dimension / unit))
    return product(poly.ring.term(shared, unit), rest, factor)


def shared_letters(poly: Poly) -> Poly:
    """Return the product of letters that divides every term."""
    least = [min(exponents) for exponents in zip(*poly.monomials(), strict=True)]
    return poly.ring.build({tuple(int(e) for e in least): 1})


def positive_first(term: Term) -> Term:
    """Return a sum with its positive terms in front, as a reader expects it."""
    if not isinstance(term, Sum):
        return term
    return Sum(tuple(sorted(term.terms, key=lambda item: isinstance(item, Negative))))


DRIVING = (SymbolKind.EMF, SymbolKind.VOLTAGE, SymbolKind.SOURCE_CURRENT, SymbolKind.CURRENT)
"""What drives the currents of a circuit, or is given of them: every current is a sum of multiples
of these."""


def by_battery(poly: Poly, dimension: Dimension) -> Term:
    """Return a polynomial grouped by the emfs in it: (R2 + R3) E1 − R3 E2.

    Emfs with the same factor share it: R3 (E1 − E2). Source currents are grouped as well.
    """
    ring = poly.ring
    driving = [s for s in poly.symbols if s.kind in DRIVING]
    driving.sort(key=lambda s: DRIVING.index(s.kind))
    try:
        parts, rest = poly.linear(driving)
    except ValueError:
        return positive_first(ring.term(poly, dimension))
    terms: list[Term] = []
    for part, group in _groups(zip(driving, parts, strict=True)):
        terms.extend(_grouped(part, group, dimension))
    if rest:
        constant_part = ring.term(rest, dimension)
        terms.extend(constant_part.terms if isinstance(constant_part, Sum) else (constant_part,))
    return positive_first(total(tuple(terms)))


_Group = list[tuple[Symbol, bool]]
"""Emfs, or source currents, and whether each is added."""


def _groups(pairs: Iterable[tuple[Symbol, Poly]]) -> list[tuple[Poly, _Group]]:
    """Return the factors with the emfs or the source currents that have them."""
    found: list[tuple[Poly, _Group]] = []
    for driving, part in pairs:
        for known, group in found:
            alike = group[0][0].dimension == driving.dimension
            if alike and part in (known, -known):
                group.append((driving, part == known))
                break
        else:
            found.append((part, [(driving, True)]))
    return found


def _grouped(part: Poly, group: _Group, dimension: Dimension) -> tuple[Term, ...]:
    """Return one term for emfs with one factor, or one for each where the factor is a number."""
    if len(group) == 1 or part.is_constant:
        signed = [(s, part if plus else -part) for s, plus in group]
        return tuple(scaled(factor, s, dimension / s.dimension) for s, factor in signed)
    if all(c < 0 for c in part.coefficients()):
        part, group = -part, [(s, not plus) for s, plus in group]
    if not any(plus for _, plus in group):
        part, group = -part, [(s, True) for s, _ in group]
    sums = positive_first(Sum(tuple(s if plus else Negative(s) for s, plus in group)))
    return (_times(part, sums, dimension / group[0][0].dimension),)


def minus(term: Term) -> Term:
    """Return the opposite of a sum, term by term."""
    if isinstance(term, Sum):
        return Sum(tuple(negate(item) for item in term.terms))
    return term if term == ZERO else negate(term)
