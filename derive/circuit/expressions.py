"""The right side of a value: a term as written, with its dimension.

Only sums of multiples of quantities of one kind are solved. The coefficients are kept beside the
term, so that ties can be judged without algebra.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import NUMBER, OHM, SIEMENS, VOLT, Dimension
from derive.algebra.term import (
    Quotient,
    Symbol,
    Term,
    constant,
    negate,
    number,
    product,
    total,
    voltage,
)
from derive.circuit.complaints import Complaints, not_solved_yet
from derive.circuit.figures import fewest, written_figures
from derive.circuit.numbers import UNITS_HINT, Numbers, read_unit, unit_meant
from derive.circuit.register import VALUED, Kind, Register
from derive.language.syntax import (
    Expression,
    Measure,
    Multiple,
    Name,
    NumberLiteral,
    ProductOf,
    SumOf,
    Text,
    VoltageName,
)
from derive.source import Span

_QUANTITIES = (*VALUED, Kind.INTERNAL, Kind.CURRENT)


MOST_ITEMS = 50
"""Longest sum or product that a value may be."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A term with what it amounts to."""

    term: Term
    dimension: Dimension
    constant: Fraction
    """What it amounts to when every letter is zero."""
    coefficients: Mapping[Symbol, Fraction]
    """What multiplies each letter."""
    figures: int | None = None
    """Fewest significant figures among its numbers with a unit; None when they are exact."""

    @property
    def letters(self) -> bool:
        """True when the term holds a letter, even one that cancels."""
        return bool(self.coefficients)


