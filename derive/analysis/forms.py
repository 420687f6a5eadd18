"""Currents and sources as sums of multiples of the unknowns.

Unknown are the chord currents that no source sets and the author does not give, and what is
sought. A dependent source is put in where it follows from these alone; where it depends on itself
it is kept as one more unknown, and what it depends on is one more equation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import Symbol, SymbolKind, Term, symbols
from derive.analysis.laws import path_rule, points_of_voltage
from derive.analysis.sought import by_sought_voltages, sought_unknowns
from derive.analysis.system import TreeChoice
from derive.circuit.elements import CurrentSource
from derive.circuit.model import Circuit
from derive.circuit.valuation import Tie


@dataclass(frozen=True, slots=True)
class Form:
    """Σ part · unknown + rest."""

    parts: Mapping[Symbol, Poly]
    rest: Poly

    def of(self, unknown: Symbol) -> Poly:
        """Return what an unknown is multiplied by."""
        return self.parts.get(unknown, self.rest.ring.zero)

    def plus(self, other: Form) -> Form:
        """Return the sum."""
        parts = dict(self.parts)
        for symbol, part in other.parts.items():
            parts[symbol] = parts[symbol] + part if symbol in parts else part
        return Form({s: p for s, p in parts.items() if p}, self.rest + other.rest)

    def times(self, factor: Poly | int | Fraction) -> Form:
        """Return a multiple."""
        parts = {s: p * factor for s, p in self.parts.items()}
        return Form({s: p for s, p in parts.items() if p}, self.rest * factor)


class _Waiting(Exception):  # noqa: N818  (the source is not known yet)
    pass


def control_voltages(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the voltages on which sources depend, in the order in which the values name them.

    Those that the author gives are not among them.
    """
    given = circuit.stated
    found: dict[Symbol, None] = {}
    for valuation in circuit.values:
        if isinstance(valuation.value, Tie):
            met = symbols(valuation.value.term)
            voltages = (s for s in met if s.kind is SymbolKind.VOLTAGE and s not in given)
            found.update(dict.fromkeys(voltages))
    return tuple(found)


class Forms:
    """Every current and every source of a circuit by the unknowns."""

    def __init__(
        self, circuit: Circuit, ring: Ring, images: Mapping[Symbol, Poly], tree: TreeChoice
    ) -> None:
        """Work out the dependent sources. Raises NoPath for a voltage that nothing fixes."""
        self._circuit = circuit
        self._ring = ring
        self._images = images
        self._tree = tree
        self._zero = Form({}, ring.zero)
        # Looked up again and again; the circuit searches its values and branches each time.
        self._sources = dict.fromkeys(circuit.dependent)
        self._places = {walk.current: (walk.branch, walk.along) for walk in circuit.walks}
        self._places |= {b.current: (k, True) for k, b in enumerate(circuit.branches)}
        self._given = {k: (walk.current, walk.along) for k, walk in circuit.given_currents.items()}
        self.sought = sought_unknowns(circuit)
        """What stands for the values that are sought."""
        self._dependent: dict[Symbol, Form] = {}
        self._voltages: dict[Symbol, Term] = {}
        for symbol in control_voltages(circuit):
            to, origin = points_of_voltage(symbol)
            changes = path_rule(circuit, origin, to).conclusion.right
            self._voltages[symbol] = by_sought_voltages(circuit, changes)
        kept: list[Symbol] = []
        waiting = list(self._sources)
        while waiting:
            later = []
            for symbol in waiting:
                try:
                    self._dependent[symbol] = self.of(self._tie(symbol))
                except _Waiting:
                    later.append(symbol)
            if len(later) == len(waiting):
                first = later.pop(0)
                kept.append(first)
                self._dependent[first] = self._alone(first)
            waiting = later
        self.kept = tuple(kept)
        """Dependent sources that are unknowns themselves."""
        chords = (circuit.branches[k].current for k in tree.unknown)
        self.unknowns: tuple[Symbol, ...] = (*chords, *kept, *self.sought)

    @property
    def dependent(self) -> Mapping[Symbol, Form]:
        """The dependent sources."""
        return self._dependent

    def branch(self, index: int) -> Form:
        """Return the current of a branch."""
        found = self._zero
        for chord, flow in zip(self._tree.chords, self._tree.flows[index], strict=True):
            if flow:
                found = found.plus(self._chord(chord).times(flow))
        return found

    def of(self, term: Term) -> Form:
        """Return a term that is linear in currents, voltages and sources."""
        moving = [s for s in dict.fromkeys(symbols(term)) if s not in self._images]
        ring = Ring((*moving, *(s for s in dict.fromkeys(symbols(term)) if s in self._images)))
        parts, rest = ring.poly(term).linear(moving)
        found = Form({}, rest.compose(self._images, self._ring))
        for symbol, part in zip(moving, parts, strict=True):
            if part:
                factor = part.compose(self._images, self._ring)
                found = found.plus(self._symbol(symbol).times(factor))
        return found

    def _symbol(self, symbol: Symbol) -> Form:
        if symbol in self._sources:
            if symbol not in self._dependent:
                raise _Waiting
            return self._dependent[symbol]
        if symbol in self.sought:
            return self._alone(symbol)
        if symbol in self._voltages:
            return self.of(self._voltages[symbol])
        if symbol in self._places:
            branch, along = self._places[symbol]
            return self.branch(branch).times(1 if along else -1)
        if any(walk.current == symbol for walk in self._circuit.idle):
            return self._zero
        raise KeyError(symbol.name)

    def _chord(self, chord: int) -> Form:
        branch = self._circuit.branches[chord]
        if chord in self._given:
            symbol, along = self._given[chord]
            return self.of(symbol).times(1 if along else -1)
        if chord not in self._tree.sources:
            return self._alone(branch.current)
        (passage,) = branch.sources
        assert isinstance(passage.element, CurrentSource)
        source = passage.element.source
        found = self._symbol(source) if source in self._sources else self.of(source)
        return found.times(1 if passage.along else -1)

    def _alone(self, symbol: Symbol) -> Form:
        return Form({symbol: self._ring.one}, self._ring.zero)

    def _tie(self, symbol: Symbol) -> Term:
        value = self._circuit.valuation(symbol)
        assert isinstance(value, Tie)
        return value.term
