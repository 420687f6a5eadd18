"""The letters that answers must have, and which of them each question asks for."""

from __future__ import annotations

from derive.algebra.dimension import AMPERE, COULOMB, JOULE, NUMBER, OHM, SECOND, VOLT, WATT
from derive.algebra.term import Symbol, SymbolKind
from derive.checker.laws import letters
from derive.circuit.elements import Instrument, Meter
from derive.circuit.model import Circuit
from derive.circuit.preferred import Series
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
    Duration,
    Question,
)
from derive.derivation.further import Kept, Most
from derive.derivation.laws import PartLaw


def part_symbol(kind: PartLaw, part: str) -> Symbol:
    """Return the symbol that a relation of a part defines."""
    match kind:
        case PartLaw.CURRENT:
            return Symbol(f"I({part})", SymbolKind.CURRENT, AMPERE)
        case PartLaw.VOLTAGE:
            return Symbol(f"V({part})", SymbolKind.VOLTAGE, VOLT)
        case PartLaw.POWER_IN:
            return Symbol(f"P({part})", SymbolKind.POWER, WATT)
        case PartLaw.POWER_OF:
            return Symbol(f"Pd({part})", SymbolKind.POWER, WATT)
        case PartLaw.CHARGE:
            return Symbol(f"Q({part})", SymbolKind.CHARGE, COULOMB)
        case PartLaw.ENERGY:
            return Symbol(f"W({part})", SymbolKind.ENERGY, JOULE)
        case PartLaw.SHORT_CIRCUIT:
            return Symbol(f"Isc({part})", SymbolKind.CURRENT, AMPERE)
        case PartLaw.OPEN_CIRCUIT:
            return Symbol(f"Voc({part})", SymbolKind.VOLTAGE, VOLT)


def duration_symbol(time: Duration) -> Symbol:
    """Return the symbol of the time for which a question lets the currents flow."""
    return Symbol(f"t({time.text})", SymbolKind.AUXILIARY, SECOND)


def kept_symbol(kind: Kept, part: str, time: Duration) -> Symbol:
    """Return the symbol of an energy or a charge over a time."""
    head = {Kept.ENERGY_IN: "W", Kept.ENERGY_OF: "Wd", Kept.CHARGE_THROUGH: "Q",
            Kept.CHARGE_OF: "Qd"}[kind]  # fmt: skip
    name = f"{head}({part},{time.text})"
    if kind in (Kept.ENERGY_IN, Kept.ENERGY_OF):
        return Symbol(name, SymbolKind.ENERGY, JOULE)
    return Symbol(name, SymbolKind.CHARGE, COULOMB)


def largest_symbol(kind: Most, part: str) -> Symbol:
    """Return the symbol of a matched load, or of the power in it."""
    if kind is Most.LOAD:
        return Symbol(f"Rm({part})", SymbolKind.RESISTANCE, OHM)
    return Symbol(f"Pm({part})", SymbolKind.POWER, WATT)


def efficiency_symbol(battery: str) -> Symbol:
    """Return the symbol of the efficiency of a battery."""
    return Symbol(f"η({battery})", SymbolKind.AUXILIARY, NUMBER)


def path_symbol(origin: str, to: str) -> Symbol:
    """Return the symbol of V_to − V_origin."""
    return Symbol(f"V({to},{origin})", SymbolKind.VOLTAGE, VOLT)


def potential_symbol(point: str) -> Symbol:
    """Return the symbol of the potential of a point against the grounded one."""
    return Symbol(f"V({point})", SymbolKind.POTENTIAL, VOLT)


def preferred_symbol(symbol: Symbol, series: Series) -> Symbol:
    """Return the symbol of the preferred value next to a quantity."""
    name = f"{symbol.name[0]}n({symbol.name},{series.name})"
    return Symbol(name, SymbolKind.AUXILIARY, symbol.dimension)


def resistance_symbol(one: str, other: str) -> Symbol:
    """Return the symbol of the resistance between two points."""
    return Symbol(f"R({one},{other})", SymbolKind.RESISTANCE, OHM)


def seen_by_symbol(battery: str) -> Symbol:
    """Return the symbol of the resistance that an emf sees."""
    return Symbol(f"R({battery})", SymbolKind.RESISTANCE, OHM)


