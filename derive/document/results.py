"""The second half of a solution: formulas, numbers, what they mean, checks, answers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from derive.algebra.term import (
    Negative,
    Power,
    Product,
    Quotient,
    Sum,
    Symbol,
    Term,
    symbols,
    total,
)
from derive.analysis.hazards import find_hazards
from derive.analysis.laws import CHECK
from derive.analysis.solve import PRODUCTS_SHOWN
from derive.derivation.step import (
    BackSubstitute,
    Conclude,
    Define,
    Goal,
    Isolate,
    LoopRule,
    PartRule,
    PathRule,
    PutInValues,
    Round,
    SameCurrent,
    StepId,
)
from derive.document import wording as w
from derive.document.laws_told import question_slots, route
from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Caution,
    Chain,
    Decimal,
    Display,
    Expression,
    Inline,
    Math,
    Paragraph,
    PointName,
    Reference,
    Relation,
    Row,
    Table,
    Text,
)
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.telling import Detail, Telling, chain, extended, is_readable, part_symbol

_MOST_TURNS = 2
"""Sentences about when a current turns round."""
_LONGEST_TURN = 8
"""Letters in such a condition; a longer one tells a reader nothing."""


def _denominators(telling: Telling) -> list[StepId]:
    return list(telling.ids(Goal.FRACTIONS, Define))


def _products(telling: Telling) -> int:
    """Return the number of products in the longest named denominator."""
    rights = (telling.equation(k).right for k in _denominators(telling))
    return max((len(t.terms) if isinstance(t, Sum) else 1 for t in rights), default=0)


def _formulas_shown(telling: Telling) -> bool:
    return _products(telling) <= PRODUCTS_SHOWN


# --- the general formula ------------------------------------------------------------------------


def formulas(telling: Telling) -> Iterator[Block]:
    """State each current in letters, and what can be read off."""
    concluded = [s for s in telling.current_conclusions() if s.formula is not None]
    if not concluded:
        return
    if not _formulas_shown(telling):
        lines = [telling.numbers[k] for k in telling.ids(Goal.GO_BACK) if k in telling.numbers]
        if lines:
            yield paragraph(
                w.TOO_LONG, products=str(_products(telling)), first=Reference(min(lines)),
                last=Reference(max(lines)),
            )  # fmt: skip
            return
    rows = [Row(chain(telling.equation(k))) for k in _denominators(telling)]
    turns = []
    for step in concluded:
        assert step.formula is not None
        equation = telling.equation(step.formula)
        rows.append(Row(chain(equation)))
        condition = _turns_round(equation.right)
        if condition is not None:
            slots = {"current": Math(step.symbol), "condition": Math(condition)}
            turns.append(say(w.TURNS, **slots))
    yield Box(BoxKind.FORMULA, (), (Display(tuple(rows)),))
    if telling.full:
        yield from _reading(telling, turns)


def _reading(telling: Telling, turns: Sequence[tuple[Inline, ...]]) -> Iterator[Block]:
    names = [telling.equation(k).left for k in _denominators(telling)]
    sentences = []
    if len(names) == 1 and _all_plus(telling.equation(_denominators(telling)[0]).right):
        sentences.append(say(w.DELTA_POSITIVE, delta=Math(names[0])))
        sentences += turns[:_MOST_TURNS]
    if sentences:
        inlines: list[Inline] = []
        for k, sentence in enumerate(sentences):
            inlines += [Text(" ")] if k else []
            inlines += sentence
        yield Paragraph(tuple(inlines))


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
    concluded = [s for s in telling.current_conclusions() if s.value is not None]
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
    denominators = {telling.equation(k).left for k in _denominators(telling)}
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
    for k in telling.ids(Goal.VALUES, PutInValues, BackSubstitute):
        equation = telling.equation(k)
        if equation.left == step.symbol and is_readable(equation.right):
            sides.append((Relation.EQUAL, equation.right))
    if not sides and step.value is not None and is_readable(telling.equation(step.value).right):
        sides.append((Relation.EQUAL, telling.equation(step.value).right))
    return _with_decimal(telling, step, sides)


def _with_decimal(
    telling: Telling, step: Conclude, sides: list[tuple[Relation, Expression]]
) -> Chain:
    rounded = telling.rounded(step)
    if rounded is not None:
        if rounded.exact and sides and not _is_sum(sides[-1][1]):
            sides.pop()  # the decimal says the same
        relation, decimal = printed(rounded)
        sides.append((relation, decimal))
    return _from(step.symbol, sides)


def _is_sum(side: Expression) -> bool:
    """Tell whether a side is more than one value."""
    body = side.term if isinstance(side, Negative) else side
    return isinstance(body, Sum | Product | Quotient | Power)


def _from(symbol: Symbol, sides: list[tuple[Relation, Expression]]) -> Chain:
    (relation, first), *rest = sides
    return extended(Chain((symbol, first), (relation,)), *rest)


def _any_rounded(telling: Telling) -> bool:
    found = (telling.rounded(step) for step in telling.conclusions())
    return any(step is not None and not step.exact for step in found)


# --- further answers ----------------------------------------------------------------------------


def further(telling: Telling) -> Iterator[Block]:
    """Answer the other questions, each from its law."""
    for stage in telling.stages(Goal.FURTHER):
        steps = [telling.step(k) for k in stage.ids]
        (step,) = (s for s in steps if isinstance(s, Conclude))
        template = w.FURTHER[type(step.question).__name__]
        yield paragraph(template, **question_slots(telling, step.question))
        sides: list[tuple[Relation, Expression]] = []
        for k in stage.ids:
            found = telling.step(k)
            if (
                isinstance(found, PartRule | PathRule)
                or (isinstance(found, BackSubstitute) and _formulas_shown(telling))
                or (isinstance(found, PutInValues) and is_readable(found.conclusion.right))
            ):
                sides.append((Relation.EQUAL, found.conclusion.right))
        yield Display((Row(_with_decimal(telling, step, sides)),))


# --- what it means ------------------------------------------------------------------------------


def meaning(telling: Telling) -> Iterator[Block]:
    """Read the signs once: currents against their arrows, batteries that charge."""
    if not telling.full or not any(True for _ in telling.stages(Goal.POWER)):
        return
    found = [(s, telling.rounded(s)) for s in telling.current_conclusions()]
    branch_currents = {branch.current for branch in telling.circuit.branches}
    sizes = [(s, r) for s, r in found if r is not None and s.symbol in branch_currents]
    negative = [(s, r) for s, r in sizes if r.rounded < 0]
    sentences: list[tuple[Inline, ...]] = []
    if len(negative) == 1:
        step, rounding = negative[0]
        sentences.append(_against(telling, step, rounding))
    elif negative:
        symbols_ = listing((Math(s.symbol) for s, _ in negative), w.AND)
        sentences.append(say(w.AGAINST_MANY, currents=symbols_))
    zero = [Math(s.symbol) for s, r in sizes if r.rounded == 0 and r.exact]
    if zero:
        sentences.append(say(w.ZERO, currents=listing(zero, w.AND)))
    if not negative and not zero:
        sentences.append(say(w.AS_DRAWN if len(sizes) > 1 else w.AS_DRAWN_ONE))
    sentences += _batteries(telling)
    inlines: list[Inline] = []
    for k, sentence in enumerate(sentences):
        inlines += [Text(" ")] if k else []
        inlines += sentence
    yield Paragraph(tuple(inlines))


def _against(telling: Telling, step: Conclude, rounding: Round) -> tuple[Inline, ...]:
    branch = next(b for b in telling.circuit.branches if b.current == step.symbol)
    _, decimal = printed(rounding)
    size = replace(decimal, digits=decimal.digits.lstrip("-"))
    return say(
        w.AGAINST_ONE, current=Math(step.symbol), start=Math(PointName(branch.head)),
        end=Math(PointName(branch.tail)), size=Math(size),
    )  # fmt: skip


def _batteries(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    delivering: list[Math] = []
    charged: list[Math] = []
    idle: list[Math] = []
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        if step.symbol.name.startswith("Pd("):
            emf = Math(part_symbol(telling.circuit, step.symbol.name[3:-1]))
            group = delivering if step.rounded > 0 else charged if step.rounded < 0 else idle
            group.append(emf)
    if delivering:
        verb = w.DELIVER_ONE if len(delivering) == 1 else w.DELIVER_MANY
        yield say(w.DELIVERS, sources=listing(delivering, w.AND), deliver=verb)
    if charged:
        template = w.CHARGED_ONE if len(charged) == 1 else w.CHARGED_MANY
        yield say(template, sources=listing(charged, w.AND))
    if idle:
        yield say(w.IDLE, sources=listing(idle, w.AND))


# --- check --------------------------------------------------------------------------------------


def check(telling: Telling) -> Iterator[Block]:
    """Walk a loop that was not used, and balance the power."""
    yield from _check_loop(telling)
    if any(True for _ in telling.stages(Goal.POWER)):
        yield from _power(telling)
    elif telling.full:
        yield paragraph(w.PUT_BACK)


def _check_loop(telling: Telling) -> Iterator[Block]:
    for stage in telling.stages(Goal.CHECK_LOOP):
        rows = []
        rule = telling.step(stage.first)
        assert isinstance(rule, LoopRule)
        assert rule.name == CHECK
        rows.append(Row(chain(rule.conclusion)))
        put = [telling.equation(k) for k in stage.ids[1:]]
        if not put:
            return
        if all(is_readable(equation.left) for equation in put):
            rows += [Row(chain(equation)) for equation in put]
        yield paragraph(w.UNUSED_LOOP, path=route(telling, rule.loop))
        yield Display(tuple(rows))


def _power(telling: Telling) -> Iterator[Block]:
    rows = []
    sums: list[tuple[Symbol, Round]] = []
    powers: list[tuple[Symbol, Round]] = []
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        if "(" in step.symbol.name:
            powers.append((step.symbol, step))
        else:
            sums.append((step.symbol, step))
    for symbol, step in powers:
        kind, part = symbol.name[:-1].split("(")
        _, decimal = printed(step)
        does = w.DOES_HEAT
        if kind == "Pd":
            does = w.DOES_CHARGE if step.rounded < 0 else w.DOES_DELIVER
        size = replace(decimal, digits=decimal.digits.lstrip("-"))
        letter = Math(part_symbol(telling.circuit, part))
        rows.append(((letter,), (Text(does),), (Math(size),)))
    if telling.full:
        header = ((Text(w.PART),), (Text(w.DOES),), (Text(w.POWER),))
        columns = (Align.LEFT, Align.LEFT, Align.RIGHT)
        yield paragraph(w.POWER_TABLE)
        yield Table(header, tuple(rows), columns, w.POWER_SUMMARY)
    yield from _power_sums(telling, sums)


def _power_sums(telling: Telling, sums: list[tuple[Symbol, Round]]) -> Iterator[Block]:
    rows = []
    for k in telling.ids(Goal.POWER, Define):
        equation = telling.equation(k)
        last: list[tuple[Relation, Expression]] = []
        for symbol, step in sums:
            if symbol == equation.left:
                relation, decimal = printed(step)
                exact = telling.equation(step.premise).right
                if not step.exact and is_readable(exact):
                    last.append((Relation.EQUAL, exact))
                last.append((relation, decimal))
        rows.append(Row(extended(chain(equation), *last)))
    if rows:
        yield paragraph(w.POWER_AGREES)
        yield Display(tuple(rows))


# --- cautions and answers -----------------------------------------------------------------------


def cautions(telling: Telling) -> Iterator[Block]:
    """Warn where the circuit can hurt someone."""
    found = find_hazards(telling.circuit, telling.derivation)
    if found.charged:
        parts = listing((Math(s) for s in found.charged), w.AND)
        yield Caution(say(w.CAUTION_CHARGING, parts=parts))
    if found.hot:
        parts = listing((Math(s) for s in found.hot), w.AND)
        yield Caution(say(w.CAUTION_HEAT, parts=parts))
    if found.high_voltage:
        yield Caution(say(w.CAUTION_VOLTAGE))


def answers(telling: Telling) -> Iterator[Block]:
    """Put all answers in one box."""
    concluded = list(telling.conclusions())
    if not concluded:
        return
    remark: tuple[Inline, ...] = ()
    currents = telling.current_conclusions()
    rounded = [(s.symbol, telling.rounded(s)) for s in currents]
    if all(r is not None for _, r in rounded) and len(currents) > 1:
        against = [Math(s) for s, r in rounded if r is not None and r.rounded < 0]
        if against:
            remark = say(w.REMARK_AGAINST, currents=listing(against, w.AND))
        elif all(r is not None and r.rounded > 0 for _, r in rounded):
            remark = say(w.REMARK_DRAWN)
    blocks: list[Block] = []
    names = names_in_answers(telling) if telling.detail is Detail.ANSWERS else ()
    if names:
        blocks.append(AnswerLine(names, ()))
    blocks.append(AnswerLine(answer_chains(telling), remark))
    yield Box(BoxKind.ANSWERS, (Text(w.ANSWERS),), tuple(blocks))


def answer_chains(telling: Telling) -> tuple[Chain, ...]:
    """Return all answers; in letters, by the shorter of the forms that were shown."""
    short = _formulas_shown(telling)
    laws: dict[Term, StepId] = {}
    for goal in (Goal.FURTHER, Goal.SOLVE_JUNCTIONS, Goal.GO_BACK, Goal.WALKS):
        for k in telling.ids(goal, Isolate, PartRule, PathRule, SameCurrent):
            laws[telling.equation(k).left] = k
    found = []
    for step in telling.conclusions():
        letters = telling.rounded(step) is None and step.value is None
        if letters and not short and step.symbol in laws:
            found.append(chain(telling.equation(laws[step.symbol])))
        else:
            found.append(telling.result(step))
    return tuple(found)


def names_in_answers(telling: Telling) -> tuple[Chain, ...]:
    """Return what the names for sub-expressions stand for that the answers use."""
    used: set[Term] = set()
    for answer in answer_chains(telling):
        for side in answer.sides:
            if not isinstance(side, Decimal):
                used.update(symbols(side))
    defined = [k for goal in (Goal.NAME, Goal.ELIMINATE, Goal.FRACTIONS)
               for k in telling.ids(goal, Define)]  # fmt: skip
    for k in reversed(defined):
        if telling.equation(k).left in used:
            used.update(symbols(telling.equation(k).right))
    return tuple(chain(telling.equation(k)) for k in defined if telling.equation(k).left in used)
