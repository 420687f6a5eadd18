"""Rounding, once, to significant figures."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import Symbol
from derive.algebra.unit import Unit
from derive.derivation.builder import Builder
from derive.derivation.step import Round
from derive.derivation.step_id import StepId

MOST_OF_PERCENT = 9
"""Decimals of a share: nobody reads more noughts before the first figure of a smaller one."""


def rounded(builder: Builder, premise: StepId, figures: int, unit: Unit = Unit.SI) -> Round:
    """Round half away from zero to a number of significant figures, in the unit that suits."""
    equation = builder.equation(premise)
    assert isinstance(equation.left, Symbol)
    value = Ring(()).poly(equation.right).constant_value
    return rounded_value(equation.left, value, premise, figures, unit)


def rounded_value(
    symbol: Symbol, exact: Fraction, premise: StepId, figures: int, unit: Unit = Unit.SI
) -> Round:
    """Round a value that a step gives to a symbol."""
    value = exact / unit.size
    exponent = 0 if unit is Unit.PERCENT else prefix(value)
    decimals = max(0, figures - 1 - (magnitude(value) - exponent)) if value else 0
    if unit is Unit.PERCENT:
        decimals = min(decimals, MOST_OF_PERCENT)
    place = Fraction(10) ** (exponent - decimals)
    steps = int(abs(value) / place + Fraction(1, 2))
    rounded = steps * place * unit.size * (-1 if value < 0 else 1)
    return Round(
        premise=premise,
        symbol=symbol,
        rounded=rounded,
        unit_exponent=exponent,
        decimals=decimals,
        exact=rounded == exact,
        unit=unit,
    )


def significant(value: Fraction, figures: int) -> Fraction:
    """Return a value rounded half away from zero to a number of significant figures.

    >>> significant(Fraction(-16, 3), 3), significant(Fraction(0), 3)
    (Fraction(-533, 100), Fraction(0, 1))
    """
    place = Fraction(10) ** (magnitude(value) - figures + 1)
    return int(abs(value) / place + Fraction(1, 2)) * place * (-1 if value < 0 else 1)


def prefix(value: Fraction) -> int:
    """Return the power of ten of the prefix that suits a value."""
    power = magnitude(value)
    return 0 if -1 <= power < 3 or not value else 3 * (power // 3)


def magnitude(value: Fraction) -> int:
    """Return the power of ten of the first digit; 0 for zero."""
    size = abs(value)
    if not size:
        return 0
    # By the binary digits, because Python writes no whole number of more than 4300 decimal ones.
    bits = size.numerator.bit_length() - size.denominator.bit_length()
    power = bits * 3010 // 10000
    while Fraction(10) ** (power + 1) <= size:
        power += 1
    while Fraction(10) ** power > size:
        power -= 1
    return power
