"""The first half of a solution: the circuit, its currents, the two rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from derive.algebra.dimension import NUMBER
from derive.algebra.term import ZERO, Symbol, SymbolKind, number
from derive.analysis.loops import windows
from derive.analysis.reduction import judge
from derive.analysis.reduction.verdict import Piece, PointLabel
from derive.circuit.elements import Battery
from derive.circuit.model import Loop
from derive.derivation.algebra import BackSubstitute, PutInValues
from derive.derivation.goal import Goal
from derive.derivation.laws import (
    ChooseUnknowns,
    Crossing,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    SameCurrent,
)
from derive.derivation.step_id import StepId
from derive.document import reduction_told, sought_told
from derive.document import wording as w
from derive.document.model import (
    Align,
    Block,
    Chain,
    Display,
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
)
from derive.document.opening import figure
from derive.document.phrase import joined, listing, paragraph, points, say
from derive.document.telling import Telling, chain, extended, part_symbol
from derive.drawing.view import View

_LONGEST_NAMES = 16

_LOOP, _WIDEST_LOOP = 56.0, 80.0
"""mm that a loop fills beside its table; for a wider one the table gets less room."""


def reducible(telling: Telling) -> Iterator[Block]:
    """Give the verdict on reduction, and the steps."""
    verdict = judge(telling.circuit)
    reason = [_piece(piece) for piece in verdict.pieces]
    told = telling.has(Goal.REDUCTION)
    goes_on = None if verdict.reducible else _goes_on(telling)
    if goes_on is not None and not told:
        reason.append(Text(f" {goes_on}"))
    yield Paragraph((Strong((Text(verdict.opening),)), Text(" "), *reason))
    yield from reduction_told.reduction(telling)
    if goes_on is not None and told:
        yield paragraph(goes_on)


def _goes_on(telling: Telling) -> str | None:
    """Say how a circuit is solved that does not reduce to one resistor."""
    if telling.has(Goal.WAY_BACK):
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
            single = w.SINGLE_LOOP_LEFT if telling.circuit.idle else w.SINGLE_LOOP
            template = single + (f" {w.ONE_EQUATION}" if one else "")
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
        yield Display(tuple(_driven(telling, k) for k in driven))
    same = {}
    for k in telling.ids(Goal.WALKS, SameCurrent):
        same[telling.equation(k).left] = Row(chain(telling.equation(k)))
    if same:
        yield paragraph(w.SAME_CURRENT)
        yield Display(tuple(same.values()))


def _driven(telling: Telling, law: StepId) -> Row:
    """Tell the current that a source sets, and what that is once ties or values are put in."""
    row = telling.row(law)
    for k in telling.ids(Goal.KNOWN, BackSubstitute, PutInValues):
        step = telling.step(k)
        assert isinstance(step, BackSubstitute | PutInValues)
        if step.premise == law:
            telling.numbers[k] = telling.numbers[law]
            return replace(row, chain=extended(row.chain, (Relation.EQUAL, step.conclusion.right)))
    return row


def _is_still(telling: Telling, step: StepId) -> bool:
    return telling.equation(step).right == ZERO


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


def _passed(loop: Loop) -> frozenset[int]:
    return frozenset(hop.branch for hop in loop.hops)


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
    seen_alone = {_passed(loop) for loop in windows(telling.circuit)}
    in_figure = seen_alone == set(map(_passed, loops))
    if fresh and plain and in_figure and len(telling.circuit.nodes) == 2:
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
    view = View(loop=rule.loop, loop_name=rule.name, loops=telling.windows, width=_LOOP)
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
