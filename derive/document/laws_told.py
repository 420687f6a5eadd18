"""The first half of a solution: the circuit, its currents, the two rules."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction
from itertools import groupby
from typing import assert_never

from derive.algebra.dimension import NUMBER
from derive.algebra.name import natural_key
from derive.algebra.term import ZERO, Equation, Symbol, SymbolKind, number, resistance, voltage
from derive.analysis.reduction import judge
from derive.analysis.reduction.verdict import Piece, PointLabel
from derive.circuit.elements import Battery, Capacitor, Instrument, Resistor, Switch, is_gap
from derive.circuit.model import Given, Loop
from derive.circuit.preferred import Series
from derive.circuit.question import AskVoltage, Duration, Question
from derive.derivation.goal import Goal
from derive.derivation.laws import (
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    SameCurrent,
)
from derive.derivation.step_id import StepId
from derive.document import ratings_told, reduction_told, sought_told, tolerance_told
from derive.document import wording as w
from derive.document.model import (
    Align,
    Block,
    Chain,
    Display,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    PointPath,
    Relation,
    Row,
    SideBySide,
    SignedTerm,
    Strong,
    Table,
    Text,
    Values,
)
from derive.document.phrase import joined, listing, paragraph, points, say, with_ties
from derive.document.quantities import duration
from derive.document.telling import Telling, chain, part_symbol
from derive.drawing import description
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.typesetting.style import Decimal

_NUMBERED = re.compile(r"[A-Za-z][0-9]*")
"""Names such as R12, which are listed by number; others stay in the order of the file."""
_LONGEST_NAMES = 16
_BESIDE, _WIDEST_BESIDE = 90.0, 100.0
"""mm that the figure beside the problem fills; a wider one stands on its own below the text."""
_ALONE = 160.0
"""mm that it then fills."""
_LOOP, _WIDEST_LOOP = 56.0, 80.0
"""mm that a loop fills beside its table; for a wider one the table gets less room."""


def opening(telling: Telling) -> Iterator[Block]:
    """Tell the circuit, what is given and what is wanted, beside the figure."""
    asked = paragraph(w.WANTED, items=wanted(telling))
    off = tolerance_told.given_tolerances(telling.circuit)
    rated = ratings_told.given_ratings(telling.circuit)
    blocks = [*statement(telling), given(telling), *off, *rated, asked]
    view = View(currents=telling.circuit.asks_for_currents, loops=telling.windows, width=_BESIDE)
    picture = figure(telling, view)
    told = tuple(block for block in blocks if block is not None)
    if picture.drawing.width > _WIDEST_BESIDE:
        yield from told
        yield figure(telling, replace(view, width=_ALONE))
    else:
        yield SideBySide(told, (picture,), Fraction(42, 100))


def statement(telling: Telling) -> Iterator[Block]:
    """Tell the problem in the author's words, if there are any."""
    if telling.circuit.statement:
        yield Paragraph((Text(with_ties(telling.circuit.statement)),))


def given(telling: Telling) -> Values | None:
    """Return what is given; None for nothing. The resistances of rated lamps are worked out."""
    rated = {resistance(r.part) for r in telling.circuit.ratings if r.voltage is not None}
    found_given = (telling.equation(k) for k in telling.ids(Goal.GIVEN, GivenValue))
    steps = [equation for equation in found_given if equation.left not in rated]
    names = [str(getattr(equation.left, "name", "")) for equation in steps]
    if all(_NUMBERED.fullmatch(name) for name in names):
        steps.sort(key=lambda equation: natural_key(getattr(equation.left, "name", "")))
    found = tuple(_as_written(telling, equation) for equation in steps)
    return Values(found) if found else None


def wanted(telling: Telling) -> tuple[Inline, ...]:
    """Return what is asked, as a listing; several questions of one kind stand together."""
    kinds = groupby(telling.circuit.questions, lambda question: type(question).__name__)
    return listing((_wanted(telling, kind, [*asked]) for kind, asked in kinds), w.AND)


