"""The resistance between two points by a test source, where sources depend on what flows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from derive.algebra.term import Quotient, Symbol, SymbolKind, symbols
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Tested
from derive.derivation.algebra import PutInValues
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import GivenValue, JunctionRule, KnownCurrent, LoopRule, PathRule
from derive.derivation.step import BySource, Conclude
from derive.document import opening
from derive.document import wording as w
from derive.document.model import (
    Block,
    Display,
    Inline,
    Math,
    Paragraph,
    PointName,
    Relation,
    Row,
    SideBySide,
)
from derive.document.phrase import joined, listing, paragraph, say
from derive.document.telling import Telling, chain, ended, is_readable
from derive.drawing.view import View
from derive.typesetting.style import Expression

_FIGURE = 60.0
"""mm that the figure of the circuit with the test source fills."""
_WIDEST = 85.0
"""mm; a wider one stands below the words."""


def by_test_source(telling: Telling, run: Stage, *, is_first: bool) -> Iterator[Block]:
    """Tell the circuit with the test source, its rules, the voltage, and what that comes to.

    What a test source is for is said where it `is_first` used.
    """
    steps = [telling.step(k) for k in run.ids]
    step = next(s for s in steps if isinstance(s, BySource))
    answer = next(s for s in steps if isinstance(s, Conclude))
    tested = next(t for t in telling.circuit.tested if t.question == step.question)
    before = telling.numbered + len(set(telling.numbers.values()))
    other = Telling(tested.circuit, step.derivation, telling.detail, numbered=before)
    ends: dict[str, Inline] = {
        "one": Math(PointName(step.question.one)), "other": Math(PointName(step.question.other))
    }  # fmt: skip
    yield from _set_up(telling, tested, other, ends, is_first=is_first)
    others = [*(s for s in other.circuit.controls if s.kind is SymbolKind.VOLTAGE),
              *other.circuit.dependent]  # fmt: skip
    if telling.circuit.asks_for_currents and others:
        # What sources depend on, and they themselves, have other values than before on the page.
        template = w.TEST_LAWS_ANEW_ONE if len(others) == 1 else w.TEST_LAWS_ANEW_MANY
        yield paragraph(template, others=_listed(others))
    else:
        yield paragraph(w.TEST_LAWS)
    yield Display(tuple(_laws(other)))
    currents = tuple(_currents(other, tested.source))
    if currents:
        yield paragraph(w.TEST_CURRENTS)
        yield Display(currents)
    telling.numbered += len(set(other.numbers.values()))
    found, row = _voltage(other)
    yield paragraph(w.TEST_VOLTAGE)
    yield Display((row,))
    yield paragraph(w.TEST_DIVIDED)
    # What the step says of the voltage that it cites.
    sides: list[tuple[Relation, Expression]] = [
        (Relation.EQUAL, Quotient(found.symbol, tested.symbol))
    ]
    for told in steps:
        if isinstance(told, BySource | PutInValues) and is_readable(told.conclusion.right):
            sides.append((Relation.EQUAL, told.conclusion.right))
    yield Display((Row(telling.with_decimal(answer, sides)),))
    rounding = telling.rounded(answer)
    if rounding is not None and rounding.rounded < 0:
        yield paragraph(w.TEST_NEGATIVE, **ends)


def _set_up(
    telling: Telling, tested: Tested, other: Telling, ends: dict[str, Inline], *, is_first: bool
) -> Iterator[Block]:
    """Tell what becomes of each source, with the figure."""
    begun = w.TEST_SOURCE if telling.full and is_first else w.TEST_SOURCE_BRIEF
    sentences = [say(begun, source=Math(tested.symbol), **ends)]
    circuit = telling.circuit
    batteries = [e for e in circuit.elements if isinstance(e, Battery)]
    zero = [e for e in batteries if e.emf not in circuit.dependent]
    gaps = [e.source for e in circuit.elements if isinstance(e, CurrentSource)]
    for parts, one, many in (
        ([e.emf for e in zero if e.resistance is not None], w.TEST_INNER, w.TEST_INNERS),
        ([e.emf for e in zero if e.resistance is None], w.TEST_WIRE, w.TEST_WIRES),
        ([s for s in gaps if s not in circuit.dependent], w.TEST_GAP, w.TEST_GAPS),
        (list(circuit.dependent), w.TEST_STAYS, w.TEST_STAY),
    ):
        if parts:
            sentences.append(say(one if len(parts) == 1 else many, parts=_listed(parts)))
    words = Paragraph(joined(sentences))
    if not telling.full:
        yield words
        return
    # What carries no current there is left out of the figure.
    alone = replace(other, circuit=replace(tested.circuit, idle=(), drawn=None))
    view = View(currents=True, loops=other.windows, width=_FIGURE)
    picture = opening.figure(alone, view)
    if picture.drawing.width > _WIDEST:
        yield words
        yield picture
    else:
        yield SideBySide((words,), (picture,), Fraction(50, 100))


def _listed(parts: Sequence[Symbol]) -> tuple[Inline, ...]:
    return listing(((Math(part),) for part in parts), w.AND)


def _laws(other: Telling) -> Iterator[Row]:
    """Yield the rules, then what the sources depend on."""
    still = {branch.current for branch in other.circuit.idle} - {*other.circuit.controls}
    for goal, kind in (
        (Goal.KNOWN, KnownCurrent),
        (Goal.JUNCTIONS, JunctionRule),
        (Goal.LOOPS, LoopRule),
        (Goal.CONTROLS, PathRule),
    ):
        for k in other.ids(goal, kind):
            if other.equation(k).left not in still:
                yield other.row(k)
    for k in other.ids(Goal.GIVEN, GivenValue):
        given = other.step(k)
        assert isinstance(given, GivenValue)
        if given.symbol in other.circuit.dependent:
            yield Row(chain(given.conclusion))


def _currents(other: Telling, source: str) -> Iterator[Row]:
    """Yield the currents; that of the test source is known."""
    still = {branch.current for branch in other.circuit.idle}
    still |= {walk.current for walk in other.circuit.walks if source in walk.parts}
    letters = set(other.circuit.symbols)
    known = {other.equation(k).left for k in other.ids(Goal.KNOWN, KnownCurrent)}
    for step in other.current_conclusions():
        if step.symbol in still or step.symbol in known:
            continue
        sides: list[tuple[Relation, Expression]] = []
        rounding = other.rounded(step)
        cited = step.value if rounding is not None or step.formula is None else step.formula
        assert cited is not None
        right = other.equation(cited).right
        if letters.issuperset(symbols(right)) and is_readable(right):
            sides.append((Relation.EQUAL, right))
        if sides or rounding is not None:
            yield Row(ended(step.symbol, sides, rounding))


def _voltage(other: Telling) -> tuple[Conclude, Row]:
    """Return the answer about the voltage of the test source, and how it is told."""
    letters = set(other.circuit.symbols)
    stage = next(iter(other.stages(Goal.FURTHER)))
    steps = [other.step(k) for k in stage.ids]
    answer = next(s for s in steps if isinstance(s, Conclude))
    sides: list[tuple[Relation, Expression]] = []
    for step in steps:
        numbers = isinstance(step, PutInValues) and answer.rounded is not None
        if not (isinstance(step, PathRule) or numbers):
            continue
        assert isinstance(step, PathRule | PutInValues)
        if step.conclusion.left == answer.symbol and is_readable(step.conclusion.right):
            sides.append((Relation.EQUAL, step.conclusion.right))
    if answer.rounded is None and answer.formula is not None:
        right = other.equation(answer.formula).right
        if letters.issuperset(symbols(right)):
            sides.append((Relation.EQUAL, right))
    return answer, Row(ended(answer.symbol, sides, other.rounded(answer)))
