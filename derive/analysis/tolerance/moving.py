"""The currents of a circuit as fractions in the quantities that have a tolerance, and no others.

All other values are put in first, so the polynomials stay short whatever the method of the solution
is. Loop currents (Maxwell 1873) with fraction-free elimination (E. H. Bareiss, 1968).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from derive.algebra.polynomial import NotPolynomial, Poly, Ring
from derive.algebra.term import (
    Negative,
    Number,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
)
from derive.circuit.elements import CurrentSource
from derive.circuit.model import Circuit, Passage
from derive.circuit.solvability import branch_emfs
from derive.circuit.topology import Forest, fundamental_loops, graph_of, spanning_forest
from derive.circuit.valuation import Given
from derive.circuit.values import Values
from derive.derivation.spread import Unbounded


class Unsettled(Exception):  # noqa: N818  (a finding about the circuit)
    """No range can be stated; the reason says why."""

    def __init__(self, reason: Unbounded) -> None:
        """Keep the reason."""
        super().__init__(reason.value)
        self.reason = reason


def toleranced(circuit: Circuit) -> dict[Symbol, Given]:
    """Return the quantities whose values have a tolerance, in file order."""
    return {
        v.symbol: v.value
        for v in circuit.values
        if isinstance(v.value, Given) and v.value.tolerance and v.value.value
    }


@dataclass(frozen=True)
class Moving:
    """The circuit while some of its values move."""

    ring: Ring
    """Of the letters with a tolerance, in file order."""
    nominal: Mapping[Symbol, Fraction]
    ends: Mapping[Symbol, tuple[Fraction, Fraction]]
    """The least and the greatest value of each."""
    values: Values
    """Of the circuit without the values that move."""
    determinant: Poly
    currents: Mapping[Symbol, Poly]
    """Numerators of the currents of branches and walks, over the determinant."""
    laws: Mapping[Symbol, Term]
    """What the laws of parts and paths say of further quantities."""

    def fraction(self, term: Term) -> tuple[Poly, int]:
        """Return a law as a numerator and the power of the determinant below it."""
        match term:
            case Number(value) | Quantity(value, _):
                return self.ring.constant(value), 0
            case Symbol() if term in self.currents:
                return self.currents[term], 1
            case Symbol() if term in self.laws:
                return self.fraction(self.laws[term])
            case Symbol():
                return poly_of(self.ring, self.values.actual(term)), 0
            case Negative(inner):
                above, power = self.fraction(inner)
                return -above, power
            case Sum(terms):
                parts = [self.fraction(item) for item in terms]
                most = max(power for _, power in parts)
                above = self.ring.zero
                for part, power in parts:
                    above = above + part * self.determinant ** (most - power)
                return above, most
            case Product(factors):
                above, most = self.ring.one, 0
                for factor in factors:
                    part, power = self.fraction(factor)
                    above, most = above * part, most + power
                return above, most
            case Power(base, exponent):
                above, power = self.fraction(base)
                return above**exponent, power * exponent
            case Quotient(numerator, denominator):
                above, power = self.fraction(numerator)
                return above / self.number(denominator), power
            case _:
                raise Unsettled(Unbounded.BENDS)

    def number(self, term: Term) -> Fraction:
        """Return a divisor that does not move. Raises Unsettled."""
        below, over = self.fraction(term)
        if over or not below.is_constant or not below:
            raise Unsettled(Unbounded.BENDS)
        return below.constant_value

    @cached_property
    def determinant_at(self) -> Fraction:
        """The determinant at the nominal values."""
        return self.determinant.evaluate(self.nominal)

    def slope(self, above: Poly, power: int, letter: Symbol) -> Fraction:
        """Return the partial derivative of ``above/determinant**power`` at the nominal values."""
        below, value = self.determinant_at, above.evaluate(self.nominal)
        rise, under = self._rise(above, letter), self._rise(self.determinant, letter)
        return (rise * below - power * value * under) / below ** (power + 1)

    def _rise(self, poly: Poly, letter: Symbol) -> Fraction:
        rest = {s: v for s, v in self.nominal.items() if s != letter}
        found, at = Fraction(0), self.nominal[letter]
        for exponent, part in enumerate(poly.put(rest).collect(letter)):
            if exponent:
                found += exponent * part.constant_value * at ** (exponent - 1)
        return found


def poly_of(ring: Ring, term: Term) -> Poly:
    """Return a value tied to what moves as a polynomial. Raises Unsettled."""
    try:
        return ring.poly(term)
    except NotPolynomial:
        raise Unsettled(Unbounded.BENDS) from None


def moving(circuit: Circuit, laws: Mapping[Symbol, Term]) -> Moving:
    """Solve a circuit in the letters of its values that have a tolerance. Raises Unsettled."""
    if any(len(branch.sources) > 1 for branch in circuit.branches):
        raise Unsettled(Unbounded.OPEN)
    given = toleranced(circuit)
    ring = Ring(tuple(given))
    still = tuple(v for v in circuit.values if v.symbol not in given)
    values = Values(replace(circuit, values=still))
    nominal = {symbol: value.value for symbol, value in given.items()}
    determinant, branches = _branch_currents(circuit, ring, values)
    currents = {b.current: n for b, n in zip(circuit.branches, branches, strict=True)}
    currents |= {
        walk.current: branches[walk.branch] if walk.along else -branches[walk.branch]
        for walk in circuit.walks
    }
    currents |= {branch.current: ring.zero for branch in circuit.idle}
    return Moving(ring, nominal, ends_of(given), values, determinant, currents, laws)


def ends_of(given: Mapping[Symbol, Given]) -> dict[Symbol, tuple[Fraction, Fraction]]:
    """Return the least and the greatest value of each quantity."""
    found = {}
    for symbol, known in given.items():
        reach = abs(known.value) * (known.tolerance or 0)
        found[symbol] = known.value - reach, known.value + reach
    return found


def spread(circuit: Circuit) -> dict[Symbol, int]:
    """Return in how many places each quantity with a tolerance stands, ties followed.

    All emfs and source currents count as one place, all resistances of a branch as one.
    """
    given = toleranced(circuit)
    still = tuple(v for v in circuit.values if v.symbol not in given)
    values = Values(replace(circuit, values=still))
    places: list[list[Symbol]] = [list(branch.resistances) for branch in circuit.branches]
    driving = [battery.emf for branch in circuit.branches for battery in branch.batteries]
    driving += [_source(p) for branch in circuit.branches for p in branch.sources]
    places.append(driving)
    ring = Ring(tuple(given))
    found = dict.fromkeys(given, 0)
    for place in places:
        polys = [poly_of(ring, values.actual(symbol)) for symbol in place]
        for letter in given:
            found[letter] += max((poly.degree(letter) for poly in polys if poly), default=0)
    return found


def _source(passage: Passage) -> Symbol:
    assert isinstance(passage.element, CurrentSource)
    return passage.element.source


def _branch_currents(circuit: Circuit, ring: Ring, values: Values) -> tuple[Poly, list[Poly]]:
    """Return the determinant and the numerators of the branch currents over it."""
    resistances, emfs = [], []
    for number, branch in enumerate(circuit.branches):
        ohms = ring.zero
        for symbol in branch.resistances:
            ohms = ohms + poly_of(ring, values.actual(symbol))
        resistances.append(ohms)
        volts = ring.zero
        for symbol, along in branch_emfs(circuit, number):
            one = poly_of(ring, values.actual(symbol))
            volts = volts + one if along else volts - one
        emfs.append(volts)
    graph = graph_of(circuit)
    forest = spanning_forest(graph)
    own = _source_flows(circuit, forest, ring, values)
    loops = fundamental_loops(graph, forest)
    rows = [[ring.zero] * (len(loops) + 1) for _ in loops]
    users: list[list[tuple[int, int]]] = [[] for _ in circuit.branches]
    for number, hops in enumerate(loops):
        for hop in hops:
            sign = 1 if hop.along else -1
            users[hop.branch].append((number, sign))
            driven = emfs[hop.branch] - resistances[hop.branch] * own[hop.branch]
            rows[number][-1] = rows[number][-1] + driven * sign
    for used, ohms in zip(users, resistances, strict=True):
        for i, sign in used:
            for j, other in used:
                rows[i][j] = rows[i][j] + ohms * (sign * other)
    determinant, flows = eliminate(rows, ring)
    branches = []
    for used, flow in zip(users, own, strict=True):
        above = flow * determinant
        for i, sign in used:
            above = above + flows[i] * sign
        branches.append(above)
    return determinant, branches


def _source_flows(circuit: Circuit, forest: Forest, ring: Ring, values: Values) -> list[Poly]:
    """Return, for each branch, what the current sources alone drive through the forest."""
    flows = [ring.zero] * len(circuit.branches)
    place = {node.name: number for number, node in enumerate(circuit.nodes)}
    for number, branch in enumerate(circuit.branches):
        for passage in branch.sources:
            value = poly_of(ring, values.actual(_source(passage)))
            flow = value if passage.along else -value
            flows[number] = flows[number] + flow
            for hop in forest.path(place[branch.head], place[branch.tail]):
                flows[hop.branch] = flows[hop.branch] + (flow if hop.along else -flow)
    return flows


def eliminate(rows: list[list[Poly]], ring: Ring) -> tuple[Poly, list[Poly]]:
    """Return the determinant of a system, and its unknowns times that determinant.

    Each row ends with its right side; the rows are used up. Raises Unsettled where the determinant
    is zero.
    """
    size, last = len(rows), ring.one
    for k in range(size):
        pivot = next((i for i in range(k, size) if rows[i][k]), None)
        if pivot is None:
            raise Unsettled(Unbounded.OPEN)
        if pivot != k:
            rows[k], rows[pivot] = rows[pivot], rows[k]
        for i in range(k + 1, size):
            for j in range(k + 1, size + 1):
                rows[i][j] = (rows[i][j] * rows[k][k] - rows[i][k] * rows[k][j]) / last
        last = rows[k][k]
    found = [ring.zero] * size
    for k in reversed(range(size)):
        above = rows[k][-1] * last
        for j in range(k + 1, size):
            above = above - rows[k][j] * found[j]
        found[k] = above / rows[k][k]
    # Both carry the sign of the exchanged rows, which cancels in the fractions.
    return last, found


__all__ = ["Moving", "Unsettled", "ends_of", "moving", "spread", "toleranced"]
