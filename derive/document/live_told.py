"""What sentences about signs, cautions and tables of powers depend on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from derive.algebra.term import (
    Symbol,
    Term,
    negate,
    resistance,
    source_current,
    symbols,
    total,
)
from derive.analysis.hazards import cells, held_capacitors, terminals
from derive.analysis.rises import heights, plates, rises
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.circuit.question import AskShortCircuit
from derive.circuit.stations import Station
from derive.derivation.goal import Goal
from derive.derivation.laws import LoopRule
from derive.derivation.step import Conclude, Derivation, Round
from derive.document.live_values import Known


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
    inside: Symbol | None = None
    """The emf of the battery whose internal resistance it is."""

    @property
    def is_battery(self) -> bool:
        """Whether it is a battery."""
        return self.current is not None


@dataclass(frozen=True, slots=True)
class LiveShort:
    """A battery that may be in a short circuit."""

    emf: Symbol
    current: Symbol
    voltage: Term | None
    """At its terminals, zero in a short circuit; None where one is asked for."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the sentences of a document speak of."""

    branches: tuple[LiveCurrent, ...]
    walks: tuple[Symbol, ...]
    """The currents that are answers."""
    parts: tuple[LivePart, ...]
    """In the order of the table of powers."""
    levels: tuple[tuple[Term, ...], ...]
    """The potentials that are met, counted from one point in each set that hangs together."""
    stored: tuple[tuple[Symbol, Term], ...] = ()
    """The capacitances of capacitors, and the voltages across them."""
    shorts: tuple[LiveShort, ...] = ()


def told(circuit: Circuit, derivation: Derivation, walks: tuple[Symbol, ...], known: Known) -> Told:
    """Return what the sentences speak of; `known` are the quantities that have formulas."""
    branches = tuple(LiveCurrent(b.current, b.tail, b.head) for b in circuit.branches)
    levels = _levels(circuit, derivation, known)
    stored = []
    for found in plates(circuit):
        one, other = found.ends
        group = next((g for g in levels if one in g and other in g), None)
        if group is not None:
            across = total((*group[one], *map(negate, group[other])))
            stored.append((found.capacitor.capacitance, across))
    return Told(
        branches,
        walks,
        tuple(_parts(circuit, derivation)),
        tuple(tuple(dict.fromkeys(map(total, group.values()))) for group in levels),
        tuple(stored),
        tuple(_shorts(circuit, derivation, known)),
    )


def _parts(circuit: Circuit, derivation: Derivation) -> Iterator[LivePart]:
    batteries = {}
    inside = {battery.resistance: battery.emf for battery in cells(circuit)}
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
                letter = resistance(name)
                yield LivePart(letter, step.symbol, inside=inside.get(letter))


def _shorts(circuit: Circuit, derivation: Derivation, known: Known) -> Iterator[LiveShort]:
    for step in derivation.steps:
        if isinstance(step, Conclude) and isinstance(step.question, AskShortCircuit):
            battery = circuit.element(step.question.battery)
            if isinstance(battery, Battery):
                yield LiveShort(battery.emf, step.symbol, None)
    real = cells(circuit)
    for branch in circuit.branches:
        for battery in branch.batteries:
            voltage = total(terminals(branch, battery))
            can_be = battery in real and battery.resistance is not None
            if can_be and all(s in known for s in symbols(voltage)):
                yield LiveShort(battery.emf, branch.current, voltage)


def changes(derivation: Derivation) -> tuple[Term, ...]:
    """Return the changes of potential on the walk of the check."""
    for stage in derivation.stages:
        if stage.goal is Goal.CHECK_LOOP:
            rule = derivation.steps[stage.first]
            assert isinstance(rule, LoopRule)
            return tuple(crossing.change for crossing in rule.crossings)
    return ()


def _levels(
    circuit: Circuit, derivation: Derivation, known: Known
) -> list[dict[Station, tuple[Term, ...]]]:
    """Return the potentials of all places that have formulas, as sums of changes."""
    ways = [
        way
        for way in rises(circuit, held_capacitors(derivation))
        if all(s in known for change in way[2] for s in symbols(change))
    ]
    return heights(ways, ())
