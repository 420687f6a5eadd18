"""A resistance by a test source, checked: by the circuit with that source in it.

Is it the same circuit? Each part that carries or drives a current must lie between the same places
there, once emfs that depend on nothing are wires and such current sources are gone; the sources
that are left must depend on the same currents and voltages.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import NamedTuple

from derive.algebra.dimension import AMPERE
from derive.algebra.term import (
    ZERO,
    Negative,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    replace,
)
from derive.checker import naming, walks
from derive.checker.evaluation import occurring, residue
from derive.checker.ledger import Ledger, check_symbols, is_closed, made_of, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.elements import Battery, Capacitor, CurrentSource, is_gap
from derive.circuit.model import Branch, Circuit, Tested
from derive.circuit.question import AskVoltage
from derive.circuit.valuation import Given, Tie
from derive.derivation.algebra import Define
from derive.derivation.step import BySource, Conclude, Derivation

Label = tuple[str, int]
"""An end of a part, by the symbol of its quantity; or a point, with −1."""


class _Edge(NamedTuple):
    start: walks.Place
    end: walks.Place
    along: bool
    """Whether it leads from start to end along the arrow of its branch."""
    internal: Symbol | None
    """Of a dependent battery."""


def by_source(
    ledger: Ledger, step: BySource, refusal: Callable[[Circuit, Derivation], str | None]
) -> None:
    """Check the answer of the circuit with a test source; `refusal` checks its derivation."""
    question = step.question
    tested = next((t for t in ledger.circuit.tested if t.question == question), None)
    if tested is None:
        raise Refused("no circuit with a test source there is known")
    _check_circuit(ledger.circuit, tested)
    reason = refusal(tested.circuit, step.derivation)
    require(reason is None, f"with a test source: {reason}")
    symbol = naming.resistance_symbol(question.one, question.other)
    require(step.conclusion.left == symbol, "this is another resistance")
    stated = step.conclusion.right
    check_symbols(ledger, stated)
    require(is_closed(ledger, occurring(stated)), "it holds unknowns")
    in_letters = _is_voltage(step, tested)
    ledger.named.setdefault(symbol.name, symbol)
    if not in_letters:  # true of the author's values only
        ledger.special.add(ledger.here)
        ledger.special_symbols.add(symbol)
    ledger.made_of[symbol] = made_of(ledger, occurring(stated))
    ledger.point[symbol] = residue(stated, ledger.point)


def _is_voltage(step: BySource, tested: Tested) -> bool:
    """Tell whether the resistance times the test current is the voltage there, in letters.

    In numbers otherwise. Raises Refused where it is neither.
    """
    derivation, stated = step.derivation, step.conclusion.right
    wanted = AskVoltage(step.question.one, step.question.other)
    found = next(
        (s for s in derivation.steps if isinstance(s, Conclude) and s.question == wanted), None
    )
    if found is None:
        raise Refused("no voltage of the test source is found")
    names = {
        s.conclusion.left: s.conclusion.right
        for s in derivation.steps
        if isinstance(s, Define) and isinstance(s.conclusion.left, Symbol)
    }
    expansion = Expansion(names)
    for cited, flow in (
        (found.formula, tested.symbol),
        (found.value, constant(Fraction(1), AMPERE)),
    ):
        if cited is not None:
            voltage = derivation.equation(cited).right
            if expansion.is_zero(Sum((Product((stated, flow)), Negative(voltage)))):
                return flow == tested.symbol
    raise Refused("the test source needs another voltage")


# --- is it the same circuit? ---------------------------------------------------------------------


def _check_circuit(circuit: Circuit, tested: Tested) -> None:
    other, source = tested.circuit, tested.symbol
    names = {s.name for s in circuit.symbols} | {e.name for e in circuit.elements}
    require(source.name not in names, "the test source has the name of another part")
    value = other.valuation(source)
    unit = isinstance(value, Given) and (value.value, value.dimension) == (Fraction(1), AMPERE)
    require(unit, "the test source is not 1 A")
    for element in other.elements:
        zero = isinstance(element, Battery) and element.emf not in other.dependent
        require(not zero, f"{element.name} is not zero there")
    own, there = dict(_edges(circuit)), dict(_edges(other))
    test = there.pop(source, None)
    if test is None:
        raise Refused("there is no test source")
    require(own.keys() == there.keys(), "other parts lie in the circuit with the test source")
    require(
        all(own[k].internal == there[k].internal for k in own),
        "a battery has another internal resistance there",
    )
    _check_values(circuit, other, source)
    currents, points = _controls(circuit, other)
    for one, its in currents.items():
        _check_same_current(circuit, one, other, its)
    points |= {tested.question.one, tested.question.other}
    joined, places = _joined(circuit), walks.places_of_points(circuit)
    joined_there, places_there = _joined(other), walks.places_of_points(other)
    same = _groups(own, joined, {p: places[p] for p in points}) == _groups(
        there, joined_there, {p: places_there[p] for p in points if p in places_there}
    )
    require(same, "parts lie elsewhere in the circuit with the test source")
    drives = _root(joined_there, test.start) == _root(
        joined_there, places_there[tested.question.other]
    ) and _root(joined_there, test.end) == _root(joined_there, places_there[tested.question.one])
    require(drives, "the test source lies elsewhere")


def _edges(circuit: Circuit) -> Iterator[tuple[Symbol, _Edge]]:
    """Yield the resistances, the capacitors, the dependent and other sources that are left.

    A resistance leads along its own walk, a battery from − to +, a source along its arrow. Those
    that depend on nothing are left out, except for a test source, which no circuit has at first.
    """
    ends = walks.part_ends(circuit)
    for index, branch in enumerate(circuit.all_branches):
        for passage in branch.passages:
            element, (enter, leave) = next(ends)
            along, internal, symbol = passage.along, None, element.resistance
            if isinstance(element, Battery) and element.emf in circuit.dependent:
                symbol, internal = element.emf, element.resistance
            elif isinstance(element, CurrentSource):
                if circuit.tested and element.source not in circuit.dependent:
                    continue
                symbol = element.source
            elif isinstance(element, Capacitor):
                symbol = element.capacitance
            elif index < len(circuit.branches):
                along = circuit.walk_of(element.name).along
            if symbol is not None:
                start, end = (enter, leave) if along else (leave, enter)
                yield symbol, _Edge(start, end, along, internal)


def _joined(circuit: Circuit) -> dict[walks.Place, walks.Place]:
    """Map the places at the ends of emfs that depend on nothing and have no resistance to one."""
    found: dict[walks.Place, walks.Place] = {}
    for element, (one, other) in walks.part_ends(circuit):
        wire = isinstance(element, Battery) and element.emf not in circuit.dependent
        if wire and element.resistance is None:
            old, new = _root(found, one), _root(found, other)
            if old != new:
                found[old] = new
    return found


def _root(joined: dict[walks.Place, walks.Place], place: walks.Place) -> walks.Place:
    while place in joined:
        place = joined[place]
    return place


def _groups(
    edges: dict[Symbol, _Edge],
    joined: dict[walks.Place, walks.Place],
    points: dict[str, walks.Place],
) -> set[frozenset[Label]]:
    """Return which ends of parts, and which points, lie at one place."""
    found: dict[walks.Place, set[Label]] = {}
    for symbol, edge in edges.items():
        for number, place in enumerate((edge.start, edge.end)):
            found.setdefault(_root(joined, place), set()).add((symbol.name, number))
    for point, place in points.items():
        found.setdefault(_root(joined, place), set()).add((point, -1))
    return {frozenset(group) for group in found.values()}


def _check_values(circuit: Circuit, other: Circuit, source: Symbol) -> None:
    """All else has the same value, and what depends on a current depends on nothing besides."""
    zero = {
        e.emf if isinstance(e, Battery) else e.source
        for e in circuit.elements
        if isinstance(e, Battery | CurrentSource)
    } - set(circuit.dependent)
    own = {v.symbol: v.value for v in circuit.values if v.symbol not in zero}
    there = {v.symbol: v.value for v in other.values if v.symbol != source}
    require(own.keys() == there.keys(), "other values are given there")
    charged = set(circuit.uncharged) != set(other.uncharged)
    require(not charged, "other capacitors have no charge there")
    for symbol, value in own.items():
        if symbol in circuit.dependent:
            continue
        require(value == there[symbol], f"{symbol.name} has another value there")
    still: dict[Symbol, Term] = dict.fromkeys(circuit.dependent, ZERO)
    for symbol in circuit.dependent:
        term = _tie(circuit, symbol)
        for met in occurring(term):
            if met.kind in (SymbolKind.CURRENT, SymbolKind.VOLTAGE):
                still[met] = ZERO
            require(met not in zero, f"{symbol.name} depends on a source that is zero there")
        rest = Expansion(still).is_zero(term)
        require(rest, f"{symbol.name} is not zero where no current flows")


def _tie(circuit: Circuit, symbol: Symbol) -> Term:
    value = circuit.valuation(symbol)
    if not isinstance(value, Tie):
        raise Refused(f"{symbol.name} depends on nothing there")
    return value.term


def _controls(circuit: Circuit, other: Circuit) -> tuple[dict[Symbol, Symbol], set[str]]:
    """Return the currents on which sources depend, here and there, and the points of voltages."""
    currents: dict[Symbol, Symbol] = {}
    points: set[str] = set()
    for symbol in circuit.dependent:
        term, its = _tie(circuit, symbol), _tie(other, symbol)
        own = [s for s in occurring(term) if s.kind is SymbolKind.CURRENT]
        there = [s for s in occurring(its) if s.kind is SymbolKind.CURRENT]
        require(len(own) == len(there), f"{symbol.name} depends on something else there")
        pairs = dict(zip(own, there, strict=True))
        same = replace(term, {**pairs}) == its
        require(same, f"{symbol.name} depends on something else there")
        for one, its_own in pairs.items():
            require(currents.setdefault(one, its_own) == its_own, f"{one.name} is two currents")
        for met in occurring(term):
            if met.kind is SymbolKind.VOLTAGE:
                points |= set(met.name.removeprefix("V(").removesuffix(")").split(","))
    return currents, points


def _check_same_current(circuit: Circuit, one: Symbol, other: Circuit, its: Symbol) -> None:
    """Some part with its own symbol must lie in both branches, the same way round.

    Where a gap lies in both, both currents are zero.
    """
    if _is_interrupted(circuit, one) and _is_interrupted(other, its):
        return
    own, there = _carried(circuit, one), _carried(other, its)
    still = any(branch.current == its for branch in other.idle)
    same = any(k in own and (still or own[k] == along) for k, along in there.items())
    require(same, f"{its.name} is another current than {one.name}")


def _is_interrupted(circuit: Circuit, flow: Symbol) -> bool:
    index, _ = _branch_of(circuit, flow)
    return any(is_gap(passage.element) for passage in circuit.all_branches[index].passages)


def _carried(circuit: Circuit, flow: Symbol) -> dict[Symbol, bool]:
    """Return the parts that carry a current, and whether it flows along each of them."""
    index, along = _branch_of(circuit, flow)
    branch: Branch = circuit.all_branches[index]
    names = {*branch.resistances, *(b.emf for b in branch.batteries)}
    names |= {p.element.source for p in branch.sources if isinstance(p.element, CurrentSource)}
    return {s: edge.along == along for s, edge in _edges(circuit) if s in names}


def _branch_of(circuit: Circuit, flow: Symbol) -> tuple[int, bool]:
    for walk in circuit.walks:
        if walk.current == flow:
            return walk.branch, walk.along
    for index, branch in enumerate(circuit.all_branches):
        if branch.current == flow:
            return index, True
    raise Refused(f"{flow.name} is no current")
