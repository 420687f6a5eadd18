"""Formulas, numbers put in, and further answers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from derive.algebra.term import (
    ZERO,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    Term,
    symbols,
    total,
)
from derive.circuit.question import AskMatchedLoad, AskTerminalVoltage
from derive.derivation.algebra import BackSubstitute, Combine, Define, Isolate, PutInValues
from derive.derivation.goal import Goal
from derive.derivation.laws import AcrossRule, PartRule, PathRule, PotentialRule
from derive.derivation.step import Conclude, Round
from derive.document import loading_told, matched_told, potentials_told, power_told
from derive.document import wording as w
from derive.document.model import (
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Chain,
    Display,
    Inline,
    Math,
    Paragraph,
    Relation,
    Row,
)
from derive.document.opening import question_slots
from derive.document.phrase import joined, paragraph, say
from derive.document.quantities import printed
from derive.document.sought_told import value_conclusions
from derive.document.telling import Telling, chain, extended, is_long, is_readable
from derive.typesetting.style import Expression

_MOST_TURNS = 2
"""Sentences about when a current turns round."""
_LONGEST_TURN = 8
"""Letters in such a condition; a longer one tells a reader nothing."""


# --- the general formula ------------------------------------------------------------------------


def formulas(telling: Telling) -> Iterator[Block]:
    """State each current in letters, and what can be read off."""
    concluded = [s for s in _flowing(telling) if s.formula is not None]
    if not telling.by_rules:
        # Of a reduction, the others have been found by names that need no repeating.
        letters = set(telling.circuit.symbols)
        concluded = [replace(s, formula=s.value) if _by_ties(telling, s) else s for s in concluded]
        concluded = [
            s for s in concluded
            if s.formula is not None
            and letters.issuperset(symbols(telling.equation(s.formula).right))
        ]  # fmt: skip
    if not concluded:
        return
    if not telling.formulas_shown and telling.has(Goal.GO_BACK):
        yield from _by_names(telling)
        return
    if telling.full and telling.has(Goal.GO_BACK):
        yield paragraph(w.NAMES_BACK)
    rows = [Row(chain(telling.equation(k))) for k in telling.denominators()]
    turns = []
    for step in concluded:
        assert step.formula is not None
        equation = telling.equation(telling.copies.get(step.symbol, step.formula))
        rows.append(Row(chain(equation)))
        condition = _turns_round(equation.right)
        if condition is not None:
            slots = {"current": Math(step.symbol), "condition": Math(condition)}
            turns.append(say(w.TURNS, **slots))
    yield Box(BoxKind.FORMULA, (), (Display(tuple(rows)),))
    if telling.full:
        yield from _reading(telling, turns)


def _flowing(telling: Telling) -> list[Conclude]:
    """Return the conclusions about currents, without those that cannot flow.

    Before them those about values that are sought; currents that are given need no word.
    """
    left = {branch.current for branch in telling.circuit.idle}
    left |= telling.circuit.stated
    found = [step for step in telling.current_conclusions() if step.symbol not in left]
    return [*value_conclusions(telling), *found]


def _by_ties(telling: Telling, step: Conclude) -> bool:
    """Tell whether a current was told by fewer letters, the ties of the author put in."""
    return step.value is not None and not telling.circuit.has_numbers


def _by_names(telling: Telling) -> Iterator[Block]:
    """State long formulas by the names of the elimination."""
    yield paragraph(w.TOO_LONG, products=str(telling.products))
    names = [
        chain(telling.equation(k))
        for goal in (Goal.NAME, Goal.ELIMINATE)
        for k in telling.ids(goal, Define)
    ]
    lines = [
        Row(chain(telling.equation(k)))
        for goal in (Goal.GO_BACK, Goal.SOLVE_JUNCTIONS)
        for k in telling.ids(goal, Isolate)
    ]
    lines += [Row(chain(telling.equation(k))) for k in telling.copies.values()]
    shown: list[Block] = [AnswerLine(tuple(names), ())] if names else []
    yield Box(BoxKind.FORMULA, (), (*shown, Display(tuple(lines))))


def _reading(telling: Telling, turns: Sequence[tuple[Inline, ...]]) -> Iterator[Block]:
    names = [telling.equation(k).left for k in telling.denominators()]
    sentences = []
    if len(names) == 1 and _all_plus(telling.equation(telling.denominators()[0]).right):
        sentences.append(say(w.DELTA_POSITIVE, delta=Math(names[0])))
        sentences += turns[:_MOST_TURNS]
    if sentences:
        yield Paragraph(joined(sentences))


def _all_plus(term: Term) -> bool:
    return isinstance(term, Sum) and not any(isinstance(item, Negative) for item in term.terms)


def _turns_round(formula: Term) -> Chain | None:
    """Return ``R3 E1 > (R1 + R3) E2`` when a fraction with a positive denominator can be negative.

    Only where each side is one emf with a factor, so that it can be taken in at a glance.
    """
    if not isinstance(formula, Quotient) or not isinstance(formula.numerator, Sum):
        return None
    items = formula.numerator.terms
    minus = tuple(item.term for item in items if isinstance(item, Negative))
    plus = tuple(item for item in items if not isinstance(item, Negative))
    mixed = any(isinstance(s, Negative) for item in items for s in _inner_sums(item))
    long = sum(1 for _ in symbols(formula.numerator)) > _LONGEST_TURN
    if not minus or not plus or mixed or long:
        return None
    return Chain((total(minus), total(plus)), (Relation.GREATER,))


def _inner_sums(item: Term) -> tuple[Term, ...]:
    body = item.term if isinstance(item, Negative) else item
    factors = body.factors if isinstance(body, Product) else (body,)
    return tuple(t for f in factors if isinstance(f, Sum) for t in f.terms)


# --- put the numbers in -------------------------------------------------------------------------


def numbers(telling: Telling) -> Iterator[Block]:
    """Put the values in, with units; round once."""
    concluded = [s for s in _flowing(telling) if s.value is not None]
    routes = list(telling.stages(Goal.VALUES))
    if not concluded or not routes:
        return
    names, rows = _values_of_names(telling)
    if names:
        yield paragraph(w.NAMED_VALUES)
        yield AnswerLine(tuple(names), ())
    found = [
        telling.equation(k).left for k in telling.ids(Goal.VALUES, PutInValues, BackSubstitute)
    ]
    concluded.sort(
        key=lambda step: found.index(step.symbol) if step.symbol in found else len(found)
    )
    for step in concluded:
        rows.append(Row(_put_in(telling, step)))
    yield Display(tuple(rows))
    if telling.full and _any_rounded(telling):
        yield paragraph(w.ROUNDED)


def _values_of_names(telling: Telling) -> tuple[list[Chain], list[Row]]:
    """Return the values of the names of an elimination, and the rows of the denominators."""
    names: list[Chain] = []
    rows: dict[Symbol, Chain] = {}
    denominators = {telling.equation(k).left for k in telling.denominators()}
    defined = {telling.equation(k).left for k in telling.ids(Goal.NAME, Define)}
    defined |= {telling.equation(k).left for k in telling.ids(Goal.ELIMINATE, Define)}
    for k in telling.ids(Goal.VALUES, PutInValues):
        equation = telling.equation(k)
        symbol = equation.left
        assert isinstance(symbol, Symbol)
        if symbol in defined:
            names.append(chain(equation))
        elif symbol in denominators:
            old = rows.get(symbol)
            side = (Relation.EQUAL, equation.right)
            rows[symbol] = chain(equation) if old is None else extended(old, side)
    return names, [Row(found) for found in rows.values()]


def _put_in(telling: Telling, step: Conclude) -> Chain:
    """Return ``I1 = (4.5 Ω · 12 V − …)/13.5 Ω² = 10/3 A ≈ 3.33 A``."""
    sides: list[tuple[Relation, Expression]] = []
    if step.symbol in telling.copies:
        sides.append((Relation.EQUAL, telling.equation(telling.copies[step.symbol]).right))
    for k in telling.ids(Goal.VALUES, PutInValues, BackSubstitute):
        equation = telling.equation(k)
        if equation.left == step.symbol and is_readable(equation.right):
            sides.append((Relation.EQUAL, equation.right))
    if not sides:
        # The numbers are too long to be read: say at least what the value comes from.
        for goal in (Goal.GO_BACK, Goal.SOLVE_JUNCTIONS):
            for k in telling.ids(goal, Isolate):
                if telling.equation(k).left == step.symbol:
                    sides.append((Relation.EQUAL, telling.equation(k).right))
    if step.value is not None and is_readable(telling.equation(step.value).right):
        exact = (Relation.EQUAL, telling.equation(step.value).right)
        if exact not in sides:
            sides.append(exact)
    if not sides and step.value is not None and telling.rounded(step) is None:
        sides.append((Relation.EQUAL, telling.equation(step.value).right))
    return telling.with_decimal(step, sides)


def _any_rounded(telling: Telling) -> bool:
    found = (telling.rounded(step) for step in telling.conclusions())
    return any(step is not None and not step.exact for step in found)


# --- further answers ----------------------------------------------------------------------------


def further(telling: Telling) -> Iterator[Block]:
    """Answer the other questions, each from its law."""
    for stage in telling.derivation.stages:
        if stage.goal is Goal.POTENTIALS:
            yield from potentials_told.potentials(telling, stage)
        elif stage.goal is Goal.OTHER_PATH and telling.full:
            yield from potentials_told.other_path(telling, stage)
        elif stage.goal is Goal.LOADING:
            yield from loading_told.loading_error(telling, stage)
        if stage.goal is not Goal.FURTHER:
            continue
        steps = [telling.step(k) for k in stage.ids]
        step = next(s for s in steps if isinstance(s, Conclude))
        if isinstance(step.question, AskMatchedLoad):
            yield from matched_told.matched(telling, stage)
            continue
        if isinstance(step.question, power_told.QUESTIONS):
            yield from power_told.further(telling, stage, step)
            continue
        known = _voltages_told(telling) if telling.rounded(step) is not None else set()
        by_voltage = False  # then the formula is a long one, and its value has been told
        sides: dict[Term, list[tuple[Relation, Expression]]] = {}
        for k in stage.ids:
            found = telling.step(k)
            if isinstance(found, PartRule | PathRule | PotentialRule | AcrossRule):
                by_voltage = not known.isdisjoint(symbols(found.conclusion.right))
            if isinstance(found, Round) and found.symbol != step.symbol:
                if is_long(telling, found):
                    sides[found.symbol].append(printed(found))
            elif (
                isinstance(found, PartRule | PathRule | PotentialRule | AcrossRule)
                or (isinstance(found, BackSubstitute) and telling.formulas_shown and not by_voltage)
                or (isinstance(found, PutInValues) and is_readable(found.conclusion.right))
            ):
                own = sides.setdefault(found.conclusion.left, [])
                if own and own[-1][1] == ZERO:
                    own.pop()  # the same with its unit
                own.append((Relation.EQUAL, found.conclusion.right))
        rows = [
            Row(extended(Chain((symbol, own[0][1]), (Relation.EQUAL,)), *own[1:]))
            for symbol, own in sides.items()
            if symbol != step.symbol
        ]
        if step.symbol not in sides:
            continue  # told with the charges of the capacitors
        template = w.FURTHER[type(step.question).__name__]
        yield paragraph(template, **question_slots(telling, step.question))
        yield Display((*rows, Row(telling.with_decimal(step, sides[step.symbol]))))
        if telling.full and isinstance(step.question, AskTerminalVoltage):
            yield from power_told.terminal_voltage(telling, step, step.question.battery)


def _voltages_told(telling: Telling) -> set[Term]:
    """Return the voltages that were told with the charges of the capacitors."""
    return {telling.equation(k).left for k in telling.ids(Goal.CHARGES, Combine, AcrossRule)}
