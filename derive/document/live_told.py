"""What sentences about signs, cautions and tables of powers depend on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from derive.algebra.term import (
    Symbol,
    Term,
    capacitance,
    resistance,
    source_current,
    total,
    voltage_across,
)
from derive.analysis.laws import passage_crossings
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.derivation.goal import Goal
from derive.derivation.laws import ChargeRule, LoopRule
from derive.derivation.step import Derivation, Round


@dataclass(frozen=True, slots=True)
class LiveCurrent:
    """A current of a branch, and the points its arrow leads from and to."""

    symbol: Symbol
    tail: str
    head: str


@dataclass(frozen=True, slots=True)
class LivePart:
    """A battery, a current source or a resistance with its power."""

    letter: Symbol
    power: Symbol
    """Delivered by a battery or a source, taken in by a resistance."""
    current: Symbol | None = None
    """Of a battery."""
    along: bool = True
    """Whether that current leaves the + terminal of a battery where it is positive."""
    is_source: bool = False
    """Whether it is a current source."""

    @property
    def is_battery(self) -> bool:
        """Whether it is a battery."""
        return self.current is not None


@dataclass(frozen=True, slots=True)
class Told:
    """What the sentences of a document speak of."""

    branches: tuple[LiveCurrent, ...]
    walks: tuple[Symbol, ...]
    """The currents that are answers."""
    parts: tuple[LivePart, ...]
    """In the order of the table of powers."""
    levels: tuple[Term, ...]
    """The potentials that are met, counted from the first point."""
    stored: tuple[tuple[Symbol, Symbol], ...] = ()
    """The capacitances of capacitors that keep their charge, and the voltages across them."""


def told(circuit: Circuit, derivation: Derivation, walks: tuple[Symbol, ...]) -> Told:
    """Return what the sentences speak of."""
    branches = tuple(LiveCurrent(b.current, b.tail, b.head) for b in circuit.branches)
    kept = dict.fromkeys(
        charge.name[2:-1]
        for step in derivation.steps
        if isinstance(step, ChargeRule)
        for charge in (*step.leads_in, *step.leads_out)
    )
    stored = tuple((capacitance(name), voltage_across(name)) for name in kept)
    parts = tuple(_parts(circuit, derivation))
    return Told(branches, walks, parts, tuple(_levels(circuit)), stored)


def _parts(circuit: Circuit, derivation: Derivation) -> Iterator[LivePart]:
    batteries = {}
    for branch in circuit.branches:
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                batteries[passage.element.name] = passage, branch.current
    for stage in derivation.stages:
        for k in stage.ids if stage.goal is Goal.POWER else ():
            step = derivation.steps[k]
            if not isinstance(step, Round) or "(" not in step.symbol.name:
                continue
            kind, name = step.symbol.name[:-1].split("(")
            if kind == "Pd" and name not in batteries:
                yield LivePart(source_current(name), step.symbol, is_source=True)
            elif kind == "Pd":
                passage, current = batteries[name]
                assert isinstance(passage.element, Battery)
                yield LivePart(passage.element.emf, step.symbol, current, passage.along)
            else:
                yield LivePart(resistance(name), step.symbol)


def changes(derivation: Derivation) -> tuple[Term, ...]:
    """Return the changes of potential on the walk of the check."""
    for stage in derivation.stages:
        if stage.goal is Goal.CHECK_LOOP:
            rule = derivation.steps[stage.first]
            assert isinstance(rule, LoopRule)
            return tuple(crossing.change for crossing in rule.crossings)
    return ()


def _levels(circuit: Circuit) -> Iterator[Term]:
    """Yield the potentials at the points of every branch, as sums of changes.

    What the voltage across a current source is, the other branches tell.
    """
    if not circuit.nodes:
        return
    potentials: dict[str, tuple[Term, ...]] = {circuit.nodes[0].name: ()}
    for _ in circuit.nodes:
        for branch in circuit.branches:
            for along in (True, False):
                start, end = (branch.tail, branch.head) if along else (branch.head, branch.tail)
                if start not in potentials or end in potentials or branch.sources:
                    continue
                here = potentials[start]
                for passage in branch.passages if along else reversed(branch.passages):
                    rows = passage_crossings(passage, branch.current, along)
                    here += tuple(row.change for row in rows)
                potentials[end] = here
    for branch in circuit.branches:
        if branch.sources or branch.tail not in potentials:
            continue
        here = potentials[branch.tail]
        yield total(here)
        for passage in branch.passages:
            rows = passage_crossings(passage, branch.current, True)
            here += tuple(row.change for row in rows)
            yield total(here)
