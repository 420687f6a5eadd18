"""Answers: each question of the file concluded from the currents, rounded once, and the balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from derive.algebra.dimension import VOLT
from derive.algebra.name import unused_name
from derive.algebra.term import Equation, Symbol, auxiliary, symbols
from derive.algebra.term import replace as put_in
from derive.analysis.by_reduction import currents_by_reduction, methods_for
from derive.analysis.by_voltage import law_by_voltage
from derive.analysis.charges import Charges, derive_charges
from derive.analysis.charges_asked import clusters_asked_for
from derive.analysis.conclude import answer, conclude, rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.exchange import SIMPLE, derive_reduction, derive_resistance
from derive.analysis.laws import CHECK, loop_rule
from derive.analysis.laws_asked import by_voltage, law_asked
from derive.analysis.letters import read_letters
from derive.analysis.loading import answer_loading_error
from derive.analysis.matched import answer_matched_load
from derive.analysis.over_time import OVER_TIME, answer_efficiency, answer_over_time
from derive.analysis.plan import Singular
from derive.analysis.potentials import answer_potentials, walk_another_path
from derive.analysis.power import balance, shares
from derive.analysis.preferred import answer_preferred
from derive.analysis.ratings import compare_with_ratings, rate_lamps
from derive.analysis.reduction import Criterion, judge
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents, derive_currents
from derive.analysis.taken import taken_names
from derive.analysis.tells import tell
from derive.analysis.tested import NoVoltage, answer_by_test_source, in_letters
from derive.analysis.tolerance import bound_answers
from derive.analysis.transient import derive_transients
from derive.circuit.figures import answer_figures
from derive.circuit.model import Circuit, Loop, Method
from derive.circuit.question import (
    AskCurrents,
    AskEfficiency,
    AskLoadingError,
    AskMatchedLoad,
    AskPotentials,
    AskPreferred,
    AskReducible,
    AskResistance,
    AskValue,
    Question,
)
from derive.derivation.algebra import PutInValues
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Agree
from derive.derivation.goal import Goal
from derive.derivation.laws import Change, PathRule, PotentialRule
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId


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
        in_letters=in_letters,
    )
    known = Known(found, builder)
    builder.begin(Goal.CURRENTS)
    _conclude_sought(circuit, found, builder, digits)
    _conclude_currents(circuit, found, builder, digits)
    shared = clusters_asked_for(circuit)
    charges = derive_charges(circuit, shared, found, known, builder, digits)
    further = charges.added_to(found)
    for question in circuit.questions:
        if isinstance(question, AskLoadingError):
            ideal = dict(circuit.ideal)[question.part]
            # Where a letter is left it need not be one of the circuit with an ideal meter.
            first = numbers_first and found.numeric
            without = derive(ideal, numbers_first=first, figures=digits)
            answer_loading_error(circuit, found, known, builder, question, without, digits)
            continue
        _answer_question(circuit, further, charges, builder, question, digits)
    builder.begin(Goal.TELLS)
    tell(circuit, found, builder)
    derive_transients(circuit, found, known, builder, digits)
    if Method.REDUCTION not in methods and circuit.branches:
        _reduction(circuit, found.quantities(circuit), builder, digits)
    _resistances(circuit, found.quantities(circuit), builder, digits, expanded=expanded)
    if found.loops.check is not None:
        builder.begin(Goal.CHECK_LOOP)
        _check_loop(circuit, found, known, found.loops.check, builder, digits)
    if found.numeric and circuit.branches:
        builder.begin(Goal.POWER)
        balanced = balance(circuit, known, builder, digits)
        builder.begin(Goal.SHARES)
        shares(builder, balanced, digits)
        compare_with_ratings(circuit, known, builder, digits)
    rate_lamps(circuit, builder, digits)
    return bound_answers(circuit, builder.finish())


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
        answer(found, builder, question, symbol, where.formula, where.value, digits)
        return
    known = Known(found, builder)
    wanted = by_voltage(circuit, question)
    if isinstance(question, OVER_TIME):
        builder.begin(Goal.FURTHER)
        answer_over_time(circuit, found, known, builder, question, digits)
    elif isinstance(question, AskPreferred):
        builder.begin(Goal.PREFERRED)
        answer_preferred(circuit, found, known, builder, question, digits)
    elif isinstance(question, AskMatchedLoad):
        builder.begin(Goal.FURTHER)
        answer_matched_load(circuit, found, known, builder, question, digits)
    elif isinstance(question, AskEfficiency):
        builder.begin(Goal.FURTHER)
        answer_efficiency(circuit, found, known, builder, question, digits)
    elif wanted is not None and wanted[0] not in charges.capacitors:
        builder.begin(Goal.FURTHER)
        law = law_by_voltage(circuit, found, known, builder, *wanted, digits)
        answer(found, builder, question, law.symbol, law.formula, law.value, digits)
    elif isinstance(question, AskPotentials):
        answer_potentials(circuit, found, known, builder, digits, charges.capacitors)
    else:
        rule = law_asked(circuit, question, charges.capacitors)
        if rule is None:
            return
        builder.begin(Goal.FURTHER)
        met = set(symbols(rule.conclusion.right))
        if any(s in met and s not in found.formulas for s in found.values):
            found = replace(found, formulas={})  # voltages that were found in numbers alone
        value = conclude(found, known, builder, question, builder.add(rule), digits)
        if isinstance(rule, PathRule | PotentialRule) and value is not None:
            walk_another_path(circuit, known, builder, rule, value, digits)


def _currents(
    circuit: Circuit,
    methods: tuple[Method, ...],
    digits: int,
    *,
    numbers_first: bool,
    by_loop: bool,
    expanded: bool,
    in_letters: bool,
) -> tuple[Currents, Builder]:
    """Find the currents by each method; the first gives the answers."""
    found: dict[Method, Currents] = {}
    last: Currents | None = None
    if Method.BRANCH_CURRENTS in methods:
        last = derive_currents(circuit, numbers_first=numbers_first, by_loop=by_loop)
        found[Method.BRANCH_CURRENTS] = last
    if Method.REDUCTION in methods:
        last = currents_by_reduction(
            circuit,
            last,
            numbers_first=numbers_first,
            expanded=expanded,
            digits=digits,
            in_letters=in_letters,
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
    rate_lamps(circuit, builder, digits)
    return bound_answers(circuit, builder.finish())


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
        taken = taken_names(circuit, builder)
        derive_reduction(circuit, given, builder, taken, SIMPLE, digits)


def _resistances(
    circuit: Circuit,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    *,
    expanded: bool,
) -> None:
    taken = taken_names(circuit, builder)
    for tested in circuit.tested:
        builder.begin(Goal.RESISTANCE)
        numbers_first = not in_letters(tested)
        try:
            other = derive(tested.circuit, numbers_first=numbers_first, figures=digits)
        except Singular:
            raise NoVoltage(tested) from None
        answer_by_test_source(tested, other, given, builder, digits, taken)
    for question in () if circuit.tested else circuit.questions:
        if isinstance(question, AskResistance):
            builder.begin(Goal.RESISTANCE)
            derive_resistance(circuit, question, given, builder, digits, taken, expanded=expanded)


def _conclude_sought(circuit: Circuit, found: Currents, builder: Builder, digits: int) -> None:
    wanted = {symbol.name: symbol for symbol in circuit.sought}
    for question in circuit.questions:
        if isinstance(question, AskValue):
            symbol = wanted[question.quantity]
            value = found.values.get(symbol)
            builder.add(
                Conclude(
                    question=question,
                    symbol=symbol,
                    formula=found.formulas.get(symbol),
                    value=value,
                    rounded=rounded_value(builder, value, digits) if found.numeric else None,
                )
            )


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
                rounded=rounded_value(builder, value, digits) if found.numeric else None,
            )
        )


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
