"""Exact values as they are set: digits, decimal marker, grouping, SI prefixes and units."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import NUMBER, SECOND, Dimension, unit_of
from derive.algebra.unit import Unit
from derive.circuit.valuation import Given
from derive.typesetting.layout import Figures, Gap, Operator, Over, Prefix, Raised, Row, Sign, Units
from derive.typesetting.style import Decimal, Style

_PREFIXES = {
    -12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G",
}  # fmt: skip

_LONGEST = 9
"""Significant digits of the longest decimal that is shown in full instead of a fraction."""


def set_number(value: Fraction, style: Style) -> Row:
    """Set a number that is not negative."""
    digits = terminating(value)
    if digits is not None:
        return (_figures(digits, style),)
    return (
        Over(
            (_figures(str(value.numerator), style),),
            (_figures(str(value.denominator), style),),
        ),
    )


def set_quantity(value: Fraction, dimension: Dimension, style: Style) -> Row:
    """Set an exact value that is not negative, in the unit system of the style."""
    exponent = _exponent(dimension, style)
    units = _prefixed(dimension, style)
    if dimension.second and len(unit_of(dimension)) == 1:
        # A capacitance, a charge, an energy or a time is far from 1 in the units of a circuit.
        exponent = _engineering(value)
        if dimension == SECOND:
            exponent = min(exponent, 0)  # nobody tells a time in kiloseconds
        units = _one_prefix(unit_of(dimension), exponent)
    power: Row = ()
    if units is None:
        units = unit_of(dimension)
        exponent = _engineering(value)
        power = _ten_to(exponent, style) if exponent else ()
    number = set_number(value / Fraction(10) ** exponent, style)
    return (*number, *power, Gap(), Units(units)) if units else number


def as_written(given: Given) -> Decimal | None:
    """Return a given value with the digits and the unit of the author, where there are any."""
    if given.written is None:
        return None
    digits, exponent = given.written
    return Decimal(digits, exponent, given.dimension)


def set_decimal(decimal: Decimal, style: Style) -> Row:
    """Set a value whose digits have been chosen, sign included."""
    digits, _, power = decimal.digits.lower().partition("e")
    sign: Row = ()
    if digits[:1] in ("+", "-"):
        sign = (Prefix(Sign.PLUS if digits[0] == "+" else Sign.MINUS),)
    number: Row = (*sign, _figures(digits.lstrip("+-"), style))
    exponent = int(power or "0")
    pairs = unit_of(decimal.dimension)
    if decimal.unit is not Unit.SI:
        pairs = ((decimal.unit.value, 1),)
    units = _one_prefix(pairs, decimal.unit_exponent)
    if units is None:
        exponent += decimal.unit_exponent
        units = pairs
    if exponent:
        number = (*number, *_ten_to(exponent, style))
    return (*number, Gap(), Units(units)) if units else number


def times(style: Style) -> Sign:
    """Return the multiplication sign between numbers.

    A dot on the line's middle beside a decimal point is common in physics; beside a decimal
    comma ISO 80000-1 and the IEC drafting rules ask for the cross.
    """
    return Sign.CROSS if style.decimal_comma else Sign.DOT


def _exponent(dimension: Dimension, style: Style) -> int:
    return dimension.volt * style.volt_exponent + dimension.ohm * style.ohm_exponent


def _engineering(value: Fraction) -> int:
    """Return the multiple of three that leaves a number from 1 to below 1000."""
    exponent = 0
    while value and value < Fraction(10) ** exponent:
        exponent -= 3
    while value >= Fraction(10) ** (exponent + 3):
        exponent += 3
    return exponent


def terminating(value: Fraction) -> str | None:
    """Return the decimal expansion when it ends early enough to be shown, else None."""
    if value.denominator == 1:
        return str(value.numerator)
    rest, decimals = value.denominator, 0
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest //= prime
            count += 1
        decimals = max(decimals, count)
    if rest != 1:
        return None
    scaled = str(value.numerator * 10**decimals // value.denominator)
    if len(scaled) > _LONGEST:
        return None
    scaled = scaled.rjust(decimals + 1, "0")
    return f"{scaled[:-decimals]}.{scaled[-decimals:]}"


def _figures(digits: str, style: Style) -> Figures:
    whole, _, decimals = digits.partition(".")
    return Figures(_groups_from_right(whole), _groups_from_left(decimals), style.decimal_comma)


def _groups_from_right(digits: str) -> tuple[str, ...]:
    if len(digits) < 5:
        return (digits,)
    first = len(digits) % 3
    groups = [digits[i : i + 3] for i in range(first, len(digits), 3)]
    return (digits[:first], *groups) if first else tuple(groups)


def _groups_from_left(digits: str) -> tuple[str, ...]:
    if len(digits) < 5:
        return (digits,) if digits else ()
    return tuple(digits[i : i + 3] for i in range(0, len(digits), 3))


def _ten_to(exponent: int, style: Style) -> Row:
    return (Operator(times(style)), Raised(_figures("10", style), exponent))


def _prefixed(dimension: Dimension, style: Style) -> tuple[tuple[str, int], ...] | None:
    """Return the units with the prefixes of the style; None when there is no such prefix."""
    if dimension == NUMBER:
        return ()
    pairs = unit_of(dimension)
    if len(pairs) == 1 and pairs[0][1] == 1:
        return _one_prefix(pairs, _exponent(dimension, style))
    own = {"V": style.volt_exponent, "Ω": style.ohm_exponent}
    if any(own.get(symbol, 0) not in _PREFIXES for symbol, _ in pairs):
        return None
    return tuple((_PREFIXES[own.get(symbol, 0)] + symbol, power) for symbol, power in pairs)


def _one_prefix(
    pairs: tuple[tuple[str, int], ...], exponent: int
) -> tuple[tuple[str, int], ...] | None:
    """Return the units with one prefix worth ``10**exponent``, on the first symbol."""
    if exponent == 0:
        return pairs
    if not pairs:
        return None
    (symbol, power), *rest = pairs
    prefix = _PREFIXES.get(exponent // power) if exponent % power == 0 else None
    return None if prefix is None else ((prefix + symbol, power), *rest)
