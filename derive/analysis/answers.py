"""Answers: each question of the file concluded from the currents, rounded once, and the balance."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import assert_never

from derive.algebra.dimension import VOLT
from derive.algebra.name import TakenNames, unused_name
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Symbol,
    Term,
    auxiliary,
    product,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.by_reduction import currents_by_reduction, methods_for
from derive.analysis.charges import Charges, derive_charges
from derive.analysis.charges_asked import clusters_asked_for
from derive.analysis.equations import read_letters
from derive.analysis.evaluate import Known, put_values
from derive.analysis.exchange import SIMPLE, derive_reduction, derive_resistance
from derive.analysis.law_fraction import fraction_of_law
from derive.analysis.laws import CHECK, across_rule, loop_rule, part_rule, path_rule
from derive.analysis.power import balance
from derive.analysis.reduction import Criterion, judge
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents, derive_currents
from derive.circuit.figures import answer_figures
from derive.circuit.model import (
    AskCharge,
    AskCurrentIn,
    AskCurrents,
    AskEnergy,
    AskPotential,
    AskPowerIn,
    AskPowerOf,
    AskReading,
    AskReducible,
    AskResistance,
    AskTerminalVoltage,
    AskVoltage,
    AskVoltageAcross,
    Circuit,
    CurrentSource,
    Instrument,
    Loop,
    Meter,
    Method,
    Question,
    is_gap,
)
from derive.derivation.builder import Builder
from derive.derivation.step import (
    AcrossRule,
    Agree,
    BackSubstitute,
    Change,
    Conclude,
    Derivation,
    Goal,
    PartLaw,
    PartRule,
    PathRule,
    PutInValues,
    StepId,
)


def derive(
    circuit: Circuit,
    *,
    numbers_first: bool = False,
    figures: int | None = None,
    by_loop: bool = False,
    expanded: bool = False,
    in_letters: bool = False,
) -> Derivation:
    """Answer every question of a circuit, and check the result.

    The check is a loop that was not used, and the balance of power. With `by_loop` the numerators
    of formulas are grouped by loops; `expanded` formulas are one fraction each also where a
    reduction leaves them nested; with `in_letters` a method is chosen that leads to formulas which
    hold for all values. Raises what `derive_currents` and `methods_for` raise.
    """
    digits = figures or answer_figures(circuit)
    if not circuit.asks_for_currents:
        return _resistances_alone(circuit, digits, expanded=expanded)
    methods = methods_for(circuit, in_letters=in_letters, by_loop=by_loop)
    found, builder = _currents(
        circuit,
        methods,
        digits,
        numbers_first=numbers_first,
        by_loop=by_loop,
        expanded=expanded,
    )
    known = Known(found, builder)
    builder.begin(Goal.CURRENTS)
    _conclude_currents(circuit, found, builder, digits)
    shared = clusters_asked_for(circuit)
    charges = derive_charges(circuit, shared, found, known, builder, digits)
    further = charges.added_to(found)
    for question in circuit.questions:
        _answer_question(circuit, further, charges, builder, question, digits)
    if Method.REDUCTION not in methods and circuit.branches:
        _reduction(circuit, found.letters.steps, builder, digits)
    _resistances(circuit, found.letters.steps, builder, digits, expanded=expanded)
    if found.loops.check is not None:
        builder.begin(Goal.CHECK_LOOP)
        _check_loop(circuit, found, known, found.loops.check, builder, digits)
    if found.numeric and circuit.branches:
        builder.begin(Goal.POWER)
        balance(circuit, known, builder, digits)
    return builder.finish()


def _answer_question(
    circuit: Circuit,
    found: Currents,
    charges: Charges,
    builder: Builder,
    question: Question,
    digits: int,
) -> None:
    """Answer a question by a law; the currents and the verdict are told elsewhere."""
    held = charges.answer(question)
    if held is not None:
        builder.begin(Goal.FURTHER)
        symbol, where = held
        _answer(found, builder, question, symbol, where.formula, where.value, digits)
        return
    known = Known(found, builder)
    wanted = by_voltage(circuit, question)
    if wanted is not None and wanted[0] not in charges.capacitors:
        builder.begin(Goal.FURTHER)
        _conclude_by_voltage(circuit, found, known, builder, question, digits)
        return
    rule = _rule(circuit, question, charges.capacitors)
    if rule is not None:
        builder.begin(Goal.FURTHER)
        _conclude(found, known, builder, question, builder.add(rule), digits)


def _currents(
    circuit: Circuit,
    methods: tuple[Method, ...],
    digits: int,
    *,
    numbers_first: bool,
    by_loop: bool,
    expanded: bool,
) -> tuple[Currents, Builder]:
    """Find the currents by each method; the first gives the answers."""
    found: dict[Method, Currents] = {}
    last: Currents | None = None
    if Method.BRANCH_CURRENTS in methods:
        last = derive_currents(circuit, numbers_first=numbers_first, by_loop=by_loop)
        found[Method.BRANCH_CURRENTS] = last
    if Method.REDUCTION in methods:
        last = currents_by_reduction(
            circuit, last, numbers_first=numbers_first, expanded=expanded, digits=digits
        )
        found[Method.REDUCTION] = last
    assert last is not None
    builder = Builder(last.derivation)
    if len(found) > 1:
        builder.begin(Goal.AGREE)
        one, other = (found[method] for method in methods)
        for branch in circuit.branches:
            in_values = one.values and other.values
            pairs = (one.values, other.values) if in_values else (one.formulas, other.formulas)
            builder.add(Agree(one=pairs[0][branch.current], other=pairs[1][branch.current]))
        # What holds for all values is told by the fractions of the rules.
        rules = found[Method.BRANCH_CURRENTS]
        return replace(
            found[methods[0]],
            formulas=rules.formulas,
            closed=rules.closed,
            definitions=rules.definitions,
            loops=rules.loops,
        ), builder
    return found[methods[0]], builder


def _resistances_alone(circuit: Circuit, digits: int, *, expanded: bool) -> Derivation:
    """Answer the questions about resistances; the currents are not asked for."""
    builder = Builder()
    builder.begin(Goal.GIVEN)
    given = read_letters(circuit, builder, numbers=False).steps
    _resistances(circuit, given, builder, digits, expanded=expanded)
    return builder.finish()


def _reduction(
    circuit: Circuit, given: Mapping[Symbol, StepId], builder: Builder, digits: int
) -> None:
    """Reduce a circuit whose verdict is asked for, where that has not been done for its currents.

    A circuit with one battery that does not reduce is led to its core.
    """
    verdict = judge(circuit)
    asked = AskReducible() in circuit.questions
    if asked and (verdict.reducible or verdict.test is Criterion.UNBALANCED_BRIDGE):
        builder.begin(Goal.REDUCTION)
        taken = TakenNames((*(symbol.name for symbol in circuit.symbols), *builder.names))
        derive_reduction(circuit, given, builder, taken, SIMPLE, digits)


def _resistances(
    circuit: Circuit,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    *,
    expanded: bool,
) -> None:
    taken = TakenNames((*(symbol.name for symbol in circuit.symbols), *builder.names))
    for question in circuit.questions:
        if isinstance(question, AskResistance):
            builder.begin(Goal.RESISTANCE)
            derive_resistance(circuit, question, given, builder, digits, taken, expanded=expanded)


def _conclude_currents(circuit: Circuit, found: Currents, builder: Builder, digits: int) -> None:
    names = dict.fromkeys(walk.current for walk in circuit.walks)
    names.update(dict.fromkeys(branch.current for branch in circuit.branches))
    names.update(dict.fromkeys(branch.current for branch in circuit.named_idle))
    for symbol in names:
        value = found.values.get(symbol)
        builder.add(
            Conclude(
                question=AskCurrents(),
                symbol=symbol,
                formula=found.formulas.get(symbol),
                value=value,
                rounded=_rounded(builder, value, digits) if found.numeric else None,
            )
        )


def by_voltage(circuit: Circuit, question: Question) -> tuple[str, PartLaw] | None:
    """Return the part and the law of a question whose answer needs the voltage across the part."""
    match question:
        case AskCharge(capacitor=part):
            return part, PartLaw.CHARGE
        case AskEnergy(capacitor=part):
            return part, PartLaw.ENERGY
        case AskPowerIn(part=part) | AskPowerOf(battery=part):
            if not isinstance(circuit.element(part), CurrentSource):
                return None
            return part, PartLaw.POWER_IN if isinstance(question, AskPowerIn) else PartLaw.POWER_OF
        case _:
            return None


def _conclude_by_voltage(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: Question,
    digits: int,
) -> None:
    """Answer by the voltage across a part, and the law of the part."""
    wanted = by_voltage(circuit, question)
    assert wanted is not None
    part, law = wanted
    across = builder.add(across_rule(circuit, part))
    form = _formula(found, builder, across) if found.formulas else None
    value = put_values(known, builder, across) if found.values else None
    rule = builder.add(part_rule(circuit, part, law))
    equation = builder.equation(rule)
    voltage = builder.equation(across).left
    assert isinstance(voltage, Symbol)
    formula = None
    if form is not None:
        ties = tuple(
            k for k in found.given if any(True for _ in symbols(builder.equation(k).right))
        )
        own = {s: found.formulas[s] for s in symbols(equation.right) if s in found.formulas}
        law_right = put_in(equation.right, {s: builder.equation(k).right for s, k in own.items()})
        right = _with_voltage(law_right, voltage, builder.equation(form).right)
        formula = builder.add(
            BackSubstitute(
                premise=rule,
                definitions=(form, *own.values()),
                rewriting=(*found.definitions, *ties),
                conclusion=Equation(equation.left, right),
            )
        )
    if value is not None:
        value = put_values(known, builder, rule, {voltage: value})
    _answer(found, builder, question, equation.left, formula, value, digits)


def _with_voltage(law: Term, voltage: Symbol, term: Term) -> Term:
    """Put the formula of a voltage into a law of a part; nothing is worth nothing."""
    if term == ZERO:
        return ZERO
    negative = isinstance(law, Negative)
    body = law.term if isinstance(law, Negative) else law
    if isinstance(body, Product) and voltage in body.factors:
        # One fraction reads better than a factor beside it.
        others = [factor for factor in body.factors if factor != voltage]
        own = term.term if isinstance(term, Negative) else term
        negative = negative != isinstance(term, Negative)
        if isinstance(own, Quotient):
            body = Quotient(product(*others, own.numerator), own.denominator)
        else:
            body = product(*others, own)
        return Negative(body) if negative else body
    return put_in(law, {voltage: term})


def _rule(
    circuit: Circuit, question: Question, past: Collection[str]
) -> PartRule | PathRule | AcrossRule | None:
    """Return the law a question is answered by; None for currents and the verdict.

    Of the capacitors in `past` the voltages are known, so that a way may lead past them.
    """
    match question:
        case AskCharge(capacitor=part):
            return part_rule(circuit, part, PartLaw.CHARGE)
        case AskEnergy(capacitor=part):
            return part_rule(circuit, part, PartLaw.ENERGY)
        case AskReducible() | AskCurrents() | AskResistance():
            return None
        case AskCurrentIn(part=part):
            return part_rule(circuit, part, PartLaw.CURRENT)
        case AskVoltageAcross(part=part):
            return _voltage_rule(circuit, part, past)
        case AskReading(part=part):
            element = circuit.element(part)
            if isinstance(element, Instrument) and element.meter is Meter.AMMETER:
                return part_rule(circuit, part, PartLaw.CURRENT)
            return _voltage_rule(circuit, part, past)
        case AskTerminalVoltage(battery=battery):
            return part_rule(circuit, battery, PartLaw.VOLTAGE)
        case AskPowerIn(part=part):
            return part_rule(circuit, part, PartLaw.POWER_IN)
        case AskPowerOf(battery=battery):
            return part_rule(circuit, battery, PartLaw.POWER_OF)
        case AskVoltage(to=to, origin=origin):
            return path_rule(circuit, origin, to, past)
        case AskPotential(point=point):
            if circuit.ground is None:
                raise ValueError("a potential needs a grounded point")
            return path_rule(circuit, circuit.ground, point, past)
        case _:
            assert_never(question)


def _voltage_rule(circuit: Circuit, part: str, past: Collection[str]) -> PartRule | AcrossRule:
    element = circuit.element(part)
    if is_gap(element) or isinstance(element, CurrentSource):
        return across_rule(circuit, part, past)
    return part_rule(circuit, part, PartLaw.VOLTAGE)


def _conclude(
    found: Currents, known: Known, builder: Builder, question: Question, rule: StepId, digits: int
) -> None:
    left = builder.equation(rule).left
    assert isinstance(left, Symbol)
    formula = _formula(found, builder, rule) if found.formulas else None
    value = put_values(known, builder, rule) if found.values else None
    _answer(found, builder, question, left, formula, value, digits)


def _answer(
    found: Currents,
    builder: Builder,
    question: Question,
    left: Term,
    formula: StepId | None,
    value: StepId | None,
    digits: int,
) -> None:
    assert isinstance(left, Symbol)
    builder.add(
        Conclude(
            question=question,
            symbol=left,
            formula=formula,
            value=value,
            rounded=_rounded(builder, value, digits) if found.numeric else None,
        )
    )


def _formula(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put the formulas of the currents into a law."""
    law = builder.equation(rule)
    used = {s: k for s, k in found.formulas.items() if s in set(symbols(law.right))}
    if not used:
        return rule
    ties = tuple(k for k in found.given if any(True for _ in symbols(builder.equation(k).right)))
    right = fraction_of_law(found, law)
    if right is None:
        right = put_in(law.right, {s: builder.equation(k).right for s, k in used.items()})
    return builder.add(
        BackSubstitute(
            premise=rule,
            definitions=tuple(used.values()),
            rewriting=(*found.definitions, *ties),
            conclusion=Equation(law.left, right),
        )
    )


def _rounded(builder: Builder, premise: StepId | None, figures: int) -> StepId | None:
    if premise is None or next(symbols(builder.equation(premise).right), None) is not None:
        return None
    return builder.add(rounded(builder, premise, figures))


def _check_loop(
    circuit: Circuit, found: Currents, known: Known, loop: Loop, builder: Builder, digits: int
) -> None:
    """Walk a loop that was not used: with the numbers put in, and each change rounded."""
    rule = loop_rule(circuit, loop, CHECK)
    step = builder.add(rule)
    if not found.numeric:
        return
    law = builder.equation(step)
    shown = put_in(law.left, known.terms)
    builder.add(
        PutInValues(
            premise=step, values=known.cited(law.left), conclusion=Equation(shown, law.right)
        )
    )
    taken = {s.name for s in circuit.symbols}
    for number, row in enumerate(rule.crossings):
        name = auxiliary(unused_name(f"U_{number + 1}", taken), VOLT)
        change = Change(loop=step, row=number, conclusion=Equation(name, row.change))
        builder.add(rounded(builder, put_values(known, builder, builder.add(change)), digits))
