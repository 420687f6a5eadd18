"""Exact linear systems of rational numbers, and determinants of whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from flint import fmpq, fmpq_mat, fmpz_mat


def solve(matrix: Sequence[Sequence[Fraction]], right: Sequence[Fraction]) -> list[Fraction]:
    """Return the one solution of a square system. Raises ZeroDivisionError when there is none.

    >>> half = Fraction(1, 2)
    >>> solve([[half, Fraction(1)], [Fraction(0), Fraction(3)]], [Fraction(2), Fraction(3)])
    [Fraction(2, 1), Fraction(1, 1)]
    """
    size = len(matrix)
    if not size:
        return []
    entries = [fmpq(x.numerator, x.denominator) for row in matrix for x in row]
    column = [fmpq(x.numerator, x.denominator) for x in right]
    solution = fmpq_mat(size, size, entries).solve(fmpq_mat(size, 1, column))
    return [Fraction(int(x.p), int(x.q)) for x in solution.entries()]


def determinant(matrix: Sequence[Sequence[int]]) -> int:
    """Return the determinant of a square matrix of whole numbers; 1 for an empty one.

    >>> determinant([[2, 1], [1, 2]])
    3
    """
    return int(fmpz_mat([list(row) for row in matrix]).det()) if matrix else 1