def _as_written(telling: Telling, equation: Equation) -> Chain:
    """Return a given value with the digits and the unit of the author."""
    assert isinstance(equation.left, Symbol)
    value = telling.circuit.valuation(equation.left)
    if isinstance(value, Given) and value.written is not None:
        digits, exponent = value.written
        decimal = Decimal(digits, exponent, value.dimension)
        return Chain((equation.left, decimal), (Relation.EQUAL,))
    return chain(equation)


def _wanted(telling: Telling, kind: str, asked: list[Question]) -> tuple[Inline, ...]:
    alone = len(telling.circuit.branches) == 1 and not telling.circuit.named_idle
    slots = [question_slots(telling, question) for question in asked]
    if len(asked) > 1 and kind in w.WANTED_SEVERAL:
        (slot,) = re.findall(r"\{(\w+)\}", w.WANTED_ITEMS[kind])
        return say(w.WANTED_SEVERAL[kind], items=listing((s[slot] for s in slots), w.AND))
    template = w.WANTED_ITEMS["single" if kind == "AskCurrents" and alone else kind]
    return listing((say(template, **of_one) for of_one in slots), w.AND)


def question_slots(telling: Telling, question: Question) -> dict[str, Inline]:
    """Return what stands in the slots of a sentence about a question."""
    slots: dict[str, Inline] = {}
    for item in fields(question):
        name = getattr(question, item.name)
        if item.name == "quantity":
            slots["quantity"] = Math(next(s for s in telling.circuit.sought if s.name == name))
        elif isinstance(name, Duration):
            slots[item.name] = Math(duration(name))
        elif item.name in ("part", "battery", "capacitor"):
            slots["part"] = Math(part_symbol(telling.circuit, name))
        elif isinstance(name, Series):
            slots["series"] = Text(name.name)
        else:
            slots[item.name] = Math(PointName(name))
    if isinstance(question, AskVoltage):
        slots["symbol"] = Math(voltage(question.to, question.origin))
    if telling.circuit.ground is not None:
        slots["ground"] = Math(PointName(telling.circuit.ground))
    return slots


def figure(telling: Telling, view: View) -> Figure:
    """Return a figure of the circuit with its two descriptions."""
    circuit = telling.circuit
    # What the circuit is has been told with the first figure, and the walk is told in its table.
    view = replace(view, shape=telling.shape)
    drawing = schematic(circuit, view)
    whole = view.loop is None
    long = description.long(circuit, drawing.crossings) if whole else ""
    caption = (Text(w.CROSSINGS),) if whole and drawing.crossings else ()
    return Figure(drawing, caption, description.short(circuit, view), long)


def reducible(telling: Telling) -> Iterator[Block]:
    """Give the verdict on reduction, and the steps."""
    verdict = judge(telling.circuit)
    reason = [_piece(piece) for piece in verdict.pieces]
    told = any(True for _ in telling.stages(Goal.REDUCTION))
    goes_on = None if verdict.reducible else _goes_on(telling)
    if goes_on is not None and not told:
        reason.append(Text(f" {goes_on}"))
    yield Paragraph((Strong((Text(verdict.opening),)), Text(" "), *reason))
    yield from reduction_told.reduction(telling)
    if goes_on is not None and told:
        yield paragraph(goes_on)


def _goes_on(telling: Telling) -> str | None:
    """Say how a circuit is solved that does not reduce to one resistor."""
    if any(True for _ in telling.stages(Goal.WAY_BACK)):
        return None
    return w.USE_RULES if telling.by_rules else None


def _piece(piece: Piece) -> Inline:
    match piece:
        case Symbol():
            return Math(piece)
        case PointLabel(name):
            return Math(PointName(name))
        case str():
            return Text(piece)
        case _:
            assert_never(piece)


