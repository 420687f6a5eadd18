"""The exchanges that lead from one network to a simpler one, told with a figure of each stage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

from derive.algebra.term import Symbol, SymbolKind, Term
from derive.analysis.exchange.net import is_emf
from derive.analysis.loops import choose_loops
from derive.circuit.model import Circuit, Loop
from derive.circuit.terminals import OPEN_TERMINALS
from derive.derivation.algebra import BackSubstitute, Define, PutInValues
from derive.derivation.exchanges import (
    Exchange,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    LookFrom,
    Replace,
)
from derive.derivation.goal import Stage as Run
from derive.derivation.step import Round
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
from derive.document.phrase import Piece, joined, listing, paragraph, points, say
from derive.document.quantities import printed
from derive.document.stages import Stage, spots_of_made, stage_circuit, stages, wires_of
from derive.document.telling import Telling, chain, extended, is_long, is_readable
from derive.drawing.drawn import arrows_of_problem
from derive.drawing.likeness import Spot, neighbours, spots_of
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.typesetting.style import Expression

Begun = LookBetween | LookFrom | LookAtAll
Move = Replace | Join

_MOST_FIGURES = 8
_MOST_IN_A_ROW = 2
"""Exchanges of one kind that are told as a sentence; more are listed."""
_MOST_PARTS = 16
"""Arms of a network that is still drawn beside the text."""
_WIDEST_BESIDE, _WIDEST = 90.0, 165.0
"""mm of a figure beside the text, and of one by itself."""


def told(telling: Telling, run: Run, ends: Mapping[str, Piece]) -> Iterator[Block]:
    """Tell the exchanges of a run; `ends` fills the names of the points it is seen from."""
    steps = [telling.step(k) for k in run.ids]
    begun = next(s for s in steps if isinstance(s, Begun))
    moves = [s for s in steps if isinstance(s, Replace | Join)]
    wires = wires_of(moves)
    if wires:
        yield paragraph(w.WIRES_ONE if len(wires) == 1 else w.WIRES_MANY, parts=parts(wires))
    teller = _Teller(telling, run, begun, ends)
    *drawn, last = stages(telling.circuit, begun, moves)
    groups = [list(group) for _, group in groupby(drawn, key=teller.together)]
    figures = telling.full and len(groups) <= _MOST_FIGURES
    for group in groups:
        yield from teller.group(group, drawn=figures)
    if not all(map(is_emf, last.arms)) and len(last.arms) > 1:
        yield from teller.core(last, drawn=figures)


def parts(symbols: Sequence[Symbol]) -> tuple[Inline, ...]:
    """Return names as a list: R1, R2 and R3."""
    return listing((Math(symbol) for symbol in symbols), w.AND)


def ring_of(telling: Telling, run: Run, move: Replace) -> LeftBetween | None:
    """Return what was said of a closed row before its resistance was taken out."""
    found: LeftBetween | None = None
    for k in run.ids:
        step = telling.step(k)
        if isinstance(step, LeftBetween):
            found = step
        elif step is move:
            alone = found is not None and found.conclusion.right == move.taken[0]
            return found if alone and len(move.taken) == 1 else None
    return None


class _Teller:
    """Tells the groups of one run."""

    def __init__(self, telling: Telling, run: Run, begun: Begun, ends: Mapping[str, Piece]) -> None:
        self._telling = telling
        self._run = run
        self._begun = begun
        self._ends = ends
        self._rows = _rows(telling, run)
        self._spots: dict[str, Spot] = {}
        """Where each part stands in the last figure that shows it."""
        self._levels = [s for k in run.ids if isinstance(s := telling.step(k), Levels)]

    def together(self, stage: Stage) -> tuple[object, int]:
        """Return what is the same for moves that are told in one sentence."""
        move = stage.move
        if isinstance(move, Join):
            return Join, 0
        assert move is not None
        together = move.exchange in (*_TEMPLATES, Exchange.CURRENT_SOURCE)
        if move.exchange is Exchange.ACROSS and len(move.taken) == 1:
            together = ring_of(self._telling, self._run, move) is None
        return move.exchange, 0 if together else id(move)

    def group(self, group: list[Stage], *, drawn: bool) -> Iterator[Block]:
        moves = [stage.move for stage in group]
        exchanges = [move for move in moves if isinstance(move, Replace)]
        blocks = [*self._words(group[0], moves)]
        made = {symbol for move in exchanges for symbol in move.made}
        shown = [row for symbol, row in self._rows.items() if symbol in made]
        if shown:
            blocks.append(Display(tuple(shown)))
        marked = [symbol for move in exchanges for symbol in move.taken]
        yield from self._beside(group[0], marked, blocks, drawn=drawn)
        for move in exchanges:
            self._spots |= {spot.part: spot for spot in spots_of_made(self._spots, move)}

    def core(self, stage: Stage, *, drawn: bool) -> Iterator[Block]:
        """Tell what is left where nothing leads on."""
        left = [symbol for symbol in stage.arms if not is_emf(symbol)]
        told = paragraph(w.BRIDGE_LEFT, parts=parts(left))
        yield from self._beside(stage, left, [told], drawn=drawn)

    def _words(self, stage: Stage, moves: list[Replace | Join | None]) -> Iterator[Block]:
        first = stage.move
        if isinstance(first, Join) or (first is not None and first.exchange is Exchange.LEVEL):
            yield from self._level()
        if isinstance(first, Join):
            joined = (points(move.points, w.AND) for move in moves if isinstance(move, Join))
            yield paragraph(w.JOINED, groups=_apart(joined))
            return
        assert first is not None
        ring = ring_of(self._telling, self._run, first)
        if ring is not None:
            battery = ring.conclusion.left
            assert isinstance(battery, Symbol)
            name = next(s for s in self._emfs() if f"R({s.name})" == battery.name)
            yield paragraph(w.BATTERY_SEES, battery=Math(name))
            yield self.left(ring)
            return
        if first.exchange is Exchange.IDLE:
            yield Paragraph(self._idle(stage, first.taken))
            return
        yield Paragraph(self._exchanged([m for m in moves if isinstance(m, Replace)]))

    def _idle(self, stage: Stage, taken: Sequence[Symbol]) -> tuple[Inline, ...]:
        """Say why no current flows in some parts, whatever drives one."""
        if self._ends and len(set(stage.terminals)) == 1:
            return say(w.ALL_BESIDE_WIRE, parts=parts(taken), **self._ends)
        shorted = [symbol for symbol in taken if len(set(stage.arms[symbol])) == 1]
        rest = [symbol for symbol in taken if symbol not in shorted]
        one, many = (w.IDLE_PART, w.IDLE_PARTS) if self._ends else (w.DEAD_PART, w.DEAD_PARTS)
        sentences = []
        for found, single, several in (
            (shorted, w.SHORTED_PART, w.SHORTED_PARTS),
            (rest, one, many),
        ):
            if found:
                template = single if len(found) == 1 else several
                sentences.append(say(template, parts=parts(found), **self._ends))
        return joined(sentences)

    def _emfs(self) -> Iterator[Symbol]:
        for branch in self._telling.circuit.branches:
            yield from (battery.emf for battery in branch.batteries)
        for k in self._run.ids:
            step = self._telling.step(k)
            if isinstance(step, Define):
                yield step.symbol

    def left(self, law: LeftBetween) -> Display:
        """Say what a battery sees, in letters and in numbers."""
        steps = [self._telling.step(k) for k in self._run.ids]
        sides: list[tuple[Relation, Expression]] = []
        for step in steps[steps.index(law) + 1 :]:
            if isinstance(step, Round):
                sides += [printed(step)] if is_long(self._telling, step) else []
            elif not isinstance(step, BackSubstitute | PutInValues):
                break
            elif is_readable(step.conclusion.right):
                sides.append((Relation.EQUAL, step.conclusion.right))
        return Display((Row(extended(chain(law.conclusion), *sides)),))

    def _level(self) -> Iterator[Block]:
        """Tell the potentials that fulfil the junction rule."""
        found = self._levels.pop(0) if self._levels else None
        if found is None:
            return
        at: dict[Term, list[str]] = {}
        for point, level in found.levels:
            at.setdefault(level, []).append(point)
        ends = [point for point, level in found.levels if _is_end(level)]
        one = next(p for p, level in found.levels if p in ends and _number(level) == 1)
        other = next(p for p, level in found.levels if p in ends and _number(level) == 0)
        inner = [
            say(w.LEVEL_AT, points=points(names, w.AND), level=Math(level))
            for level, names in at.items()
            if not _is_end(level) or len(names) > 1
        ]
        yield paragraph(
            w.LEVELS,
            one=Math(PointName(one)),
            other=Math(PointName(other)),
            levels=listing(inner, w.AND),
        )

    def _exchanged(self, group: list[Replace]) -> tuple[Inline, ...]:
        first, *others = group
        taken = parts(first.taken)
        match first.exchange:
            case Exchange.SERIES | Exchange.PARALLEL | Exchange.EMFS:
                one, many = _TEMPLATES[first.exchange]
                if len(group) > _MOST_IN_A_ROW:
                    groups = _apart(parts(move.taken) for move in group)
                    return (*say(many, groups=groups), Text(":"))
                words = say(one, parts=taken)
                for move in others:
                    words += say(w.AND_SO, parts=parts(move.taken))
                return (*words, Text(":"))
            case Exchange.DELTA:
                return say(w.DELTA, parts=taken)
            case Exchange.STAR:
                return say(w.WYE if len(first.taken) == 3 else w.STAR, parts=taken)
            case Exchange.CURRENT_SOURCE:
                rows = in_rows([symbol for move in group for symbol in move.taken])
                return say(w.CURRENT_SOURCES if others else w.CURRENT_SOURCE, rows=rows)
            case Exchange.CURRENTS:
                return say(w.CURRENTS, parts=taken)
            case Exchange.BATTERY:
                source, resistance = map(Math, first.taken)
                return say(w.BATTERY, source=source, resistance=resistance)
            case Exchange.ALIKE:
                return say(w.ALIKE, rows=in_rows(first.taken))
            case Exchange.LEVEL:
                return say(w.LEVEL_PARTS if len(first.taken) > 1 else w.LEVEL_PART, parts=taken)
            case Exchange.ACROSS:
                if len(first.taken) > 1:
                    return say(w.ACROSS_ROW, parts=taken)
                beside = [symbol for move in group for symbol in move.taken]
                return say(w.ACROSS_MANY if others else w.ACROSS, parts=parts(beside))
            case _:
                raise AssertionError(first)  # told by themselves, or not at all

    def _beside(
        self, stage: Stage, marked: list[Symbol], blocks: list[Block], *, drawn: bool
    ) -> Iterator[Block]:
        """Yield text beside the figure of its stage, if that is drawn."""
        pieces = stage.pieces(marked) if drawn else ()
        figures = tuple(f for piece in pieces if (f := self._figure(piece, marked)) is not None)
        if any(figure.drawing.width > _WIDEST_BESIDE for figure in figures):
            yield from figures
            yield from blocks
        elif figures:
            yield SideBySide(figures, tuple(blocks), Fraction(42, 100))
        else:
            yield from blocks

    def _figure(self, stage: Stage, marked: list[Symbol]) -> Figure | None:
        """Return a piece of a stage with some of its parts set off."""
        marked = [symbol for symbol in marked if symbol in stage.arms]
        if len(stage.arms) > _MOST_PARTS:
            return None
        begun, move = self._begun, stage.move
        levels = isinstance(move, Join) or (move is not None and move.exchange is Exchange.LEVEL)
        self._spots = self._spots or _spots_of_problem(self._telling)
        names = {symbol.name for symbol in stage.arms}
        before = tuple(spot for name, spot in self._spots.items() if name in names)
        # From left to right as before, so that the loops that come first are those at the left.
        at = {spot.part: spot.x for spot in before}
        arms = sorted(stage.arms.items(), key=lambda arm: at.get(arm[0].name, 0.0))
        circuit = stage_circuit(self._telling.circuit, begun, replace(stage, arms=dict(arms)))
        view = View(
            currents=False,
            loops=(*neighbours(circuit, before, OPEN_TERMINALS), *_windows_within(circuit)),
            like=before,
            parts=frozenset(symbol.name for symbol in marked),
            names=frozenset(stage.names.values()) if levels else frozenset(),
            current_sources=frozenset(
                s.name for s in stage.arms if s.kind is SymbolKind.SOURCE_CURRENT
            ),
            gap=OPEN_TERMINALS,
            gap_names=(begun.one, begun.other) if isinstance(begun, LookBetween) else ("", ""),
            small=True,
        )
        drawing = schematic(circuit, view)
        if drawing.width > _WIDEST:
            return None
        self._spots |= {spot.part: spot for spot in spots_of(drawing.symbols)}
        held = ", ".join(symbol.name for symbol in stage.arms)
        named = ", ".join(symbol.name for symbol in marked)
        short = w.STAGE_WHOLE.format(parts=held)
        if isinstance(begun, LookBetween):
            short = w.STAGE.format(one=begun.one, other=begun.other, parts=held)
        elif isinstance(begun, LookFrom):
            short = w.STAGE_FROM.format(part=begun.part, parts=held)
        if named:
            marks = w.STAGE_MARKED_ONE if len(marked) == 1 else w.STAGE_MARKED_MANY
            short += marks.format(marked=named)
        return Figure(drawing, (), short, "")


def _windows_within(circuit: Circuit) -> Iterator[Loop]:
    """Yield good windows at the right of the first branch, which stands at the left of them all."""
    if len(circuit.nodes) > 2:
        for loop in choose_loops(replace(circuit, branches=circuit.branches[1:])).loops:
            yield Loop(tuple(replace(hop, branch=hop.branch + 1) for hop in loop.hops))


def _spots_of_problem(telling: Telling) -> dict[str, Spot]:
    """Return where parts stand in the figure of the problem."""
    arrows = arrows_of_problem(telling.circuit)
    view = View(arrows=arrows, loops=telling.windows, shape=telling.shape)
    return {spot.part: spot for spot in spots_of(schematic(telling.circuit, view).symbols)}


_TEMPLATES = {
    Exchange.SERIES: (w.IN_SERIES, w.MANY_IN_SERIES),
    Exchange.PARALLEL: (w.IN_PARALLEL, w.MANY_IN_PARALLEL),
    Exchange.EMFS: (w.EMFS, w.MANY_EMFS),
}


def _apart(groups: Iterable[tuple[Inline, ...]]) -> tuple[Inline, ...]:
    """Return lists one after the other, told apart."""
    found: list[Inline] = []
    for group in groups:
        found += [Text(w.BETWEEN_GROUPS)] if found else []
        found += group
    return tuple(found)


def in_rows(taken: Sequence[Symbol]) -> tuple[Inline, ...]:
    """Return rows side by side as a list: E1 with R1, E2 with R2 and R3."""
    rows: list[tuple[Inline, ...]] = []
    before: Symbol | None = None
    for symbol in taken:
        if is_emf(symbol):
            before = symbol
        elif before is None:
            rows.append((Math(symbol),))
        else:
            rows.append(say(w.WITH, battery=Math(before), resistance=Math(symbol)))
            before = None
    return listing(rows, w.AND)


def _is_end(level: Term) -> bool:
    return _number(level) in (0, 1)


def _number(level: Term) -> Fraction | None:
    value = getattr(level, "value", None)
    return value if isinstance(value, Fraction) else None


def _rows(telling: Telling, run: Run) -> dict[Symbol, Row]:
    """Return for each part made its definition with its value."""
    rows: dict[Symbol, Row] = {}
    for k in run.ids:
        step = telling.step(k)
        if isinstance(step, Define):
            rows[step.symbol] = Row(chain(step.conclusion))
        elif isinstance(step, PutInValues) and step.conclusion.left in rows:
            symbol, right = step.conclusion.left, step.conclusion.right
            assert isinstance(symbol, Symbol)
            if is_readable(right):
                rows[symbol] = Row(extended(rows[symbol].chain, (Relation.EQUAL, right)))
        elif isinstance(step, Round) and step.symbol in rows and is_long(telling, step):
            rows[step.symbol] = Row(extended(rows[step.symbol].chain, printed(step)))
    return rows
