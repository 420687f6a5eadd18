"""Cofactors, and how what is multiplied by them is written."""

from __future__ import annotations

from collections.abc import Sequence

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import Negative, Quotient, Term, product
from derive.analysis.expressions import shared_letters
from derive.analysis.letters import letters_dimension

MOST_WORK = 20000
"""Beyond this product of term counts no common divisor is looked for; in general there is none."""


def adjugate(matrix: Sequence[Sequence[Poly]], ring: Ring) -> list[list[Poly]]:
    """Return the cofactors, those of one column after those of another."""
    size = len(matrix)
    return [[_cofactor(matrix, row, column, ring) for row in range(size)] for column in range(size)]


def _cofactor(matrix: Sequence[Sequence[Poly]], row: int, column: int, ring: Ring) -> Poly:
    minor = [
        tuple(c for k, c in enumerate(line) if k != column)
        for number, line in enumerate(matrix)
        if number != row
    ]
    value = laplace(minor, ring)
    return -value if (row + column) % 2 else value


def multiplier_of(cofactor: Poly, divisor: Poly, unit: Dimension) -> Term:
    """Return what an equation is multiplied by: a cofactor over what was cancelled.

    `unit` is the dimension of the cofactor.
    """
    if divisor.is_constant:
        return _signed(cofactor / divisor.constant_value, unit)
    above, below = cancel(cofactor, divisor)
    shared = letters_dimension(cofactor / above) if above else NUMBER
    top = _signed(above, unit / shared)
    return (
        top
        if below == 1
        else Quotient(top, divisor.ring.term(below, letters_dimension(divisor) / shared))
    )


def _signed(poly: Poly, unit: Dimension) -> Term:
    """Return a polynomial as a term, one minus sign in front where all its terms have one."""
    if len(poly) > 1 and all(c < 0 for c in poly.coefficients()):
        return Negative(poly.ring.term(-poly, unit))
    return poly.ring.term(poly, unit)


def factored(poly: Poly, unit: Dimension) -> Term:
    """Return a polynomial as a term, with the letters that all of it shares in front."""
    if len(poly) < 2:
        return poly.ring.term(poly, unit)
    shared = shared_letters(poly)
    outside = letters_dimension(shared)
    return product(poly.ring.term(shared, outside), poly.ring.term(poly / shared, unit / outside))
