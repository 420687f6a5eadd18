"""The loading error of a meter: its reading against that of an ideal meter in its place."""

from __future__ import annotations

from dataclasses import dataclass, field

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.polynomial import Ring, cancel
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    Term,
    auxiliary,
    negate,
    quotient,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.algebra.unit import Unit
from derive.analysis.conclude import formula_of, rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.expressions import by_battery
from derive.analysis.letters import letters_dimension
from derive.analysis.relations import part_rule
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents
from derive.circuit.elements import Instrument, Meter
from derive.circuit.model import Circuit
from derive.circuit.question import AskLoadingError, AskReading
from derive.derivation.algebra import BackSubstitute, Define
from derive.derivation.builder import Builder
from derive.derivation.exchanges import PutBack
from derive.derivation.further import LoadingError, MeterError
from derive.derivation.goal import Goal
from derive.derivation.laws import PartLaw
from derive.derivation.step import Conclude, Derivation, IdealReading
from derive.derivation.step_id import StepId

_MOST_WORK = 2000
"""Products in numerator times denominator of a fraction that is still brought to lowest terms."""
_MOST_LETTERS = 9
"""Letters of such a fraction; with more of them it cannot be read, and takes long to find."""


def answer_loading_error(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: AskLoadingError,
    without: Derivation,
    digits: int,
) -> None:
    """Answer by the law of the reading and by the derivation with an ideal meter."""
    builder.begin(Goal.LOADING)
    part = question.part
    work = _Work(circuit, found, known, builder)
    element = circuit.element(part)
    assert isinstance(element, Instrument)
    ammeter = element.meter is Meter.AMMETER
    rule = part_rule(circuit, part, PartLaw.CURRENT if ammeter else PartLaw.VOLTAGE)
    reading = rule.conclusion.left
    assert isinstance(reading, Symbol)
    law = builder.add(rule)
    few = len(found.letters.ring.symbols) <= _MOST_LETTERS
    if found.formulas and (few or not found.numeric):
        work.formulas[reading] = formula_of(found, builder, law)
    if found.numeric:
        work.values[reading] = put_values(known, builder, law)
        rounded_value(builder, work.values[reading], digits)
    ideal = Symbol(f"{reading.name[0]}ideal({part})", reading.kind, reading.dimension)
    answered = _answer_of(without, part)
    for cited, told in ((answered.formula, work.formulas), (answered.value, work.values)):
        if cited is None or (not found.numeric if told is work.values else not work.formulas):
            continue
        term = work.written(without, cited, answered.symbol.dimension)
        conclusion = Equation(ideal, term)
        step = IdealReading(part=part, derivation=without, conclusion=conclusion)
        told[ideal] = builder.add(step)
    if not found.numeric:
        work.put_in(ideal)
    absolute = Symbol(f"e({part})", reading.kind, reading.dimension)
    relative = auxiliary(f"δ({part})", NUMBER)
    asked = [ideal, absolute]
    work.tell(MeterError.ABSOLUTE, part, Equation(absolute, Sum((reading, Negative(ideal)))))
    if not _is_zero(term):  # there is no share of nothing
        work.tell(MeterError.RELATIVE, part, Equation(relative, Quotient(absolute, ideal)))
        asked.append(relative)
    for symbol in asked:
        value = work.values.get(symbol)
        rounding = None
        if found.numeric and value is not None:
            unit = Unit.PERCENT if symbol is relative else Unit.SI
            rounding = builder.add(rounded(builder, value, digits, unit))
        formula = work.formulas.get(symbol)
        builder.add(
            Conclude(
                question=question, symbol=symbol, formula=formula, value=value, rounded=rounding
            )
        )


@dataclass(frozen=True, slots=True)
class _Work:
    circuit: Circuit
    found: Currents
    known: Known
    builder: Builder
    formulas: dict[Symbol, StepId] = field(default_factory=dict)
    values: dict[Symbol, StepId] = field(default_factory=dict)

    def written(self, without: Derivation, cited: StepId, dimension: Dimension) -> Term:
        """Return what a step of another circuit says, in the letters of the file."""
        names: dict[Symbol, Term] = {}
        for step in without.steps:
            if isinstance(step, Define | PutBack):
                assert isinstance(step.conclusion.left, Symbol)
                names[step.conclusion.left] = put_in(step.conclusion.right, names)
        return self.lowest(put_in(without.equation(cited).right, names), dimension)

    def tell(self, kind: MeterError, part: str, law: Equation) -> None:
        """Add a law, and what it comes to."""
        symbol = law.left
        assert isinstance(symbol, Symbol)
        step = self.builder.add(LoadingError(kind=kind, part=part, conclusion=law))
        if all(s in self.formulas for s in symbols(law.right)):
            self.formulas[symbol] = self._fraction(step)
        if self.found.numeric:
            cited = {s: self.values[s] for s in symbols(law.right)}
            self.values[symbol] = put_values(self.known, self.builder, step, cited)
        else:
            self.put_in(symbol)

    def put_in(self, symbol: Symbol) -> None:
        """Put the values that there are into a formula."""
        if self.found.values:
            formula = self.formulas[symbol]
            self.values[symbol] = put_values(self.known, self.builder, formula)

    def _fraction(self, law: StepId) -> StepId:
        """Put formulas into a law and bring it to lowest terms."""
        equation = self.builder.equation(law)
        assert isinstance(equation.left, Symbol)
        names: dict[Symbol, Term] = {}
        for step in self.found.definitions:
            named = self.builder.equation(step)
            assert isinstance(named.left, Symbol)
            names[named.left] = put_in(named.right, names)
        cited = {s: self.formulas[s] for s in symbols(equation.right)}
        known = {s: put_in(self.builder.equation(k).right, names) for s, k in cited.items()}
        equations = ((k, self.builder.equation(k).right) for k in self.found.given)
        ties = tuple(k for k, right in equations if any(True for _ in symbols(right)))
        right = self.lowest(put_in(equation.right, known), equation.left.dimension)
        return self.builder.add(
            BackSubstitute(
                premise=law,
                definitions=tuple(cited.values()),
                rewriting=(*self.found.definitions, *ties),
                conclusion=Equation(equation.left, right),
            )
        )

    def lowest(self, term: Term, dimension: Dimension) -> Term:
        """Return a term in letters as one fraction in lowest terms, unless that is too long."""
        held = dict.fromkeys(symbols(term))
        letters = tuple(s for s in self.circuit.symbols if s in held)
        if not letters or len(letters) < len(held) or len(letters) > _MOST_LETTERS:
            return term
        above, below = Ring(letters).fraction(term)
        if len(above) * len(below) > _MOST_WORK:
            return term
        above, below = cancel(above, below)
        if not above:
            return ZERO
        negative = all(c < 0 for c in above.coefficients())
        unit = letters_dimension(below)
        top = by_battery(-above if negative else above, dimension * unit)
        found = top if below == 1 else quotient(top, below.ring.term(below, unit))
        return negate(found) if negative else found


def _answer_of(without: Derivation, part: str) -> Conclude:
    return next(
        step
        for step in without.steps
        if isinstance(step, Conclude) and step.question == AskReading(part)
    )


def _is_zero(term: Term) -> bool:
    letters = tuple(dict.fromkeys(symbols(term)))
    return not Ring(letters).fraction(term)[0]
