"""What one part adds to the laws: its voltage, power, charge and energy by its current."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Number,
    Power,
    Product,
    Quotient,
    Symbol,
    Term,
    total,
)
from derive.checker.naming import duration_symbol, efficiency_symbol, kept_symbol, part_symbol
from derive.checker.polynomial import Refused
from derive.circuit.elements import Battery, Capacitor, CurrentSource, is_gap
from derive.circuit.model import Branch, Circuit
from derive.circuit.question import Duration
from derive.derivation.further import Kept
from derive.derivation.laws import PartLaw


def part_relation(circuit: Circuit, kind: PartLaw, part: str) -> Equation:
    """Return a relation of one part. The internal resistance of a battery is a part as well."""
    for index, branch in enumerate(circuit.all_branches):
        still = index >= len(circuit.branches)
        for passage in branch.passages:
            element, inner = passage.element, passage.element.resistance
            if part not in (element.name, None if inner is None else inner.name):
                continue
            if kind is PartLaw.CURRENT:
                return _named(kind, part, ZERO if still else _along_own_walk(circuit, branch, part))
            if isinstance(element, CurrentSource | Capacitor):
                return _named(kind, part, _relation_by_voltage(element, kind))
            if isinstance(element, Battery) and part == element.name:
                flow: Term = branch.current if passage.along else Negative(branch.current)
                relation = _battery_relation(element, ZERO if still else flow, kind)
                return _named(kind, part, relation)
            if kind in (PartLaw.VOLTAGE, PartLaw.POWER_IN) and (inner or not is_gap(element)):
                own = ZERO if still else _along_own_walk(circuit, branch, part)
                relation = ZERO if inner is None else _resistance_relation(inner, own, kind)
                return _named(kind, part, relation)
            if kind is PartLaw.POWER_IN:
                return _named(kind, part, ZERO)
    raise Refused(f"no part {part} has such a relation")


def _along_own_walk(circuit: Circuit, branch: Branch, part: str) -> Term:
    """Return the current of a branch, counted along the walk on which a part stands."""
    return branch.current if circuit.walk_of(part).along else Negative(branch.current)


def _relation_by_voltage(element: CurrentSource | Capacitor, kind: PartLaw) -> Term:
    """Return a relation of a part whose voltage all the rest decides."""
    voltage = part_symbol(PartLaw.VOLTAGE, element.name)
    if isinstance(element, CurrentSource):
        power = Product((element.source, voltage))
        if kind is PartLaw.POWER_OF:
            return power
        if kind is PartLaw.POWER_IN:
            return Negative(power)
    elif kind is PartLaw.CHARGE:
        return Product((element.capacitance, voltage))
    elif kind is PartLaw.ENERGY:
        half = Number(Fraction(1, 2))
        return Product((half, element.capacitance, Power(voltage, 2)))
    elif kind is PartLaw.POWER_IN:
        return ZERO
    raise Refused(f"{element.name} has no such relation")


def _named(kind: PartLaw, part: str, right: Term) -> Equation:
    return Equation(part_symbol(kind, part), right)


def over_time(circuit: Circuit, kind: Kept, part: str, time: Duration) -> Equation:
    """Return what a steady power or current of a part makes in a time."""
    match kind:
        case Kept.ENERGY_IN:
            rate: Term = part_relation(circuit, PartLaw.POWER_IN, part).left
        case Kept.ENERGY_OF:
            rate = part_relation(circuit, PartLaw.POWER_OF, part).left
        case Kept.CHARGE_THROUGH:
            rate = part_relation(circuit, PartLaw.CURRENT, part).right
        case Kept.CHARGE_OF:
            rate = _leaving(circuit, part)
    return Equation(kept_symbol(kind, part, time), Product((rate, duration_symbol(time))))


def _leaving(circuit: Circuit, battery: str) -> Term:
    """Return the current that leaves a battery at its + terminal."""
    for index, branch in enumerate(circuit.all_branches):
        for passage in branch.passages:
            if isinstance(passage.element, Battery) and passage.element.name == battery:
                if index >= len(circuit.branches):
                    return ZERO
                return branch.current if passage.along else Negative(branch.current)
    raise Refused(f"the circuit has no battery {battery}")


def efficiency(circuit: Circuit, battery: str, *, charged: bool) -> Equation:
    """Return the efficiency of a battery that delivers, or of one that is being charged."""
    emf, voltage = emf_of(circuit, battery), part_symbol(PartLaw.VOLTAGE, battery)
    sides = (emf, voltage) if charged else (voltage, emf)
    return Equation(efficiency_symbol(battery), Quotient(*sides))


def emf_of(circuit: Circuit, battery: str) -> Symbol:
    """Return the emf of a battery with an internal resistance. Raises Refused."""
    for element in circuit.elements:
        if isinstance(element, Battery) and element.name == battery and element.resistance:
            return element.emf
    raise Refused(f"{battery} has no such relation")


def _battery_relation(battery: Battery, out: Term, kind: PartLaw) -> Term:
    """Return a relation in the current that leaves the + terminal."""
    terminal: Term = battery.emf
    if battery.resistance is not None:
        terminal = total((battery.emf, Negative(Product((battery.resistance, out)))))
    match kind:
        case PartLaw.VOLTAGE:
            return terminal
        case PartLaw.POWER_IN:
            return Negative(Product((terminal, out)))
        case PartLaw.POWER_OF:
            return Product((battery.emf, out))
        case PartLaw.OPEN_CIRCUIT:
            return battery.emf
        case PartLaw.SHORT_CIRCUIT if battery.resistance is not None:
            return Quotient(battery.emf, battery.resistance)
        case _:
            raise Refused(f"{battery.name} has no such relation")


def _resistance_relation(resistance: Symbol, flow: Term, kind: PartLaw) -> Term:
    if kind is PartLaw.VOLTAGE:
        return Product((resistance, flow))
    return Product((resistance, Power(flow, 2)))
