"""Values that are sought: what stands for them while the equations are solved.

With the currents unknown too, a sought resistance makes a product of two unknowns. The voltage
across it takes the place of that product, so that the equations stay linear; the resistance is
then this voltage divided by its current.
"""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.term import (
    Equation,
    Negative,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    negate,
    number,
    symbols,
    voltage_across,
)
from derive.analysis.relations import part_rule
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.derivation.algebra import Combine, Scaled
from derive.derivation.builder import Builder
from derive.derivation.laws import PartLaw, PartRule
from derive.derivation.step_id import StepId


class NoSuchValue(Exception):  # noqa: N818  (a finding about the circuit)
    """No resistance makes the given currents and voltages what they are, or every one does."""

    def __init__(
        self,
        symbol: Symbol,
        voltage: Fraction | None,
        current: Fraction | None,
        value: Fraction | None = None,
    ) -> None:
        """Keep the sought resistance, the voltage and the current it would have, and its value.

        The voltage is None in letters, and where a negative value is the cause.
        """
        super().__init__(symbol.name)
        self.symbol = symbol
        self.voltage = voltage
        self.current = current
        self.value = value


def sought_resistances(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the resistances whose values are sought."""
    return tuple(s for s in circuit.sought if s.kind is SymbolKind.RESISTANCE)


def sought_unknowns(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return what stands in the equations: sought emfs and source currents, and voltages."""
    return tuple(
        voltage_across(s.name) if s.kind is SymbolKind.RESISTANCE else s for s in circuit.sought
    )


def voltage_rule(circuit: Circuit, sought: Symbol) -> PartRule:
    """Return ``V(R4) = R4·I4``, by the current of the branch."""
    for branch in circuit.branches:
        for passage in branch.passages:
            element = passage.element
            if element.resistance != sought:
                continue
            if not isinstance(element, Battery):
                return part_rule(circuit, element.name, PartLaw.VOLTAGE)
            drop = Product((sought, branch.current))
            return PartRule(
                kind=PartLaw.VOLTAGE,
                part=sought.name,
                conclusion=Equation(voltage_across(sought.name), drop),
            )
    raise KeyError(sought.name)


def by_sought_voltages(circuit: Circuit, changes: Term) -> Term:
    """Return a sum of changes with voltages in place of the products of sought resistances."""
    for symbol in sought_resistances(circuit):
        rule = voltage_rule(circuit, symbol).conclusion
        changes = _replaced(changes, symbol, rule.left, isinstance(rule.right, Negative))
    return changes


class SoughtVoltages:
    """The voltages across sought resistances, put in for the products that they stand for."""

    def __init__(self, circuit: Circuit, builder: Builder) -> None:
        """State the law of each sought resistance."""
        self._builder = builder
        self.rules = {s: builder.add(voltage_rule(circuit, s)) for s in sought_resistances(circuit)}

    def put_in(self, law: StepId) -> StepId:
        """Return a law in which no sought resistance is left; the same one if there was none."""
        equation = self._builder.equation(law)
        met = {*symbols(equation.left), *symbols(equation.right)}
        held = [s for s in self.rules if s in met]
        if not held:
            return law
        parts = [Scaled(multiplier=number(1), premise=law)]
        left, right = equation.left, equation.right
        for symbol in held:
            rule = self._builder.equation(self.rules[symbol])
            # The rule is V = ±R·I; what is left of the law must lose its R·I.
            sign = _sign_of(left, symbol) or -_sign_of(right, symbol)
            turned = isinstance(rule.right, Negative)
            parts.append(
                Scaled(multiplier=number(-sign if turned else sign), premise=self.rules[symbol])
            )
            left, right = (_replaced(t, symbol, rule.left, turned) for t in (left, right))
        return self._builder.add(
            Combine(parts=tuple(parts), eliminated=tuple(held), conclusion=Equation(left, right))
        )


def _sign_of(term: Term, symbol: Symbol) -> int:
    """Return 1 or −1 as a sum holds a product with the symbol, and 0 where it holds none."""
    for item in term.terms if isinstance(term, Sum) else (term,):
        if symbol in set(symbols(item)):
            return -1 if isinstance(item, Negative) else 1
    return 0


def _replaced(term: Term, symbol: Symbol, voltage: Term, turned: bool) -> Term:
    """Put a voltage in for the product that holds a sought resistance."""
    if isinstance(term, Sum):
        return Sum(tuple(_replaced(item, symbol, voltage, turned) for item in term.terms))
    if symbol not in set(symbols(term)):
        return term
    own = negate(voltage) if turned else voltage
    return negate(own) if isinstance(term, Negative) else own
