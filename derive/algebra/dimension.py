"""Physical dimensions of direct-current quantities, as powers of volt, ohm and second."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Dimension:
    """A product of powers of V, Ω and s. Every unit of a direct-current course is one of these."""

    volt: int = 0
    ohm: int = 0
    second: int = 0

    def __mul__(self, other: Dimension) -> Dimension:
        """Return the dimension of a product."""
        return Dimension(self.volt + other.volt, self.ohm + other.ohm, self.second + other.second)

    def __truediv__(self, other: Dimension) -> Dimension:
        """Return the dimension of a quotient."""
        return Dimension(self.volt - other.volt, self.ohm - other.ohm, self.second - other.second)

    def __pow__(self, exponent: int) -> Dimension:
        """Return the dimension of a power."""
        return Dimension(self.volt * exponent, self.ohm * exponent, self.second * exponent)


NUMBER = Dimension()
VOLT = Dimension(volt=1)
OHM = Dimension(ohm=1)
AMPERE = Dimension(volt=1, ohm=-1)
WATT = Dimension(volt=2, ohm=-1)
SIEMENS = Dimension(ohm=-1)
COULOMB = Dimension(volt=1, ohm=-1, second=1)
FARAD = Dimension(ohm=-1, second=1)
JOULE = Dimension(volt=2, ohm=-1, second=1)
SECOND = Dimension(second=1)

_NAMED = {
    VOLT: "V",
    OHM: "Ω",
    AMPERE: "A",
    WATT: "W",
    SIEMENS: "S",
    COULOMB: "C",
    FARAD: "F",
    JOULE: "J",
    SECOND: "s",
}


def unit_of(dimension: Dimension) -> tuple[tuple[str, int], ...]:
    """Return the SI unit of a dimension as (symbol, power) pairs.

    >>> unit_of(AMPERE), unit_of(OHM**2), unit_of(VOLT * OHM)
    ((('A', 1),), (('Ω', 2),), (('V', 1), ('Ω', 1)))
    """
    if dimension in _NAMED:
        return ((_NAMED[dimension], 1),)
    powers = (("V", dimension.volt), ("Ω", dimension.ohm), ("s", dimension.second))
    return tuple((symbol, power) for symbol, power in powers if power)


_ABOVE = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


def unit_text(dimension: Dimension) -> str:
    """Return the SI unit of a dimension as plain text.

    >>> unit_text(AMPERE), unit_text(VOLT * OHM**2)
    ('A', 'V·Ω²')
    """
    return "·".join(
        symbol + ("" if power == 1 else str(power).translate(_ABOVE).replace("-", "⁻"))
        for symbol, power in unit_of(dimension)
    )
