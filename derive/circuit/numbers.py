"""Numbers and units as written, to exact values in SI base units."""

from __future__ import annotations

import re
from fractions import Fraction

from derive.algebra.dimension import (
    AMPERE,
    COULOMB,
    FARAD,
    JOULE,
    OHM,
    SIEMENS,
    VOLT,
    WATT,
    Dimension,
)
from derive.circuit.complaints import Complaints
from derive.language.syntax import NumberLiteral

MOST_DIGITS = 40
LARGEST_EXPONENT = 30

_PREFIXES = {
    "p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3, "": 0, "k": 3, "K": 3, "M": 6, "G": 9,
}  # fmt: skip
_UNITS = {
    "V": VOLT, "A": AMPERE, "W": WATT, "F": FARAD, "C": COULOMB, "S": SIEMENS, "J": JOULE,
    "ohm": OHM, "Ohm": OHM, "Ω": OHM, "\N{OHM SIGN}": OHM,
}  # fmt: skip
_CODE = re.compile(r"([0-9]+)([kKM])([0-9]*)")
UNITS_HINT = "units are V, A, ohm or Ω, W, F, C, S, J, each with a prefix p n u µ m k M G if needed"


class Numbers:
    """Reads the numbers of one file."""

    def __init__(self, decimal_comma: bool, complaints: Complaints) -> None:
        """Fix the meaning of a comma between digits."""
        self._comma = decimal_comma
        self._complaints = complaints

    def read(self, literal: NumberLiteral) -> Fraction | None:
        """Return the exact value of a literal; None, with a complaint, when it has none."""
        text = literal.text
        if sum(character.isdigit() for character in text) > MOST_DIGITS:
            self._complaints.error(
                "number-too-long",
                f"this number has more than {MOST_DIGITS} digits",
                literal.span,
                "round it, or use a prefix or a power of ten: 1.5e3 ohm",
            )
            return None
        if "/" in text:
            return self._fraction(literal)
        code = _CODE.fullmatch(text)
        if code is not None:
            whole, prefix, rest = code.groups()
            return Fraction(f"{whole}.{rest or 0}") * Fraction(10) ** _PREFIXES[prefix]
        return self._decimal(literal)

    def _fraction(self, literal: NumberLiteral) -> Fraction | None:
        numerator, denominator = (int(part) for part in literal.text.split("/"))
        if denominator == 0:
            self._complaints.error(
                "division-by-zero",
                "the denominator of this fraction is zero",
                literal.span,
                "write a fraction like this: 3/2 ohm",
            )
            return None
        return Fraction(numerator, denominator)

    def _decimal(self, literal: NumberLiteral) -> Fraction | None:
        mantissa, _, exponent = literal.text.partition("e")
        if exponent and abs(int(exponent)) > LARGEST_EXPONENT:
            self._complaints.error(
                "exponent-too-large",
                f"the power of ten in `{literal.text}` is beyond ±{LARGEST_EXPONENT}",
                literal.span,
                "no quantity of a circuit is so large or so small",
            )
            return None
        plain = self._plain(mantissa, literal)
        return None if plain is None else Fraction(plain) * Fraction(10) ** int(exponent or 0)

    def _plain(self, mantissa: str, literal: NumberLiteral) -> str | None:
        """Return the digits with a decimal point, or complain."""
        marks = re.findall(r"[.,]", mantissa)
        sign, other = (",", ".") if self._comma else (".", ",")
        if marks in ([], [sign]):
            return mantissa.replace(",", ".")
        bare = re.sub(r"[.,]", "", mantissa)
        if len(marks) > 1:
            self._complaints.error(
                "grouped-digits",
                f"`{mantissa}` has more than one sign between its digits",
                literal.span,
                "write digits without grouping, with one decimal sign at most"
                + (f": {bare}" if re.fullmatch(r"[0-9]{1,3}([.,][0-9]{3})+", mantissa) else ""),
            )
        elif re.fullmatch(rf"[1-9][0-9]{{0,2}}{re.escape(other)}[0-9]{{3}}", mantissa):
            self._complaints.error(
                "ambiguous-number",
                f"`{mantissa}` can be read in two ways",
                literal.span,
                f"with the digits grouped, write it without the sign: {bare}",
                f"with a decimal sign, write {mantissa.replace(other, sign)}"
                + ("" if self._comma else ", or put `decimal comma` on a line of its own"),
            )
        elif self._comma:
            return mantissa
        else:
            self._complaints.error(
                "decimal-comma",
                f"`{mantissa}` has a comma between its digits",
                literal.span,
                f"write {mantissa.replace(',', '.')}",
                "or put `decimal comma` on a line of its own",
            )
        return None


def read_unit(text: str) -> tuple[int, Dimension]:
    """Return the power of ten and the dimension of a unit the grammar accepts."""
    for unit, dimension in _UNITS.items():
        if text.endswith(unit) and text.removesuffix(unit) in _PREFIXES:
            return _PREFIXES[text.removesuffix(unit)], dimension
    raise ValueError(text)


def as_written(number: str, unit: str | None) -> tuple[str, int] | None:
    """Return the digits of a good number, and the power of ten that its unit stands for.

    The decimal sign becomes a point. None for a fraction, a power of ten, and no unit at all.

    >>> as_written("4.70", "kohm"), as_written("4k7", None), as_written(",50", "V")
    (('4.70', 3), ('4.7', 3), ('0.50', 0))
    >>> as_written("3/2", "ohm"), as_written("1.5e3", "ohm"), as_written("2", None)
    (None, None, None)
    """
    code = _CODE.fullmatch(number)
    if code is not None and unit is None:
        whole, prefix, rest = code.groups()
        digits, exponent = f"{whole}.{rest}" if rest else whole, _PREFIXES[prefix]
    elif unit is not None and re.fullmatch(r"[0-9]*[.,]?[0-9]+", number):
        digits, exponent = number.replace(",", "."), read_unit(unit)[0]
    else:
        return None
    whole, point, decimals = digits.partition(".")
    return (whole.lstrip("0") or "0") + point + decimals, exponent


_SPELLINGS = {
    "volt": "V", "volts": "V", "v": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
    "a": "A", "watt": "W", "watts": "W", "w": "W", "farad": "F", "farads": "F", "ohms": "ohm",
    "ohm": "ohm", "siemens": "S", "coulomb": "C", "coulombs": "C", "joule": "J", "joules": "J",
    "kohm": "kohm", "kohms": "kohm", "kiloohm": "kohm", "kiloohms": "kohm", "kilohm": "kohm",
    "kilohms": "kohm", "mohm": "mohm", "mohms": "mohm", "megohm": "Mohm", "megaohm": "Mohm",
    "kv": "kV", "ma": "mA", "mv": "mV", "ua": "uA", "millivolt": "mV", "millivolts": "mV",
    "milliamp": "mA", "milliamps": "mA", "milliampere": "mA", "milliamperes": "mA",
    "kilovolt": "kV", "kilovolts": "kV", "k": "kohm", "kilo": "kohm", "meg": "Mohm",
    "r": "ohm", "omega": "ohm",
}  # fmt: skip


def unit_meant(word: str) -> str | None:
    """Return the unit that an author means by a word that is none."""
    return _SPELLINGS.get(word.lower())
