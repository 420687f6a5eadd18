"""How much there is to write for lines in letters, in marks on paper.

A mark is a letter, a digit, a sign between terms or of equality, a fraction bar, or a pair of
brackets. Units do not count.
"""

from __future__ import annotations

from derive.algebra.polynomial import Poly
from derive.analysis.expressions import DRIVING
from derive.analysis.plan import LinearRow


def weight(poly: Poly) -> int:
    """Return the marks of a polynomial; a sign in front does not count.

    >>> from derive.algebra.polynomial import Ring
    >>> from derive.algebra.term import resistance
    >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
    >>> weight(a + b), weight(a * b - 12 * a), weight(a - a)
    (3, 6, 0)
    """
    cost = len(poly) - 1 if poly else 0
    for exponents, coefficient in poly.terms():
        letters = sum(exponents)
        cost += letters
        if abs(coefficient) != 1 or not letters:
            cost += len(str(abs(coefficient.numerator)))
        if coefficient.denominator != 1:
            cost += 1 + len(str(coefficient.denominator))
    return cost


def source_weight(poly: Poly) -> int:
    """Return the marks of a right side, in which emfs with the same factor share it.

    >>> from derive.algebra.polynomial import Ring
    >>> from derive.algebra.term import emf, resistance
    >>> a, b, e = Ring((resistance("R1"), resistance("R2"), emf("E1"))).generators
    >>> source_weight(a * e + b * e), source_weight(e)
    (5, 1)
    """
    driving = [s for s in poly.symbols if s.kind in DRIVING]
    if len(poly) < 3 or not driving:
        return weight(poly)
    try:
        parts, rest = poly.linear(driving)
    except ValueError:
        return weight(poly)
    found = weight(rest)
    groups: list[tuple[Poly, int]] = []
    for part in parts:
        for k, (known, count) in enumerate(groups):
            if part in (known, -known):
                groups[k] = known, count + 1
                break
        else:
            groups.append((part, 1))
    for part, count in groups:
        brackets = (len(part) > 1) + (count > 1 and not part.is_constant)
        found += _size(part) + brackets + 2 * count - 1
    return found + len(groups) - (not rest)


def _size(poly: Poly) -> int:
    """Return the marks of a factor, none for one."""
    return 0 if poly in (1, -1) else weight(poly)


def is_negative(poly: Poly) -> bool:
    """Tell whether a polynomial is written with a minus sign in front."""
    return all(c < 0 for c in poly.coefficients())


def row_weight(row: LinearRow) -> int:
    """Return the marks of an equation."""
    found = 0
    for entry in row.coefficients:
        if entry:
            # The sign before it, or the sign of equality; its letter; what stands before that.
            found += 2 + _size(entry) + (len(entry) > 1)
    first = next((c for c in row.coefficients if c), row.right)
    return found + is_negative(first) + _right(row.right)


def _right(poly: Poly) -> int:
    return source_weight(poly) + is_negative(poly) if poly else 1


def multiplier_weight(multiplier: tuple[Poly, Poly]) -> int:
    """Return the marks of ``− R2/c1 (5)`` in the margin."""
    above, below = multiplier
    if below == 1:
        return 2 + _size(above)
    return 3 + weight(above) + weight(below)


def found_weight(row: LinearRow, unknown: int) -> int:
    """Return the marks of a row solved for one unknown, ``I1 = (E1 − R3 I2)/c1``."""
    lead = row.coefficients[unknown]
    found = 2 if lead in (1, -1) else 3 + weight(lead)
    terms = 0
    for k, entry in enumerate(row.coefficients):
        if entry and k != unknown:
            found += 2 + _size(entry) + (len(entry) > 1)
            terms += 1
    if row.right:
        return found + source_weight(row.right)
    return found - 1 if terms else found + 1
