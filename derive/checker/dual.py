"""Numbers with a slope, a + b·ε where ε² = 0 (W. K. Clifford, 1873).

A calculation with them gives the value of a function together with its exact derivative.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Dual:
    """A value and its slope."""

    value: Fraction
    slope: Fraction = Fraction(0)

    def __add__(self, other: Dual) -> Dual:
        """Return the sum."""
        return Dual(self.value + other.value, self.slope + other.slope)

    def __sub__(self, other: Dual) -> Dual:
        """Return the difference."""
        return Dual(self.value - other.value, self.slope - other.slope)

    def __mul__(self, other: Dual) -> Dual:
        """Return the product."""
        slope = self.slope
        if slope or other.slope:
            slope = slope * other.value + self.value * other.slope
        return Dual(self.value * other.value, slope)

    def __truediv__(self, other: Dual) -> Dual:
        """Return the quotient. Raises ZeroDivisionError."""
        value, slope = self.value / other.value, self.slope
        if slope or other.slope:
            slope = (slope - value * other.slope) / other.value
        return Dual(value, slope)

    def __bool__(self) -> bool:
        """Tell whether it is more than nothing."""
        return bool(self.value or self.slope)


NOUGHT = Dual(Fraction(0))


def solve(rows: list[list[Dual]]) -> tuple[Fraction, list[Dual]]:
    """Return the value of the determinant, and the unknowns, of a square system.

    Each row ends with its right side; the rows are used up (C. F. Gauss's elimination). Where the
    determinant is zero there are no unknowns.
    """
    size, determinant = len(rows), Fraction(1)
    for k in range(size):
        pivot = next((i for i in range(k, size) if rows[i][k].value), None)
        if pivot is None:
            return Fraction(0), []
        if pivot != k:
            rows[k], rows[pivot], determinant = rows[pivot], rows[k], -determinant
        determinant *= rows[k][k].value
        for i in range(k + 1, size):
            if rows[i][k]:
                factor = rows[i][k] / rows[k][k]
                for j in range(k + 1, size + 1):
                    if rows[k][j]:
                        rows[i][j] = rows[i][j] - factor * rows[k][j]
    found = [NOUGHT] * size
    for k in reversed(range(size)):
        rest = rows[k][size]
        for j in range(k + 1, size):
            if rows[k][j]:
                rest = rest - rows[k][j] * found[j]
        found[k] = rest / rows[k][k]
    return determinant, found
