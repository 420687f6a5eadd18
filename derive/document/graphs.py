"""The two graphs of a check, with the data they are drawn from.

Every value in them is one that a checked step concludes, or a change on a walk evaluated with the
given values and the currents that checked steps conclude.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import Symbol, Term, replace, symbols
from derive.analysis.found import values_of_sources
from derive.analysis.hazards import cells
from derive.analysis.laws import passage_crossings
from derive.circuit.appearance import BatterySymbol, ResistorSymbol
from derive.circuit.elements import Battery, Instrument, Meter, Resistor
from derive.circuit.model import Branch, Hop, Loop
from derive.derivation.further import PowerBalance
from derive.derivation.goal import Goal
from derive.derivation.laws import Crossing, LoopRule
from derive.derivation.step import Round
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import Figure
from derive.document.quantities import printed, unsigned
from derive.document.telling import Telling, part_symbol
from derive.drawing import graph_description
from derive.drawing.model import SymbolShape
from derive.drawing.potential_graph import potential_graph
from derive.drawing.power_bars import BarWords, PowerShare, PowerShares, Use, power_bars
from derive.drawing.reckoning import style_of
from derive.drawing.straight_walk import Leg, PotentialWalk
from derive.typesetting.style import Decimal

_MOST_LEGS = 14
_WIDEST_GRAPH = 178.0
"""mm; a little more than the width of a page, to which a figure is then fitted."""
_MOST_SHARES = 12


def potential_figure(telling: Telling) -> Figure | None:
    """Return the graph of the potential on the walk of the check, if it can be read."""
    walk = walk_of_check(telling)
    if walk is None or len(walk.legs) > _MOST_LEGS:
        return None
    style = style_of(telling.circuit)
    drawing = potential_graph(walk, style)
    if drawing.width > _WIDEST_GRAPH:
        return None
    long = graph_description.potential_long(walk, comma=style.decimal_comma)
    return Figure(drawing, (), graph_description.potential_short(walk), long)


def power_figure(telling: Telling) -> Figure | None:
    """Return the bars of the balance of power, if they can be read."""
    shares = power_shares(telling)
    if shares is None or len(shares.delivered) + len(shares.taken) > _MOST_SHARES:
        return None
    by_source = any(s.use is Use.CHARGING and not s.is_cell for s in shares.taken)
    charging = w.BAR_SOURCE if by_source else w.BAR_CHARGING
    words = BarWords(w.BAR_DELIVERED, w.BAR_TAKEN, w.BAR_HEAT, charging)
    style = style_of(telling.circuit)
    long = graph_description.power_long(shares, comma=style.decimal_comma)
    short = graph_description.power_short(shares)
    return Figure(power_bars(shares, words, style), (), short, long)


# --- the walk -----------------------------------------------------------------------------------


def walk_of_check(telling: Telling) -> PotentialWalk | None:
    """Return the walk of the check, or that of a single loop, with the change at every part.

    None where a letter has no value, where no loop is left to check by, and where the potential
    is the same all round.
    """
    rule = _rule(telling)
    if rule is None or not telling.has(Goal.POWER):
        return None
    values = _values(telling)
    legs = tuple(_leg(telling, row, values) for row in rule.crossings)
    walk = PotentialWalk(legs, tuple(_stops(telling, rule.loop)))
    if walk.levels[-1] != 0 or not any(walk.levels):
        return None
    return walk


def _rule(telling: Telling) -> LoopRule | None:
    """Return the loop rule of the check; that of the only loop where there is no other."""
    for goal in (Goal.CHECK_LOOP, Goal.LOOPS):
        rules = [
            s for k in telling.ids(goal, LoopRule) if isinstance(s := telling.step(k), LoopRule)
        ]
        if rules:
            return rules[0] if len(rules) == 1 else None
    return None


def _values(telling: Telling) -> dict[Symbol, Term]:
    """Return the value of every quantity that is given and of every current."""
    waiting = [telling.equation(k) for k in telling.ids(Goal.GIVEN)]
    waiting += [
        telling.equation(s.value) for s in telling.current_conclusions() if s.value is not None
    ]
    known = values_of_sources(telling.circuit, telling.derivation)
    waiting = [equation for equation in waiting if equation.left not in known]
    while waiting:
        later = []
        for equation in waiting:
            assert isinstance(equation.left, Symbol)
            right = replace(equation.right, known)
            if next(symbols(right), None) is None:
                known[equation.left] = right
            else:
                later.append(equation)  # tied to what comes further down
        if len(later) == len(waiting):
            break
        waiting = later
    return known


def _exact(term: Term) -> Fraction:
    return Ring(()).poly(term).constant_value


def _leg(telling: Telling, row: Crossing, values: dict[Symbol, Term]) -> Leg:
    return Leg(
        quantity=row.quantity.name,
        element=row.part,
        shape=_shape(telling, row),
        along=row.along,
        label=row.change,
        change=_exact(replace(row.change, values)),
    )


def _shape(telling: Telling, row: Crossing) -> SymbolShape:
    if row.current is None:
        if telling.circuit.is_dependent(row.quantity):
            return SymbolShape.DEPENDENT_EMF
        several = telling.circuit.looks.battery is BatterySymbol.CELLS
        return SymbolShape.CELLS if several else SymbolShape.CELL
    branch, place = telling.circuit.find_branch(row.part)
    element = telling.circuit.branches[branch].passages[place].element
    if isinstance(element, Resistor) and element.lamp:
        return SymbolShape.LAMP
    if isinstance(element, Instrument):
        ammeter = element.meter is Meter.AMMETER
        return SymbolShape.AMMETER if ammeter else SymbolShape.VOLTMETER
    if telling.circuit.looks.resistor is ResistorSymbol.ZIGZAG:
        return SymbolShape.RESISTOR_ZIGZAG
    return SymbolShape.RESISTOR_BOX


def _stops(telling: Telling, loop: Loop) -> Iterator[tuple[str, ...]]:
    """Yield the points before each change of a walk, and those after the last."""
    here: list[str] = []
    first: str | None = None
    for hop in loop.hops:
        branch = telling.circuit.branches[hop.branch]
        for k, names in enumerate(_stations(branch, hop)):
            here += [name for name in names if name not in here]
            if k == len(branch.passages):
                break  # the next branch goes on from here
            if first is None and here:
                first = here[0]
            passage = branch.passages[k if hop.along else -1 - k]
            if not passage_crossings(passage, branch.current, hop.along):
                continue  # wire, such as an ideal ammeter
            yield tuple(here)
            here = []
            if isinstance(passage.element, Battery) and passage.element.internal is not None:
                yield ()  # between the emf and the internal resistance
    if first is not None and first not in here:
        here.append(first)
    yield tuple(here)


def _stations(branch: Branch, hop: Hop) -> list[tuple[str, ...]]:
    """Return the points before, between and after the parts, in walking order."""
    stations = [list(names) for names in branch.stations]
    # A branch always begins and ends at a node, named here or on the branch before it.
    stations[0] = stations[0] or [branch.tail]
    stations[-1] = stations[-1] or [branch.head]
    if not hop.along:
        stations = [list(reversed(names)) for names in reversed(stations)]
    return [tuple(names) for names in stations]


# --- the balance of power -----------------------------------------------------------------------


def power_shares(telling: Telling) -> PowerShares | None:
    """Return what every part delivers or takes in; None where letters are left or none flows."""
    balances = list(telling.ids(Goal.POWER, PowerBalance))
    if not balances:
        return None
    balance = telling.step(balances[0])
    assert isinstance(balance, PowerBalance)
    shown = _rounded(telling)
    delivered = tuple(_shares(telling, balance.delivered, shown))
    taken = tuple(_shares(telling, balance.taken, shown))
    if not delivered or any(share.power < 0 for share in (*delivered, *taken)):
        return None
    return PowerShares(delivered, taken)


def _rounded(telling: Telling) -> dict[Symbol, Decimal]:
    found = {}
    for k in telling.ids(Goal.POWER, Round):
        step = telling.step(k)
        assert isinstance(step, Round)
        found[step.symbol] = printed(step)[1]
    return found


def _shares(
    telling: Telling, steps: tuple[StepId, ...], shown: dict[Symbol, Decimal]
) -> Iterator[PowerShare]:
    """Yield the parts that a side of the balance sums up, without those that have no power."""
    batteries = {battery.name for battery in cells(telling.circuit)}
    for k in steps:
        equation = telling.equation(k)
        assert isinstance(equation.left, Symbol)
        kind, part = equation.left.name[:-1].split("(")
        power = _exact(equation.right)
        if not power:
            continue
        use = Use.HEAT
        if kind == "Pd":
            use, power = (Use.CHARGING, -power) if power < 0 else (Use.DELIVERS, power)
        yield PowerShare(
            part=part,
            label=part_symbol(telling.circuit, part),
            power=power,
            shown=unsigned(shown[equation.left]),
            use=use,
            is_cell=part in batteries,
        )
