"""Is a value rounded rightly?"""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.unit import Unit
from derive.checker.ledger import require
from derive.derivation.step import Round

MOST_EXPONENT = 3000
"""Of the power of ten that stands before a unit; beyond those with a prefix it is written out."""


def check_rounded(step: Round, value: Fraction) -> None:
    """Refuse a rounding that is not the one of a value, or says something wrong of itself."""
    unit = step.unit
    fits = unit in (Unit.SI, Unit.PERCENT, Unit.WATT_HOUR, Unit.AMPERE_HOUR)
    fits = fits and unit.suits(step.symbol.dimension)
    require(fits, "it is told in a unit that does not fit")
    require(unit is not Unit.PERCENT or not step.unit_exponent, "a prefix stands before per cent")
    in_range = step.unit_exponent % 3 == 0 and abs(step.unit_exponent) <= MOST_EXPONENT
    require(in_range and 0 <= step.decimals <= 100, "no unit has this prefix")
    place = unit.size * Fraction(10) ** (step.unit_exponent - step.decimals)
    require((step.rounded / place).denominator == 1, "it has more digits than it says")
    require(2 * abs(step.rounded - value) <= place, "it is rounded to a wrong value")
    require(step.exact == (step.rounded == value), "it says wrongly whether it is exact")
