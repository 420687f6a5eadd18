"""What in a solved circuit can hurt someone.

Voltages and charges count wherever they are known, also where no current flows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.term import (
    Equation,
    Symbol,
    Term,
    capacitance,
    constant,
    resistance,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.laws import passage_crossings
from derive.analysis.rises import heights, plates, rises
from derive.circuit.elements import Battery, own_quantity
from derive.circuit.model import Branch, Circuit
from derive.circuit.question import AskShortCircuit
from derive.circuit.stations import Station
from derive.circuit.values import MissingValue, UnfitTie, Values, evaluate
from derive.derivation.course import Course, InitialVoltage
from derive.derivation.further import AgainstRating, Load, PowerBalance
from derive.derivation.laws import ChargeRule
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId

HOT = Fraction(5)
"""W. A part that turns this much into heat burns fingers (common practice, no source)."""

LARGE = Fraction(10)
"""A. A short circuit with more than this overheats the leads of a bench, which are made for 10 A or
less, within seconds (common practice, no source)."""

DANGEROUS = Fraction(60)
"""V. Direct voltages beyond this are no longer taken as safe to touch (IEC 61140, from memory)."""


STORED = Fraction(10)
"""J. A capacitor that holds this much can injure, whatever its voltage (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Stored:
    """What a capacitor can keep when the supply is off."""

    capacitor: str
    high_voltage: bool
    """Whether its voltage is dangerous; else its energy is."""


@dataclass(frozen=True, slots=True)
class Hazards:
    """The causes for a caution; those about power are empty when some value is not known."""

    charged: tuple[Symbol, ...] = ()
    """The emfs of batteries that take in power."""
    hot: tuple[Symbol, ...] = ()
    """The resistances that turn much power into heat, without those inside batteries."""
    hot_inside: tuple[Symbol, ...] = ()
    """The emfs of batteries in which much power turns into heat, without those `shorted`."""
    over: tuple[Symbol, ...] = ()
    """The resistances of parts that take more power than they are rated for."""
    shorted: tuple[Symbol, ...] = ()
    """The emfs of batteries that drive a large current through a short circuit, or would in one
    that is asked for."""
    high_voltage: bool = False
    """True when some two points differ by a dangerous voltage."""
    stored: tuple[Stored, ...] = ()
    """The capacitors that stay dangerous when the supply is off."""

    def joined(self, other: Hazards) -> Hazards:
        """Return the causes of two states of one circuit."""
        shorted = tuple(dict.fromkeys((*self.shorted, *other.shorted)))
        inside = dict.fromkeys((*self.hot_inside, *other.hot_inside))
        return Hazards(
            tuple(dict.fromkeys((*self.charged, *other.charged))),
            tuple(dict.fromkeys((*self.hot, *other.hot))),
            tuple(emf for emf in inside if emf not in shorted),
            tuple(dict.fromkeys((*self.over, *other.over))),
            shorted,
            self.high_voltage or other.high_voltage,
            # What is said of the voltage of a capacitor holds for its energy, too.
            tuple(
                {
                    s.capacitor: s
                    for s in sorted((*other.stored, *self.stored), key=lambda s: s.high_voltage)
                }.values()
            ),
        )


def find_hazards(circuit: Circuit, derivation: Derivation) -> Hazards:
    """Return what calls for a caution, judged on the exact values of a derivation."""
    known = _known_values(circuit, derivation)
    voltages = _initial_voltages(derivation, known)
    held = held_capacitors(derivation)
    levels = _levels(circuit, held, known)
    for found in plates(circuit):
        across = _across(levels, *found.ends)
        if across is not None:
            voltages.setdefault(found.capacitor.name, []).append(across)
    stored = tuple(_stored(voltages, known))
    spans = [max(group.values()) - min(group.values()) for group in levels]
    high = any(s.high_voltage for s in stored) or max(spans, default=Fraction(0)) > DANGEROUS
    shorted = dict.fromkeys(_large_short_circuits(circuit, derivation, known))
    charged, hot = _by_powers(circuit, derivation)
    inside = {b.resistance: b.emf for b in cells(circuit) if b.resistance is not None}
    return Hazards(
        charged,
        tuple(symbol for symbol in hot if symbol not in inside),
        tuple(inside[s] for s in hot if s in inside and inside[s] not in shorted),
        _over(derivation),
        tuple(shorted),
        high,
        stored,
    )


def cells(circuit: Circuit) -> tuple[Battery, ...]:
    """Return the batteries; a source that depends on a current or a voltage is none."""
    return tuple(
        element
        for element in circuit.elements
        if isinstance(element, Battery) and not circuit.is_dependent(element.emf)
    )


def terminals(branch: Branch, battery: Battery) -> tuple[Term, ...]:
    """Return the changes of potential from the − to the + terminal of a battery in a branch."""
    (passage,) = (p for p in branch.passages if p.element == battery)
    rows = passage_crossings(passage, branch.current, passage.along)
    return tuple(row.change for row in rows)


# --- what is known ------------------------------------------------------------------------------


def _known_values(circuit: Circuit, derivation: Derivation) -> dict[Symbol, Fraction]:
    """Return every quantity that has a value, given or found."""
    known: dict[Symbol, Fraction] = {}
    for step in derivation.steps:
        equation = getattr(step, "conclusion", None)
        if not isinstance(equation, Equation) or isinstance(step, Course):
            continue
        left, right = equation.left, equation.right
        if isinstance(left, Symbol) and next(symbols(right), None) is None:
            known[left] = evaluate(right)
    values = Values(circuit)
    for element in circuit.elements:
        emf = element.emf if isinstance(element, Battery) else None
        for symbol in (emf, element.resistance, own_quantity(element)):
            if symbol is not None and symbol not in known:
                try:
                    known[symbol] = values.number(symbol)
                except (MissingValue, UnfitTie):
                    continue
    return known


def held_capacitors(derivation: Derivation) -> frozenset[str]:
    """Return the capacitors whose voltages are found by their charges."""
    return frozenset(
        charge.name[2:-1]
        for step in derivation.steps
        if isinstance(step, ChargeRule)
        for charge in (*step.leads_in, *step.leads_out)
    )


def _levels(
    circuit: Circuit, held: frozenset[str], known: Mapping[Symbol, Fraction]
) -> list[dict[Station, Fraction]]:
    """Return the potentials that are known, in sets of places whose differences are."""
    ways = []
    for start, end, changes in rises(circuit, held):
        values = [_value(change, known) for change in changes]
        if None not in values:
            ways.append((start, end, sum((v for v in values if v is not None), Fraction(0))))
    return heights(ways, Fraction(0))


def _value(term: Term, known: Mapping[Symbol, Fraction]) -> Fraction | None:
    try:
        met = {s: constant(known[s], s.dimension) for s in symbols(term) if s in known}
        return evaluate(put_in(term, met))
    except MissingValue:
        return None


def _across(levels: list[dict[Station, Fraction]], one: Station, other: Station) -> Fraction | None:
    """Return the voltage between two places where it is known."""
    for group in levels:
        if one in group and other in group:
            return abs(group[one] - group[other])
    return None


# --- what it calls for --------------------------------------------------------------------------


def _by_powers(
    circuit: Circuit, derivation: Derivation
) -> tuple[tuple[Symbol, ...], tuple[Symbol, ...]]:
    """Return the emfs of batteries that are charged, and the resistances that get hot."""
    emfs = {battery.name: battery.emf for battery in cells(circuit)}
    charged, hot = [], []
    balance = next((s for s in derivation.steps if isinstance(s, PowerBalance)), None)
    for step in () if balance is None else balance.taken:
        name, value = _power(derivation, step)
        kind, part = name[:-1].split("(")
        if kind == "Pd" and value < 0 and part in emfs:
            charged.append(emfs[part])
        elif kind == "P" and value > HOT:
            hot.append(resistance(part))
    return tuple(charged), tuple(hot)


def _power(derivation: Derivation, step: StepId) -> tuple[str, Fraction]:
    equation = derivation.equation(step)
    assert isinstance(equation.left, Symbol)
    return equation.left.name, evaluate(equation.right)


def _over(derivation: Derivation) -> tuple[Symbol, ...]:
    compared = (step for step in derivation.steps if isinstance(step, AgainstRating))
    return tuple(resistance(step.part) for step in compared if step.load is Load.OVER)


def _large_short_circuits(
    circuit: Circuit, derivation: Derivation, known: Mapping[Symbol, Fraction]
) -> Iterator[Symbol]:
    """Yield the emfs of batteries in a short circuit: one that is asked for, or one that is there.

    The terminals of a battery that has an emf are at one potential only where something as good
    as a wire joins them.
    """
    for step in derivation.steps:
        if isinstance(step, Conclude) and isinstance(step.question, AskShortCircuit):
            battery = circuit.element(step.question.battery)
            large = step.symbol in known and abs(known[step.symbol]) > LARGE
            if large and isinstance(battery, Battery):
                yield battery.emf
    real = cells(circuit)
    for branch in circuit.branches:
        large = abs(known.get(branch.current, Fraction(0))) > LARGE
        for battery in branch.batteries if large else ():
            values = [_value(change, known) for change in terminals(branch, battery)]
            level = None not in values and not sum(v for v in values if v)
            if battery in real and level and known.get(battery.emf):
                yield battery.emf


def _initial_voltages(
    derivation: Derivation, known: Mapping[Symbol, Fraction]
) -> dict[str, list[Fraction]]:
    """Return what capacitors have at the start of a course in time."""
    found: dict[str, list[Fraction]] = {}
    for step in derivation.steps:
        if isinstance(step, InitialVoltage):
            assert isinstance(step.conclusion.left, Symbol)
            value = known.get(step.conclusion.left)
            if value is not None:
                found.setdefault(step.capacitor, []).append(abs(value))
    return found


def _stored(
    voltages: Mapping[str, list[Fraction]], known: Mapping[Symbol, Fraction]
) -> Iterator[Stored]:
    """Yield the capacitors that call for a caution, of those whose voltages are known."""
    for capacitor, sizes in voltages.items():
        highest = max(sizes)
        energy = known.get(capacitance(capacitor), Fraction(0)) * highest**2 / 2
        if highest > DANGEROUS or energy > STORED:
            yield Stored(capacitor, highest > DANGEROUS)
