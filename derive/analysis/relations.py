"""What one part adds to the laws: its voltage, power, charge and energy by its current."""

from __future__ import annotations

from derive.algebra.dimension import JOULE, VOLT, WATT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    current,
    negate,
    number,
    voltage_across,
)
from derive.analysis.laws import charge_on
from derive.circuit.elements import Battery, Capacitor, CurrentSource
from derive.circuit.model import Circuit
from derive.derivation.laws import PartLaw, PartRule


def part_rule(circuit: Circuit, part: str, law: PartLaw) -> PartRule:
    """Return a relation of one part in the current of its branch.

    The current in a part, and the voltage across a resistor, count along the part's own walk.

    Raises KeyError when the circuit has no such part, ValueError when the part has no such law.
    """
    index, position = circuit.find_branch(part)
    idle = index >= len(circuit.branches)
    branch = circuit.all_branches[index]
    passage = branch.passages[position]
    element = passage.element
    # What no current flows in is told by a zero; a walk that is idle is its own.
    along = idle or circuit.walk_of(part).along
    own: Term = ZERO if idle else branch.current if along else Negative(branch.current)
    if law is PartLaw.CURRENT:
        return PartRule(kind=law, part=part, conclusion=Equation(current(f"I({part})"), own))
    match element:
        case Battery():
            # The current that leaves the + terminal.
            out: Term = ZERO if idle else branch.current
            left, right = _battery_law(
                element, out if passage.along or idle else Negative(out), law
            )
        case CurrentSource() | Capacitor():
            left, right = _law_by_voltage(element, law)
        case _:
            left, right = _resistor_law(element.resistance, part, own, law)
    return PartRule(kind=law, part=part, conclusion=Equation(left, right))


def _law_by_voltage(element: CurrentSource | Capacitor, law: PartLaw) -> tuple[Symbol, Term]:
    """Return a relation of an element whose voltage all the rest decides."""
    name = element.name
    across = voltage_across(name)
    if isinstance(element, CurrentSource):
        power = Product((element.source, across))
        if law is PartLaw.POWER_OF:
            return Symbol(f"Pd({name})", SymbolKind.POWER, WATT), power
        if law is PartLaw.POWER_IN:
            return Symbol(f"P({name})", SymbolKind.POWER, WATT), Negative(power)
        raise ValueError(f"{name} has no such law")
    match law:
        case PartLaw.CHARGE:
            return charge_on(name), Product((element.capacitance, across))
        case PartLaw.ENERGY:
            left = Symbol(f"W({name})", SymbolKind.ENERGY, JOULE)
            square = Product((element.capacitance, Power(across, 2)))
            return left, Quotient(square, number(2))
        case PartLaw.POWER_IN:
            return Symbol(f"P({name})", SymbolKind.POWER, WATT), ZERO
        case _:
            raise ValueError(f"{name} has no such law")


def _resistor_law(
    letter: Symbol | None, name: str, flow: Term, law: PartLaw
) -> tuple[Symbol, Term]:
    """Return a relation of a resistance; none of a wire, such as a closed switch."""
    still = letter is None or flow == ZERO
    match law:
        case PartLaw.VOLTAGE:
            left = voltage_across(name)
            return left, ZERO if letter is None or still else _times(letter, flow)
        case PartLaw.POWER_IN:
            left = Symbol(f"P({name})", SymbolKind.POWER, WATT)
            size = flow.term if isinstance(flow, Negative) else flow
            return left, ZERO if letter is None or still else Product((letter, Power(size, 2)))
        case _:
            raise ValueError(f"{name} has no such law")


def _battery_law(battery: Battery, out: Term, law: PartLaw) -> tuple[Symbol, Term]:
    name, inner = battery.name, battery.resistance
    drop = None if inner is None or out == ZERO else _times(inner, out)
    terminal: Term = battery.emf if drop is None else Sum((battery.emf, negate(drop)))
    match law:
        case PartLaw.VOLTAGE:
            return voltage_across(name), terminal
        case PartLaw.POWER_IN:
            power = ZERO if out == ZERO else negate(_times(terminal, out))
            return Symbol(f"P({name})", SymbolKind.POWER, WATT), power
        case PartLaw.POWER_OF:
            power = ZERO if out == ZERO else _times(battery.emf, out)
            return Symbol(f"Pd({name})", SymbolKind.POWER, WATT), power
        case PartLaw.OPEN_CIRCUIT:
            return Symbol(f"Voc({name})", SymbolKind.VOLTAGE, VOLT), battery.emf
        case PartLaw.SHORT_CIRCUIT if inner is not None:
            return current(f"Isc({name})"), Quotient(battery.emf, inner)
        case _:
            raise ValueError(f"{name} has no such law")


def _times(term: Term, flow: Term) -> Term:
    """Return term · flow with the sign in front."""
    if isinstance(flow, Negative):
        return Negative(Product((term, flow.term)))
    return Product((term, flow))


def internal_heat(circuit: Circuit, battery: str) -> PartRule:
    """Return the heat in a battery's internal resistance, under the name of that resistance."""
    index, position = circuit.find_branch(battery)
    branch = circuit.branches[index]
    element = branch.passages[position].element
    inner = element.resistance
    if inner is None:
        raise ValueError(f"{battery} has no internal resistance")
    left = Symbol(f"P({inner.name})", SymbolKind.POWER, WATT)
    right = Product((inner, Power(branch.current, 2)))
    return PartRule(kind=PartLaw.POWER_IN, part=inner.name, conclusion=Equation(left, right))