def label(telling: Telling) -> Iterator[Block]:
    """Count branches and junctions, and the equations where there will be some."""
    for k in telling.ids(Goal.COUNT, ChooseUnknowns):
        step = telling.step(k)
        assert isinstance(step, ChooseUnknowns)
        if not step.junctions:
            sentences = []
            if telling.circuit.sought:
                sentences = list(sought_told.unknowns(telling, step))
            one = telling.by_rules and bool(step.unknowns) and not sentences
            template = w.SINGLE_LOOP + (f" {w.ONE_EQUATION}" if one else "")
            opened = say(template, current=Math(telling.circuit.branches[0].current))
            yield Paragraph(joined([opened, *sentences]))
        else:
            sentences = [_branches(telling, step)]
            if telling.circuit.sought:
                sentences += sought_told.unknowns(telling, step)
            elif telling.by_rules and step.unknowns:
                sentences.append(_equations(telling, step))
            if telling.full:
                sentences.append(say(w.GUESS))
            yield Paragraph(joined(sentences))
    driven = [k for k in telling.ids(Goal.KNOWN, KnownCurrent) if not _is_still(telling, k)]
    if driven:
        steps = [telling.step(k) for k in driven]
        names = [Math(part_symbol(telling.circuit, s.part)) for s in steps
                 if isinstance(s, KnownCurrent)]  # fmt: skip
        template = w.SET_ONE if len(driven) == 1 else w.SET_MANY
        yield paragraph(template, sources=listing(names, w.AND))
        yield Display(tuple(telling.row(k) for k in driven))
    same = {}
    for k in telling.ids(Goal.WALKS, SameCurrent):
        same[telling.equation(k).left] = Row(chain(telling.equation(k)))
    if same:
        yield paragraph(w.SAME_CURRENT)
        yield Display(tuple(same.values()))


def _is_still(telling: Telling, step: StepId) -> bool:
    return telling.equation(step).right == ZERO


def without_current(telling: Telling) -> Iterator[Block]:
    """Say where no current can flow, and why."""
    circuit = telling.circuit
    gaps = [p.element for branch in circuit.idle for p in branch.passages if is_gap(p.element)]
    if not gaps:
        return
    sentences: list[tuple[Inline, ...]] = []
    for kind, one, many in (
        (Switch, w.OPEN_ONE, w.OPEN_MANY),
        (Instrument, w.NO_DRAIN_ONE, w.NO_DRAIN_MANY),
        (Capacitor, w.CHARGED_UP_ONE, w.CHARGED_UP_MANY),
    ):
        found = [Math(part_symbol(circuit, e.name)) for e in gaps if isinstance(e, kind)]
        if found:
            template = one if len(found) == 1 else many
            sentences.append(say(template, parts=listing(found, w.AND)))
    behind = [
        Math(part_symbol(circuit, passage.element.name))
        for branch in circuit.idle
        for passage in branch.passages
        if isinstance(passage.element, Resistor | Battery)
    ]
    if behind:
        drops = any(branch.resistances for branch in circuit.idle)
        template = w.NOR_IN_RESISTANCE if drops else w.NOR_IN
        sentences.append(say(template, parts=listing(behind, w.OR)))
    if not circuit.branches:
        sentences.append(say(w.NOTHING_FLOWS))
    yield Paragraph(joined(sentences))
    named = {branch.current for branch in circuit.named_idle}
    rows = [
        Row(chain(telling.equation(k)))
        for k in telling.ids(Goal.KNOWN, KnownCurrent)
        if telling.equation(k).left in named
    ]
    if rows:
        yield Display(tuple(rows))


def _branches(telling: Telling, step: ChooseUnknowns) -> tuple[Inline, ...]:
    junctions = [node.name for node in telling.circuit.junctions]
    ends = open_ends(telling)
    b = say("{n} " + ("branch" if step.branches == 1 else "branches"), n=_count("b", step.branches))
    n = say("{n} " + ("junction" if step.junctions == 1 else "junctions"),
            n=_count("n", step.junctions))  # fmt: skip
    if ends:
        return say(w.BRANCHES_OPEN, b=b, ends=points(ends, w.AND))
    if step.junctions == 1:
        return say(w.ONE_POINT, b=b, points=points(junctions, w.AND))
    if step.junctions > 6:
        return say(w.BRANCHES_MANY, b=b, n=n)
    return say(w.BRANCHES, b=b, n=n, points=points(junctions, w.AND))


