"""Exact amounts as an author writes them, for messages."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from derive.algebra.dimension import Dimension, unit_of

_MOST_DECIMALS = 12


def unit_name(dimension: Dimension) -> str:
    """Return a unit as an author writes it."""
    powers = (f"{unit}^{power}" if power != 1 else unit for unit, power in unit_of(dimension))
    return " ".join(powers).replace("Ω", "ohm")


def shown(value: Fraction, dimension: Dimension) -> str:
    """Return an exact value as an author may write it."""
    scaled = value * 10**_MOST_DECIMALS
    if scaled.denominator > 1 or value.denominator == 1:
        return f"{value} {unit_name(dimension)}"
    digits = f"{abs(scaled.numerator):0{_MOST_DECIMALS + 1}d}"
    decimal = f"{digits[:-_MOST_DECIMALS]}.{digits[-_MOST_DECIMALS:].rstrip('0')}"
    return f"{'-' if value < 0 else ''}{decimal} {unit_name(dimension)}"


def listed(names: Sequence[str]) -> str:
    """Return names with commas and *and* between them.

    >>> listed(["R1"]), listed(["R1", "R2", "R3"]), listed([])
    ('R1', 'R1, R2 and R3', '')
    """
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))
