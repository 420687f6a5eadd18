"""Values that are sought, told: what is given instead, and how they come out."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import SymbolKind
from derive.circuit.question import AskValue
from derive.derivation.algebra import BackSubstitute, Combine, Isolate
from derive.derivation.goal import Goal
from derive.derivation.laws import ChooseUnknowns, PartRule, PathRule
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import Block, Display, Inline, Math, PointName
from derive.document.phrase import listing, paragraph, say
from derive.document.telling import Telling


def value_conclusions(telling: Telling) -> list[Conclude]:
    """Return the conclusions about values that are sought."""
    return [step for step in telling.conclusions() if isinstance(step.question, AskValue)]


def unknowns(telling: Telling, step: ChooseUnknowns) -> Iterator[tuple[Inline, ...]]:
    """Say what is unknown where currents or voltages are given, and count the equations."""
    given = [Math(condition.symbol) for condition in telling.circuit.conditions]
    one = len(step.unknowns) == 1
    yield say(
        (w.ONE_UNKNOWN if one else w.THE_UNKNOWNS)[len(given) > 1],
        given=listing(given, w.AND),
        unknowns=listing((Math(symbol) for symbol in step.unknowns), w.AND),
    )
    sources: list[str] = []
    if step.junction_equations:
        words = w.FROM_JUNCTIONS if step.junctions else w.FROM_JUNCTIONS_BARE
        sources.append(words.format(n=w.number_word(step.junction_equations)))
    if step.loop_equations:
        sources.append(w.FROM_LOOPS.format(n=w.number_word(step.loop_equations)))
    if step.voltage_equations:
        many = step.voltage_equations > 1
        word = w.FROM_VOLTAGES if many else w.FROM_VOLTAGE
        sources.append(word.format(n=w.number_word(step.voltage_equations)))
    count = len(step.unknowns)
    yield say(
        w.NEED_ALONE if len(sources) == 1 else w.NEED,
        unknowns=w.count(count, "unknown").capitalize(),
        need="needs" if one else "need",
        equations=w.count(count, "equation"),
        sources=listing(sources, w.AND),
    )


def conditions(telling: Telling) -> Iterator[Block]:
    """Write each given voltage as the sum of the changes on a way between its points."""
    for k in telling.ids(Goal.CONDITIONS, PathRule):
        step = telling.step(k)
        assert isinstance(step, PathRule)
        yield paragraph(
            w.GIVEN_VOLTAGE,
            voltage=Math(step.conclusion.left),
            origin=Math(PointName(step.origin)),
            to=Math(PointName(step.to)),
        )
        yield Display((telling.row(k),))


def voltages(telling: Telling) -> Iterator[Block]:
    """Put the voltage across each sought resistance in for a product of two unknowns."""
    laws = list(telling.ids(Goal.VOLTAGES_SOUGHT, PartRule))
    if not laws:
        return
    letters = [s for s in telling.circuit.sought if s.kind is SymbolKind.RESISTANCE]
    one = len(letters) == 1
    yield paragraph(
        w.SOUGHT_PRODUCT if one else w.SOUGHT_PRODUCTS,
        resistances=listing((Math(letter) for letter in letters), w.AND),
    )
    yield Display(tuple(telling.row(k) for k in laws))
    rows = []
    for k in telling.ids(Goal.VOLTAGES_SOUGHT, Combine):
        step = telling.step(k)
        assert isinstance(step, Combine)
        rows.append(telling.row(k, telling.cited(step.parts[0].premise, _laws(step))))
    yield paragraph(w.SOUGHT_IN_LOOPS)
    yield Display(tuple(rows))


def _laws(step: Combine) -> tuple[int, ...]:
    return tuple(part.premise for part in step.parts[1:])


def resistances(telling: Telling) -> Iterator[Block]:
    """Divide the voltage across each sought resistance by its current."""
    rows = []
    for k in telling.ids(Goal.SOUGHT, Isolate):
        step = telling.step(k)
        assert isinstance(step, Isolate)
        laws = tuple(n for d in step.definitions for n in _numbered(telling, d))
        rows.append(telling.row(k, telling.cited(step.premise, laws)))
    if rows:
        yield paragraph(w.SOUGHT_DIVIDED if len(rows) == 1 else w.SOUGHT_DIVIDED_MANY)
        yield Display(tuple(rows))


def _numbered(telling: Telling, k: StepId) -> Iterator[StepId]:
    """Yield the nearest lines with numbers that a step comes from; itself if it has one."""
    if k in telling.numbers:
        yield k
        return
    match telling.step(k):
        case Combine(parts=parts):
            cited = tuple(part.premise for part in parts)
        case Isolate(premise=premise, definitions=definitions):
            cited = (premise, *definitions)
        case BackSubstitute(premise=premise, definitions=definitions):
            cited = (premise, *definitions)
        case _:
            return
    for premise in cited:
        yield from _numbered(telling, premise)


def turned(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    """Say of a sought source with a negative value that it stands the other way round."""
    templates = {SymbolKind.EMF: w.SOUGHT_EMF_TURNED, SymbolKind.SOURCE_CURRENT: w.SOUGHT_J_TURNED}
    for step in value_conclusions(telling):
        rounded = telling.rounded(step)
        if rounded is not None and rounded.rounded < 0 and step.symbol.kind in templates:
            yield say(templates[step.symbol.kind], source=Math(step.symbol))
