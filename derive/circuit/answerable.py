"""Questions about a battery by itself, or a meter, that a circuit leaves without an answer."""

from __future__ import annotations

from collections.abc import Iterable

from derive.circuit.complaints import Complaints
from derive.circuit.model import Battery, Circuit, Instrument, Meter
from derive.circuit.values import MissingValue, UnfitTie, Values, evaluate
from derive.language.syntax import Ask, Name, QuestionKind

_ALONE = (QuestionKind.SHORT_CIRCUIT, QuestionKind.OPEN_CIRCUIT, QuestionKind.EFFICIENCY)
_NEED_RESISTANCE = {
    QuestionKind.SHORT_CIRCUIT: "nothing limits the current of a short circuit",
    QuestionKind.EFFICIENCY: "nothing is lost in it",
}


def refuse_unanswerable(circuit: Circuit, asks: Iterable[Ask], complaints: Complaints) -> None:
    """Complain of questions about batteries and meters that have no answer."""
    batteries = {b.name: b for b in circuit.elements if isinstance(b, Battery)}
    for ask in asks:
        for name in ask.names:
            battery = batteries.get(name.text)
            if battery is not None:
                _ask_of_battery(circuit, ask.kind, battery, name, complaints)
            if ask.kind is QuestionKind.LOADING_ERROR:
                _ask_of_meter(circuit, name, complaints)


def _ask_of_meter(circuit: Circuit, name: Name, complaints: Complaints) -> None:
    for element in circuit.elements:
        if isinstance(element, Instrument) and element.name == name.text and not element.is_real:
            size = "0.1 ohm" if element.meter is Meter.AMMETER else "10 kohm"
            complaints.error(
                "meter-ideal",
                f"`{name.text}` is an ideal {element.meter.value}, which changes nothing",
                name.span,
                f"give it a resistance: {name.text} = {size}",
            )


def _ask_of_battery(
    circuit: Circuit, kind: QuestionKind, battery: Battery, name: Name, complaints: Complaints
) -> None:
    if kind in _ALONE and battery.emf in circuit.dependent:
        complaints.error(
            "not-by-itself",
            f"`{name.text}` follows what flows elsewhere, so it cannot be judged by itself",
            name.span,
            f"in this circuit you can ask: ask terminal voltage of {name.text}",
        )
    elif kind in _NEED_RESISTANCE and _is_ideal(circuit, battery):
        complaints.error(
            "no-internal-resistance",
            f"`{name.text}` has no internal resistance, so {_NEED_RESISTANCE[kind]}",
            name.span,
            f"give the battery one: (-{name.text} r+)"
            if battery.resistance is None
            else f"give {battery.resistance.name} a value above zero, or none",
        )


def _is_ideal(circuit: Circuit, battery: Battery) -> bool:
    if battery.resistance is None:
        return True
    try:
        return not evaluate(Values(circuit).actual(battery.resistance))
    except (MissingValue, UnfitTie, ZeroDivisionError):
        return False