def further_symbols(question: Question) -> tuple[Symbol, ...]:
    """Return the symbols that may answer a question as well, but need not."""
    # There is no share of nothing.
    return (
        (relative_loading_symbol(question.part),) if isinstance(question, AskLoadingError) else ()
    )


def _is_ammeter(circuit: Circuit, part: str) -> bool:
    element = next((e for e in circuit.elements if e.name == part), None)
    return isinstance(element, Instrument) and element.meter is Meter.AMMETER


def reading_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of what a meter shows."""
    ammeter = _is_ammeter(circuit, part)
    return part_symbol(PartLaw.CURRENT if ammeter else PartLaw.VOLTAGE, part)


def ideal_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of what an ideal meter would show."""
    shown = reading_symbol(circuit, part)
    return Symbol(f"{shown.name[0]}ideal({part})", shown.kind, shown.dimension)


def loading_symbol(circuit: Circuit, part: str) -> Symbol:
    """Return the symbol of the loading error of a meter."""
    shown = reading_symbol(circuit, part)
    return Symbol(f"e({part})", shown.kind, shown.dimension)


def relative_loading_symbol(part: str) -> Symbol:
    """Return the symbol of the loading error over the reading of an ideal meter."""
    return Symbol(f"δ({part})", SymbolKind.AUXILIARY, NUMBER)


def answer_symbols(circuit: Circuit, question: Question) -> tuple[Symbol, ...]:
    """Return the symbols that answer a question, which for the currents are many."""
    match question:
        case AskCurrentIn(part):
            return (part_symbol(PartLaw.CURRENT, part),)
        case AskVoltageAcross(part) | AskTerminalVoltage(part):
            return (part_symbol(PartLaw.VOLTAGE, part),)
        case AskPowerIn(part):
            return (part_symbol(PartLaw.POWER_IN, part),)
        case AskPowerOf(part):
            return (part_symbol(PartLaw.POWER_OF, part),)
        case AskReading(part):
            return (reading_symbol(circuit, part),)
        case AskLoadingError(part):
            return ideal_symbol(circuit, part), loading_symbol(circuit, part)
        case AskVoltage(to, origin):
            return (path_symbol(origin, to),)
        case AskPotential(point):
            return () if circuit.ground is None else (potential_symbol(point),)
        case AskPotentials():
            if circuit.ground is None:
                return ()
            return tuple(potential_symbol(p) for p in circuit.points if p != circuit.ground)
        case AskCurrents():
            still = (branch.current for branch in circuit.idle)
            named = tuple(symbol for symbol in still if "(" not in symbol.name)
            return (*(walk.current for walk in circuit.walks), *named)
        case AskCharge(capacitor):
            return (part_symbol(PartLaw.CHARGE, capacitor),)
        case AskEnergy(capacitor):
            return (part_symbol(PartLaw.ENERGY, capacitor),)
        case AskResistance(one, other):
            return (resistance_symbol(one, other),)
        case AskValue(quantity):
            return tuple(symbol for symbol in circuit.sought if symbol.name == quantity)
        case AskEnergyIn(part, time):
            return (kept_symbol(Kept.ENERGY_IN, part, time),)
        case AskEnergyOf(part, time):
            return (kept_symbol(Kept.ENERGY_OF, part, time),)
        case AskChargeThrough(part, time):
            return (kept_symbol(Kept.CHARGE_THROUGH, part, time),)
        case AskChargeOf(part, time):
            return (kept_symbol(Kept.CHARGE_OF, part, time),)
        case AskShortCircuit(battery):
            return (part_symbol(PartLaw.SHORT_CIRCUIT, battery),)
        case AskOpenCircuit(battery):
            return (part_symbol(PartLaw.OPEN_CIRCUIT, battery),)
        case AskPreferred(series, part):
            owner = next(s for s in letters(circuit) if s.name == part)
            return (preferred_symbol(owner, series),)
        case AskMatchedLoad(part):
            return tuple(largest_symbol(kind, part) for kind in Most)
        case AskEfficiency(battery):
            return (efficiency_symbol(battery),)
        case AskReducible():
            return ()
        case AskTransient(capacitor):
            # Steady voltages: the one at the start, before switches change, or the last one.
            return (part_symbol(PartLaw.VOLTAGE, capacitor),)
