"""Rows of a linear system, and one elimination.

The plan is found in `number_plan` with the numbers put in, and in `named_plan` in letters.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from derive.algebra.polynomial import Poly, common_divisor


@dataclass(frozen=True, slots=True)
class LinearRow:
    """Σ coefficient · unknown = right."""

    coefficients: tuple[Poly, ...]
    right: Poly


@dataclass(frozen=True, slots=True)
class Elimination:
    """Remove one unknown from every other open equation by means of one of them."""

    unknown: int
    pivot: int


@dataclass(frozen=True, slots=True)
class Combination:
    """The row got from two rows, and what each of them is multiplied by."""

    row: LinearRow
    own: tuple[Poly, Poly]
    """Multiplier of the row itself, as numerator and denominator."""
    pivot: tuple[Poly, Poly]
    """Multiplier of the pivot row."""


def eliminate(row: LinearRow, pivot: LinearRow, unknown: int) -> Combination:
    """Return the combination of two rows that is free of an unknown, without common factors.

    Both rows must hold the unknown. The first coefficient that is left comes out positive.
    """
    ours, theirs = row.coefficients[unknown], pivot.coefficients[unknown]
    shared = common_divisor(ours, theirs)
    own, other = theirs / shared, -(ours / shared)
    pairs = zip(row.coefficients, pivot.coefficients, strict=True)
    raw = LinearRow(
        tuple(own * a + other * b for a, b in pairs), own * row.right + other * pivot.right
    )
    factor = _common_factor(raw)
    clean = LinearRow(tuple(c / factor for c in raw.coefficients), raw.right / factor)
    return Combination(clean, _lowest(own, factor), _lowest(other, factor))


def _common_factor(row: LinearRow) -> Poly:
    """Return what divides every coefficient and the right side, signed for a positive lead."""
    entries = [c for c in (*row.coefficients, row.right) if c]
    if not entries:
        return row.right.ring.one
    factor = entries[0]
    for entry in entries[1:]:
        factor = common_divisor(factor, entry)
        if factor.is_constant:
            factor = factor.ring.one
            break
    if len(entries) == 1 and entries[0] == row.right:
        return row.right.ring.one
    rest = [entry / factor for entry in entries]
    content = _content(rest)
    lead = next((c / factor for c in row.coefficients if c), row.right.ring.one)
    return factor * (content if lead.leading > 0 else -content)


def _content(polys: list[Poly]) -> Fraction:
    """Return the positive rational that leaves whole coefficients without a common divisor."""
    contents = [poly.content() for poly in polys]
    above = gcd(*(c.numerator for c in contents))
    below = lcm(*(c.denominator for c in contents))
    return Fraction(above, below)


def _lowest(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    shared = common_divisor(numerator, denominator)
    numerator, denominator = numerator / shared, denominator / shared
    if denominator.is_constant:
        return numerator * (1 / denominator.constant_value), numerator.ring.one
    return numerator, denominator


class Singular(Exception):  # noqa: N818  (a finding about the circuit)
    """The equations do not fix every unknown."""
