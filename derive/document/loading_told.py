"""What a meter changes by its resistance: told beside the circuit with an ideal meter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.term import Symbol, Term, symbols
from derive.circuit.elements import Instrument, Meter
from derive.circuit.question import AskLoadingError, AskReading
from derive.derivation.algebra import BackSubstitute, PutInValues
from derive.derivation.further import LoadingError
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import AcrossRule, PartRule
from derive.derivation.step import Conclude, IdealReading, Round
from derive.document import opening
from derive.document import wording as w
from derive.document.model import Block, Display, Math, Paragraph, Relation, Row, SideBySide
from derive.document.phrase import joined, paragraph, say
from derive.document.telling import Telling, ended, is_readable, part_symbol
from derive.drawing.view import View
from derive.typesetting.style import Expression

_FIGURE = 60.0
"""mm that the figure of the circuit with the ideal meter fills."""
_WIDEST = 85.0
"""mm; a wider one stands below the words."""


def loading_error(telling: Telling, stage: Stage) -> Iterator[Block]:
    """Tell the reading, the reading of an ideal meter, and the difference."""
    answers = [s for k in stage.ids if isinstance(s := telling.step(k), Conclude)]
    question = answers[0].question
    assert isinstance(question, AskLoadingError)
    element = telling.circuit.element(question.part)
    assert isinstance(element, Instrument)
    ammeter = element.meter is Meter.AMMETER
    part = Math(part_symbol(telling.circuit, question.part))
    sides = dict(_sides(telling, stage))
    reading, *others = sides
    told = AskReading(question.part) in telling.circuit.questions
    if telling.full:
        why = say(w.LOADING_AMMETER if ammeter else w.LOADING_VOLTMETER, part=part)
        yield Paragraph(why if told else joined((why, say(w.LOADING_SHOWS))))
    if not told:
        yield Display((_row(telling, stage, reading, sides[reading]),))
    ideal = next(s for k in stage.ids if isinstance(s := telling.step(k), IdealReading))
    other = Telling(dict(telling.circuit.ideal)[question.part], ideal.derivation, telling.detail)
    yield from _without(other, question.part, ideal, ammeter=ammeter, part=part)
    if telling.full:
        yield paragraph(w.LOADING_ERROR if len(others) > 1 else w.LOADING_ERROR_ALONE)
    yield Display(tuple(_row(telling, stage, symbol, sides[symbol]) for symbol in others))


def _without(
    telling: Telling, name: str, ideal: IdealReading, *, ammeter: bool, part: Math
) -> Iterator[Block]:
    """Tell the currents with the ideal meter, and what it shows.

    There the reading has the symbol that the real one has here, so it gets that of an ideal meter.
    """
    words = paragraph(w.IDEAL_AMMETER if ammeter else w.IDEAL_VOLTMETER, part=part)
    if telling.full:
        view = View(currents=True, loops=telling.windows, width=_FIGURE)
        picture = opening.figure(telling, view)
        if picture.drawing.width > _WIDEST:
            yield words
            yield picture
        else:
            yield SideBySide((words,), (picture,), Fraction(50, 100))
    else:
        yield words
    still = {branch.current for branch in telling.circuit.idle}
    letters = set(telling.circuit.symbols)
    rows = []
    for step in telling.current_conclusions():
        if step.symbol in still:
            continue
        formula = None if step.formula is None else telling.equation(step.formula).right
        numbers: list[tuple[Relation, Expression]] = []
        if formula is not None and letters.issuperset(symbols(formula)):
            numbers.append((Relation.EQUAL, formula))
        if step.value is not None and is_readable(telling.equation(step.value).right):
            numbers.append((Relation.EQUAL, telling.equation(step.value).right))
        if numbers or telling.rounded(step) is not None:
            rows.append(Row(ended(step.symbol, numbers, telling.rounded(step))))
    for stage in telling.stages(Goal.FURTHER):
        sides = dict(_sides(telling, stage))
        steps = (s for k in stage.ids if isinstance(s := telling.step(k), Conclude))
        for step in steps:
            if step.question == AskReading(name):
                shown = ideal.conclusion.left
                assert isinstance(shown, Symbol)
                rows.append(Row(ended(shown, sides[step.symbol], telling.rounded(step))))
    yield Display(tuple(rows))


def _sides(
    telling: Telling, stage: Stage
) -> Iterator[tuple[Symbol, list[tuple[Relation, Expression]]]]:
    """Yield each symbol of a stage with what it equals, in letters that need no explanation.

    Where there are numbers, no formula stands before them.
    """
    letters = set(telling.circuit.symbols)
    concluded = [s for k in stage.ids if isinstance(s := telling.step(k), Conclude)]
    in_numbers = concluded[0].rounded is not None
    found: dict[Term, list[tuple[Relation, Expression]]] = {}
    for k in stage.ids:
        step = telling.step(k)
        if (
            isinstance(step, PartRule | AcrossRule | LoadingError)
            or (
                isinstance(step, BackSubstitute)
                and not in_numbers
                and letters.issuperset(symbols(step.conclusion.right))
            )
            or (isinstance(step, PutInValues) and is_readable(step.conclusion.right))
        ):
            side = (Relation.EQUAL, step.conclusion.right)
            found.setdefault(step.conclusion.left, []).append(side)
    for symbol, sides in found.items():
        assert isinstance(symbol, Symbol)
        yield symbol, sides


def _row(
    telling: Telling, stage: Stage, symbol: Symbol, sides: list[tuple[Relation, Expression]]
) -> Row:
    roundings = (s for k in stage.ids if isinstance(s := telling.step(k), Round))
    return Row(ended(symbol, sides, next((s for s in roundings if s.symbol == symbol), None)))
