"""The currents in the arms of all stages of a reduction, as far as they have names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from derive.algebra.term import Symbol, Term, negate
from derive.analysis.exchange.net import Exchanged
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.derivation.exchanges import Exchange
from derive.derivation.step_id import StepId

Carrier = tuple[Symbol, int]
"""An arm, and how often its current has changed before."""
Flow = tuple[Symbol, bool]
"""The current in an arm: that of a symbol, or the opposite."""


class Flows:
    """The currents in the arms of all stages, as far as they have names.

    What lies straight across a battery burdens it, so that the battery has another current before
    that is left out than after. A resistance beside a current source has another one than in the
    row of the battery for which that stands.
    """

    def __init__(self, circuit: Circuit, exchanged: Iterable[tuple[StepId, Exchanged]]) -> None:
        """Follow the currents through the exchanges of a reduction, each with its step."""
        self._flows: dict[Carrier, Flow] = {}
        self._row: dict[Carrier, tuple[Carrier, bool]] = {}
        self._changed: Counter[Symbol] = Counter()
        self._beside: set[Carrier] = set()
        self._at: dict[StepId, dict[Symbol, Carrier]] = {}
        for branch in circuit.branches:
            for passage in branch.passages:
                element = passage.element
                if isinstance(element, Battery):
                    self._flows[element.emf, 0] = (branch.current, passage.along)
                if element.resistance is not None:
                    self._flows[element.resistance, 0] = (branch.current, True)
        for step, found in exchanged:
            self._follow(step, found)

    def _follow(self, at: StepId, exchanged: Exchanged) -> None:
        """Arms of one row have one current, and so has what is made of them."""
        step = exchanged.step
        if step.exchange is Exchange.BATTERY:  # in a row again, it has the current of the row
            self._changed[step.taken[1]] += 1
        arms = {s: (s, self._changed[s]) for s in (*step.taken, *step.made)}
        self._at[at] = arms
        if step.exchange is Exchange.CURRENT_SOURCE:
            self._changed[step.taken[1]] += 1
            self._beside.add((step.taken[1], self._changed[step.taken[1]]))
        elif step.exchange in (Exchange.SERIES, Exchange.EMFS):
            made = arms[step.made[0]]
            for symbol in step.taken:
                flow = self._flows.get(arms[symbol])
                along = exchanged.along[symbol]
                if flow is None:
                    self._row[arms[symbol]] = (made, along)
                else:
                    self._flows.setdefault(made, _turned(flow, along))
        elif exchanged.battery is not None:
            if exchanged.ring:
                (symbol,) = step.taken
                flow = self._of((exchanged.battery, self._changed[exchanged.battery]))
                if flow is not None:
                    turned = _turned(flow, exchanged.along[symbol])
                    self._flows.setdefault(arms[symbol], turned)
            self._changed[exchanged.battery] += 1

    def of(self, at: StepId, symbol: Symbol) -> Flow | None:
        """Return the current in an arm that an exchange took or made; None without a name."""
        return self._of(self._at[at][symbol])

    def is_beside_source(self, at: StepId, symbol: Symbol) -> bool:
        """Tell whether an arm that an exchange took was drawn from a row to beside its source."""
        return self._at[at][symbol] in self._beside

    def _of(self, arm: Carrier) -> Flow | None:
        found = self._flows.get(arm)
        if found is None and arm in self._row:
            made, along = self._row[arm]
            flow = self._of(made)
            found = None if flow is None else _turned(flow, along)
        return found

    def name(self, at: StepId, symbol: Symbol, current: Symbol) -> None:
        """Give the current in an arm a name."""
        self._flows[self._at[at][symbol]] = (current, True)


def _turned(flow: Flow, along: bool) -> Flow:
    return flow[0], flow[1] == along


def signed(term: Term, along: bool) -> Term:
    """Return a current, or its opposite."""
    return term if along else negate(term)