def open_ends(telling: Telling) -> list[str]:
    """Return the nodes at which a branch ends in nothing."""
    return [node.name for node in telling.circuit.nodes if node.degree == 1]


def _count(letter: str, value: int) -> Math:
    symbol = Symbol(letter, SymbolKind.COUNT, NUMBER)
    return Math(Chain((symbol, number(value)), (Relation.EQUAL,)))


def _equations(telling: Telling, step: ChooseUnknowns) -> tuple[Inline, ...]:
    count = len(step.unknowns)
    words = {
        "unknowns": w.count(count, "unknown current").capitalize(),
        "need": "needs" if count == 1 else "need",
        "equations": w.count(count, "equation"),
        "loops": w.number_word(step.loop_equations),
    }
    if not step.loop_equations:
        return say(w.EQUATIONS_JUNCTIONS_ONLY, **words)
    if open_ends(telling):
        return say(w.EQUATIONS_OPEN, junctions=w.number_word(step.junction_equations), **words)
    if step.junction_equations:
        return say(w.EQUATIONS, junctions=w.number_word(step.junction_equations), **words)
    return say(w.EQUATIONS_LOOPS_ONLY, **words)


def junctions(telling: Telling) -> Iterator[Block]:
    """Write the junction rule, and say which equation is left out."""
    used = []
    for k in telling.ids(Goal.JUNCTIONS, JunctionRule):
        step = telling.step(k)
        assert isinstance(step, JunctionRule)
        used.append(step.node)
        yield paragraph(w.JUNCTION, point=Math(PointName(step.node)), flows=_flows(step))
        yield Display((telling.row(k),))
    left = [node.name for node in telling.circuit.nodes if node.name not in used]
    if used and left and telling.full:
        others = w.LEFT_OUT_ONE if len(used) == 1 else w.LEFT_OUT_MANY
        yield paragraph(w.LEFT_OUT, point=Math(PointName(left[0])), others=others)


def _flows(step: JunctionRule) -> tuple[Inline, ...]:
    sides = {}
    for name, flows in (("in", step.flows_in), ("out", step.flows_out)):
        sides["into" if name == "in" else "out"] = listing((Math(f) for f in flows), w.AND)
        sides[f"verb_{name}"] = say(w.FLOW if len(flows) > 1 else w.FLOWS)
    if not step.flows_in:
        return say(w.ONLY_OUT, **sides)
    return say(w.IN_AND_OUT if step.flows_out else w.ONLY_IN, **sides)


def loops(telling: Telling) -> Iterator[Block]:
    """Walk the loops."""
    rules = []
    for k in telling.ids(Goal.LOOPS, LoopRule):
        step = telling.step(k)
        assert isinstance(step, LoopRule)
        rules.append((k, step))
    if telling.full and rules:
        sentences = [say(_why_these(telling))] if len(rules) > 1 else []
        sources = [p.element.name for b in telling.circuit.branches for p in b.sources]
        if sources:
            letters = (Math(part_symbol(telling.circuit, name)) for name in sources)
            one = len(sources) == 1
            template = w.NOT_PAST_ONE if one else w.NOT_PAST_MANY
            sentences.append(say(template, sources=listing(letters, w.OR)))
        yield Paragraph(joined([*sentences, say(w.TWO_RULES)]))
    for k, rule in rules:
        title = say(w.LOOP_TITLE, name=rule.name, path=route(telling, rule.loop))
        yield Paragraph((Strong(title),))
        if telling.full:
            yield _walked(telling, rule)
        yield Display((telling.row(k),))
    yield from sought_told.conditions(telling)


