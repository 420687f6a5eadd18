"""Why a value that is sought is not found, in the words of the circuit."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import Symbol
from derive.circuit.amounts import listed, shown
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Valuation
from derive.diagnostic import Diagnostic


def not_fixed(circuit: Circuit) -> Diagnostic:
    """Say that what is given does not decide what is sought."""
    sought = [symbol.name for symbol in circuit.sought]
    given = [condition.symbol.name for condition in circuit.conditions]
    if len(sought) == 1:
        told = (
            f"{given[0]} does not depend on {sought[0]}: whatever {sought[0]} is, {given[0]} stays "
            f"the same. So {_said(circuit)} does not fix {sought[0]}"
        )
    else:
        told = f"{listed(given)} do not fix {listed(sought)}"
    hint = "give a current or a voltage that changes with the sought value"
    return Diagnostic("value-not-fixed", told, circuit.span_of(sought[0]), (hint,))


def no_such_resistance(
    circuit: Circuit, symbol: Symbol, voltage: Fraction | None, current: Fraction | None
) -> Diagnostic:
    """Say of a sought resistance in which no current flows why it has no value, or any."""
    name = symbol.name
    if current is None or voltage is None:
        code, told = (
            "value-not-fixed",
            (f"with {_said(circuit)} no current flows in {name}, so its value does not follow"),
        )
        hint = "give another current, or a voltage"
    elif voltage == 0:
        code, told = (
            "value-not-fixed",
            (
                f"with {_said(circuit)} there is neither a current in {name} nor a voltage across "
                f"it, so every value of {name} will do"
            ),
        )
        hint = "give another current, or a voltage"
    else:
        code, told = (
            "no-such-value",
            (
                f"no value of {name} leads to {_said(circuit)}: no current could flow in {name}, "
                f"although there would be {shown(abs(voltage), VOLT)} across it. Only a gap in its "
                "place does that"
            ),
        )
        hint = "check what is given, its size and its sign"
    return Diagnostic(code, told, circuit.span_of(name), (hint,))


def negative_resistance(circuit: Circuit, symbol: Symbol, value: Fraction) -> Diagnostic:
    """Say of a sought resistance that it would have to be negative."""
    told = (
        f"{symbol.name} would have to be {shown(value, OHM)} for {_said(circuit)}, and no "
        "resistance is negative: no value leads there"
    )
    hints = (
        "check what is given, its size and its sign: a current counts along the arrow of its walk",
    )
    return Diagnostic("no-such-value", told, circuit.span_of(symbol.name), hints)


def _said(circuit: Circuit) -> str:
    return listed([_condition(condition) for condition in circuit.conditions])


def _condition(condition: Valuation) -> str:
    assert isinstance(condition.value, Given)
    return f"{condition.symbol.name} = {shown(condition.value.value, condition.value.dimension)}"
