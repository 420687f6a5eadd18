"""Determinants of small matrices of polynomials.

Expansion along the rows, keeping the minors of the rows below by their columns (Laplace): no
division, and sparse rows cost little.
"""

from __future__ import annotations

from collections.abc import Sequence

from derive.algebra.polynomial import Poly, Ring


def laplace(matrix: Sequence[Sequence[Poly]], ring: Ring) -> Poly:
    """Return the determinant of a square matrix; 1 for an empty one.

    >>> from derive.algebra.term import resistance
    >>> ring = Ring((resistance("R1"), resistance("R2")))
    >>> a, b = ring.generators
    >>> laplace([[a + b, -b], [-b, a]], ring)
    R1**2 + R1*R2 - R2**2
    """
    minors: dict[tuple[int, ...], Poly] = {(): ring.one}
    size = len(matrix)
    for line in reversed(matrix):
        wider: dict[tuple[int, ...], Poly] = {}
        for columns, minor in minors.items():
            for column in range(size):
                if column in columns or not line[column] or not minor:
                    continue
                place = sum(1 for c in columns if c < column)
                grown = tuple(sorted((*columns, column)))
                part = line[column] * minor * (-1 if place % 2 else 1)
                wider[grown] = wider[grown] + part if grown in wider else part
        minors = wider
    return minors.get(tuple(range(size)), ring.zero)
