"""Rounded values as they are printed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from derive.algebra.term import Symbol
from derive.derivation.step import CourseAt, Round
from derive.document.model import Relation
from derive.typesetting.style import Decimal


def printed(step: Round) -> tuple[Relation, Decimal]:
    """Return the relation sign and the digits of a rounded value.

    >>> from derive.algebra.term import current
    >>> step = Round(premise=0, symbol=current("I1"), rounded=Fraction(-142, 100000),
    ...              unit_exponent=-3, decimals=2, exact=False)
    >>> printed(step)[0].value, printed(step)[1].digits
    ('≈', '-1.42')
    """
    relation = Relation.EQUAL if step.exact else Relation.APPROXIMATE
    return relation, decimal_of(step, step.symbol)


def decimal_of(step: Round | CourseAt, symbol: Symbol) -> Decimal:
    """Return the digits of a rounded value of a quantity."""
    units = step.rounded / Fraction(10) ** (step.unit_exponent - step.decimals)
    whole = str(abs(units.numerator)).rjust(step.decimals + 1, "0")
    digits = whole if not step.decimals else f"{whole[: -step.decimals]}.{whole[-step.decimals :]}"
    sign = "-" if step.rounded < 0 else ""
    return Decimal(sign + digits, step.unit_exponent, symbol.dimension)


def unsigned(decimal: Decimal) -> Decimal:
    """Return the size of a value."""
    return replace(decimal, digits=decimal.digits.lstrip("-"))
