"""Two states of one circuit in one document: before and after switches change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from derive.algebra.term import Symbol
from derive.analysis.hazards import find_hazards
from derive.circuit.elements import Resistor, Switch
from derive.circuit.model import Circuit, Event
from derive.circuit.question import AskCurrents
from derive.derivation.comparison import Comparison
from derive.derivation.step import Conclude, Derivation, Round
from derive.derivation.step_id import StepId
from derive.document import checks, opening, ratings_told, tolerance_told
from derive.document import wording as w
from derive.document.answers import answer_chains, names_in_answers
from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
    Section,
    SideBySide,
    Strong,
    Table,
    Text,
)
from derive.document.narrate import lamps, working
from derive.document.phrase import joined, listing, paragraph, say
from derive.document.quantities import printed, with_sign
from derive.document.room import fits_half, stacked
from derive.document.telling import Detail, Telling, part_symbol
from derive.document.tolerance_told import range_chains
from derive.document.transient_told import course_chains
from derive.drawing.board import bounds
from derive.drawing.drawn import arrows_of_problem, common_shape
from derive.drawing.view import View
from derive.typesetting.style import Decimal, Style

_HALF, _WIDEST_HALF = 72.0, 80.0
"""mm that a figure beside its fellow fills; wider ones stand one below the other."""
_ALONE = 120.0
"""mm that each then fills."""

State = tuple[Circuit, Derivation]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class _Part:
    """One of the two states."""

    heading: tuple[Inline, ...]
    telling: Telling


def narrate_switching(
    event: Event,
    before: State,
    after: State,
    comparison: Comparison,
    style: Style,
    digest: str = "",
    detail: Detail = Detail.FULL,
) -> Document:
    """Return the solutions for both states as one document.

    Every equation in it is a conclusion of a step, every change one of the comparison.
    """
    tellings = [Telling(*state, detail) for state in (before, after)]
    shape = common_shape([(t.circuit, t.windows) for t in tellings])
    happens = event_told(after[0], event)
    parts = [
        _Part(say(template, event=happens), replace(telling, shape=shape))
        for template, telling in zip((w.BEFORE, w.AFTER), tellings, strict=True)
    ]
    sections = [Section((), tuple(_opening(happens, parts)))]
    last = (*_changes(parts, comparison), *_cautions(parts), *_answers(parts, comparison))
    if detail is Detail.ANSWERS:
        sections.append(Section((), last))
    else:
        sections.append(lamps(parts[0].telling))
        works = [_work(event, part, parts[:k]) for k, part in enumerate(parts)]
        columns = _in_columns(works, style)
        sections += columns or [section for work in works for section in work]
        sections.append(Section((Text(w.BEFORE_AND_AFTER),), last, opens_part=not columns))
    kept = tuple(section for section in sections if section.blocks or section.opens_part)
    return Document(after[0].title, w.SUBTITLE, kept, style, digest=digest)


def event_told(circuit: Circuit, event: Event) -> tuple[Inline, ...]:
    """Say which switches change: S1 closes."""
    found = []
    for names, one, many in (
        (event.closes, w.CLOSES_ONE, w.CLOSES_MANY),
        (event.opens, w.OPENS_ONE, w.OPENS_MANY),
    ):
        if names:
            switches = listing((Math(part_symbol(circuit, name)) for name in names), w.AND)
            found.append(say(one if len(names) == 1 else many, switches=switches))
    return listing(found, w.AND)


def _opening(happens: Sequence[Inline], parts: Sequence[_Part]) -> Iterator[Block]:
    """Tell the problem once, with a figure of each state."""
    telling = parts[1].telling
    yield from opening.statement(telling)
    given = opening.given(telling)
    if given is not None:
        yield given
    yield from tolerance_told.given_tolerances(telling.circuit)
    yield from ratings_told.given_ratings(telling.circuit)
    yield paragraph(w.WANTED_TWICE, event=happens, items=opening.wanted(telling))
    figures = _alike([_figure(part, _HALF) for part in parts])
    if all(figure.drawing.width <= _WIDEST_HALF for figure in figures):
        yield SideBySide((figures[0],), (figures[1],), Fraction(1, 2), level=True)
    else:
        yield from _alike([_figure(part, _ALONE) for part in parts])


def _alike(figures: Sequence[Figure]) -> list[Figure]:
    """Give figures of one shape one frame, so that they stand level beside each other."""
    frame = bounds(figure.drawing.box for figure in figures)
    return [replace(f, drawing=replace(f.drawing, box=frame)) for f in figures]


def _figure(part: _Part, width: float) -> Figure:
    telling = part.telling
    view = View(arrows=arrows_of_problem(telling.circuit), loops=telling.windows, width=width)
    figure = opening.figure(telling, view)
    crossed = (Text(". "), *figure.caption) if figure.caption else ()
    return replace(figure, caption=(*part.heading, *crossed))


def _work(event: Event, part: _Part, others: Sequence[_Part]) -> list[Section]:
    """Return the work for one state under its heading; its equations are counted on."""
    part.telling.numbered = sum(len(set(other.telling.numbers.values())) for other in others)
    head = Section(part.heading, tuple(_joined(event, part.telling)), opens_part=True)
    return [head, *(section for section in working(part.telling) if section.blocks)]


def _in_columns(works: Sequence[Sequence[Section]], style: Style) -> list[Section] | None:
    """Return the work for both states side by side; None where half a line is too narrow for it.

    What only one state has stands alone under its heading. If that is most of it, there is little
    to be compared step by step.
    """
    heads = [work[0].title for work in works]
    columns: list[dict[tuple[Inline, ...], tuple[Block, ...]]] = []
    for head, *sections in works:
        blocks: dict[tuple[Inline, ...], tuple[Block, ...]] = {}
        for section in sections:
            blocks[section.title] = (*blocks.get(section.title, ()), *stacked(section.blocks))
        if head.blocks:
            still = (Text(w.HEADINGS["still"]),)
            blocks = {still: (*head.blocks, *blocks.pop(still, ())), **blocks}
        columns.append(blocks)
    both = [title for title in columns[0] if title in columns[1]]
    alone = [title for column in columns for title in column if title not in both]
    narrow = all(fits_half(blocks, style) for column in columns for blocks in column.values())
    if len(alone) > len(both) or not narrow:
        return None
    found = []
    for title in _in_order(*columns):
        sides = [
            (Paragraph((Strong(head),)), *column[title])
            for head, column in zip(heads, columns, strict=True)
            if title in column
        ]
        whole = (
            SideBySide(sides[0], sides[1], Fraction(1, 2), level=True) if len(sides) > 1 else None
        )
        found.append(Section(title, (whole,) if whole else sides[0]))
    return found


def _in_order(one: Iterable[T], other: Iterable[T]) -> list[T]:
    """Return what is in either of two sequences, so that both keep their order.

    >>> _in_order("abd", "acd")
    ['a', 'b', 'c', 'd']
    """
    waiting = list(other)
    found = []
    for item in one:
        if item in waiting:
            place = waiting.index(item)
            found += waiting[:place]
            del waiting[: place + 1]
        found.append(item)
    return found + waiting


def _joined(event: Event, telling: Telling) -> Iterator[Block]:
    """Say which of the switches that change are closed in a state."""
    circuit = telling.circuit
    names = [
        element.name
        for element in circuit.elements
        if isinstance(element, Switch)
        and element.is_closed
        and element.name in (*event.closes, *event.opens)
    ]
    if names:
        switches = listing((Math(part_symbol(circuit, name)) for name in names), w.AND)
        yield paragraph(w.JOINS_ONE if len(names) == 1 else w.JOINS_MANY, switches=switches)


def _changes(parts: Sequence[_Part], comparison: Comparison) -> Iterator[Block]:
    """Say which lamps and which currents change in a way that can be seen."""
    before, after = (part.telling for part in parts)
    if not after.full:
        return
    flows: dict[Symbol, tuple[Fraction, Fraction, Fraction]] = {}
    for line in comparison:
        step = after.step(line.after)
        assert isinstance(step, Conclude)
        if isinstance(step.question, AskCurrents) and line.rounded is not None:
            values = _rounded(before, line.before), _rounded(after, line.after)
            flows[step.symbol] = values[0].rounded, values[1].rounded, line.rounded.rounded
    groups: dict[tuple[str, str], list[Math]] = {
        (w.LIGHTS_ONE, w.LIGHTS_MANY): [],
        (w.BRIGHTER_ONE, w.BRIGHTER_MANY): [],
        (w.DIMMER_ONE, w.DIMMER_MANY): [],
        (w.GOES_OUT_ONE, w.GOES_OUT_MANY): [],
        (w.TURNS_ONE, w.TURNS_MANY): [
            Math(s) for s, (was, now, _) in flows.items() if was * now < 0
        ],
    }
    lit, brighter, dimmer, out = list(groups)[:4]
    for lamp, current in _lamps(after.circuit):
        if current not in flows:
            continue
        was, now, change = flows[current]
        if not was or not now:
            place = lit if now else out if was else None
        elif was * now > 0:
            place = brighter if change * now > 0 else dimmer if change else None
        else:
            place = brighter if abs(now) > abs(was) else dimmer if abs(now) < abs(was) else None
        if place is not None:
            groups[place].append(Math(part_symbol(after.circuit, lamp)))
    sentences = [
        say(one if len(found) == 1 else many, parts=listing(found, w.AND))
        for (one, many), found in groups.items()
        if found
    ]
    if sentences:
        yield Paragraph(joined(sentences))


def _lamps(circuit: Circuit) -> Iterator[tuple[str, Symbol]]:
    """Yield each lamp with the current of its walk."""
    still = {p.element.name: b.current for b in circuit.idle for p in b.passages}
    for element in circuit.elements:
        if isinstance(element, Resistor) and element.lamp:
            name = element.name
            yield name, still[name] if name in still else circuit.walk_of(name).current


def _cautions(parts: Sequence[_Part]) -> Iterator[Block]:
    """Warn once of what can hurt someone in either state."""
    asked = [part.telling for part in parts if part.telling.circuit.asks_for_currents]
    found = [find_hazards(telling.circuit, telling.derivation) for telling in asked]
    if found:
        same = found[0] == found[-1]
        yield from checks.caution(found[-1].joined(found[0]), one_state=not same)


def _answers(parts: Sequence[_Part], comparison: Comparison) -> Iterator[Block]:
    """Set the answers of both states side by side, with what changes."""
    if not comparison:
        return
    blocks: list[Block] = []
    told = all(line.rounded is not None for line in comparison)
    if told:
        blocks.append(_compared(parts, comparison))
    for part in parts:
        chains = answer_chains(part.telling)
        if told:  # all but the courses in time stand in the table
            chains = tuple(course_chains(part.telling))
        if chains and part.telling.detail is Detail.ANSWERS:
            chains = (*names_in_answers(part.telling), *chains)
        ranges = tuple(range_chains(part.telling))
        if chains or ranges:
            blocks.append(Paragraph((Strong(part.heading),)))
        blocks += [AnswerLine(line, ()) for line in (chains, ranges) if line]
    yield Box(BoxKind.ANSWERS, (Text(w.ANSWERS),), tuple(blocks))


def _compared(parts: Sequence[_Part], comparison: Comparison) -> Table:
    """Return before, after and change as a table, currents in the order of the file."""
    before, after = (part.telling for part in parts)
    rows: list[tuple[tuple[int, int], tuple[tuple[Inline, ...], ...]]] = []
    for place, line in enumerate(comparison):
        step = after.step(line.after)
        assert isinstance(step, Conclude)
        assert line.rounded is not None
        current = isinstance(step.question, AskCurrents)
        order = (0, _place(after.circuit, step)) if current else (1, place)
        values = _value(before, line.before), _value(after, line.after)
        row = (step.symbol, *values, with_sign(printed(line.rounded)[1]))
        rows.append((order, tuple((Math(cell),) for cell in row)))
    rows.sort(key=lambda row: row[0])
    titles = (w.COLUMN_QUANTITY, w.COLUMN_BEFORE, w.COLUMN_AFTER, w.COLUMN_CHANGE)
    return Table(
        tuple((Text(title),) for title in titles),
        tuple(row for _, row in rows),
        (Align.LEFT, Align.RIGHT, Align.RIGHT, Align.RIGHT),
        w.COMPARED,
    )


def _value(telling: Telling, answer: StepId) -> Decimal:
    return printed(_rounded(telling, answer))[1]


def _rounded(telling: Telling, answer: StepId) -> Round:
    """Return the rounding of an answer that is a number."""
    step = telling.step(answer)
    assert isinstance(step, Conclude)
    rounding = telling.rounded(step)
    assert rounding is not None
    return rounding


def _place(circuit: Circuit, step: Conclude) -> int:
    span = circuit.span_of(step.symbol.name)
    return -1 if span is None else span.start
