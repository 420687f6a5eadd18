"""The balance of power: what the sources deliver is what the other parts take in."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import NUMBER, WATT
from derive.algebra.name import unused_name
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    Equation,
    Negative,
    Quotient,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    constant,
    replace,
    total,
)
from derive.algebra.unit import Unit
from derive.analysis.evaluate import Known, put_values
from derive.analysis.laws import across_rule
from derive.analysis.relations import internal_heat, part_rule
from derive.analysis.rounding import rounded
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Circuit
from derive.derivation.algebra import Define, PutInValues
from derive.derivation.builder import Builder
from derive.derivation.further import PowerBalance, PowerPart
from derive.derivation.laws import PartLaw
from derive.derivation.step_id import StepId


def balance(circuit: Circuit, known: Known, builder: Builder, figures: int) -> StepId:
    """Write the power of every part, round each once, and compare the sums of both sides.

    A battery that is being charged is counted among the parts that take in. Returns the balance.
    """
    delivered: list[StepId] = []
    taken: list[StepId] = []
    for branch in circuit.branches:
        for passage in branch.passages:
            element = passage.element
            if isinstance(element, CurrentSource):
                step = _of_source(circuit, element.name, known, builder)
                builder.add(rounded(builder, step, figures))
                charged = isinstance(builder.equation(step).right, Negative)
                (taken if charged else delivered).append(step)
            if isinstance(element, Battery):
                rule = builder.add(part_rule(circuit, element.name, PartLaw.POWER_OF))
                step = put_values(known, builder, rule)
                builder.add(rounded(builder, step, figures))
                charged = isinstance(builder.equation(step).right, Negative)
                (taken if charged else delivered).append(step)
            if element.resistance is not None:
                heat = (
                    internal_heat(circuit, element.name)
                    if isinstance(element, Battery)
                    else part_rule(circuit, element.name, PartLaw.POWER_IN)
                )
                step = put_values(known, builder, builder.add(heat))
                builder.add(rounded(builder, step, figures))
                taken.append(step)
    names = {s.name for s in circuit.symbols}
    sides: list[Term] = []
    totals: list[StepId] = []
    for name, steps in (("P_delivered", delivered), ("P_taken", taken)):
        symbol = Symbol(unused_name(name, names), SymbolKind.POWER, WATT)
        total_step, value = _sum(symbol, tuple(steps), builder, figures)
        totals.append(total_step)
        sides.append(value)
    return builder.add(
        PowerBalance(
            delivered=tuple(delivered),
            taken=tuple(taken),
            totals=tuple(totals),
            conclusion=Equation(sides[0], sides[1]),
        )
    )


def shares(builder: Builder, balance: StepId, figures: int) -> None:
    """Write which part of the whole each power is, where a side holds more than one."""
    step = builder.step(balance)
    assert isinstance(step, PowerBalance)
    whole = step.conclusion.left
    if max(len(step.delivered), len(step.taken)) < 2 or not _value(whole):
        return
    for cited in (*step.delivered, *step.taken):
        power = builder.equation(cited)
        assert isinstance(power.left, Symbol)
        name = power.left.name.removeprefix("Pd").removeprefix("P")
        size = constant(abs(_value(power.right)), WATT)
        part = builder.add(
            PowerPart(
                power=cited,
                balance=balance,
                conclusion=Equation(auxiliary(f"share{name}", NUMBER), Quotient(size, whole)),
            )
        )
        builder.add(rounded(builder, part, figures, Unit.PERCENT))


def _value(term: Term) -> Fraction:
    return Ring(()).poly(term).constant_value


def _of_source(circuit: Circuit, name: str, known: Known, builder: Builder) -> StepId:
    """Return the step that gives the power a current source delivers, by the voltage across it."""
    across = builder.add(across_rule(circuit, name))
    voltage = builder.equation(across).left
    assert isinstance(voltage, Symbol)
    value = put_values(known, builder, across)
    rule = builder.add(part_rule(circuit, name, PartLaw.POWER_OF))
    return put_values(known, builder, rule, {voltage: value})


def _sum(
    symbol: Symbol, steps: tuple[StepId, ...], builder: Builder, figures: int
) -> tuple[StepId, Term]:
    """Name the sum of some powers, put the numbers in, round it; return its step and value."""
    terms: list[Term] = []
    known: dict[Symbol, Term] = {}
    for step in steps:
        equation = builder.equation(step)
        assert isinstance(equation.left, Symbol)
        known[equation.left] = equation.right
        # A battery that takes in has a negative power delivered.
        charged = symbol.name.startswith("P_taken") and equation.left.name.startswith("Pd(")
        terms.append(Negative(equation.left) if charged else equation.left)
    named = total(tuple(terms))
    value = constant(Ring(()).poly(replace(named, known)).constant_value, WATT)
    defined = builder.add(Define(symbol=symbol, conclusion=Equation(symbol, named)))
    if named != value:
        step = builder.add(
            PutInValues(premise=defined, values=steps, conclusion=Equation(symbol, value))
        )
        builder.add(rounded(builder, step, figures))
    return defined, value
