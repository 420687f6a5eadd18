"""What capacitors begin with, and whether a course in time can be told."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.dimension import NUMBER, VOLT
from derive.circuit.amounts import shown, unit_name
from derive.circuit.complaints import Complaints, not_solved_yet
from derive.circuit.expressions import Expressions
from derive.circuit.numbers import Numbers
from derive.circuit.register import Kind, Register
from derive.circuit.ties import MOST_BITS
from derive.circuit.valuation import Given, Initial
from derive.diagnostic import Note
from derive.language.syntax import Ask, Initially, QuestionKind
from derive.source import Span


def read_initials(
    statements: Iterable[Initially], register: Register, numbers: Numbers, complaints: Complaints
) -> tuple[Initial, ...]:
    """Return the voltages at the start, each capacitor at most once."""
    expressions = Expressions(register, numbers, complaints)
    found: list[Initial] = []
    places: dict[str, Span] = {}
    for statement in statements:
        name, span = statement.capacitor, statement.value.span
        entry = register.find(name, "a capacitor", (Kind.CAPACITOR,))
        reading = expressions.read(statement.value)
        if entry is None or reading is None:
            continue
        first = places.setdefault(name.text, name.span)
        if first != name.span:
            complaints.error(
                "value-twice", f"the voltage across {name.text} at the start is given twice",
                name.span, "keep one of the two", notes=(Note("the first one is here", first),),
            )  # fmt: skip
        elif reading.letters:
            not_solved_yet(
                complaints, "a voltage at the start that is no number", span,
                f"give it as a number: initially V({name.text}) = 2 V",
            )  # fmt: skip
        elif reading.dimension != VOLT:
            unit = unit_name(reading.dimension)
            what = "has no unit" if reading.dimension == NUMBER else f"is in {unit}, not in V"
            value = shown(reading.constant, VOLT) if reading.dimension == NUMBER else "2 V"
            complaints.error(
                "missing-unit" if reading.dimension == NUMBER else "wrong-unit",
                f"the voltage across {name.text} at the start {what}", span,
                f"write for instance: initially V({name.text}) = {value}",
            )  # fmt: skip
        elif _is_long(reading.constant.numerator) or _is_long(reading.constant.denominator):
            complaints.error(
                "value-too-long",
                f"the voltage across {name.text} at the start has too many digits to work with",
                span, "round the numbers it is made of",
            )  # fmt: skip
        else:
            value_given = Given(reading.constant, VOLT, figures=reading.figures)
            found.append(Initial(name.text, value_given, span=name.span))
    return tuple(found)


def _is_long(whole: int) -> bool:
    return whole.bit_length() > MOST_BITS


def check_transients(
    asks: Iterable[Ask],
    initials: tuple[Initial, ...],
    register: Register,
    complaints: Complaints,
    *,
    readable: bool,
    switching: bool,
) -> None:
    """Complain where a course in time is asked for that cannot be told.

    `readable` tells whether every statement of the file could be read, `switching` whether
    switches change: then a capacitor begins with the steady voltage from before.
    """
    capacitors = [entry.name for entry in register.of_kind(Kind.CAPACITOR)]
    asked: set[str] = set()
    for ask in asks:
        if ask.kind is not QuestionKind.TRANSIENT_OF:
            continue
        for name in ask.names:
            if name.text not in capacitors:
                continue  # complained of elsewhere
            asked.add(name.text)
            if len(capacitors) > 1:
                others = ", ".join(other for other in capacitors if other != name.text)
                complaints.error(
                    "not-solved-yet",
                    f"the transient of {name.text} is not solved yet beside another capacitor: "
                    f"with {others} their voltages change together",
                    name.span,
                    "keep one capacitor in the file",
                )
            elif readable and not switching and all(i.capacitor != name.text for i in initials):
                complaints.error(
                    "no-initial-voltage",
                    f"nothing says what voltage {name.text} has at the start",
                    name.span,
                    f"write: initially V({name.text}) = 0 V",
                )
    for initial in initials:
        if initial.capacitor not in asked:
            complaints.warn(
                "initial-not-used",
                f"the voltage of {initial.capacitor} at the start makes no difference to what is "
                "asked: long after, all capacitors have their steady voltage",
                initial.span,
                f"to see how it gets there write: ask transient of {initial.capacitor}",
            )
