"""The problem: the words of the author, the figure, what is given and what is wanted."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction
from itertools import groupby

from derive.algebra.name import natural_key
from derive.algebra.term import Equation, Symbol, resistance, voltage
from derive.circuit.preferred import Series
from derive.circuit.question import AskVoltage, Duration, Question
from derive.circuit.valuation import Given
from derive.derivation.goal import Goal
from derive.derivation.laws import GivenValue
from derive.document import ratings_told, tolerance_told, transient_told
from derive.document import wording as w
from derive.document.model import (
    Block,
    Chain,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    Relation,
    SideBySide,
    Text,
    Values,
)
from derive.document.phrase import listing, paragraph, say, with_ties
from derive.document.quantities import duration
from derive.document.telling import Telling, chain, part_symbol
from derive.drawing import description
from derive.drawing.drawn import arrows_of_problem
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.typesetting.values import as_written

_NUMBERED = re.compile(r"[A-Za-z][0-9]*")
"""Names such as R12, which are listed by number; others stay in the order of the file."""

_BESIDE, _WIDEST_BESIDE = 90.0, 100.0
"""mm that the figure beside the problem fills; a wider one stands on its own below the text."""

_ALONE = 160.0
"""mm that it then fills."""


def opening(telling: Telling) -> Iterator[Block]:
    """Tell the circuit, what is given and what is wanted, beside the figure."""
    asked = paragraph(w.WANTED, items=wanted(telling))
    off = tolerance_told.given_tolerances(telling.circuit)
    rated = ratings_told.given_ratings(telling.circuit)
    starts = transient_told.given_starts(telling)
    blocks = [*statement(telling), given(telling), *off, *rated, *starts, asked]
    view = View(arrows=arrows_of_problem(telling.circuit), loops=telling.windows, width=_BESIDE)
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
    decimal = as_written(value) if isinstance(value, Given) else None
    if decimal is None:
        return chain(equation)
    return Chain((equation.left, decimal), (Relation.EQUAL,))


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
