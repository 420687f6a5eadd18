"""A circuit reduced step by step, and the way back to its currents."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from derive.algebra.term import ZERO, Symbol
from derive.analysis.exchange.net import is_emf
from derive.derivation.algebra import Define, Isolate, PutInValues
from derive.derivation.exchanges import Agree, Exchange, LeftBetween, PutBack, Replace
from derive.derivation.goal import Goal
from derive.derivation.goal import Stage as Run
from derive.derivation.laws import JunctionRule
from derive.derivation.step import Round
from derive.derivation.step_id import StepId
from derive.document import exchanges_told
from derive.document import wording as w
from derive.document.exchanges_told import in_rows, parts
from derive.document.model import Block, Display, Inline, Math, Paragraph, Relation, Row
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.telling import Telling, chain, extended, is_long, is_readable


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
    if told.rounded and telling.full:
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
        self._behind = {
            step.taken[1]
            for step in telling.derivation.steps
            if isinstance(step, Replace) and step.exchange is Exchange.BATTERY
        }
        """The resistances behind batteries that stood for others."""
        self.rounded = False

    def steps(self, run: Run) -> Iterator[Block]:
        for _, group in groupby(self._units(run), key=lambda unit: self._together(unit[0])):
            units = list(group)
            yield Paragraph(self._words(list(dict.fromkeys(law for law, _ in units))))
            yield Display(tuple(row for _, row in units))

    def _together(self, law: PutBack) -> tuple[object, ...]:
        """Return what is the same for exchanges that are gone back through in one sentence."""
        step = self._replace(law)
        if step.exchange is Exchange.ACROSS and len(step.taken) == 1:
            return step.exchange, self._ring(step) is None
        if self._beside_sources(step):
            return (Exchange.CURRENT_SOURCE,)
        return (law.replaced,)

    def _beside_sources(self, step: Replace) -> bool:
        """Tell whether an exchange is one of those that put batteries side by side together."""
        if step.exchange is Exchange.PARALLEL:
            return step.made[0] in self._behind
        return step.exchange is Exchange.CURRENT_SOURCE

    def _replace(self, law: PutBack) -> Replace:
        step = self._telling.step(law.replaced)
        assert isinstance(step, Replace)
        return step

    def _units(self, run: Run) -> list[tuple[PutBack, Row]]:
        """Return each line of a run with the law that it states or leads to."""
        units: list[tuple[PutBack, Row]] = []
        defined: list[Row] = []
        for k in run.ids:
            step = self._telling.step(k)
            if isinstance(step, Define):
                defined.append(self._line(run, k))
            elif isinstance(step, PutBack):
                units += [(step, row) for row in (*defined, self._line(run, k))]
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
                if is_readable(step.conclusion.right) and equation.right != ZERO:
                    found = extended(found, (Relation.EQUAL, step.conclusion.right))
            elif isinstance(step, Round) and step.symbol == symbol:
                if is_long(telling, step):
                    found = extended(found, printed(step))
                    self.rounded = True
            else:
                break
        return Row(found)

    def _words(self, put_back: list[PutBack]) -> tuple[Inline, ...]:
        steps = list(dict.fromkeys(map(self._replace, put_back)))
        step = steps[0]
        taken = parts([symbol for each in steps for symbol in each.taken])
        slots: dict[str, tuple[Inline, ...]] = {"parts": taken, "rows": in_rows(step.taken)}
        made = [s for s in step.made if not is_emf(s)] or list(step.made)
        if made:
            slots["made"] = parts(made[:1])
        match step.exchange:
            case Exchange.ACROSS:
                if self._ring(step) is None:
                    return say(w.BACK_ACROSS, **slots)
                return say(w.BACK_RING if len(steps) == 1 else w.BACK_RINGS)
            case Exchange.IDLE:
                return say(w.BACK_DEAD)
            case Exchange.LEVEL:
                return say(w.BACK_LEVEL)
            case _ if self._beside_sources(step):
                rows = [
                    symbol
                    for law in put_back
                    for symbol in (
                        (law.arm,)
                        if self._replace(law).exchange is Exchange.PARALLEL
                        else self._replace(law).taken
                    )
                ]
                return say(w.BACK_SIDE_BY_SIDE, rows=in_rows(rows))
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
            yield paragraph(w.BACK_JUNCTIONS if len(used) > 1 else w.BACK_JUNCTION)
            yield Display(tuple(rows))
