"""A circuit reduced step by step, and the way back to its currents."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from derive.algebra.term import Symbol
from derive.analysis.exchange.net import is_emf
from derive.derivation.step import (
    Agree,
    Define,
    Exchange,
    Goal,
    Isolate,
    JunctionRule,
    LeftBetween,
    PutBack,
    PutInValues,
    Replace,
    Round,
    StepId,
)
from derive.derivation.step import Stage as Run
from derive.document import exchanges_told
from derive.document import wording as w
from derive.document.exchanges_told import parts
from derive.document.model import Block, Display, Inline, Math, Paragraph, Relation, Row
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.telling import Telling, chain, extended, is_readable


def reduction(telling: Telling) -> Iterator[Block]:
    """Tell how the circuit is reduced."""
    for run in telling.stages(Goal.REDUCTION):
        yield from exchanges_told.told(telling, run, {})


def way_back(telling: Telling) -> Iterator[Block]:
    """Tell how all currents follow, the last exchange first."""
    told = _WayBack(telling)
    for run in telling.stages(Goal.WAY_BACK):
        if telling.full:
            yield paragraph(w.WAY_BACK)
        yield from told.steps(run)
    for run in telling.stages(Goal.JUNCTIONS_LAST):
        yield from told.junctions(run)
    rounded = (telling.rounded(step) for step in telling.current_conclusions())
    if told.any_rows and telling.full and any(r is not None and not r.exact for r in rounded):
        yield paragraph(w.ROUNDED)


def agreement(telling: Telling) -> Iterator[Block]:
    """Say that two methods give the same currents."""
    agreed = [s for k in telling.ids(Goal.AGREE) if isinstance(s := telling.step(k), Agree)]
    if agreed:
        found = [telling.equation(step.one).left for step in agreed]
        yield paragraph(w.AGREE, currents=listing((Math(s) for s in found), w.AND))


class _WayBack:
    def __init__(self, telling: Telling) -> None:
        self._telling = telling
        self._answers = {s.symbol: s for s in telling.current_conclusions()}
        self.any_rows = False

    def steps(self, run: Run) -> Iterator[Block]:
        units = self._units(run)
        for replaced, group in groupby(units, key=lambda unit: unit[0]):
            rows = tuple(row for _, row in group)
            self.any_rows = True
            yield Paragraph(self._words(replaced))
            yield Display(rows)

    def _units(self, run: Run) -> list[tuple[StepId, Row]]:
        """Return each line of a run with the exchange that it goes back through."""
        units: list[tuple[StepId, Row]] = []
        defined: list[Row] = []
        for k in run.ids:
            step = self._telling.step(k)
            if isinstance(step, Define):
                defined.append(self._line(run, k))
            elif isinstance(step, PutBack):
                units += [(step.replaced, row) for row in (*defined, self._line(run, k))]
                defined = []
        return units

    def _line(self, run: Run, start: StepId) -> Row:
        """Return an equation with the numbers put in, ended by its rounded value."""
        telling = self._telling
        equation = telling.equation(start)
        symbol = equation.left
        assert isinstance(symbol, Symbol)
        found = chain(equation)
        for k in range(start + 1, run.stop):
            step = telling.step(k)
            if isinstance(step, PutInValues) and step.conclusion.left == symbol:
                if is_readable(step.conclusion.right):
                    found = extended(found, (Relation.EQUAL, step.conclusion.right))
            elif isinstance(step, Round) and step.symbol == symbol:
                if not is_readable(telling.equation(step.premise).right):
                    found = extended(found, printed(step))
            else:
                break
        return Row(found)

    def _words(self, replaced: StepId) -> tuple[Inline, ...]:
        step = self._telling.step(replaced)
        assert isinstance(step, Replace)
        taken = parts(step.taken)
        slots: dict[str, tuple[Inline, ...]] = {"parts": taken}
        made = [s for s in step.made if not is_emf(s)] or list(step.made)
        if made:
            slots["made"] = parts(made[:1])
        match step.exchange:
            case Exchange.ACROSS:
                ring = self._ring(step)
                return say(w.BACK_ACROSS if ring is None else w.BACK_RING, **slots)
            case Exchange.IDLE:
                return say(w.BACK_DEAD)
            case Exchange.LEVEL:
                return say(w.BACK_LEVEL)
            case _:
                return say(w.BACK[step.exchange.name], **slots)

    def _ring(self, move: Replace) -> LeftBetween | None:
        for run in self._telling.stages(Goal.REDUCTION):
            found = exchanges_told.ring_of(self._telling, run, move)
            if found is not None:
                return found
        return None

    def junctions(self, run: Run) -> Iterator[Block]:
        """Tell the currents that only the junction rule gives."""
        rows = [self._line(run, k) for k in run.ids if isinstance(self._telling.step(k), Isolate)]
        used = [s.node for k in run.ids if isinstance(s := self._telling.step(k), JunctionRule)]
        if rows:
            self.any_rows = True
            yield paragraph(w.BACK_JUNCTIONS if len(used) > 1 else w.BACK_JUNCTION)
            yield Display(tuple(rows))
