"""Answers: each question of the file concluded from the currents, rounded once, and the balance."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from derive.algebra.dimension import WATT
from derive.algebra.polynomial import Ring
from derive.algebra.term import Equation, Symbol, constant, replace, symbols
from derive.analysis.laws import internal_heat, part_rule, path_rule
from derive.analysis.solve import Currents, derive_currents
from derive.circuit.model import (
    AskCurrentIn,
    AskCurrents,
    AskPotential,
    AskPowerIn,
    AskPowerOf,
    AskReducible,
    AskTerminalVoltage,
    AskVoltage,
    AskVoltageAcross,
    Battery,
    Circuit,
    Question,
)
from derive.derivation.builder import Builder
from derive.derivation.step import (
    BackSubstitute,
    Conclude,
    Derivation,
    PartLaw,
    PartRule,
    PathRule,
    PowerBalance,
    PutInValues,
    Round,
    StepId,
)

_FIGURES = 3
"""Significant figures unless the author sets them (common practice, no source)."""


def derive(
    circuit: Circuit, *, numbers_first: bool = False, figures: int | None = None
) -> Derivation:
    """Answer every question of a circuit but the one about reduction, and balance the power.

    Raises what `derive_currents` raises.
    """
    found = derive_currents(circuit, numbers_first=numbers_first)
    builder = Builder(found.derivation)
    digits = figures or circuit.looks.figures or _FIGURES
    _conclude_currents(circuit, found, builder, digits)
    for question in circuit.questions:
        rule = _rule(circuit, question)
        if rule is not None:
            _conclude(found, builder, question, builder.add(rule), digits)
    if found.values:
        _balance(circuit, found, builder)
    return builder.finish()


def _conclude_currents(circuit: Circuit, found: Currents, builder: Builder, digits: int) -> None:
    names = dict.fromkeys(branch.current for branch in circuit.branches)
    names.update(dict.fromkeys(walk.current for walk in circuit.walks))
    for symbol in names:
        value = found.values.get(symbol)
        builder.add(
            Conclude(
                question=AskCurrents(),
                symbol=symbol,
                formula=found.formulas.get(symbol),
                value=value,
                rounded=None if value is None else builder.add(_rounded(builder, value, digits)),
            )
        )


def _rule(circuit: Circuit, question: Question) -> PartRule | PathRule | None:
    """Return the law a question is answered by; None for currents and the verdict."""
    match question:
        case AskReducible() | AskCurrents():
            return None
        case AskCurrentIn(part=part):
            return part_rule(circuit, part, PartLaw.CURRENT)
        case AskVoltageAcross(part=part):
            return part_rule(circuit, part, PartLaw.VOLTAGE)
        case AskTerminalVoltage(battery=battery):
            return part_rule(circuit, battery, PartLaw.VOLTAGE)
        case AskPowerIn(part=part):
            return part_rule(circuit, part, PartLaw.POWER_IN)
        case AskPowerOf(battery=battery):
            return part_rule(circuit, battery, PartLaw.POWER_OF)
        case AskVoltage(to=to, origin=origin):
            return path_rule(circuit, origin, to)
        case AskPotential(point=point):
            if circuit.ground is None:
                raise ValueError("a potential needs a grounded point")
            return path_rule(circuit, circuit.ground, point)
        case _:
            assert_never(question)


def _conclude(
    found: Currents, builder: Builder, question: Question, rule: StepId, digits: int
) -> None:
    left = builder.equation(rule).left
    assert isinstance(left, Symbol)
    formula = _formula(found, builder, rule) if found.formulas else None
    value = _valued(found, builder, rule) if found.values else None
    rounded = None if value is None else builder.add(_rounded(builder, value, digits))
    builder.add(
        Conclude(question=question, symbol=left, formula=formula, value=value, rounded=rounded)
    )


def _formula(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put the formulas of the currents into a law."""
    law = builder.equation(rule)
    used = {s: k for s, k in found.formulas.items() if s in set(symbols(law.right))}
    right = replace(law.right, {s: builder.equation(k).right for s, k in used.items()})
    return builder.add(
        BackSubstitute(
            premise=rule,
            definitions=tuple(used.values()),
            rewriting=found.definitions,
            conclusion=Equation(law.left, right),
        )
    )


