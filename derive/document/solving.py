"""The algebra of a solution: from the laws to the currents."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Negative, Number, Quantity, Quotient, Symbol, symbols
from derive.derivation.algebra import (
    BackSubstitute,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Substitute,
)
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import GivenValue, PathRule
from derive.derivation.step_id import StepId
from derive.document import sought_told
from derive.document import wording as w
from derive.document.model import (
    AnswerLine,
    Block,
    Display,
    Inline,
    Math,
    Reference,
    Relation,
    Row,
    Text,
)
from derive.document.phrase import listing, paragraph
from derive.document.telling import Telling, chain, extended


def solving(telling: Telling) -> Iterator[Block]:
    """Show the work between the two rules and the result, in the order in which it is done."""
    yield from sought_told.voltages(telling)
    yield from _junctions_solved(telling)
    yield from _collected(telling)
    named = list(telling.stages(Goal.NAME))
    if named:
        yield paragraph(w.NAMES)
        yield AnswerLine(tuple(chain(telling.equation(k)) for k in named[0].ids), ())
    for stage in telling.stages(Goal.ELIMINATE):
        yield from _eliminated(telling, stage)
    yield from _in_turn(telling)
    yield from _rows_combined(telling)
    yield from _back(telling)
    yield from sought_told.resistances(telling)


def _junctions_solved(telling: Telling) -> Iterator[Block]:
    steps = list(telling.ids(Goal.SOLVE_JUNCTIONS, Isolate))
    if not steps:
        return
    rows = []
    for k in steps:
        step = telling.step(k)
        assert isinstance(step, Isolate)
        rows.append(telling.row(k, telling.cited(step.premise, step.definitions)))
    names = [telling.equation(k).left for k in steps]
    yield paragraph(w.ISOLATE, currents=listing((Math(name) for name in names), w.AND))
    yield Display(tuple(rows))


def _collected(telling: Telling) -> Iterator[Block]:
    values = list(telling.ids(Goal.COLLECT, PutInValues))
    if values:
        rows = []
        for k in values:
            step = telling.step(k)
            assert isinstance(step, PutInValues)
            rows.append(telling.row(k, telling.cited(step.premise, ())))
        yield paragraph(w.VALUES_IN_LOOPS)
        yield Display(tuple(rows))
    rows = []
    used: dict[StepId, None] = {}
    numeric = False
    for k in telling.ids(Goal.COLLECT, Substitute):
        step = telling.step(k)
        assert isinstance(step, Substitute)
        used.update(dict.fromkeys(step.definitions))
        divisor = _divisor(step)
        numeric = numeric or divisor is not None
        source = (*telling.cited(step.premise, step.definitions), *_ties(telling, step))
        if divisor is not None:
            source = (*source, Text(" ÷ "), Math(divisor))
        rows.append(telling.row(k, source))
    if not rows:
        return  # current sources set every current
    loops = w.EQUATION if len(rows) == 1 else w.EQUATIONS_WORD
    cited = telling.references(tuple(used))
    words = _collect_words(numeric=numeric, uses=bool(cited))
    yield paragraph(words, this=cited, equations=loops)
    yield Display(tuple(rows))


def _collect_words(*, numeric: bool, uses: bool) -> str:
    if numeric:
        return w.COLLECT_NUMBERS if uses else w.COLLECT_NUMBERS_BARE
    return w.COLLECT_LETTERS if uses else w.COLLECT_BARE


def _divisor(step: Substitute) -> Quantity | None:
    """Return the resistance by which a line of numbers is divided."""
    if not isinstance(step.factor, Quotient):
        return None
    above, below = step.factor.numerator, step.factor.denominator
    sign = above.term if isinstance(above, Negative) else above
    assert isinstance(sign, Number)
    assert isinstance(below, Quantity)
    return Quantity(below.value / abs(sign.value), below.dimension)


def _ties(telling: Telling, step: Substitute) -> tuple[Inline, ...]:
    """Return the ties that were put in, as ``, R2 = 2 R1``, and the voltages that they hold.

    What has a number of its own is cited by it instead.
    """
    rules = {telling.equation(k).left: k for k in (*step.rewriting, *step.definitions)}
    premise = telling.equation(step.premise)
    waiting = [*symbols(premise.left), *symbols(premise.right)]
    found: dict[StepId, None] = {}
    for symbol in waiting:
        k = rules.get(symbol)
        right = () if k is None else tuple(symbols(telling.equation(k).right))
        if k is not None and right and k not in found:
            found[k] = None
            waiting += right
    told: list[Inline] = []
    for k in found:
        if k not in telling.numbers and isinstance(telling.step(k), GivenValue | PathRule):
            told += [Text(", "), Math(chain(telling.equation(k)))]
    return tuple(told)


def _eliminated(telling: Telling, stage: Stage) -> Iterator[Block]:
    """Tell one elimination: the names that it needs, and what is left."""
    combined = [k for k in stage.ids if isinstance(telling.step(k), Combine)]
    if not combined:
        return
    names = [chain(telling.equation(k)) for k in stage.ids if _is_define(telling, k)]
    rows, others = [], []
    pivot, unknown = 0, None
    for k in combined:
        step = telling.step(k)
        assert isinstance(step, Combine)
        own, other = step.parts[0].premise, step.parts[-1].premise
        pivot = telling.numbers[other]
        others.append(own)
        unknown = step.eliminated[0]
        rows.append(telling.row(k, telling.combination(step)))
    assert unknown is not None
    yield paragraph(
        w.REMOVE_NAMED if names else w.REMOVE_BARE,
        pivot=Reference(pivot),
        unknown=Math(unknown),
        others=telling.references(tuple(others)),
    )
    if names:
        yield AnswerLine(tuple(names), ())
        yield paragraph(w.REMOVE_LEFT)
    yield Display(tuple(rows))


def _is_define(telling: Telling, step: StepId) -> bool:
    return isinstance(telling.step(step), Define)


def _in_turn(telling: Telling) -> Iterator[Block]:
    """Find the unknowns one after another, as far as that leads."""
    rows = _running(telling, Goal.IN_TURN)
    if rows:
        whole = not any(_mixes(telling, k) for k in telling.ids(Goal.FRACTIONS, Combine))
        one = w.IN_TURN_ONE if len(rows) == 1 else w.IN_TURN_SOME
        yield paragraph(w.IN_TURN if whole else one)
        yield Display(rows)


def _rows_combined(telling: Telling) -> Iterator[Block]:
    """Equations in letters that are solved at once: each unknown by one combination of them."""
    combined = [k for k in telling.ids(Goal.FRACTIONS, Combine) if _mixes(telling, k)]
    eliminated = (*telling.stages(Goal.ELIMINATE), *telling.stages(Goal.GO_BACK))
    if not combined or eliminated:
        return
    steps = [step for step in map(telling.step, combined) if isinstance(step, Combine)]
    held = {s for k in combined for s in symbols(telling.equation(k).left)}
    names = [k for k in telling.ids(Goal.FRACTIONS, Define) if telling.equation(k).left in held]
    delta = Math(telling.equation(names[0]).left) if len(names) == 1 else None
    if len(telling.chosen_loops()) > 2 and not telling.circuit.sought:
        # The multipliers are determinants themselves, too long to stand beside a line.
        used = sorted({part.premise for step in steps for part in step.parts})
        equations = telling.references(tuple(used))
        if delta is None:
            yield paragraph(w.CRAMER, equations=equations)
        else:
            yield paragraph(w.CRAMER_NAMED, equations=equations, delta=delta)
        return
    rows = [telling.row(k) for k in names]
    rows += [telling.row(k, telling.combination(s)) for k, s in zip(combined, steps, strict=True)]
    yield paragraph(w.TWO_ROWS_BARE) if delta is None else paragraph(w.TWO_ROWS, delta=delta)
    yield Display(tuple(rows))


def _mixes(telling: Telling, step: StepId) -> bool:
    """Tell whether a combination is one of several equations."""
    found = telling.step(step)
    return isinstance(found, Combine) and len(found.parts) > 1


def _back(telling: Telling) -> Iterator[Block]:
    """Find the unknowns one after the other; each line goes on until its value stands there."""
    rows = _running(telling, Goal.GO_BACK)
    if rows:
        yield paragraph(w.GO_BACK)
        yield Display(rows)
    rows = _running(telling, Goal.REST)
    if rows:
        rest = w.REST_ONE if len(rows) == 1 else w.REST_MANY
        yield paragraph(w.GO_BACK_REST, rest=rest)
        yield Display(rows)


def _running(telling: Telling, goal: Goal) -> tuple[Row, ...]:
    """Return one row for each symbol, its lines joined: I3 = (…)/3 Ω = 5/3 A."""
    rows: dict[Symbol, Row] = {}
    premises: dict[Symbol, StepId] = {}
    used: dict[Symbol, tuple[StepId, ...]] = {}
    for k in telling.ids(goal, Isolate, BackSubstitute):
        step = telling.step(k)
        assert isinstance(step, Isolate | BackSubstitute)
        equation = telling.equation(k)
        symbol = equation.left
        assert isinstance(symbol, Symbol)
        premises.setdefault(symbol, step.premise)
        used[symbol] = (*used.get(symbol, ()), *step.definitions)
        source = telling.cited(premises[symbol], used[symbol])
        if symbol not in rows:
            rows[symbol] = telling.row(k, source)
            continue
        old = rows[symbol]
        assert old.number is not None
        telling.numbers[k] = old.number
        rows[symbol] = Row(
            extended(old.chain, (Relation.EQUAL, equation.right)), old.number, source
        )
    return tuple(rows.values())
