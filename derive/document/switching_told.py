"""Two states of one circuit in one document: before and after switches change."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from derive.analysis.hazards import find_hazards
from derive.circuit.model import AskCurrents, Circuit, Event, Switch
from derive.derivation.comparison import Comparison
from derive.derivation.step import Conclude, Derivation, StepId
from derive.document import checks, laws_told, tolerance_told
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
from derive.document.narrate import working
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.telling import Detail, Telling, part_symbol
from derive.drawing.board import bounds
from derive.drawing.drawn import common_shape
from derive.drawing.view import View
from derive.typesetting.style import Decimal, Style

_HALF, _WIDEST_HALF = 72.0, 80.0
"""mm that a figure beside its fellow fills; wider ones stand one below the other."""
_ALONE = 120.0
"""mm that each then fills."""

State = tuple[Circuit, Derivation]


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
    last = (*_cautions(parts), *_answers(parts, comparison))
    if detail is Detail.ANSWERS:
        sections.append(Section((), last))
    else:
        sections += _workings(event, parts)
        sections.append(Section((Text(w.BEFORE_AND_AFTER),), last, opens_part=True))
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
    yield from laws_told.statement(telling)
    given = laws_told.given(telling)
    if given is not None:
        yield given
    yield from tolerance_told.given_tolerances(telling.circuit)
    yield paragraph(w.WANTED_TWICE, event=happens, items=laws_told.wanted(telling))
    figures = _alike([_figure(part, _HALF) for part in parts])
    if all(figure.drawing.width <= _WIDEST_HALF for figure in figures):
        yield SideBySide((figures[0],), (figures[1],), Fraction(1, 2))
    else:
        yield from _alike([_figure(part, _ALONE) for part in parts])


def _alike(figures: Sequence[Figure]) -> list[Figure]:
    """Give figures of one shape one frame, so that they stand level beside each other."""
    frame = bounds(figure.drawing.box for figure in figures)
    return [replace(f, drawing=replace(f.drawing, box=frame)) for f in figures]


def _figure(part: _Part, width: float) -> Figure:
    telling = part.telling
    view = View(currents=telling.circuit.asks_for_currents, loops=telling.windows, width=width)
    figure = laws_told.figure(telling, view)
    crossed = (Text(". "), *figure.caption) if figure.caption else ()
    return replace(figure, caption=(*part.heading, *crossed))


def _workings(event: Event, parts: Sequence[_Part]) -> Iterator[Section]:
    """Yield the work for each state under its heading."""
    numbered = 0
    for part in parts:
        part.telling.numbered = numbered
        yield Section(part.heading, tuple(_joined(event, part.telling)), opens_part=True)
        yield from working(part.telling)
        numbered += len(set(part.telling.numbers.values()))


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
    if all(line.rounded is not None for line in comparison):
        yield Box(BoxKind.ANSWERS, (Text(w.ANSWERS),), (_compared(parts, comparison),))
        return
    blocks: list[Block] = []
    for part in parts:
        names = names_in_answers(part.telling) if part.telling.detail is Detail.ANSWERS else ()
        blocks.append(Paragraph((Strong(part.heading),)))
        blocks.append(AnswerLine((*names, *answer_chains(part.telling)), ()))
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
        row = (step.symbol, *values, _signed(printed(line.rounded)[1]))
        rows.append((order, tuple((Math(cell),) for cell in row)))
    rows.sort(key=lambda row: row[0])
    titles = ("", w.COLUMN_BEFORE, w.COLUMN_AFTER, w.COLUMN_CHANGE)
    return Table(
        tuple((Text(title),) if title else () for title in titles),
        tuple(row for _, row in rows),
        (Align.LEFT, Align.RIGHT, Align.RIGHT, Align.RIGHT),
        w.COMPARED,
    )


def _value(telling: Telling, answer: StepId) -> Decimal:
    step = telling.step(answer)
    assert isinstance(step, Conclude)
    rounding = telling.rounded(step)
    assert rounding is not None
    return printed(rounding)[1]


def _place(circuit: Circuit, step: Conclude) -> int:
    span = circuit.span_of(step.symbol.name)
    return -1 if span is None else span.start


def _signed(decimal: Decimal) -> Decimal:
    """Return a change with its sign always written, but for none."""
    plus = not decimal.digits.startswith("-") and any(d in "123456789" for d in decimal.digits)
    return replace(decimal, digits=f"+{decimal.digits}") if plus else decimal
