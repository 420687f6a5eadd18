"""What the checked steps prove, in a form in which the sides of a page can be looked up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields, is_dataclass
from fractions import Fraction
from typing import Any

from derive.algebra.dimension import AMPERE
from derive.algebra.term import Equation, Negative, Quantity, Quotient, Symbol, SymbolKind, Term
from derive.circuit.appearance import EmfSymbol
from derive.circuit.question import AskReading
from derive.derivation.algebra import Define
from derive.derivation.course import RoundedCourse
from derive.derivation.laws import ChooseUnknowns, GivenValue
from derive.derivation.sense import Limit, SpecialCase, Toward
from derive.derivation.spread import Range
from derive.derivation.step import BySource, Conclude, Derivation, IdealReading
from tests.page import names
from tests.page.worth import PLACES, Print, Worth, value_of


def everything(value: object, kind: type) -> Iterator[Any]:
    """Yield all that is of a kind within dataclasses and tuples."""
    if isinstance(value, kind):
        yield value
    if is_dataclass(value) and not isinstance(value, type):
        for item in fields(value):
            yield from everything(getattr(value, item.name), kind)
    elif isinstance(value, tuple):
        for item in value:
            yield from everything(item, kind)


@dataclass
class Known:
    """What the derivations prove, by prints."""

    emf: EmfSymbol
    equations: set[tuple[Print, Print]] = field(default_factory=set)
    courses: set[tuple[Print, Print]] = field(default_factory=set)
    """Courses in time with rounded numbers."""
    values: dict[Print, list[Worth]] = field(default_factory=dict)
    """Exact values by what they are the values of."""
    limits: set[tuple[Print, Print, str, str]] = field(default_factory=set)
    """A symbol, what it tends to, the letter that goes to 0 or ∞, and that."""
    cases: list[tuple[Print, Print, frozenset[frozenset[Print]]]] = field(default_factory=list)
    numerators: dict[Print, set[Print]] = field(default_factory=dict)
    """What stands above the line in the formulas of a symbol."""
    counts: set[tuple[str, int]] = field(default_factory=set)
    """Branches ``b`` and junctions ``n``."""
    ranges: set[tuple[Print, Fraction, Fraction]] = field(default_factory=set)
    """A symbol, what it is at least and at most, as printed."""
    numbers: set[tuple[Fraction, tuple[int, int, int]]] = field(default_factory=set)
    """All exact values, without their signs."""
    elsewhere: set[Print] = field(default_factory=set)
    """Voltages and sources that have another value in the circuit with a test source, and names
    that stand for something else in the other state of a switch."""
    defined: dict[Print, Term] = field(default_factory=dict)
    """What each name stands for."""
    loose: set[Fraction] = field(default_factory=set)
    """Numbers of the steps that have no dimension of their own."""

    def add(self, derivation: Derivation) -> None:
        """Take the steps of a derivation, and those of the derivations within."""
        for step in derivation.steps:
            conclusion = getattr(step, "conclusion", None)
            if isinstance(step, Define):
                name = self.print(step.symbol)
                if self.defined.setdefault(name, step.conclusion.right) != step.conclusion.right:
                    self.elsewhere.add(name)
            if isinstance(step, RoundedCourse):
                self.courses.add(self._both(step.conclusion))
            elif isinstance(conclusion, Equation):
                self.equation(conclusion)
            if isinstance(step, Limit) and step.limit is not None:
                left = derivation.equation(step.premise).left
                to = "∞" if step.to is Toward.INFINITY else "0"
                one, other = self.print(left), self.print(step.limit)
                self.limits.add((one, other, names.symbol(step.letter, self.emf), to))
            if isinstance(step, SpecialCase):
                left = derivation.equation(step.premise).left
                assumed = frozenset(frozenset(self._both(e)) for e in step.assumptions)
                self.cases.append((self.print(left), self.print(step.result), assumed))
            if isinstance(step, ChooseUnknowns):
                self.counts |= {("b", step.branches), ("n", step.junctions)}
            if isinstance(step, Range):
                ends = step.low.shown, step.high.shown
                self.ranges.add((self.print(step.symbol), *ends))
            inner = getattr(step, "derivation", None)
            if isinstance(inner, Derivation):
                self.add(inner)
                if isinstance(step, IdealReading):
                    self._ideal(step, inner)
            if isinstance(step, BySource):
                self._by_source(step)
            for number in _fractions(step):
                self.loose.add(abs(number))

    def _ideal(self, step: IdealReading, inner: Derivation) -> None:
        """What is concluded of an ideal meter holds under the name that its reading has here."""
        read = {
            s.symbol
            for s in inner.steps
            if isinstance(s, Conclude) and s.question == AskReading(step.part)
        }
        for other in inner.steps:
            conclusion = getattr(other, "conclusion", None)
            if isinstance(conclusion, Equation) and conclusion.left in read:
                self.equation(Equation(step.conclusion.left, conclusion.right))

    def _by_source(self, step: BySource) -> None:
        """A resistance is the voltage of its test source over the current of that, which is 1 A."""
        steps = step.derivation.steps
        for other in steps:
            conclusion = getattr(other, "conclusion", None)
            if isinstance(conclusion, Equation) and isinstance(conclusion.left, Symbol):
                if conclusion.left.kind is not SymbolKind.RESISTANCE:
                    self.elsewhere.add(self.print(conclusion.left))
        tests = [
            s.symbol
            for s in steps
            if isinstance(s, GivenValue)
            and s.symbol.kind is SymbolKind.SOURCE_CURRENT
            and s.conclusion.right == Quantity(Fraction(1), AMPERE)
        ]
        for answer in steps:
            if isinstance(answer, Conclude) and answer.symbol.kind is SymbolKind.VOLTAGE:
                for source in tests:
                    quotient = Quotient(answer.symbol, source)
                    self.equation(Equation(step.conclusion.left, quotient))

    def equation(self, equation: Equation) -> None:
        """Take one equation."""
        left, right = self._both(equation)
        self.equations.add((left, right))
        above = _numerator(equation.right)
        if above is not None:
            self.numerators.setdefault(left, set()).add(self.print(above))
        exact = value_of(equation.right)
        if exact is not None:
            self.values.setdefault(left, []).append(exact)
            self.numbers.add((abs(exact.value), exact.dimension))

    def print(self, term: Term) -> Print:
        """Return what a term is worth at both places."""
        one, other = (place.term(term, self.emf) for place in PLACES)
        return one, other

    def _both(self, equation: Equation) -> tuple[Print, Print]:
        return self.print(equation.left), self.print(equation.right)


def _numerator(term: Term) -> Term | None:
    match term:
        case Quotient(above, _):
            return above
        case Negative(Quotient(above, _)):
            return Negative(above)
    return None


def _fractions(step: object) -> Iterator[Fraction]:
    for name in fields(step):  # type: ignore[arg-type]
        value = getattr(step, name.name)
        if not isinstance(value, Derivation | Equation):
            yield from everything(value, Fraction)