def _why_these(telling: Telling) -> str:
    loops = telling.chosen_loops()
    if telling.circuit.choices.loops:
        return w.LOOPS_AUTHOR
    seen: set[int] = set()
    fresh = True
    for loop in loops:
        branches = {hop.branch for hop in loop.hops}
        fresh = fresh and not branches <= seen
        seen |= branches
    plain = not telling.circuit.has_sources and telling.circuit.drawn is None
    if fresh and plain and len(telling.circuit.nodes) == 2:
        return w.LOOPS_WINDOWS
    return w.LOOPS_NEW if fresh else w.LOOPS_INDEPENDENT


def _walked(telling: Telling, rule: LoopRule) -> Block:
    """Return the figure of a loop beside the table of its walk, or above it."""
    table = Table(
        ((Text(w.PART),), (Text(w.HOW),), (Text(w.CHANGE),)),
        tuple(
            ((Math(row.quantity),), _crossing(row), (SignedTerm(row.change),))
            for row in rule.crossings
        ),
        (Align.LEFT, Align.STRETCH, Align.RIGHT),
        w.TABLE.format(name=rule.name),
    )
    view = View(loop=rule.loop, loop_name=rule.name, loops=telling.chosen_loops(), width=_LOOP)
    picture = figure(telling, view)
    longest = max(len(row.quantity.name) + len(getattr(row.current, "name", ""))
                  for row in rule.crossings)  # fmt: skip
    if longest > _LONGEST_NAMES:
        return SideBySide((picture,), (table,), Fraction(30, 100))
    if picture.drawing.width > _WIDEST_LOOP:
        return SideBySide((picture,), (table,), Fraction(52, 100))
    return SideBySide((picture,), (table,), Fraction(40, 100))


def _crossing(row: Crossing) -> tuple[Inline, ...]:
    if row.current is None:
        return say(w.RISE_EMF if row.along else w.FALL_EMF)
    return say(w.FALL if row.along else w.RISE, current=Math(row.current))


def route(telling: Telling, loop: Loop) -> tuple[Inline, ...]:
    """Tell a walk by its points, and by a part where another walk has the same points."""
    own = path(telling, loop)
    walk = Math(PointPath(own))
    others = [other for other in _all_loops(telling) if other != loop]
    alike = [other for other in others if set(path(telling, other)) == set(own)]
    if not alike:
        return (walk,)
    parts = _tell_apart(telling, loop, alike)
    letters = listing((Math(part_symbol(telling.circuit, name)) for name in parts), w.AND)
    return say(w.BY_WAY, path=walk, parts=letters) if letters else (walk,)


def _tell_apart(telling: Telling, loop: Loop, alike: list[Loop]) -> list[str]:
    """Return few parts that no other of several loops passes all, batteries first."""
    branches = telling.circuit.branches
    passed = [{hop.branch for hop in other.hops} for other in alike]
    found: list[str] = []
    while passed:
        best: tuple[int, bool, str] | None = None
        rest = passed
        for hop in loop.hops:
            left = [other for other in passed if hop.branch in other]
            for passage in branches[hop.branch].passages:
                is_battery = isinstance(passage.element, Battery)
                gain = (len(passed) - len(left), is_battery, passage.element.name)
                if gain[0] and (best is None or gain[:2] > best[:2]):
                    best, rest = gain, left
        if best is None:
            break
        found.append(best[2])
        passed = rest
    return found


def _all_loops(telling: Telling) -> Iterator[Loop]:
    for step in telling.derivation.steps:
        if isinstance(step, LoopRule):
            yield step.loop


def path(telling: Telling, loop: Loop) -> tuple[str, ...]:
    """Return the points met on a loop, its first again at the end."""
    met: list[str] = []
    for hop in loop.hops:
        branch = telling.circuit.branches[hop.branch]
        stations = branch.stations if hop.along else tuple(reversed(branch.stations))
        for names in stations:
            for name in names if hop.along else tuple(reversed(names)):
                if not met or met[-1] != name:
                    met.append(name)
    if met and met[0] != met[-1]:
        met.append(met[0])
    return tuple(met)
