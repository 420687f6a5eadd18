"""What the author says of each quantity: given values and ties."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import AMPERE, FARAD, NUMBER, OHM, VOLT, Dimension
from derive.algebra.term import Symbol, SymbolKind, constant
from derive.circuit.amounts import shown, unit_name
from derive.circuit.complaints import Complaints
from derive.circuit.expressions import Expressions, Reading
from derive.circuit.numbers import Numbers, as_written
from derive.circuit.register import METERS, RESISTORS, VALUED, Kind, Register
from derive.circuit.ties import MOST_BITS, check_ties
from derive.circuit.valuation import Given, Tie, Valuation
from derive.diagnostic import Note
from derive.language.syntax import (
    Addend,
    Expression,
    Letter,
    Measure,
    Name,
    SumOf,
    Unknown,
    ValueStatement,
    VoltageName,
)
from derive.source import Span

_VALUED = (*VALUED, Kind.INTERNAL, Kind.CURRENT)
_EXAMPLES = {OHM: "5 ohm", VOLT: "9 V", AMPERE: "2 A", FARAD: "10 uF"}
_FOUND = (SymbolKind.CURRENT, SymbolKind.VOLTAGE)
"""What a solution finds; a dependent source follows it, and a condition gives it."""
_SEEKABLE = (*RESISTORS, *METERS, Kind.BATTERY, Kind.INTERNAL, Kind.SOURCE)
"""Parts whose quantity may be sought."""
_QUANTITIES = {
    OHM: "a resistance", VOLT: "an emf", AMPERE: "a source current", FARAD: "a capacitance",
}  # fmt: skip
_BRACKETS = {
    VOLT: "({name}) is a resistor; a battery shows its signs on the walk: (-{name}+)",
    AMPERE: "({name}) is a resistor; a current source has an arrow on the walk: ({name} ->)",
    FARAD: "({name}) is a resistor; a capacitor is named so on the walk: (capacitor {name})",
}


@dataclass(frozen=True, slots=True)
class Sought:
    """A quantity whose value is to be found, and where the author says so."""

    symbol: Symbol
    span: Span


def read_valuations(
    statements: Iterable[ValueStatement],
    rated: Iterable[Valuation],
    register: Register,
    numbers: Numbers,
    complaints: Complaints,
) -> tuple[tuple[Valuation, ...], tuple[Sought, ...]]:
    """Return the valuations of a file, in file order, each quantity at most once.

    Then the quantities whose values are sought. Among the valuations are those that follow from the
    `rated` lamps.
    """
    reader = _Reader(register, numbers, complaints)
    reader.enter(rated)
    for statement in statements:
        reader.read(statement)
    valuations = tuple(sorted(reader.valuations, key=lambda v: v.span.start if v.span else 0))
    check_ties(valuations, reader.readings, complaints)
    return valuations, tuple(reader.sought)


class _Reader:
    """Collects valuations statement by statement."""

    def __init__(self, register: Register, numbers: Numbers, complaints: Complaints) -> None:
        self._register = register
        self._numbers = numbers
        self._complaints = complaints
        self._expressions = Expressions(register, numbers, complaints)
        self._places: dict[str, Span] = {}
        self.valuations: list[Valuation] = []
        self.sought: list[Sought] = []
        self.readings: dict[Symbol, Reading] = {}
        self._rated: dict[str, Span] = {}

    def enter(self, rated: Iterable[Valuation]) -> None:
        """Take over the resistances of rated lamps."""
        for valuation in rated:
            assert isinstance(valuation.value, Given)
            assert valuation.span is not None
            value, unit = valuation.value.value, valuation.value.dimension
            self.valuations.append(valuation)
            self.readings[valuation.symbol] = Reading(constant(value, unit), unit, value, {})
            self._rated[valuation.symbol.name] = valuation.span

    def read(self, statement: ValueStatement) -> None:
        """Read one statement for all its targets."""
        if isinstance(statement.value, Unknown):
            for target in statement.targets:
                self._seek(target)
            return
        targets = [(target, self._symbol(target)) for target in statement.targets]
        span = statement.value.span
        names = (target.text for target in statement.targets if isinstance(target, Name))
        self._expressions.targets = frozenset(names)
        reading = self._expressions.read(statement.value)
        tolerance = self._tolerance(statement)
        if reading is None:
            return
        for target, symbol in targets:
            if symbol is None or not self._fits(symbol, reading, span):
                continue
            if symbol.kind in _FOUND:
                value: Given | Tie | None = self._condition(symbol, reading, statement)
            elif reading.letters:
                value = self._tie(symbol, reading, statement)
            else:
                value = self._given(symbol, reading, tolerance, statement.value)
            if value is not None:
                self.valuations.append(Valuation(symbol, value, target.span))
                self.readings[symbol] = reading

    def _symbol(self, target: Letter) -> Symbol | None:
        """Return the quantity that gets the value; None, with a complaint, when none can."""
        if isinstance(target, VoltageName):
            reading = self._expressions.read(target)
            symbol = None if reading is None else next(iter(reading.coefficients))
        else:
            entry = self._register.find(target, "a quantity", _VALUED)
            symbol = None if entry is None else entry.symbol
        return symbol if symbol is not None and self._is_new(symbol, target.span) else None

    def _is_new(self, symbol: Symbol, span: Span) -> bool:
        """Complain where something has been said of a quantity before."""
        if symbol.name in self._rated:
            self._complaints.error(
                "rated-and-valued",
                f"the rating of `{symbol.name}` gives its resistance, so it has no other value",
                span,
                "keep the rating or the value",
                notes=(Note("the rating is here", self._rated[symbol.name]),),
            )
            return False
        first = self._places.setdefault(symbol.name, span)
        if first == span:
            return True
        self._complaints.error(
            "value-twice",
            f"`{symbol.name}` is given a value twice",
            span,
            "keep one of the two",
            notes=(Note("the first value is here", first),),
        )
        return False

    def _seek(self, target: Letter) -> None:
        """Read ``E2 = ?``."""
        if isinstance(target, VoltageName):
            self._complaints.error(
                "sought-voltage", "a voltage is no value of a part that could be sought",
                target.span, f"ask for it: ask voltage {target.to.text} {target.origin.text}",
            )  # fmt: skip
            return
        entry = self._register.get(target.text)
        if entry is not None and entry.kind is Kind.CURRENT:
            self._complaints.error(
                "sought-current", f"the current `{target.text}` is found with all others",
                target.span, "leave this out, and ask for it: ask currents",
            )  # fmt: skip
            return
        if entry is not None and entry.kind is Kind.CAPACITOR:
            self._complaints.error(
                "sought-capacitance", "a capacitance does not follow from currents and voltages "
                "long after the last change", target.span,
                f"give a value: {target.text} = {_EXAMPLES[FARAD]}",
            )  # fmt: skip
            return
        entry = self._register.find(target, "a quantity", _SEEKABLE)
        if entry is None or entry.symbol is None or not self._is_new(entry.symbol, target.span):
            return
        self.sought.append(Sought(entry.symbol, target.span))

    def _condition(
        self, symbol: Symbol, reading: Reading, statement: ValueStatement
    ) -> Given | None:
        """Read a given current or voltage, which is a number."""
        assert not isinstance(statement.value, Unknown)
        example = f"{symbol.name} = {_EXAMPLES[symbol.dimension]}"
        if reading.letters:
            self._complaints.error(
                "condition-in-letters", f"a given {symbol.kind.value} is a number with a unit",
                statement.value.span, f"write for instance {example}",
            )  # fmt: skip
            return None
        if statement.tolerance is not None:
            self._complaints.error(
                "tolerance-of-condition", f"a given {symbol.kind.value} has no tolerance here",
                statement.tolerance.span, "parts have tolerances: R1 = 5 ohm ± 5 %",
            )  # fmt: skip
            return None
        if self._is_too_long(symbol, reading.constant, statement.value.span):
            return None
        written = written_amount(statement.value)
        return Given(reading.constant, symbol.dimension, None, reading.figures, written)

    def _fits(self, symbol: Symbol, reading: Reading, span: Span) -> bool:
        if reading.dimension == symbol.dimension:
            return True
        unit = unit_name(symbol.dimension)
        noun = f"a {symbol.kind.value}" if symbol.kind in _FOUND else _QUANTITIES[symbol.dimension]
        if reading.dimension == NUMBER:
            self._complaints.error(
                "missing-unit",
                f"the value of `{symbol.name}` has no unit",
                span,
                f"{symbol.name} is {noun}: write {symbol.name} = "
                + (_EXAMPLES[symbol.dimension] if reading.letters
                   else shown(reading.constant, symbol.dimension)),
            )  # fmt: skip
        else:
            self._complaints.error(
                "wrong-unit",
                f"`{symbol.name}` is {noun} and needs the unit {unit}, "
                f"not {unit_name(reading.dimension)}",
                span,
                f"write for instance {symbol.name} = {_EXAMPLES[symbol.dimension]}",
                *self._meant(symbol, reading.dimension),
            )
        return False

    def _meant(self, symbol: Symbol, unit: Dimension) -> Iterator[str]:
        """Yield how the part is written that such a unit is for, where a bare name stands."""
        entry = self._register.get(symbol.name)
        if unit in _BRACKETS and entry is not None and entry.kind is Kind.RESISTOR:
            yield _BRACKETS[unit].format(name=symbol.name)

    def _tolerance(self, statement: ValueStatement) -> Fraction | None:
        if statement.tolerance is None:
            return None
        value = self._numbers.read(statement.tolerance)
        if value is not None and value >= 100:
            self._complaints.error(
                "tolerance-too-large",
                "a tolerance is less than 100 %",
                statement.tolerance.span,
                "write it like this: R1 = 5 ohm ± 5 %",
            )
            return None
        return None if value is None else value / 100

    def _tie(self, symbol: Symbol, reading: Reading, statement: ValueStatement) -> Tie | None:
        moving = [s for s in reading.coefficients if s.kind in _FOUND]
        if moving and symbol.kind not in (SymbolKind.EMF, SymbolKind.SOURCE_CURRENT):
            noun = _QUANTITIES[symbol.dimension]
            self._complaints.error(
                "depends-on-solution",
                f"`{symbol.name}` is {noun}, which cannot depend on {moving[0].name}",
                statement.value.span,
                "an emf or a source current can: E3 = 2 ohm * I1",
            )
            return None
        if statement.tolerance is None:
            return Tie(reading.term, reading.figures)
        self._complaints.error(
            "tolerance-of-tie",
            f"`{symbol.name}` is tied to other quantities and takes its tolerance from them",
            statement.tolerance.span,
            "give a tolerance only with a value in numbers",
        )
        return None

    def _given(
        self, symbol: Symbol, reading: Reading, tolerance: Fraction | None, written: Expression
    ) -> Given | None:
        value, span = reading.constant, written.span
        if self._is_too_long(symbol, value, span):
            return None
        if value < 0 and symbol.dimension in (OHM, FARAD):
            noun = _QUANTITIES[symbol.dimension]
            self._complaints.error(
                f"negative-{noun.split()[-1]}",
                f"the {noun.split()[-1]} `{symbol.name}` is negative",
                span,
                f"{noun} is {'zero or ' if symbol.dimension == OHM else ''}positive: "
                f"{symbol.name} = {shown(-value, symbol.dimension)}",
            )
            return None
        if value == 0 and symbol.dimension == FARAD:
            self._complaints.error(
                "no-capacitance", f"the capacitance `{symbol.name}` is zero", span,
                f"a capacitance is more than zero: {symbol.name} = {_EXAMPLES[FARAD]}",
            )  # fmt: skip
            return None
        if value < 0:
            self._warn_of_sign(symbol, value, span)
        return Given(value, symbol.dimension, tolerance, reading.figures, written_amount(written))

    def _is_too_long(self, symbol: Symbol, value: Fraction, span: Span) -> bool:
        if max(value.numerator.bit_length(), value.denominator.bit_length()) <= MOST_BITS:
            return False
        self._complaints.error(
            "value-too-long",
            f"the exact value of `{symbol.name}` has too many digits to work with",
            span,
            "round the numbers it is made of",
        )
        return True

    def _warn_of_sign(self, symbol: Symbol, value: Fraction, span: Span) -> None:
        if symbol.kind is SymbolKind.SOURCE_CURRENT:
            self._complaints.warn(
                "negative-source",
                f"the source current `{symbol.name}` is negative, so it runs against its arrow",
                span,
                f"turn the arrow of the source on its walk and write {symbol.name} = "
                f"{shown(-value, AMPERE)}",
            )
            return
        self._complaints.warn(
            "negative-emf",
            f"the emf `{symbol.name}` is negative, so its terminals are the other way round",
            span,
            f"swap the signs of the battery on its walk and write {symbol.name} = "
            f"{shown(-value, VOLT)}",
        )


def written_amount(value: Expression) -> tuple[str, int] | None:
    """Return the digits of a value that is one number, and the power of ten of its unit."""
    match value:
        case Measure(number=number, unit=unit):
            return as_written(number.text, None if unit is None else unit.text)
        case SumOf(addends=(Addend(minus=True, expression=Measure() as measure),)):
            written = written_amount(measure)
            return None if written is None else (f"-{written[0]}", written[1])
        case _:
            return None
