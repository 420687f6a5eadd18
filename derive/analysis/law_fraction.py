"""A law of a part or a path as one fraction of polynomials, the closed forms put in."""

from __future__ import annotations

from derive.algebra.dimension import NUMBER
from derive.algebra.polynomial import NotPolynomial, Poly, Ring, cancel
from derive.algebra.term import (
    ZERO,
    Equation,
    Symbol,
    SymbolKind,
    Term,
    product,
    quotient,
    symbols,
)
from derive.analysis.closed import NAMED_FROM, ClosedForms
from derive.analysis.cofactors import MOST_WORK
from derive.analysis.expressions import by_battery, shared_letters
from derive.analysis.letters import Letters, letters_dimension
from derive.analysis.solve import Currents


def fraction_of_law(found: Currents, law: Equation) -> Term | None:
    """Return the right side of a law as one fraction over a denominator that has a name.

    None where it is not linear in the currents, or the fraction would not be shorter.
    """
    closed, letters = found.closed, found.letters
    if closed is None or not isinstance(law.left, Symbol):
        return None
    if law.left.kind is SymbolKind.POWER:
        return None  # P = R · (…)² reads better
    currents = [s for s in dict.fromkeys(symbols(law.right)) if s in closed.forms]
    forms = [closed.forms[s] for s in currents]
    below = {form.denominator for form in forms if form.numerator}
    if len(below) != 1:
        return None
    (denominator,) = below
    numerator = _numerator(law.right, currents, closed, letters, denominator)
    if numerator is None or len(numerator) * len(denominator) > MOST_WORK:
        return None
    if not numerator:
        return ZERO
    above, left = cancel(numerator, denominator)
    unit = next(form.unit for form in forms if form.numerator)
    unit = unit / letters_dimension(denominator / left)
    names = {poly: symbol for symbol, poly in closed.names.items()}
    if left not in names and len(left) >= NAMED_FROM:
        return None
    shared = shared_letters(above)
    outside = letters_dimension(shared)
    rest = by_battery(above / shared, law.left.dimension * unit / outside)
    before = letters.ring.term(shared, outside)
    # A number stands first.
    top = product(before, rest) if any(True for _ in symbols(rest)) else product(rest, before)
    if left == 1 and unit == NUMBER:
        return top
    divisor = names.get(left) or letters.ring.term(left, unit)
    return quotient(top, divisor)


def _numerator(
    right: Term,
    currents: list[Symbol],
    closed: ClosedForms,
    letters: Letters,
    denominator: Poly,
) -> Poly | None:
    """Return the law times the denominator; None where it is not linear in the currents."""
    wide = Ring(tuple(dict.fromkeys(symbols(right))))
    if any(s not in letters.images for s in wide.symbols if s not in currents):
        return None  # a letter of a walk without current, which the equations do not hold
    try:
        parts, rest = wide.poly(right).linear(currents)
    except (ValueError, NotPolynomial):
        return None
    value = rest.compose(letters.images, letters.ring) * denominator
    for symbol, part in zip(currents, parts, strict=True):
        factor = part.compose(letters.images, letters.ring)
        value = value + factor * closed.forms[symbol].numerator
    return value
