"""Polynomials in one letter: where they are zero between two ends."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import comb, isqrt

Line = Sequence[Fraction]
"""Coefficients by rising powers."""


def value(line: Line, at: Fraction) -> Fraction:
    """Return the value at a point (W. G. Horner, 1819)."""
    found = Fraction(0)
    for coefficient in reversed(line):
        found = found * at + coefficient
    return found


def times(one: Line, other: Line) -> list[Fraction]:
    """Return the product."""
    found = [Fraction(0)] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            found[i + j] += a * b
    return found


def minus(one: Line, other: Line) -> list[Fraction]:
    """Return the difference."""
    size = max(len(one), len(other))
    padded = [[*line, *[Fraction(0)] * (size - len(line))] for line in (one, other)]
    return [a - b for a, b in zip(*padded, strict=True)]


def derivative(line: Line) -> list[Fraction]:
    """Return the derivative."""
    return [k * c for k, c in enumerate(line)][1:] or [Fraction(0)]


def zeros_between(line: Line, low: Fraction, high: Fraction) -> list[Fraction] | None:
    """Return the zeros strictly between two points; none for zero itself.

    None where they cannot be told as fractions. The coefficients by S. N. Bernstein's basis (1912)
    bound a polynomial between two points, so that equal signs leave no zero.

    >>> zeros_between([Fraction(-1), Fraction(0), Fraction(1)], Fraction(0), Fraction(3))
    [Fraction(1, 1)]
    >>> zeros_between([Fraction(-2), Fraction(0), Fraction(1)], Fraction(0), Fraction(3)) is None
    True
    """
    terms = list(line)
    while terms and not terms[-1]:
        terms.pop()
    bounds = _bernstein(terms, low, high)
    if all(b >= 0 for b in bounds) or all(b <= 0 for b in bounds):
        return []  # of one sign; a zero strictly between would make all of them zero
    if len(terms) == 2:
        found = [-terms[0] / terms[1]]
    elif len(terms) == 3:
        c, b, a = terms
        square = b * b - 4 * a * c
        if square < 0:
            return []
        root = _root(square)
        if root is None:
            return None
        found = sorted({(-b - root) / (2 * a), (-b + root) / (2 * a)})
    else:
        return None
    return [x for x in found if low < x < high]


def _bernstein(line: Line, low: Fraction, high: Fraction) -> list[Fraction]:
    """Return the coefficients of a polynomial in Bernstein's basis between two points."""
    degree, width = len(line) - 1, high - low
    moved = list(line)  # in powers of (x − low), by repeated synthetic division
    for k in range(degree):
        for j in range(degree - 1, k - 1, -1):
            moved[j] += low * moved[j + 1]
    scaled = [c * width**k for k, c in enumerate(moved)]
    return [
        sum((Fraction(comb(i, k), comb(degree, k)) * scaled[k] for k in range(i + 1)), Fraction(0))
        for i in range(degree + 1)
    ]


def _root(square: Fraction) -> Fraction | None:
    """Return the square root of a fraction; None where it is no fraction."""
    above, below = isqrt(square.numerator), isqrt(square.denominator)
    found = Fraction(above, below)
    return found if found * found == square else None