class Expressions:
    """Reads the right sides of one file."""

    def __init__(self, register: Register, numbers: Numbers, complaints: Complaints) -> None:
        """Keep what is needed to know names and numbers."""
        self._register = register
        self._numbers = numbers
        self._complaints = complaints
        self.targets: frozenset[str] = frozenset()
        """The quantities whose value is being read."""

    def read(self, expression: Expression) -> Reading | None:
        """Return what an expression amounts to; None, with complaints, when that is nothing."""
        match expression:
            case Name():
                return self._quantity(expression)
            case VoltageName():
                return self._voltage(expression)
            case Measure():
                return self._measure(expression)
            case Multiple():
                return self._multiple(expression)
            case ProductOf():
                return self._product(expression)
            case SumOf():
                return self._sum(expression)

    def _quantity(self, name: Name) -> Reading | None:
        entry = self._register.find(name, "a quantity", _QUANTITIES)
        if entry is None:
            return None
        symbol = entry.symbol
        assert symbol is not None
        return Reading(symbol, symbol.dimension, Fraction(0), {symbol: Fraction(1)})

    def _voltage(self, name: VoltageName) -> Reading | None:
        found = [
            self._register.find(point, "a point", (Kind.POINT,)) for point in (name.to, name.origin)
        ]
        if None in found:
            return None
        if name.to.text == name.origin.text:
            self._complaints.error(
                "same-point", f"both points are {name.to.text}, and no voltage is between a point "
                "and itself", name.span, "name two different points: V(B,A)",
            )  # fmt: skip
            return None
        symbol = voltage(name.to.text, name.origin.text)
        return Reading(symbol, symbol.dimension, Fraction(0), {symbol: Fraction(1)})

    def _measure(self, measure: Measure) -> Reading | None:
        value = self._numbers.read(measure.number)
        if value is None:
            return None
        text = measure.number.text
        self._check_letter_code(measure.number)
        dimension = NUMBER
        if measure.unit is not None:
            exponent, dimension = read_unit(measure.unit.text)
            value *= Fraction(10) ** exponent
            self._warn_of_unit(measure.number, measure.unit, dimension)
        elif any(letter in text for letter in "kKM"):
            dimension = OHM
        # A factor without a unit, as in 1.5 * R1, is a count or a ratio, and exact.
        figures = None if dimension == NUMBER else written_figures(text)
        return Reading(constant(value, dimension), dimension, value, {}, figures)

    def _warn_of_unit(self, literal: NumberLiteral, unit: Text, dimension: Dimension) -> None:
        entry = self._register.get(unit.text)
        if entry is None or entry.symbol is None or unit.text in self.targets:
            return
        if entry.symbol.dimension == dimension:
            self._complaints.warn(
                "unit-is-a-name",
                f"`{unit.text}` is a unit here, though {entry.kind.value} has that name too",
                unit.span,
                f"for a multiple of `{unit.text}` write {literal.text} * {unit.text}",
            )

    def _check_letter_code(self, literal: NumberLiteral) -> None:
        for letter in "kKM":
            name = literal.text[literal.text.find(letter) :] if letter in literal.text else ""
            if name in self._register and name:
                digits = literal.text.removesuffix(name)
                self._complaints.error(
                    "ambiguous-number",
                    f"`{literal.text}` can be read in two ways, since `{name}` is a name here",
                    literal.span,
                    f"for a multiple write {digits} * {name}",
                    f"for a resistance write {digits}.{name[1:] or 0} {name[0]}ohm",
                )

    def _multiple(self, multiple: Multiple) -> Reading | None:
        if isinstance(multiple.factor, Name) and multiple.factor.text not in self._register:
            unit = unit_meant(multiple.factor.text)
            if unit is not None:
                self._complaints.error(
                    "unknown-unit",
                    f"`{multiple.factor.text}` is not a unit of this language",
                    multiple.factor.span,
                    f"write {multiple.number.text} {unit}",
                    UNITS_HINT,
                )
                return None
        value = self._numbers.read(multiple.number)
        factor = self.read(multiple.factor)
        if value is None or factor is None:
            return None
        return _scaled(factor, value, product(number(value), factor.term), factor.dimension)

    def _too_long(self, items: int, span: Span) -> bool:
        if items > MOST_ITEMS:
            self._complaints.error(
                "value-too-long",
                f"this value is made of more than {MOST_ITEMS} items",
                span,
                "give values by a few numbers and letters: R3 = 2 R1 + R2",
            )
        return items > MOST_ITEMS

    def _product(self, expression: ProductOf) -> Reading | None:
        if self._too_long(len(expression.factors), expression.span):
            return None
        result: Reading | None = None
        sound = True
        for factor in expression.factors:
            reading = self.read(factor.expression)
            if reading is None:
                sound = False
            elif result is None:
                result = reading
            else:
                result = self._combined(result, reading, factor.divides, factor.expression.span)
                if result is None:
                    return None
        return result if sound else None

    def _combined(self, left: Reading, right: Reading, divides: bool, span: Span) -> Reading | None:
        if right.letters and (left.letters or divides):
            not_solved_yet(
                self._complaints,
                "a product or a quotient of letters",
                span,
                "values are sums and multiples of other values: R3 = 2 R1 + R2",
            )
            return None
        if divides:
            if right.constant == 0:
                self._complaints.error(
                    "division-by-zero", "this divides by zero", span, "divide by another number"
                )
                return None
            dimension = left.dimension / right.dimension
            term: Term = Quotient(left.term, right.term)
            return _scaled(left, 1 / right.constant, term, dimension, right.figures)
        dimension = left.dimension * right.dimension
        term = product(left.term, right.term)
        if right.letters:
            return _scaled(right, left.constant, term, dimension, left.figures)
        return _scaled(left, right.constant, term, dimension, right.figures)

    def _sum(self, expression: SumOf) -> Reading | None:
        if self._too_long(len(expression.addends), expression.span):
            return None
        readings = [(addend, self.read(addend.expression)) for addend in expression.addends]
        first: Reading | None = None
        value = Fraction(0)
        coefficients: dict[Symbol, Fraction] = {}
        terms = []
        for addend, reading in readings:
            if reading is None:
                return None
            first = first or reading
            if reading.dimension != first.dimension:
                self._complain_of_sum(first, reading, addend.expression.span)
                return None
            sign = -1 if addend.minus else 1
            value += sign * reading.constant
            for symbol, coefficient in reading.coefficients.items():
                coefficients[symbol] = coefficients.get(symbol, Fraction(0)) + sign * coefficient
            terms.append(negate(reading.term) if addend.minus else reading.term)
        assert first is not None
        term = total(tuple(terms)) if coefficients else constant(value, first.dimension)
        figures = fewest(*(reading.figures for _, reading in readings if reading is not None))
        return Reading(term, first.dimension, value, coefficients, figures)

    def _complain_of_sum(self, first: Reading, other: Reading, span: Span) -> None:
        words = (_dimension_words(first.dimension), _dimension_words(other.dimension))
        self._complaints.error(
            "unlike-sum",
            f"{words[0]} and {words[1]} cannot be added",
            span,
            "all items of a sum have the same unit: R3 = R1 + 2 ohm",
        )


def _scaled(
    reading: Reading,
    factor: Fraction,
    term: Term,
    dimension: Dimension,
    figures: int | None = None,
) -> Reading:
    """Return a multiple; `figures` are those of the factor."""
    value = reading.constant * factor
    coefficients = {symbol: c * factor for symbol, c in reading.coefficients.items()}
    return Reading(
        term if coefficients else constant(value, dimension),
        dimension,
        value,
        coefficients,
        fewest(reading.figures, figures),
    )


def _dimension_words(dimension: Dimension) -> str:
    named = {OHM: "a resistance", VOLT: "a voltage", NUMBER: "a number without unit",
             SIEMENS: "a conductance"}  # fmt: skip
    return named.get(dimension, "another quantity")
