"""The resistance between two points, told exchange by exchange."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from derive.algebra.term import Symbol
from derive.circuit.model import AskResistance
from derive.derivation.step import (
    BackSubstitute,
    Conclude,
    Define,
    Exchange,
    Goal,
    LeftBetween,
    LookBetween,
    PutInValues,
    Replace,
)
from derive.derivation.step import Stage as Run
from derive.document import wording as w
from derive.document.model import (
    Block,
    Display,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    Relation,
    Row,
    SideBySide,
    Text,
)
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.stages import GAP, Stage, stage_circuit, stages
from derive.document.telling import Telling, chain, extended, is_readable
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.typesetting.style import Expression

_MOST_FIGURES = 6
_MOST_PARTS = 16
"""Arms of a network that is still drawn beside the text."""
_WIDEST = 90.0


def resistances(telling: Telling) -> Iterator[Block]:
    """Tell every question about a resistance."""
    for run in telling.stages(Goal.RESISTANCE):
        yield from _one(telling, run)


def _one(telling: Telling, run: Run) -> Iterator[Block]:
    steps = [telling.step(k) for k in run.ids]
    begun = next(s for s in steps if isinstance(s, LookBetween))
    ends: dict[str, Inline] = {
        "one": Math(PointName(begun.one)), "other": Math(PointName(begun.other))
    }  # fmt: skip
    dead = any(branch.batteries for branch in telling.circuit.branches)
    yield paragraph(w.SEEN_DEAD if dead else w.SEEN, **ends)
    replaced = [s for s in steps if isinstance(s, Replace)]
    wires = [s for step in replaced if step.exchange is Exchange.WIRE for s in step.taken]
    if wires:
        yield paragraph(w.WIRES_ONE if len(wires) == 1 else w.WIRES_MANY, parts=_parts(wires))
    rows = _rows(telling, run)
    drawn = list(stages(telling.circuit, begun, replaced))
    groups = [
        list(group) for _, group in groupby(drawn, key=lambda s: (s.move.exchange, _alone(s)))
    ]
    figures = telling.full and len(groups) <= _MOST_FIGURES
    for group in groups:
        blocks: list[Block] = [_told(group, ends)]
        shown = [rows[symbol] for stage in group for symbol in stage.move.made]
        if shown:
            blocks.append(Display(tuple(shown)))
        figure = _figure(telling, begun, group) if figures else None
        if figure is None:
            yield from blocks
        else:
            yield SideBySide((figure,), tuple(blocks), Fraction(42, 100))
    yield from _left(telling, run, ends)


def _alone(stage: Stage) -> int:
    """Tell apart the exchanges that are told one by one."""
    together = stage.move.exchange in (Exchange.SERIES, Exchange.PARALLEL)
    return 0 if together else id(stage)


def _parts(symbols: list[Symbol] | tuple[Symbol, ...]) -> tuple[Inline, ...]:
    return listing((Math(symbol) for symbol in symbols), w.AND)


def _told(group: list[Stage], ends: dict[str, Inline]) -> Paragraph:
    first, *others = [stage.move for stage in group]
    parts = _parts(first.taken)
    match first.exchange:
        case Exchange.SERIES | Exchange.PARALLEL:
            series = first.exchange is Exchange.SERIES
            told = say(w.IN_SERIES if series else w.IN_PARALLEL, parts=parts)
            for move in others:
                told += say(w.AND_SO, parts=_parts(move.taken))
            return Paragraph((*told, Text(":")))
        case Exchange.DELTA:
            return paragraph(w.DELTA, parts=parts)
        case Exchange.STAR:
            return paragraph(w.WYE if len(first.taken) == 3 else w.STAR, parts=parts)
        case _:
            many = len(first.taken) > 1
            return paragraph(w.IDLE_PARTS if many else w.IDLE_PART, parts=parts, **ends)


def _rows(telling: Telling, run: Run) -> dict[Symbol, Row]:
    """Return for each resistance made its definition with its value."""
    rows: dict[Symbol, Row] = {}
    for k in run.ids:
        step = telling.step(k)
        if isinstance(step, Define):
            rows[step.symbol] = Row(chain(step.conclusion))
        elif isinstance(step, PutInValues) and step.conclusion.left in rows:
            symbol, right = step.conclusion.left, step.conclusion.right
            assert isinstance(symbol, Symbol)
            if is_readable(right):
                told = extended(rows[symbol].chain, (Relation.EQUAL, right))
                rows[symbol] = Row(told)
    return rows


def _figure(telling: Telling, begun: LookBetween, group: list[Stage]) -> Figure | None:
    """Return the network before a group of exchanges, with what is taken set off."""
    stage = group[0]
    if len(stage.arms) > _MOST_PARTS:
        return None
    marked = [symbol for one in group for symbol in one.move.taken if symbol in stage.arms]
    view = View(
        currents=False,
        parts=frozenset(symbol.name for symbol in marked),
        names=frozenset(),
        gap=GAP,
        gap_names=(begun.one, begun.other),
        small=True,
    )
    drawing = schematic(stage_circuit(telling.circuit, begun, stage), view)
    if drawing.width > _WIDEST:
        return None
    short = w.STAGE.format(
        one=begun.one,
        other=begun.other,
        parts=", ".join(symbol.name for symbol in stage.arms),
        marked=", ".join(symbol.name for symbol in marked),
    )
    return Figure(drawing, (), short, "")


def _left(telling: Telling, run: Run, ends: dict[str, Inline]) -> Iterator[Block]:
    """Say what is left, in letters and in numbers."""
    steps = [telling.step(k) for k in run.ids]
    law = next(s for s in steps if isinstance(s, LeftBetween))
    answer = next(s for s in steps if isinstance(s, Conclude))
    assert isinstance(answer.question, AskResistance)
    wire = not isinstance(law.conclusion.right, Symbol)
    yield paragraph(w.NONE_LEFT if wire else w.ONE_LEFT, **ends)
    sides: list[tuple[Relation, Expression]] = []
    for step in steps[steps.index(law) + 1 :]:
        if isinstance(step, BackSubstitute) or (
            isinstance(step, PutInValues) and is_readable(step.conclusion.right)
        ):
            sides.append((Relation.EQUAL, step.conclusion.right))
    rounded = telling.rounded(answer)
    if rounded is not None:
        relation, decimal = printed(rounded)
        if (
            rounded.exact
            and sides
            and isinstance(steps[steps.index(law) + len(sides)], PutInValues)
        ):
            sides.pop()
        sides.append((relation, decimal))
    yield Display((Row(extended(chain(law.conclusion), *sides)),))
