"""Answers about batteries, energy and charge: how they begin, and what their signs say."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.term import Term
from derive.analysis.hazards import cells
from derive.circuit.elements import Battery
from derive.circuit.question import (
    AskChargeOf,
    AskChargeThrough,
    AskEfficiency,
    AskEnergyIn,
    AskEnergyOf,
)
from derive.circuit.values import MissingValue, Values, evaluate
from derive.derivation.algebra import BackSubstitute, PutInValues
from derive.derivation.further import Efficiency, Lasts, OverTime
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import AcrossRule, PartRule
from derive.derivation.step import Conclude, Round
from derive.document import wording as w
from derive.document.model import Block, Chain, Display, Inline, Math, Relation, Row
from derive.document.opening import question_slots
from derive.document.phrase import paragraph
from derive.document.quantities import duration, printed
from derive.document.telling import Telling, extended, is_readable
from derive.typesetting.style import Expression

QUESTIONS = (AskEnergyIn, AskEnergyOf, AskChargeThrough, AskChargeOf, AskEfficiency)


def further(telling: Telling, stage: Stage, step: Conclude) -> Iterator[Block]:
    """Answer a question by another quantity, which comes first with its value."""
    template = w.FURTHER[type(step.question).__name__]
    if isinstance(step.question, AskEfficiency) and _is_charged(telling, step):
        template = w.EFFICIENCY_CHARGED
    yield paragraph(template, **question_slots(telling, step.question))
    sides = _sides(telling, stage, numeric=step.rounded is not None)
    rows = [*_times(telling, stage)]
    for symbol, ((relation, first), *rest) in sides.items():
        if symbol != step.symbol:
            rows.append(Row(extended(Chain((symbol, first), (relation,)), *rest)))
    rows.append(Row(telling.with_decimal(step, sides[step.symbol])))
    yield Display(tuple(rows))
    if telling.full:
        yield from _reading(telling, step)


def _sides(
    telling: Telling, stage: Stage, *, numeric: bool
) -> dict[Term, list[tuple[Relation, Expression]]]:
    """Return what each symbol of a stage equals: its law, its formula or its value, rounded."""
    sides: dict[Term, list[tuple[Relation, Expression]]] = {}
    concluded = [s.symbol for k in stage.ids if isinstance(s := telling.step(k), Conclude)]
    for k in stage.ids:
        step = telling.step(k)
        match step:
            case PartRule() | AcrossRule() | OverTime() | Efficiency():
                shown = True
            case BackSubstitute():
                shown = telling.formulas_shown and not numeric
            case PutInValues():
                shown = is_readable(step.conclusion.right)
            case Round() if step.symbol not in concluded:
                own = sides[step.symbol]
                exact = telling.equation(step.premise).right
                if step.exact and own[-1] == (Relation.EQUAL, exact):
                    own.pop()  # the decimal says the same
                own.append(printed(step))
                continue
            case _:
                continue
        if shown:
            side = (Relation.EQUAL, step.conclusion.right)
            sides.setdefault(step.conclusion.left, []).append(side)
    return sides


def _times(telling: Telling, stage: Stage) -> Iterator[Row]:
    """Yield the line that says how long a question lets the currents flow."""
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, Lasts):
            line = Chain((step.conclusion.left, duration(step.time)), (Relation.EQUAL,))
            yield Row(extended(line, (Relation.EQUAL, step.conclusion.right)))


def _reading(telling: Telling, step: Conclude) -> Iterator[Block]:
    """Say what the sign of an answer means."""
    rounded = telling.rounded(step)
    template = _NEGATIVE.get(type(step.question))
    if isinstance(step.question, AskEfficiency) and rounded is None:
        template = w.EFFICIENCY_IF
    elif rounded is None or rounded.rounded >= 0:
        return
    elif isinstance(step.question, AskChargeOf):
        template = _charge_in(telling, step.question.battery)
    if template is not None:
        yield paragraph(template, **question_slots(telling, step.question))


_NEGATIVE: dict[type, str] = {
    AskEnergyIn: w.TAKES_IN,
    AskEnergyOf: w.GIVES_BACK,
}


def _charge_in(telling: Telling, name: str) -> str:
    """Return what follows from charge that enters a battery at its + terminal."""
    roundings = (s for k in telling.ids(Goal.POWER) if isinstance(s := telling.step(k), Round))
    power = next((s.rounded for s in roundings if s.symbol.name == f"Pd({name})"), Fraction(0))
    if power > 0:
        return w.CHARGE_IN_DELIVERS
    if not power:
        return w.CHARGE_IN_ALONE  # the emf is zero, or not every value is known
    is_cell = any(battery.name == name for battery in cells(telling.circuit))
    return w.CHARGE_IN if is_cell else w.CHARGE_IN_TAKES


def terminal_voltage(telling: Telling, step: Conclude, name: str) -> Iterator[Block]:
    """Say why the voltage at the terminals of a battery is lower or higher than its emf."""
    battery = telling.circuit.element(name)
    if not isinstance(battery, Battery) or battery.resistance is None:
        return
    slots: dict[str, Inline] = {"part": Math(battery.emf), "inner": Math(battery.resistance)}
    if telling.rounded(step) is None or step.value is None:
        yield paragraph(w.TERMINAL_IF, **slots)
        return
    try:
        values = Values(telling.circuit)
        emf, inner = values.number(battery.emf), values.number(battery.resistance)
    except MissingValue:
        return  # of a dependent source, which is no battery
    voltage = evaluate(telling.equation(step.value).right)
    if inner:
        yield paragraph(_terminal(emf, emf - voltage), **slots)


def _terminal(emf: Fraction, lost: Fraction) -> str:
    """Return what is said of an emf and the voltage lost by the current that leaves at +."""
    if not lost:
        return w.TERMINAL_IDLE
    if not emf:
        return w.TERMINAL_NO_EMF
    if emf > 0:
        return w.TERMINAL_DELIVERS if lost > 0 else w.TERMINAL_CHARGED
    return w.TERMINAL_TURNED_DELIVERS if lost < 0 else w.TERMINAL_TURNED_CHARGED


def _is_charged(telling: Telling, step: Conclude) -> bool:
    found = (s for s in telling.derivation.steps if isinstance(s, Efficiency))
    return any(s.charged and s.conclusion.left == step.symbol for s in found)
