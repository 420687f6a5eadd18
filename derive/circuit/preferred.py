"""Preferred values of resistors and capacitors (IEC 60063:2015, from memory)."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from functools import lru_cache


class Series(Enum):
    """A series; the value is how many values a decade has."""

    E3 = 3
    E6 = 6
    E12 = 12
    E24 = 24
    E48 = 48
    E96 = 96
    E192 = 192

    @property
    def decimals(self) -> int:
        """Digits after the decimal marker of its values between 1 and 10."""
        return 1 if self.value <= _LAST_OF_TABLE else 2


_LAST_OF_TABLE = 24
_E24 = (
    *(10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30),
    *(33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91),
)
"""The table of the standard. Some of its values, 27 to 47 and 82, are not the nearest ones to
powers of the 24th root of ten; E12, E6 and E3 are every second, fourth and eighth of it."""


@lru_cache
def decade(series: Series) -> tuple[Fraction, ...]:
    """Return the values from 1 to below 10.

    From E48 on they are powers of a root of ten, rounded to three figures; but in E192 stands 9.20
    where 9.19 would be nearer.

    >>> [str(value) for value in decade(Series.E6)]
    ['1', '3/2', '11/5', '33/10', '47/10', '34/5']
    """
    if series.value <= _LAST_OF_TABLE:
        return tuple(Fraction(value, 10) for value in _E24[:: _LAST_OF_TABLE // series.value])
    found = [Fraction(_rounded_root(k, series.value), 100) for k in range(series.value)]
    return tuple(Fraction(920, 100) if value == Fraction(919, 100) else value for value in found)


def _rounded_root(power: int, root: int) -> int:
    """Return 100 · 10^(power/root), rounded, by whole numbers alone."""
    wanted = 10 ** (power + 2 * root) * 2**root
    low, high = 100, 1000
    while high - low > 1:
        middle = (low + high) // 2
        if (2 * middle - 1) ** root <= wanted:
            low = middle
        else:
            high = middle
    return low


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The preferred values next to a value; both are the value itself where it is one of them."""

    below: Fraction
    above: Fraction
    nearest: Fraction
    """The one of the smaller ratio; the lower one where the ratios are equal."""


def neighbours(value: Fraction, series: Series) -> Neighbours:
    """Return the preferred values next to a positive value.

    >>> found = neighbours(Fraction(4250), Series.E24)
    >>> str(found.below), str(found.above), str(found.nearest)
    ('3900', '4300', '4300')
    """
    power = Fraction(1)
    while value >= 10 * power:
        power *= 10
    while value < power:
        power /= 10
    values = (*decade(series), Fraction(10))
    place = bisect_right(values, value / power) - 1
    below = values[place] * power
    above = below if below == value else values[place + 1] * power
    nearest = below if value * value <= below * above else above
    return Neighbours(below, above, nearest)
