"""What is asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from derive.algebra.term import Symbol
from derive.algebra.unit import Unit
from derive.circuit.complaints import Complaints
from derive.circuit.numbers import Numbers
from derive.circuit.preferred import Series
from derive.circuit.question import (
    AskCharge,
    AskChargeOf,
    AskChargeThrough,
    AskCurrentIn,
    AskCurrents,
    AskEfficiency,
    AskEnergy,
    AskEnergyIn,
    AskEnergyOf,
    AskLoadingError,
    AskMatchedLoad,
    AskOpenCircuit,
    AskPotential,
    AskPotentials,
    AskPowerIn,
    AskPowerOf,
    AskPreferred,
    AskReading,
    AskReducible,
    AskResistance,
    AskShortCircuit,
    AskTerminalVoltage,
    AskTransient,
    AskValue,
    AskVoltage,
    AskVoltageAcross,
    Duration,
    Question,
)
from derive.circuit.register import METERS, PARTS, RESISTORS, VALUED, Entry, Kind, Register
from derive.language.syntax import (
    Ask,
    Ground,
    Name,
    QuestionKind,
    Statement,
    ValueStatement,
    VoltageName,
)
from derive.language.syntax import Duration as WrittenDuration


def points_asked_for(statements: Iterable[Statement]) -> frozenset[str]:
    """Return the points whose potential matters, so that they may be open ends."""
    names: list[str] = []
    for statement in statements:
        if isinstance(statement, Ground):
            names.append(statement.point.text)
        elif isinstance(statement, Ask) and statement.kind in (
            QuestionKind.VOLTAGE,
            QuestionKind.POTENTIAL,
            QuestionKind.RESISTANCE,
        ):
            names.extend(name.text for name in statement.names)
        elif isinstance(statement, ValueStatement):
            given = (t for t in statement.targets if isinstance(t, VoltageName))
            names.extend(point.text for t in given for point in (t.to, t.origin))
    return frozenset(names)


def asks_for_resistances_alone(statements: Iterable[Statement]) -> bool:
    """Tell whether nothing is asked for which a current has to flow."""
    kinds = {statement.kind for statement in statements if isinstance(statement, Ask)}
    return QuestionKind.RESISTANCE in kinds <= {QuestionKind.RESISTANCE, QuestionKind.REDUCIBLE}


def read_questions(
    asks: Iterable[Ask],
    grounded: bool,
    numbers: Numbers,
    register: Register,
    complaints: Complaints,
    sought: Sequence[Symbol] = (),
) -> tuple[Question, ...]:
    """Return the questions in file order, each once; with none, what is asked by habit.

    What is `sought` is asked for first, unless the author says where.
    """
    questions: dict[Question, None] = {}
    asked = False
    for ask in asks:
        if ask.kind is QuestionKind.VALUE_OF:
            for name in ask.names:
                if _is_sought(name, sought, register, complaints):
                    questions[AskValue(name.text)] = None
            continue
        asked = True
        for question in _questions(ask, grounded, numbers, register, complaints):
            if question in questions:
                complaints.warn("asked-twice", "this is asked twice", ask.span, "ask it once")
            questions[question] = None
    values = [AskValue(symbol.name) for symbol in sought]
    first = [question for question in values if question not in questions]
    if not asked:
        habit = (AskCurrents(),) if questions or first else (AskReducible(), AskCurrents())
        return (*first, *questions, *habit)
    return (*first, *questions)


def _is_sought(
    name: Name, sought: Sequence[Symbol], register: Register, complaints: Complaints
) -> bool:
    entry = register.find(name, "a quantity", (*VALUED, Kind.INTERNAL))
    if entry is None or any(symbol.name == name.text for symbol in sought):
        return entry is not None
    complaints.error(
        "value-not-sought",
        f"the value of {name.text} is asked for, but the file does not say that it is sought",
        name.span,
        f"write {name.text} = ? in place of its value, and give a current or a voltage: I3 = 1.2 A",
    )
    return False


def _questions(
    ask: Ask, grounded: bool, numbers: Numbers, register: Register, complaints: Complaints
) -> Iterator[Question]:
    match ask.kind:
        case QuestionKind.REDUCIBLE:
            yield AskReducible()
        case QuestionKind.CURRENTS:
            yield AskCurrents()
        case QuestionKind.VOLTAGE:
            to, origin = ask.names
            if _two_points(ask.kind, to, origin, register, complaints):
                yield AskVoltage(to.text, origin.text)
        case QuestionKind.RESISTANCE:
            one, other = ask.names
            if _two_points(ask.kind, one, other, register, complaints):
                yield AskResistance(one.text, other.text)
        case QuestionKind.POTENTIALS:
            if not grounded:
                _no_ground("potentials are asked for", ask, complaints)
            yield AskPotentials()
        case QuestionKind.POTENTIAL:
            if not grounded:
                _no_ground("a potential is asked for", ask, complaints)
            for name in ask.names:
                if register.find(name, "a point", (Kind.POINT,)) is not None:
                    yield AskPotential(name.text)
        case _:
            time = None if ask.duration is None else _time(ask.duration, numbers, complaints)
            yield from _part_questions(ask, time, register, complaints)


def _no_ground(asked: str, ask: Ask, complaints: Complaints) -> None:
    complaints.error(
        "no-ground",
        f"{asked}, but no point has the potential zero",
        ask.span,
        "choose one: ground A",
        "or ask for the voltage between two points: ask voltage B A",
    )


def _two_points(
    kind: QuestionKind, to: Name, origin: Name, register: Register, complaints: Complaints
) -> bool:
    resistance = kind is QuestionKind.RESISTANCE
    found = []
    for name in (to, origin):
        entry = register.get(name.text)
        if entry is not None and entry.kind in PARTS:
            complaints.error(
                "wrong-kind",
                f"`{name.text}` is {entry.kind.value}; this question needs two points",
                name.span,
                "name the points at its ends: ask resistance A B"
                if resistance
                else f"the voltage of a part is asked with: ask voltage across {name.text}",
            )
        else:
            found.append(register.find(name, "a point", (Kind.POINT,)))
    if to.text == origin.text:
        complaints.error(
            "same-point",
            f"both points are {to.text}, and no {kind.value} is between a point and itself",
            origin.span,
            f"name two different points: ask {kind.value} B A",
        )
        return False
    return len(found) == 2 and None not in found


def _time(duration: WrittenDuration, numbers: Numbers, complaints: Complaints) -> Duration | None:
    """Read a time; None where it cannot be meant."""
    count = numbers.read(duration.number)
    if count is None:
        return None
    if count <= 0:
        complaints.error(
            "no-time", "a time is longer than zero", duration.number.span,
            "write the time for which the currents flow: over 2 h",
        )  # fmt: skip
        return None
    symbol = duration.unit.text
    return Duration(count, Unit.SI if symbol == "s" else Unit(symbol))


def _timed(ask: Ask, complaints: Complaints) -> bool:
    """Tell whether a question has a time exactly where it needs one; complain if not."""
    needed = ask.kind in _NEED_TIME
    if ask.duration is not None and ask.kind not in (*_NEED_TIME, QuestionKind.ENERGY_IN):
        instead = _OVER_TIME.get(ask.kind)
        hints = ["leave the time out: these values stay the same all the time"]
        if instead is not None:
            example = f"ask {instead.value} {ask.names[0].text} over 2 h"
            hints.append(f"over a time you can ask: {example}")
        complaints.error(
            "time-unused", f"the question `{ask.kind.value}` has no time", ask.duration.span, *hints
        )
        return False
    if needed and ask.duration is None:
        complaints.error(
            "time-needed", f"the question `{ask.kind.value}` needs a time", ask.span,
            f"say for how long: ask {ask.kind.value} {ask.names[0].text} over 2 h",
        )  # fmt: skip
        return False
    return True


_NEED_TIME = (QuestionKind.ENERGY_OF, QuestionKind.CHARGE_THROUGH, QuestionKind.CHARGE_OF)
_OVER_TIME = {
    QuestionKind.POWER_IN: QuestionKind.ENERGY_IN,
    QuestionKind.POWER_OF: QuestionKind.ENERGY_OF,
    QuestionKind.CURRENT_IN: QuestionKind.CHARGE_THROUGH,
}


def _part_questions(
    ask: Ask, time: Duration | None, register: Register, complaints: Complaints
) -> Iterator[Question]:
    if not _timed(ask, complaints) or (ask.duration is not None and time is None):
        for name in ask.names:
            register.find(name, "a part", (*VALUED, Kind.INTERNAL))
        return
    for name in ask.names:
        entry = _part(ask.kind, name, register, complaints, timed=time is not None)
        if entry is None:
            continue
        match ask.kind:
            case QuestionKind.CURRENT_IN:
                yield AskCurrentIn(name.text)
            case QuestionKind.VOLTAGE_ACROSS:
                yield AskVoltageAcross(name.text)
            case QuestionKind.POWER_IN:
                yield AskPowerIn(name.text)
            case QuestionKind.POWER_OF:
                yield AskPowerOf(name.text)
            case QuestionKind.TERMINAL_VOLTAGE:
                yield AskTerminalVoltage(name.text)
            case QuestionKind.READING_OF:
                yield AskReading(name.text)
            case QuestionKind.LOADING_ERROR:
                yield AskLoadingError(name.text)
            case QuestionKind.CHARGE_ON:
                yield AskCharge(name.text)
            case QuestionKind.ENERGY_IN:
                yield AskEnergy(name.text) if time is None else AskEnergyIn(name.text, time)
            case QuestionKind.ENERGY_OF:
                assert time is not None
                yield AskEnergyOf(name.text, time)
            case QuestionKind.CHARGE_THROUGH:
                assert time is not None
                yield AskChargeThrough(name.text, time)
            case QuestionKind.CHARGE_OF:
                assert time is not None
                yield AskChargeOf(name.text, time)
            case QuestionKind.SHORT_CIRCUIT:
                yield AskShortCircuit(name.text)
            case QuestionKind.OPEN_CIRCUIT:
                yield AskOpenCircuit(name.text)
            case QuestionKind.MATCHED_LOAD:
                yield AskMatchedLoad(name.text)
            case QuestionKind.EFFICIENCY:
                yield AskEfficiency(name.text)
            case QuestionKind.TRANSIENT_OF:
                yield AskTransient(name.text)
            case kind if kind in PREFERRED:
                yield AskPreferred(PREFERRED[kind], name.text)
            case _:
                raise AssertionError(ask.kind)


PREFERRED = {QuestionKind(f"{series.name} value of"): series for series in Series}
"""Questions for preferred values."""
_SERIES_HAVE = (Kind.RESISTOR, Kind.CAPACITOR)
_INSTEAD = {
    QuestionKind.POWER_OF: QuestionKind.POWER_IN,
    QuestionKind.TERMINAL_VOLTAGE: QuestionKind.VOLTAGE_ACROSS,
    QuestionKind.READING_OF: QuestionKind.CURRENT_IN,
    QuestionKind.LOADING_ERROR: QuestionKind.CURRENT_IN,
    QuestionKind.CHARGE_ON: QuestionKind.VOLTAGE_ACROSS,
    QuestionKind.ENERGY_IN: QuestionKind.POWER_IN,
    QuestionKind.TRANSIENT_OF: QuestionKind.VOLTAGE_ACROSS,
    QuestionKind.ENERGY_OF: QuestionKind.POWER_IN,
    QuestionKind.CHARGE_OF: QuestionKind.CURRENT_IN,
    QuestionKind.SHORT_CIRCUIT: QuestionKind.CURRENT_IN,
    QuestionKind.OPEN_CIRCUIT: QuestionKind.VOLTAGE_ACROSS,
    QuestionKind.EFFICIENCY: QuestionKind.POWER_IN,
    QuestionKind.MATCHED_LOAD: QuestionKind.POWER_IN,
}
"""Questions that only some parts can answer, and what to ask of another part instead."""
_THROUGH_OR_IN = {
    QuestionKind.CHARGE_OF: QuestionKind.CHARGE_THROUGH,
    QuestionKind.ENERGY_OF: QuestionKind.ENERGY_IN,
}
"""What to ask of a part that delivers nothing, over a time."""
_ABLE = {
    QuestionKind.POWER_OF: (Kind.BATTERY, Kind.SOURCE),
    QuestionKind.TERMINAL_VOLTAGE: (Kind.BATTERY,),
    QuestionKind.READING_OF: METERS,
    QuestionKind.LOADING_ERROR: METERS,
    QuestionKind.CHARGE_ON: (Kind.CAPACITOR,),
    QuestionKind.ENERGY_IN: (Kind.CAPACITOR,),
    QuestionKind.TRANSIENT_OF: (Kind.CAPACITOR,),
    QuestionKind.ENERGY_OF: (Kind.BATTERY, Kind.SOURCE),
    QuestionKind.CHARGE_OF: (Kind.BATTERY,),
    QuestionKind.SHORT_CIRCUIT: (Kind.BATTERY,),
    QuestionKind.OPEN_CIRCUIT: (Kind.BATTERY,),
    QuestionKind.EFFICIENCY: (Kind.BATTERY,),
    QuestionKind.MATCHED_LOAD: RESISTORS,
    **dict.fromkeys(PREFERRED, _SERIES_HAVE),
}
_WANTED = {
    QuestionKind.POWER_OF: "a source",
    QuestionKind.TERMINAL_VOLTAGE: "a battery",
    QuestionKind.READING_OF: "a meter",
    QuestionKind.LOADING_ERROR: "a meter",
    QuestionKind.CHARGE_ON: "a capacitor",
    QuestionKind.ENERGY_IN: "a capacitor",
    QuestionKind.TRANSIENT_OF: "a capacitor",
    QuestionKind.ENERGY_OF: "a source",
    QuestionKind.CHARGE_OF: "a battery",
    QuestionKind.SHORT_CIRCUIT: "a battery",
    QuestionKind.OPEN_CIRCUIT: "a battery",
    QuestionKind.EFFICIENCY: "a battery",
    QuestionKind.MATCHED_LOAD: "a resistor or a lamp",
    **dict.fromkeys(PREFERRED, "a resistor or a capacitor"),
}


def _part(
    kind: QuestionKind, name: Name, register: Register, complaints: Complaints, *, timed: bool
) -> Entry | None:
    entry = register.get(name.text)
    instead = _INSTEAD.get(kind)
    able = _ABLE.get(kind, PARTS)
    if kind is QuestionKind.ENERGY_IN and timed:
        able = tuple(part for part in PARTS if part is not Kind.CAPACITOR)
    wanted = _WANTED.get(kind, "a part")
    if entry is None or entry.kind in able:
        return register.find(name, "a part" if entry is None else wanted, able, able)
    if entry.kind is Kind.INTERNAL and kind not in PREFERRED:
        hint = f"{name.text} is inside {entry.battery}"
        if Kind.BATTERY in able:
            hint += f": ask {kind.value} {entry.battery}"
    elif entry.kind is Kind.CURRENT:
        hint = "the currents of all walks are asked with: ask currents"
    elif kind is QuestionKind.ENERGY_IN and entry.kind in PARTS:
        if timed:
            wanted = "a part in which a current flows"
            hint = f"what a capacitor holds is asked without a time: ask energy in {name.text}"
        else:
            hint = f"this part needs a time: ask energy in {name.text} over 2 h"
    elif timed and kind in _THROUGH_OR_IN and entry.kind in PARTS:
        hint = f"of this part you can ask: ask {_THROUGH_OR_IN[kind].value} {name.text} over 2 h"
    elif instead is not None and entry.kind is not Kind.POINT:
        hint = f"of this part you can ask: ask {instead.value} {name.text}"
    else:
        return register.find(name, wanted, able)
    complaints.error(
        "wrong-kind", f"`{name.text}` is {entry.kind.value}, but {wanted} is needed here",
        name.span, hint,
    )  # fmt: skip
    return None
