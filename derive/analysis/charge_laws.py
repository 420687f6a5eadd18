"""The laws of a cluster of capacitors, and whatever follows from them as one step.

The charges on each island add up to zero, a charge is capacitance times voltage, and round a loop
the voltages add up to zero. The voltages across a tree of capacitors, one for each island, are the
unknowns; those across the others, the links, follow from the loop rule. What is left is a linear
system, one charge rule for each island. Its determinant is, like that of the conductances of a
network, a sum over trees of products of capacitances with plus signs only (Kirchhoff 1847).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from derive.algebra.dimension import COULOMB, FARAD, VOLT, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.linear import determinant
from derive.algebra.name import natural_key
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Sum,
    Symbol,
    Term,
    capacitance,
    constant,
    negate,
    quotient,
    symbols,
    total,
    voltage_across,
)
from derive.algebra.term import replace as put_in
from derive.analysis.laws import NoPath, charge_on, passage_crossings, shortest_way
from derive.analysis.relations import part_rule
from derive.circuit.elements import Battery, CurrentSource, is_gap
from derive.circuit.islands import Cluster, Plates, joined
from derive.circuit.model import Circuit, Passage
from derive.circuit.stations import Station, stations
from derive.derivation.algebra import Combine, Scaled
from derive.derivation.builder import Builder
from derive.derivation.laws import AcrossRule, ChargeRule, Crossing, PartLaw
from derive.derivation.step_id import StepId

Ratio = tuple[Poly, Poly]
"""Numerator and denominator."""


@dataclass(frozen=True, slots=True)
class Link:
    """A capacitor whose voltage the loop rule gives by those across the tree."""

    plates: Plates
    step: StepId
    signs: Mapping[Symbol, int]
    """Of the tree voltages in it."""
    source: Term
    """What all other parts on the way contribute; without capacitors."""


class Laws:
    """The laws of a cluster, stated as steps, and the system they make."""

    def __init__(
        self,
        circuit: Circuit,
        cluster: Cluster,
        builder: Builder,
        numbers: Mapping[str, Fraction] | None = None,
        given: tuple[StepId, ...] = (),
    ) -> None:
        """State the laws. Raises NoPath where a voltage between two places is not fixed.

        With `numbers`, which the steps `given` state, they take the place of all capacitances.
        """
        self.cluster = cluster
        self._numbers = numbers
        self.given = given
        self.builder = builder
        self._circuit = circuit
        self._ways: dict[tuple[Station, Station], tuple[Crossing, ...]] = {}
        self.levels = joined(circuit, lambda passage: _is_level(circuit, passage))
        self.rules = tuple(
            builder.add(_charge_rule(cluster, k)) for k in range(1, len(cluster.regions))
        )
        self.parts = {
            plates.capacitor: builder.add(part_rule(circuit, plates.capacitor, PartLaw.CHARGE))
            for plates in cluster.capacitors
        }
        self._reached = _tree(cluster)
        tree = {step.plates.capacitor for step in self._reached.values()}
        self.tree = tuple(p for p in cluster.capacitors if p.capacitor in tree)
        self.links = tuple(
            self._link(plates) for plates in cluster.capacitors if plates.capacitor not in tree
        )

    @property
    def own(self) -> tuple[int, ...]:
        """For each charge rule which capacitor of the tree leads to its island."""
        ways = (self._reached[region] for region in range(1, len(self.cluster.regions)))
        return tuple(self.tree.index(step.plates) for step in ways)

    # --- the loop rule --------------------------------------------------------------------------

    def _link(self, plates: Plates) -> Link:
        rows: tuple[Crossing, ...] = ()
        here = plates.leave
        signs: dict[Symbol, int] = {}
        for step in self._tree_way(plates):
            door, beyond = step.plates.enter, step.plates.leave
            if not step.along:
                door, beyond = beyond, door
            rows += (*self._way(plates.capacitor, here, door), step.row)
            signs[voltage_across(step.plates.capacitor)] = -1 if step.along else 1
            here = beyond
        rows += self._way(plates.capacitor, here, plates.enter)
        changes = tuple(row.change for row in rows if row.change != ZERO)
        own = tuple(c for c in changes if not {*signs} & {*symbols(c)})
        rule = AcrossRule(
            part=plates.capacitor,
            crossings=rows,
            conclusion=Equation(voltage_across(plates.capacitor), total(changes)),
        )
        return Link(plates, self.builder.add(rule), signs, total(own))

    def _tree_way(self, plates: Plates) -> list[_Step]:
        """Return the capacitors of the tree between the two regions of another one."""
        here, goal = (self.cluster.region_of(end) for end in (plates.leave, plates.enter))
        ups, downs = self._to_root(here), self._to_root(goal)
        while ups and downs and ups[-1] == downs[-1]:
            ups.pop()
            downs.pop()
        return [step.back for step in ups] + downs[::-1]

    def _to_root(self, region: int) -> list[_Step]:
        steps = []
        while region:
            step = self._reached[region]
            steps.append(step)
            region = step.origin
        return steps

    def _way(self, part: str, start: Station, goal: Station) -> tuple[Crossing, ...]:
        """Return the same way between two places of a region each time, back and forth."""
        if (start, goal) not in self._ways:
            if self.levels[start] == self.levels[goal]:
                rows = _level_way(self._circuit, start, goal)
            else:
                rows = shortest_way(self._circuit, start, goal, NoPath(part, ()))
            self._ways[start, goal] = rows
            self._ways[goal, start] = tuple(_reversed(row) for row in reversed(rows))
        return self._ways[start, goal]

    # --- the system -----------------------------------------------------------------------------

    @cached_property
    def letters(self) -> Ring:
        """The capacitances that are letters."""
        if self._numbers is not None:
            return Ring(())
        names = sorted((p.capacitor for p in self.cluster.capacitors), key=natural_key)
        return Ring(tuple(capacitance(name) for name in names))

    def letter(self, name: str, ring: Ring) -> Poly:
        """Return a capacitance."""
        if self._numbers is not None:
            return ring.constant(self._numbers[name])
        return ring.symbol(capacitance(name))

    def term(self, capacity: Poly) -> Term:
        """Return a sum of capacitances with one minus sign in front if all of it has one."""
        if self._numbers is not None:
            return constant(capacity.constant_value, FARAD)
        negative = capacity.leading < 0
        return Negative(self.letters.term(-capacity)) if negative else self.letters.term(capacity)

    @cached_property
    def matrix(self) -> tuple[tuple[Poly, ...], ...]:
        """What multiplies each tree voltage in each charge rule."""
        return tuple(
            tuple(self._entry(rule, voltage_across(p.capacitor)) for p in self.tree)
            for rule in self.rules
        )

    def _entry(self, rule: StepId, voltage: Symbol) -> Poly:
        found = self.letters.zero
        for name, sign in self.signs(rule).items():
            if voltage_across(name) == voltage:
                found = found + self.letter(name, self.letters) * sign
            for link in self.links:
                if link.plates.capacitor == name and voltage in link.signs:
                    part = self.letter(name, self.letters) * sign
                    found = found + part * link.signs[voltage]
        return found

    def signs(self, rule: StepId) -> dict[str, int]:
        """Return the sign of each charge in left − right of a charge rule."""
        step = self.builder.step(rule)
        assert isinstance(step, ChargeRule)
        names = {charge_on(p.capacitor): p.capacitor for p in self.cluster.capacitors}
        out = -1 if step.leads_in else 1
        found = {names[symbol]: 1 for symbol in step.leads_in}
        return found | {names[symbol]: out for symbol in step.leads_out}

    @cached_property
    def cofactors(self) -> tuple[tuple[Poly, ...], ...]:
        """The cofactor of each entry of the matrix."""
        size = range(len(self.rules))
        return tuple(
            tuple(
                laplace(
                    [[self.matrix[r][c] for c in size if c != t] for r in size if r != k],
                    self.letters,
                )
                * (-1 if (k + t) % 2 else 1)
                for t in size
            )
            for k in size
        )

    @cached_property
    def determinant(self) -> Poly:
        """The determinant of the matrix; its products have one sign."""
        found = self.letters.zero
        for entry, cofactor in zip(self.matrix[0], self.cofactors[0], strict=True):
            found = found + entry * cofactor
        return found

    # --- proofs ---------------------------------------------------------------------------------

    def conclude(self, conclusion: Equation, defined: Mapping[Symbol, StepId]) -> StepId:
        """Add an equation that is linear in charges and voltages and follows from the laws.

        `defined` are the `Define` steps of names that may stand in it.
        """
        used = self._used(conclusion, defined)
        terms = {s: self.builder.equation(k).right for s, k in used.items()}
        difference: Term = Sum((conclusion.left, Negative(conclusion.right)))
        for symbol in reversed(used):
            difference = put_in(difference, {symbol: terms[symbol]})
        if self._numbers is not None:
            sizes = {capacitance(n): constant(v, FARAD) for n, v in self._numbers.items()}
            difference = put_in(difference, sizes)
        parts = tuple(
            Scaled(multiplier=self._term(multiplier, conclusion, premise), premise=premise)
            for premise, multiplier in self._multipliers(difference).items()
            if multiplier[0]
        )
        return self.builder.add(
            Combine(
                parts=parts,
                eliminated=(),
                rewriting=(*used.values(), *self.given),
                conclusion=conclusion,
            )
        )

    def _term(self, ratio: Ratio, conclusion: Equation, premise: StepId) -> Term:
        above, below = ratio
        ring = above.ring
        if self._numbers is not None:
            sides = conclusion.left, self._unit(premise)
            assert isinstance(sides[0], Symbol)
            value = above.constant_value / below.constant_value
            return constant(value, sides[0].dimension / sides[1])
        if below.is_constant:
            return ring.term(above * (1 / below.constant_value))
        return quotient(ring.term(above), ring.term(below))

    def _unit(self, premise: StepId) -> Dimension:
        """Return the dimension of a law."""
        return VOLT if any(premise == link.step for link in self.links) else COULOMB

    def _used(self, conclusion: Equation, defined: Mapping[Symbol, StepId]) -> dict[Symbol, StepId]:
        """Return the definitions of the names in an equation, each after those it rests on."""
        met: dict[Symbol, None] = {}
        waiting = [*symbols(conclusion.left), *symbols(conclusion.right)]
        while waiting:
            symbol = waiting.pop()
            if symbol in defined and symbol not in met:
                met[symbol] = None
                waiting += symbols(self.builder.equation(defined[symbol]).right)
        return {s: k for s, k in sorted(defined.items(), key=lambda item: item[1]) if s in met}

    def _multipliers(self, difference: Term) -> dict[StepId, Ratio]:
        """Return what each law is multiplied by to make left − right of a conclusion.

        `difference` holds letters, charges and voltages only. First the charge rules, by Cramer's
        rule in the tree voltages; then what they leave of each charge, then of each link.
        """
        capacitors = [p.capacitor for p in self.cluster.capacitors]
        laws = [Sum((c, v)) for c, v in ((charge_on(n), voltage_across(n)) for n in capacitors)]
        ring = Ring(
            tuple(dict.fromkeys((*self.letters.symbols, *(s for t in (*laws, difference)
                                                            for s in symbols(t)))))
        )  # fmt: skip
        above, below = ring.fraction(difference)
        unknown = [*map(charge_on, capacitors), *map(voltage_across, capacitors)]
        found, _ = above.linear(unknown)
        share = {s: cancel(part, below) for s, part in zip(unknown, found, strict=True) if part}
        nothing = ring.zero, ring.one

        def of(symbol: Symbol) -> Ratio:
            return share.get(symbol, nothing)

        def letter(name: str) -> Ratio:
            return self.letter(name, ring), ring.one

        def wide(poly: Poly) -> Poly:
            return poly.compose({}, ring)

        in_tree: dict[Symbol, Ratio] = {}
        held = {n: _plus(of(voltage_across(n)), _times(of(charge_on(n)), letter(n)))
                for n in capacitors}  # fmt: skip
        for plates in self.tree:
            voltage = voltage_across(plates.capacitor)
            value = held[plates.capacitor]
            for link in self.links:
                if voltage in link.signs:
                    sign = ring.constant(link.signs[voltage]), ring.one
                    value = _plus(value, _times(held[link.plates.capacitor], sign))
            in_tree[voltage] = value
        multipliers: dict[StepId, Ratio] = {}
        for k, rule in enumerate(self.rules):
            value = nothing
            for (_, wanted), cofactor in zip(in_tree.items(), self.cofactors[k], strict=True):
                part = wide(cofactor), wide(self.determinant)
                value = _plus(value, _times(wanted, part))
            multipliers[rule] = value
        for name in capacitors:
            value = of(charge_on(name))
            for rule in self.rules:
                sign = ring.constant(-self.signs(rule).get(name, 0)), ring.one
                value = _plus(value, _times(multipliers[rule], sign))
            multipliers[self.parts[name]] = value
        for link in self.links:
            name = link.plates.capacitor
            charge = _times(multipliers[self.parts[name]], letter(name))
            multipliers[link.step] = _plus(of(voltage_across(name)), charge)
        return multipliers


@dataclass(frozen=True, slots=True)
class _Step:
    """A capacitor of the tree, passed on the way from one region to another."""

    plates: Plates
    along: bool
    origin: int
    """The region from which it is passed."""

    @property
    def back(self) -> _Step:
        """The same way back, for rows alone."""
        return replace(self, along=not self.along)

    @property
    def row(self) -> Crossing:
        """The change of potential there."""
        across = voltage_across(self.plates.capacitor)
        return Crossing(
            part=self.plates.capacitor,
            quantity=capacitance(self.plates.capacitor),
            current=None,
            along=self.along,
            change=Negative(across) if self.along else across,
        )


def _tree(cluster: Cluster) -> dict[int, _Step]:
    """Return for each region but the first the capacitor by which it is reached from there."""
    reached: dict[int, _Step] = {}
    waiting = [0]
    for region in waiting:
        for plates in cluster.capacitors:
            ends = cluster.region_of(plates.enter), cluster.region_of(plates.leave)
            for along, (origin, other) in ((True, ends), (False, ends[::-1])):
                if origin == region and other and other not in reached:
                    reached[other] = _Step(plates, along, origin)
                    waiting.append(other)
    return reached


def products_of(cluster: Cluster) -> int:
    """Return how many products the determinant has, by the matrix-tree theorem."""
    size = len(cluster.regions)
    matrix = [[0] * size for _ in range(size)]
    for plates in cluster.capacitors:
        a, b = cluster.region_of(plates.enter), cluster.region_of(plates.leave)
        for one, other in ((a, b), (b, a)):
            matrix[one][one] += 1
            matrix[one][other] -= 1
    return determinant([row[1:] for row in matrix[1:]])


def _charge_rule(cluster: Cluster, region: int) -> ChargeRule:
    leads_in = tuple(
        charge_on(p.capacitor) for p in cluster.capacitors if cluster.region_of(p.leave) == region
    )
    leads_out = tuple(
        charge_on(p.capacitor) for p in cluster.capacitors if cluster.region_of(p.enter) == region
    )
    conclusion = Equation(total(leads_in), total(leads_out))
    if not leads_in:
        # A reader expects the sum on the left and the zero on the right.
        conclusion = Equation(total(leads_out), ZERO)
    return ChargeRule(
        points=cluster.regions[region].points,
        leads_in=leads_in,
        leads_out=leads_out,
        conclusion=conclusion,
    )


def _is_level(circuit: Circuit, passage: Passage) -> bool:
    """Tell whether both ends of a part are at one potential whatever the values are."""
    element = passage.element
    if is_gap(element) or isinstance(element, Battery | CurrentSource):
        return False
    still = any(element == p.element for branch in circuit.idle for p in branch.passages)
    return still or element.resistance is None


def _level_way(circuit: Circuit, start: Station, goal: Station) -> tuple[Crossing, ...]:
    """Return a way past nothing but parts without a voltage."""
    steps: dict[Station, list[tuple[Station, tuple[Crossing, ...]]]] = {}
    for index, branch in enumerate(circuit.all_branches):
        places = stations(circuit, index)
        if not branch.passages:
            steps.setdefault(places[0], []).append((places[1], ()))
            steps.setdefault(places[1], []).append((places[0], ()))
        for k, passage in enumerate(branch.passages):
            if _is_level(circuit, passage):
                for one, other, along in ((k, k + 1, True), (k + 1, k, False)):
                    rows = passage_crossings(passage, None, along)
                    steps.setdefault(places[one], []).append((places[other], rows))
    ways: dict[Station, tuple[Crossing, ...]] = {start: ()}
    waiting = [start]
    for place in waiting:
        for there, rows in steps.get(place, []):
            if there not in ways:
                ways[there] = ways[place] + rows
                waiting.append(there)
    return ways[goal]


def _reversed(row: Crossing) -> Crossing:
    change = ZERO if row.change == ZERO else negate(row.change)
    return replace(row, along=not row.along, change=change)


def _plus(one: Ratio, other: Ratio) -> Ratio:
    if not one[0]:
        return other
    return cancel(one[0] * other[1] + other[0] * one[1], one[1] * other[1])


def _times(one: Ratio, other: Ratio) -> Ratio:
    return cancel(one[0] * other[0], one[1] * other[1])
