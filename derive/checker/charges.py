"""Charge conservation: islands of capacitors, recomputed from the circuit, and what was found.

A charge leaves no place to which nothing but gaps leads. What capacitors that began without charge
carry there adds up to zero.
"""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Equation, Negative, Product, Sum, total
from derive.checker import naming, walks
from derive.checker.evaluation import PRIME, occurring, residue
from derive.checker.ledger import Ledger, require
from derive.checker.walks import Place
from derive.circuit.elements import Capacitor, is_gap
from derive.circuit.model import Circuit
from derive.derivation.laws import ChargeRule, PartLaw

Regions = dict[Place, Place]
"""Each place by one of those to which a charge can move from it."""


def check_rule(circuit: Circuit, step: ChargeRule) -> None:
    """Check that the charges on an island are just these. Raises Refused."""
    regions = _regions(circuit)
    ends = dict(_capacitors(circuit, regions))
    charge = {naming.part_symbol(PartLaw.CHARGE, c.name): place for c, place in ends.items()}
    named = (*step.leads_in, *step.leads_out)
    require(bool(named) and charge.keys() >= set(named), "no such capacitors stand apart")
    island = charge[named[0]][1 if step.leads_in else 0]
    for stated, end in ((step.leads_in, 1), (step.leads_out, 0)):
        held = sorted(symbol.name for symbol, places in charge.items() if places[end] == island)
        same = held == sorted(symbol.name for symbol in stated)
        require(same, "other capacitors lead to and from the island")
    points = walks.places_of_points(circuit)
    own = sorted(name for name, place in points.items() if regions.get(place, place) == island)
    require(own == sorted(step.points), "the island has other points")
    for capacitor in ends:
        if naming.part_symbol(PartLaw.CHARGE, capacitor.name) in named:
            said = capacitor.name in circuit.uncharged
            require(said, f"nobody says that {capacitor.name} began without charge")
    sides = [total(step.leads_in), total(step.leads_out)]
    if not step.leads_in:  # a reader expects the zero on the right
        sides.reverse()
    require(step.conclusion == Equation(*sides), "this is not the rule of the island")


def check_charges(ledger: Ledger) -> None:
    """Put the voltages of capacitors back into every island and every loop that passes them.

    The test point knows every line that has been proved, so this is done there.
    """
    circuit = ledger.circuit
    used = [step for step in ledger.steps if isinstance(step, ChargeRule)]
    if not used:
        return
    cited = {symbol for step in used for symbol in (*step.leads_in, *step.leads_out)}
    regions = _regions(circuit)
    ends = dict(_capacitors(circuit, regions))
    islands: dict[Place, list[Product | Negative]] = {}
    for capacitor, (enter, leave) in ends.items():
        across = naming.part_symbol(PartLaw.VOLTAGE, capacitor.name)
        if across not in ledger.point:
            found = naming.part_symbol(PartLaw.CHARGE, capacitor.name) not in cited
            require(found, f"the voltage across {capacitor.name} is not found")
            continue
        charge = Product((capacitor.capacitance, across))
        islands.setdefault(enter, []).append(charge)
        islands.setdefault(leave, []).append(Negative(charge))
    for plates in islands.values():
        left = residue(Sum(tuple(plates)), ledger.point)
        require(left == 0, "the charges on an island do not add up to zero")
    _check_loops(ledger)


def _check_loops(ledger: Ledger) -> None:
    """Give every place a potential; all ways that lead to it must agree."""
    ways = [
        (start, end, residue(row.change, ledger.point))
        for row, (start, end) in walks.rows_between(ledger.circuit)
        if ledger.point.keys() >= occurring(row.change).keys()
    ]
    potentials: dict[Place, int] = {}
    for first, _, _ in ways:
        waiting = [] if first in potentials else [first]
        potentials.setdefault(first, 0)
        for place in waiting:
            for start, end, change in ways:
                if start == place and end not in potentials:
                    potentials[end] = potentials[place] + change
                    waiting.append(end)
    for start, end, change in ways:
        gap = (potentials[start] + change - potentials[end]) % PRIME
        require(gap == 0, "the voltages round a loop past a capacitor do not add up to zero")


def _regions(circuit: Circuit) -> Regions:
    regions: Regions = {}
    for element, (enter, leave) in walks.part_ends(circuit):
        one, other = regions.setdefault(enter, enter), regions.setdefault(leave, leave)
        if not is_gap(element):
            for place, region in regions.items():
                if region == other:
                    regions[place] = one
    return regions


def _capacitors(
    circuit: Circuit, regions: Regions
) -> Iterator[tuple[Capacitor, tuple[Place, Place]]]:
    """Yield each capacitor between two regions, with those where its walk comes in and goes out."""
    for element, (enter, leave) in walks.part_ends(circuit):
        if isinstance(element, Capacitor) and regions[enter] != regions[leave]:
            yield element, (regions[enter], regions[leave])
