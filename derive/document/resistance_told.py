"""The resistance between two points, told exchange by exchange."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from derive.algebra.term import Symbol
from derive.derivation.step import (
    BackSubstitute,
    Conclude,
    Define,
    Exchange,
    Goal,
    LeftBetween,
    LookBetween,
    LookFrom,
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
from derive.document.stages import GAP, Stage, stage_circuit, stages
from derive.document.telling import Telling, chain, extended, is_readable, part_symbol
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.typesetting.style import Expression

_MOST_FIGURES = 6
_MOST_IN_A_ROW = 2
"""Exchanges of one kind that are told as a sentence; more are listed."""
_MOST_PARTS = 16
"""Arms of a network that is still drawn beside the text."""
_WIDEST = 90.0


def resistances(telling: Telling) -> Iterator[Block]:
    """Tell every question about a resistance."""
    for run in telling.stages(Goal.RESISTANCE):
        begun = next(s for k in run.ids if isinstance(s := telling.step(k), LookBetween))
        ends: dict[str, Inline] = {
            "one": Math(PointName(begun.one)), "other": Math(PointName(begun.other))
        }  # fmt: skip
        dead = any(branch.batteries for branch in telling.circuit.branches)
        yield paragraph(w.SEEN_DEAD if dead else w.SEEN, **ends)
        yield from _exchanges(telling, run, begun, ends)
        wire = not isinstance(_law(telling, run).conclusion.right, Symbol)
        yield paragraph(w.NONE_LEFT if wire else w.ONE_LEFT, **ends)
        yield _left(telling, run)


def reduction(telling: Telling) -> Iterator[Block]:
    """Tell how the circuit comes down to one resistance on its battery."""
    for run in telling.stages(Goal.REDUCTION):
        begun = next(s for k in run.ids if isinstance(s := telling.step(k), LookFrom))
        battery: dict[str, Inline] = {"battery": Math(part_symbol(telling.circuit, begun.battery))}
        if any(isinstance(telling.step(k), Replace) for k in run.ids):
            yield from _exchanges(telling, run, begun, battery)
        if any(isinstance(telling.step(k), LeftBetween) for k in run.ids):
            yield paragraph(w.BATTERY_SEES, **battery)
            yield _left(telling, run)


def _exchanges(
    telling: Telling, run: Run, begun: LookBetween | LookFrom, ends: dict[str, Inline]
) -> Iterator[Block]:
    replaced = [s for k in run.ids if isinstance(s := telling.step(k), Replace)]
    wires = [s for step in replaced if step.exchange is Exchange.WIRE for s in step.taken]
    if wires:
        yield paragraph(w.WIRES_ONE if len(wires) == 1 else w.WIRES_MANY, parts=_parts(wires))
    rows = _rows(telling, run)
    *drawn, last = stages(telling.circuit, begun, replaced)
    moved = [(stage, stage.move) for stage in drawn if stage.move is not None]
    groups = [list(group) for _, group in groupby(moved, key=lambda pair: _together(pair[1]))]
    figures = telling.full and len(groups) <= _MOST_FIGURES
    for group in groups:
        blocks: list[Block] = [_told([move for _, move in group], ends)]
        shown = [rows[symbol] for _, move in group for symbol in move.made]
        if shown:
            blocks.append(Display(tuple(shown)))
        marked = [symbol for _, move in group for symbol in move.taken]
        yield from _beside(telling, begun, group[0][0], marked, blocks, drawn=figures)
    if len(last.arms) > 1:
        told = paragraph(w.BRIDGE_LEFT, parts=_parts([*last.arms]))
        yield from _beside(telling, begun, last, [*last.arms], [told], drawn=figures)


def _beside(
    telling: Telling,
    begun: LookBetween | LookFrom,
    stage: Stage,
    marked: list[Symbol],
    blocks: list[Block],
    *,
    drawn: bool,
) -> Iterator[Block]:
    """Yield text beside the figure of its stage, if that is drawn."""
    figure = _figure(telling, begun, stage, marked) if drawn else None
    if figure is None:
        yield from blocks
    else:
        yield SideBySide((figure,), tuple(blocks), Fraction(42, 100))


def _together(move: Replace) -> tuple[Exchange, int]:
    """Return what is the same for exchanges that are told in one sentence."""
    together = move.exchange in (Exchange.SERIES, Exchange.PARALLEL)
    return move.exchange, 0 if together else id(move)


def _parts(symbols: list[Symbol] | tuple[Symbol, ...]) -> tuple[Inline, ...]:
    return listing((Math(symbol) for symbol in symbols), w.AND)


def _told(group: list[Replace], ends: dict[str, Inline]) -> Paragraph:
    first, *others = group
    parts = _parts(first.taken)
    match first.exchange:
        case Exchange.SERIES | Exchange.PARALLEL:
            series = first.exchange is Exchange.SERIES
            if len(group) > _MOST_IN_A_ROW:
                found: list[Inline] = []
                for k, move in enumerate(group):
                    found += [Text(w.BETWEEN_GROUPS)] if k else []
                    found += _parts(move.taken)
                template = w.MANY_IN_SERIES if series else w.MANY_IN_PARALLEL
                return Paragraph((*say(template, groups=found), Text(":")))
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
            if "battery" in ends:
                return paragraph(w.DEAD_PARTS if many else w.DEAD_PART, parts=parts)
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


def _figure(
    telling: Telling, begun: LookBetween | LookFrom, stage: Stage, marked: list[Symbol]
) -> Figure | None:
    """Return a stage with some of its resistances set off."""
    if len(stage.arms) > _MOST_PARTS:
        return None
    view = View(
        currents=False,
        parts=frozenset(symbol.name for symbol in marked),
        names=frozenset(),
        gap=GAP,
        gap_names=(begun.one, begun.other) if isinstance(begun, LookBetween) else ("", ""),
        small=True,
    )
    drawing = schematic(stage_circuit(telling.circuit, begun, stage), view)
    if drawing.width > _WIDEST:
        return None
    parts = ", ".join(symbol.name for symbol in stage.arms)
    named = ", ".join(symbol.name for symbol in marked)
    if isinstance(begun, LookBetween):
        short = w.STAGE.format(one=begun.one, other=begun.other, parts=parts, marked=named)
    else:
        short = w.STAGE_ON.format(battery=begun.battery, parts=parts, marked=named)
    return Figure(drawing, (), short, "")


def _law(telling: Telling, run: Run) -> LeftBetween:
    return next(s for k in run.ids if isinstance(s := telling.step(k), LeftBetween))


def _left(telling: Telling, run: Run) -> Display:
    """Say what is left, in letters and in numbers."""
    steps = [telling.step(k) for k in run.ids]
    law = _law(telling, run)
    after = steps[steps.index(law) + 1 :]
    first: tuple[Relation, Expression] = (Relation.EQUAL, law.conclusion.right)
    sides: list[tuple[Relation, Expression]] = []
    for step in after:
        if isinstance(step, BackSubstitute) or (
            isinstance(step, PutInValues) and is_readable(step.conclusion.right)
        ):
            sides.append((Relation.EQUAL, step.conclusion.right))
    answer = next((s for s in after if isinstance(s, Conclude)), None)
    if answer is None:
        return Display((Row(extended(chain(law.conclusion), *sides)),))
    return Display((Row(telling.with_decimal(answer, [first, *sides])),))
