"""Rounded values as they are printed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import SECOND, Dimension
from derive.algebra.term import Quantity
from derive.algebra.unit import Unit
from derive.circuit.question import Duration
from derive.derivation.step import Round
from derive.document.model import Relation
from derive.typesetting.style import Decimal, Expression
from derive.typesetting.values import terminating


def printed(step: Round) -> tuple[Relation, Decimal]:
    """Return the relation sign and the digits of a rounded value.

    >>> from derive.algebra.term import current
    >>> step = Round(premise=0, symbol=current("I1"), rounded=Fraction(-142, 100000),
    ...              unit_exponent=-3, decimals=2, exact=False)
    >>> printed(step)[0].value, printed(step)[1].digits
    ('≈', '-1.42')
    """
    relation = Relation.EQUAL if step.exact else Relation.APPROXIMATE
    shown = decimal(
        step.rounded, step.unit_exponent, step.decimals, step.symbol.dimension, step.unit
    )
    return relation, shown


def decimal(
    value: Fraction, unit_exponent: int, decimals: int, dimension: Dimension, unit: Unit = Unit.SI
) -> Decimal:
    """Return a value that has so many digits after the marker as it is printed."""
    units = value / unit.size / Fraction(10) ** (unit_exponent - decimals)
    whole = str(abs(units.numerator)).rjust(decimals + 1, "0")
    digits = whole if not decimals else f"{whole[:-decimals]}.{whole[-decimals:]}"
    return Decimal(("-" if value < 0 else "") + digits, unit_exponent, dimension, unit)


def duration(time: Duration) -> Expression:
    """Return a time as its author writes it; in seconds where that is no short decimal."""
    digits = terminating(time.count)
    if time.unit is Unit.SI or digits is None:
        return Quantity(time.seconds, SECOND)
    return Decimal(digits, 0, SECOND, time.unit)


def with_sign(decimal: Decimal) -> Decimal:
    """Return a change with its sign always written, but for none."""
    plus = not decimal.digits.startswith("-") and any(d in "123456789" for d in decimal.digits)
    return replace(decimal, digits=f"+{decimal.digits}") if plus else decimal


def unsigned(decimal: Decimal) -> Decimal:
    """Return the size of a value."""
    return replace(decimal, digits=decimal.digits.lstrip("-"))
