"""The law that answers a question about one part or two points."""

from __future__ import annotations

from collections.abc import Collection
from typing import assert_never

from derive.analysis.laws import across_rule, path_rule
from derive.analysis.potentials import potential_from_ground
from derive.analysis.relations import part_rule
from derive.circuit.elements import CurrentSource, Instrument, Meter, is_gap
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskCharge,
    AskChargeOf,
    AskChargeThrough,
    AskCurrentIn,
    AskCurrents,
    AskEfficiency,
    AskEnergy,
    AskEnergyIn,
    AskEnergyOf,
    AskLoadingError,
    AskMatchedLoad,
    AskOpenCircuit,
    AskPotential,
    AskPotentials,
    AskPowerIn,
    AskPowerOf,
    AskPreferred,
    AskReading,
    AskReducible,
    AskResistance,
    AskShortCircuit,
    AskTerminalVoltage,
    AskTransient,
    AskValue,
    AskVoltage,
    AskVoltageAcross,
    Question,
)
from derive.derivation.laws import AcrossRule, PartLaw, PartRule, PathRule, PotentialRule


def by_voltage(circuit: Circuit, question: Question) -> tuple[str, PartLaw] | None:
    """Return the part and the law of a question whose answer needs the voltage across the part."""
    match question:
        case AskCharge(capacitor=part):
            return part, PartLaw.CHARGE
        case AskEnergy(capacitor=part):
            return part, PartLaw.ENERGY
        case AskPowerIn(part=part) | AskPowerOf(battery=part):
            if not isinstance(circuit.element(part), CurrentSource):
                return None
            return part, PartLaw.POWER_IN if isinstance(question, AskPowerIn) else PartLaw.POWER_OF
        case _:
            return None


def law_asked(
    circuit: Circuit, question: Question, past: Collection[str]
) -> PartRule | PathRule | PotentialRule | AcrossRule | None:
    """Return the law a question is answered by; None for currents and the verdict.

    Of the capacitors in `past` the voltages are known, so that a way may lead past them.
    """
    match question:
        case AskCharge(capacitor=part):
            return part_rule(circuit, part, PartLaw.CHARGE)
        case AskEnergy(capacitor=part):
            return part_rule(circuit, part, PartLaw.ENERGY)
        case (
            AskReducible() | AskCurrents() | AskPotentials() | AskResistance() | AskValue()
            | AskTransient()
        ):  # fmt: skip
            return None
        case AskLoadingError():
            return None
        case AskEnergyIn() | AskEnergyOf() | AskChargeThrough() | AskChargeOf():
            return None
        case AskEfficiency() | AskMatchedLoad() | AskPreferred():
            return None
        case AskShortCircuit(battery=battery):
            return part_rule(circuit, battery, PartLaw.SHORT_CIRCUIT)
        case AskOpenCircuit(battery=battery):
            return part_rule(circuit, battery, PartLaw.OPEN_CIRCUIT)
        case AskCurrentIn(part=part):
            return part_rule(circuit, part, PartLaw.CURRENT)
        case AskVoltageAcross(part=part):
            return voltage_asked(circuit, part, past)
        case AskReading(part=part):
            element = circuit.element(part)
            if isinstance(element, Instrument) and element.meter is Meter.AMMETER:
                return part_rule(circuit, part, PartLaw.CURRENT)
            return voltage_asked(circuit, part, past)
        case AskTerminalVoltage(battery=battery):
            return part_rule(circuit, battery, PartLaw.VOLTAGE)
        case AskPowerIn(part=part):
            return part_rule(circuit, part, PartLaw.POWER_IN)
        case AskPowerOf(battery=battery):
            return part_rule(circuit, battery, PartLaw.POWER_OF)
        case AskVoltage(to=to, origin=origin):
            return path_rule(circuit, origin, to, past)
        case AskPotential(point=point):
            return potential_from_ground(circuit, point, past)
        case _:
            assert_never(question)


def voltage_asked(circuit: Circuit, part: str, past: Collection[str]) -> PartRule | AcrossRule:
    """Return the law of the voltage across a part: by its current, or by a walk past it."""
    element = circuit.element(part)
    if is_gap(element) or isinstance(element, CurrentSource):
        return across_rule(circuit, part, past)
    return part_rule(circuit, part, PartLaw.VOLTAGE)
