"""Questions about a battery by itself, or a meter, that a circuit leaves without an answer."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.term import symbols
from derive.circuit.complaints import Complaints
from derive.circuit.elements import Battery, Instrument, Meter, Resistor
from derive.circuit.model import Circuit
from derive.circuit.questions import PREFERRED
from derive.circuit.valuation import Tie
from derive.circuit.values import MissingValue, UnfitTie, Values, evaluate
from derive.language.syntax import Ask, Name, QuestionKind

_ALONE = (QuestionKind.SHORT_CIRCUIT, QuestionKind.OPEN_CIRCUIT, QuestionKind.EFFICIENCY)
_NEED_RESISTANCE = {
    QuestionKind.SHORT_CIRCUIT: "nothing limits the current of a short circuit",
    QuestionKind.EFFICIENCY: "nothing is lost in it",
}


def refuse_unanswerable(circuit: Circuit, asks: Iterable[Ask], complaints: Complaints) -> None:
    """Complain of questions about batteries, meters and loads that have no answer."""
    resistors = {r.name: r for r in circuit.elements if isinstance(r, Resistor)}
    batteries = {b.name: b for b in circuit.elements if isinstance(b, Battery)}
    for ask in asks:
        for name in ask.names:
            battery = batteries.get(name.text)
            if battery is not None:
                _ask_of_battery(circuit, ask.kind, battery, name, complaints)
            if ask.kind is QuestionKind.LOADING_ERROR:
                _ask_of_meter(circuit, name, complaints)
            load = resistors.get(name.text)
            if load is not None and ask.kind is QuestionKind.MATCHED_LOAD:
                _ask_for_match(circuit, load, name, complaints)
            elif ask.kind in PREFERRED:
                _ask_for_preferred(circuit, ask.kind, name, complaints)


def _ask_for_preferred(
    circuit: Circuit, kind: QuestionKind, name: Name, complaints: Complaints
) -> None:
    """Complain where there is no value that others could be next to."""
    symbol = next((s for s in circuit.symbols if s.name == name.text), None)
    if symbol is None or symbol in circuit.sought:
        return
    try:
        value = Values(circuit).number(symbol)
    except (UnfitTie, ZeroDivisionError):
        return  # which is complained of elsewhere
    except MissingValue as missing:
        complaints.error(
            "no-value",
            f"the {kind.value} {name.text} is asked for, but {missing.symbol.name} has no value",
            name.span,
            f"give it one: {missing.symbol.name} = …",
        )
        return
    if value <= 0:
        complaints.error(
            "no-value",
            f"the {kind.value} {name.text} is asked for, but {name.text} is zero",
            name.span,
            "preferred values are above zero",
        )


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


def _ask_for_match(circuit: Circuit, load: Resistor, name: Name, complaints: Complaints) -> None:
    """Complain of a load that cannot take other values while all else stays as it is."""
    symbol = load.resistance
    own = circuit.valuation(symbol)
    following = [
        v.symbol.name
        for v in circuit.values
        if isinstance(v.value, Tie) and symbol in symbols(v.value.term)
    ]
    if isinstance(own, Tie):
        told, hint = "is tied to other values", f"leave the value of {name.text} out"
    elif following:
        told = f"has {following[0]} tied to it, which would change with it"
        hint = f"give {following[0]} a value of its own"
    elif own is not None and own.value == 0:
        told, hint = "is zero, so it is a wire", f"leave the value of {name.text} out"
    else:
        return
    complaints.error(
        "no-free-load",
        f"`{name.text}` {told}; the matched load is sought with all else fixed",
        name.span,
        hint,
    )


def _is_ideal(circuit: Circuit, battery: Battery) -> bool:
    if battery.resistance is None:
        return True
    try:
        return not evaluate(Values(circuit).actual(battery.resistance))
    except (MissingValue, UnfitTie, ZeroDivisionError):
        return False
