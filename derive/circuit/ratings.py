"""What parts are made for, and the resistances of lamps that follow from it."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.dimension import NUMBER, OHM, VOLT, WATT, Dimension
from derive.algebra.term import resistance
from derive.circuit.amounts import shown, unit_name
from derive.circuit.complaints import Complaints
from derive.circuit.expressions import Expressions, Reading
from derive.circuit.figures import fewest
from derive.circuit.numbers import Numbers
from derive.circuit.register import RESISTORS, Entry, Kind, Register
from derive.circuit.ties import MOST_BITS
from derive.circuit.valuation import Given, Rating, Valuation
from derive.circuit.valuations import written_amount
from derive.diagnostic import Note
from derive.language.syntax import Expression, Name, Rate
from derive.source import Span

_LAMP = "write for instance: rating {} = 6 V, 3 W"
_RESISTOR = "write for instance: rating {} = 0.25 W"
_NOUNS = {VOLT: "voltage", WATT: "power"}


def read_ratings(
    statements: Iterable[Rate], register: Register, numbers: Numbers, complaints: Complaints
) -> tuple[tuple[Rating, ...], tuple[Valuation, ...]]:
    """Return the ratings, each part at most once, and the resistances of the rated lamps.

    A lamp takes its rated power P at its rated voltage V, so that its resistance there is V²/P.
    """
    reader = _Reader(register, numbers, complaints)
    for statement in statements:
        reader.read(statement)
    return tuple(reader.ratings), tuple(reader.resistances)


class _Reader:
    """Collects ratings statement by statement."""

    def __init__(self, register: Register, numbers: Numbers, complaints: Complaints) -> None:
        self._register = register
        self._complaints = complaints
        self._expressions = Expressions(register, numbers, complaints)
        self._places: dict[str, Span] = {}
        self.ratings: list[Rating] = []
        self.resistances: list[Valuation] = []

    def read(self, statement: Rate) -> None:
        """Read one statement for all its parts."""
        entries = [(name, self._entry(name)) for name in statement.parts]
        example = next((e for _, e in entries if e is not None), None)
        if example is None:
            return
        amounts: dict[Dimension, Given] = {}
        for expression in statement.amounts:
            reading = self._expressions.read(expression)
            if reading is None or not self._is_amount(example, reading, expression.span):
                return
            if reading.dimension in amounts:
                self._complaints.error(
                    "rated-twice", f"a rated {_NOUNS[reading.dimension]} stands before this one",
                    expression.span, _form(example),
                )  # fmt: skip
                return
            amounts[reading.dimension] = _given(reading, expression)
        for name, entry in entries:
            if entry is not None:
                self._rate(name, entry, amounts, statement)

    def _entry(self, name: Name) -> Entry | None:
        entry = self._register.find(name, "a lamp or a resistor", RESISTORS)
        if entry is None:
            return None
        first = self._places.setdefault(name.text, name.span)
        if first == name.span:
            return entry
        self._complaints.error(
            "rating-twice", f"`{name.text}` is given a rating twice", name.span,
            "keep one of the two", notes=(Note("the first rating is here", first),),
        )  # fmt: skip
        return None

    def _is_amount(self, entry: Entry, reading: Reading, span: Span) -> bool:
        """Complain of what is no positive voltage or power in numbers."""
        value, unit = reading.constant, reading.dimension
        if reading.letters:
            code, message = "rating-in-letters", "a rating is a number with a unit"
        elif unit == NUMBER:
            code, message = "missing-unit", "a rating has a unit: V for a voltage, W for a power"
        elif unit not in _NOUNS:
            code = "wrong-unit"
            message = f"a rating is in W, or in V and W, not in {unit_name(unit)}"
        elif value <= 0:
            size = "zero" if value == 0 else "negative"
            code, message = f"rating-{size}", f"this rated {_NOUNS[unit]} is {size}"
        elif max(value.numerator.bit_length(), value.denominator.bit_length()) > MOST_BITS // 4:
            code, message = "value-too-long", "this rating has too many digits to work with"
        else:
            return True
        hint = _form(entry) if value >= 0 else f"a rating is more than zero: {shown(-value, unit)}"
        self._complaints.error(code, message, span, hint)
        return False

    def _rate(
        self, name: Name, entry: Entry, amounts: dict[Dimension, Given], statement: Rate
    ) -> None:
        power, voltage = amounts.get(WATT), amounts.get(VOLT)
        is_lamp = entry.kind is Kind.LAMP
        if power is None or (voltage is not None) != is_lamp:
            told = f"`{name.text}` is a lamp, which is rated for a voltage and a power"
            if not is_lamp:
                told = f"`{name.text}` is a resistor, which is rated for a power alone"
            span = Span(statement.amounts[0].span.start, statement.amounts[-1].span.end)
            self._complaints.error("rating-unfit", told, span, _form(entry))
            return
        self.ratings.append(Rating(name.text, power, voltage))
        if voltage is not None:
            size = voltage.value**2 / power.value
            known = Given(size, OHM, figures=fewest(voltage.figures, power.figures))
            self.resistances.append(Valuation(resistance(name.text), known, name.span))


def _form(entry: Entry) -> str:
    return (_LAMP if entry.kind is Kind.LAMP else _RESISTOR).format(entry.name)


def _given(reading: Reading, expression: Expression) -> Given:
    written = written_amount(expression)
    return Given(reading.constant, reading.dimension, None, reading.figures, written)
