"""Round values along the axis of a graph."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import Dimension
from derive.typesetting.style import Decimal

_MOST = 5
_ROUND = (1, 2, 5)


def ticks(low: Fraction, high: Fraction) -> tuple[Fraction, ...]:
    """Return the round values from `low` to `high`: two to five, equally far apart.

    >>> [str(value) for value in ticks(Fraction(-3, 10), Fraction(126, 10))]
    ['0', '5', '10']
    """
    if low >= high:
        raise ValueError("an axis needs two different ends")
    power = 0
    while Fraction(10) ** power > high - low:
        power -= 1
    while Fraction(10) ** (power + 1) <= high - low:
        power += 1
    # The step is at least a tenth of the span, so a step of a few times that is found.
    steps = (Fraction(10) ** k * size for k in (power - 1, power) for size in _ROUND)
    found = (_multiples(step, low, high) for step in steps)
    return next(values for values in found if len(values) <= _MOST)


def _multiples(step: Fraction, low: Fraction, high: Fraction) -> tuple[Fraction, ...]:
    first, last = -(-low // step), high // step
    return tuple(k * step for k in range(first, last + 1))


def labelled(values: tuple[Fraction, ...], dimension: Dimension) -> tuple[Decimal, ...]:
    """Return values as they are printed: one SI prefix, as many decimals for each."""
    exponent = _prefix(max(abs(value) for value in values))
    shown = [value / Fraction(10) ** exponent for value in values]
    decimals = 0
    while any((value * 10**decimals).denominator != 1 for value in shown):
        decimals += 1
    return tuple(
        Decimal(_digits(value, decimals if value else 0), exponent, dimension) for value in shown
    )


def _prefix(size: Fraction) -> int:
    """Return a multiple of three; none for sizes from a tenth to a thousand."""
    exponent = 0
    while size >= Fraction(10) ** (exponent + 3):
        exponent += 3
    while size and size < Fraction(10) ** exponent and not (exponent == 0 and size * 10 >= 1):
        exponent -= 3
    return exponent


def _digits(value: Fraction, decimals: int) -> str:
    whole = str(abs(value.numerator) * 10**decimals // value.denominator).rjust(decimals + 1, "0")
    sign = "-" if value < 0 else ""
    return f"{sign}{whole[:-decimals]}.{whole[-decimals:]}" if decimals else sign + whole
