"""Units in which the trade tells some values, beside those of the SI."""

from __future__ import annotations

from enum import Enum
from fractions import Fraction

from derive.algebra.dimension import COULOMB, JOULE, NUMBER, SECOND, Dimension


class Unit(Enum):
    """A unit; the value is its symbol.

    Watt-hours and ampere-hours are how batteries and meters are marked; min, h and d are accepted
    for use with the SI (SI Brochure, 9th edition, table 8, from memory).
    """

    SI = ""
    """The coherent unit of the SI, whatever the dimension."""
    PERCENT = "%"
    WATT_HOUR = "Wh"
    AMPERE_HOUR = "Ah"
    MINUTE = "min"
    HOUR = "h"
    DAY = "d"

    @property
    def size(self) -> Fraction:
        """The worth of one, in SI base units."""
        return Fraction(_WORTH[self][0])

    def suits(self, dimension: Dimension | None) -> bool:
        """Tell whether values of a dimension may be told in it; None stands for zero."""
        return self is Unit.SI or dimension is None or dimension == _WORTH[self][1]


_WORTH: dict[Unit, tuple[Fraction, Dimension]] = {
    Unit.SI: (Fraction(1), NUMBER),
    Unit.PERCENT: (Fraction(1, 100), NUMBER),
    Unit.WATT_HOUR: (Fraction(3600), JOULE),
    Unit.AMPERE_HOUR: (Fraction(3600), COULOMB),
    Unit.MINUTE: (Fraction(60), SECOND),
    Unit.HOUR: (Fraction(3600), SECOND),
    Unit.DAY: (Fraction(86400), SECOND),
}
