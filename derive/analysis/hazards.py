"""What in a solved circuit can hurt someone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import Equation, Symbol, Term, replace, resistance, symbols
from derive.analysis.found import values_of_sources
from derive.analysis.laws import passage_crossings
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskShortCircuit
from derive.derivation.course import Course, InitialVoltage
from derive.derivation.further import AgainstRating, Load, PowerBalance
from derive.derivation.laws import ChargeRule, GivenValue
from derive.derivation.step import Conclude, Derivation, Round
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
    """The causes for a caution; all are empty when some value is not known."""

    charged: tuple[Symbol, ...] = ()
    """The emfs of batteries that take in power."""
    hot: tuple[Symbol, ...] = ()
    """The resistances that turn much power into heat."""
    over: tuple[Symbol, ...] = ()
    """The resistances of parts that take more power than they are rated for."""
    shorted: tuple[Symbol, ...] = ()
    """The emfs of batteries that would drive a large current through a short circuit asked for."""
    high_voltage: bool = False
    """True when some two points differ by a dangerous voltage."""
    stored: tuple[Stored, ...] = ()
    """The capacitors that stay dangerous when the supply is off."""

    def joined(self, other: Hazards) -> Hazards:
        """Return the causes of two states of one circuit."""
        return Hazards(
            tuple(dict.fromkeys((*self.charged, *other.charged))),
            tuple(dict.fromkeys((*self.hot, *other.hot))),
            tuple(dict.fromkeys((*self.over, *other.over))),
            tuple(dict.fromkeys((*self.shorted, *other.shorted))),
            self.high_voltage or other.high_voltage,
            tuple({s.capacitor: s for s in (*other.stored, *self.stored)}.values()),
        )


def find_hazards(circuit: Circuit, derivation: Derivation) -> Hazards:
    """Return what calls for a caution, judged on the exact values of a derivation."""
    balances = [step for step in derivation.steps if isinstance(step, PowerBalance)]
    stored = tuple(_stored(derivation))
    shorted = tuple(_large_short_circuits(circuit, derivation))
    if not balances:
        high = any(found.high_voltage for found in stored)
        return Hazards(shorted=shorted, high_voltage=high, stored=stored)
    emfs = {b.name: b.emf for branch in circuit.branches for b in branch.batteries}
    charged, hot = [], []
    for step in balances[0].taken:
        name, value = _power(derivation, step)
        kind, part = name[:-1].split("(")
        if kind == "Pd" and value < 0 and part in emfs:
            charged.append(emfs[part])
        elif kind == "P" and value > HOT:
            hot.append(resistance(part))
    high = any(found.high_voltage for found in stored)
    high = high or _span(circuit, derivation) > DANGEROUS
    return Hazards(tuple(charged), tuple(hot), _over(derivation), shorted, high, stored)


def _over(derivation: Derivation) -> tuple[Symbol, ...]:
    compared = (step for step in derivation.steps if isinstance(step, AgainstRating))
    return tuple(resistance(step.part) for step in compared if step.load is Load.OVER)


def _large_short_circuits(circuit: Circuit, derivation: Derivation) -> Iterator[Symbol]:
    for step in derivation.steps:
        if isinstance(step, Conclude) and isinstance(step.question, AskShortCircuit):
            battery = circuit.element(step.question.battery)
            found = None if step.rounded is None else derivation.steps[step.rounded]
            large = isinstance(found, Round) and abs(found.rounded) > LARGE
            if large and isinstance(battery, Battery):
                yield battery.emf


def _stored(derivation: Derivation) -> Iterator[Stored]:
    """Yield the capacitors that call for a caution, of those whose charges are told in numbers."""
    values: dict[str, Fraction] = {}
    for step in derivation.steps:
        equation = getattr(step, "conclusion", None)
        if not isinstance(equation, Equation) or isinstance(step, Course):
            continue
        left, right = equation.left, equation.right
        if isinstance(left, Symbol) and next(symbols(right), None) is None:
            values[left.name] = _number(right, {})
    told: dict[str, tuple[str, ...]] = {}
    for step in derivation.steps:
        if isinstance(step, InitialVoltage):
            assert isinstance(step.conclusion.left, Symbol)
            told[step.capacitor] = step.conclusion.left.name, f"V({step.capacitor})"
        elif isinstance(step, ChargeRule):
            names = [charge.name[2:-1] for charge in (*step.leads_in, *step.leads_out)]
            told |= {name: (f"V({name})",) for name in names}
    for capacitor, voltages in told.items():
        highest = max(abs(values.get(name, Fraction(0))) for name in voltages)
        energy = values.get(capacitor, Fraction(0)) * highest**2 / 2
        if highest > DANGEROUS or energy > STORED:
            yield Stored(capacitor, highest > DANGEROUS)


def _power(derivation: Derivation, step: StepId) -> tuple[str, Fraction]:
    equation = derivation.equation(step)
    assert isinstance(equation.left, Symbol)
    return equation.left.name, _number(equation.right, {})


def _number(term: Term, known: dict[Symbol, Term]) -> Fraction:
    while any(True for _ in symbols(term)):
        term = replace(term, known)
    return Ring(()).poly(term).constant_value


def _span(circuit: Circuit, derivation: Derivation) -> Fraction:
    """Return the difference between the highest and the lowest potential of the circuit."""
    known: dict[Symbol, Term] = {}
    for step in derivation.steps:
        if isinstance(step, GivenValue):
            known[step.symbol] = step.conclusion.right
        elif isinstance(step, Conclude) and isinstance(step.question, AskCurrents):
            assert step.value is not None
            known[step.symbol] = derivation.equation(step.value).right
    known |= values_of_sources(circuit, derivation)
    potentials = {circuit.nodes[0].name: Fraction(0)}
    met = [Fraction(0)]
    for _ in circuit.nodes:
        for branch in circuit.branches:
            if branch.sources:
                continue  # the voltage of the source is the difference of its ends
            for start, end, along in (
                (branch.tail, branch.head, True), (branch.head, branch.tail, False),
            ):  # fmt: skip
                if start not in potentials or (end in potentials and not along):
                    continue
                here = potentials[start]
                for passage in branch.passages if along else reversed(branch.passages):
                    for row in passage_crossings(passage, branch.current, along):
                        here += _number(row.change, known)
                    met.append(here)
                potentials.setdefault(end, here)
    return max(met) - min(met)