def _valued(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put the numbers into a law, first as they stand, then reckoned out."""
    law = builder.equation(rule)
    assert isinstance(law.left, Symbol)
    known = _known(found, builder)
    shown = replace(
        law.right, {s: constant(known[s], s.dimension) for s in dict.fromkeys(symbols(law.right))}
    )
    steps = (*found.given, *(k for s, k in found.values.items() if s in set(symbols(law.right))))
    if shown != law.right:
        rule = builder.add(
            PutInValues(premise=rule, values=steps, conclusion=Equation(law.left, shown))
        )
    exact = constant(Ring(()).poly(shown).constant_value, law.left.dimension)
    if exact == shown:
        return rule
    return builder.add(PutInValues(premise=rule, values=(), conclusion=Equation(law.left, exact)))


def _known(found: Currents, builder: Builder) -> dict[Symbol, Fraction]:
    """Return the number of every quantity and every current."""
    known: dict[Symbol, Fraction] = {}
    waiting = [builder.equation(k) for k in (*found.given, *found.values.values())]
    while waiting:
        later = []
        for equation in waiting:
            assert isinstance(equation.left, Symbol)
            inner = dict.fromkeys(symbols(equation.right))
            if all(s in known for s in inner):
                term = replace(equation.right, {s: constant(known[s], s.dimension) for s in inner})
                known[equation.left] = Ring(()).poly(term).constant_value
            else:
                later.append(equation)
        if len(later) == len(waiting):
            raise ValueError("tied values go round in a circle")
        waiting = later
    return known


def _rounded(builder: Builder, premise: StepId, figures: int) -> Round:
    """Round half away from zero to a number of significant figures, in the unit that suits."""
    equation = builder.equation(premise)
    assert isinstance(equation.left, Symbol)
    value = Ring(()).poly(equation.right).constant_value
    magnitude = _magnitude(value)
    exponent = 0 if -1 <= magnitude < 3 or not value else 3 * (magnitude // 3)
    decimals = max(0, figures - 1 - (magnitude - exponent))
    place = Fraction(10) ** (exponent - decimals)
    steps = int(abs(value) / place + Fraction(1, 2))
    rounded = steps * place * (-1 if value < 0 else 1)
    return Round(
        premise=premise,
        symbol=equation.left,
        rounded=rounded,
        unit_exponent=exponent,
        decimals=decimals,
        exact=rounded == value,
    )


def _magnitude(value: Fraction) -> int:
    """Return the power of ten of the first digit; 0 for zero."""
    size = abs(value)
    if not size:
        return 0
    power = len(str(size.numerator)) - len(str(size.denominator))
    return power if Fraction(10) ** power <= size else power - 1


def _balance(circuit: Circuit, found: Currents, builder: Builder) -> None:
    """Write the power of every part and compare what is delivered with what is taken in."""
    delivered: list[StepId] = []
    taken: list[StepId] = []
    total_delivered = Fraction(0)
    for branch in circuit.branches:
        for passage in branch.passages:
            element = passage.element
            if isinstance(element, Battery):
                rule = builder.add(part_rule(circuit, element.name, PartLaw.POWER_OF))
                step = _valued(found, builder, rule)
                value = Ring(()).poly(builder.equation(step).right).constant_value
                (taken if value < 0 else delivered).append(step)
                total_delivered += max(value, Fraction(0))
            if element.resistance is not None:
                heat = (
                    internal_heat(circuit, element.name)
                    if isinstance(element, Battery)
                    else part_rule(circuit, element.name, PartLaw.POWER_IN)
                )
                taken.append(_valued(found, builder, builder.add(heat)))
    watts = constant(total_delivered, WATT)
    builder.add(
        PowerBalance(
            delivered=tuple(delivered), taken=tuple(taken), conclusion=Equation(watts, watts)
        )
    )
