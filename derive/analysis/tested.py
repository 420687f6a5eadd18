"""The resistance between two points where sources depend on currents: by a test source."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from derive.algebra.dimension import OHM
from derive.algebra.name import TakenNames
from derive.algebra.polynomial import Ring, cancel
from derive.algebra.term import (
    Equation,
    Quotient,
    Symbol,
    Term,
    constant,
    negate,
    quotient,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.exchange.between import resistance_symbol
from derive.analysis.exchange.made import Workings
from derive.analysis.letters import letters_dimension
from derive.analysis.rounding import rounded
from derive.circuit.expansion import count_terms
from derive.circuit.model import Tested
from derive.circuit.question import AskVoltage
from derive.circuit.values import letters_without_value
from derive.derivation.algebra import Define
from derive.derivation.builder import Builder
from derive.derivation.step import BySource, Conclude, Derivation
from derive.derivation.step_id import StepId

_MOST_PRODUCTS = 100
"""Products in a common denominator that is still worked out in letters."""
_MOST_LETTERS = 12
"""Letters of a formula that is still brought to lowest terms."""


class LongTest(Exception):  # noqa: N818  (a finding about the circuit)
    """In letters the resistance would be too long."""


class NoVoltage(Exception):  # noqa: N818  (a finding about the circuit)
    """Kirchhoff's rules do not fix the voltage that a test source needs."""

    def __init__(self, tested: Tested) -> None:
        """Keep the circuit."""
        super().__init__(f"no voltage between {tested.question.one} and {tested.question.other}")
        self.tested = tested


def in_letters(tested: Tested) -> bool:
    """Tell whether the voltage of the test source is worked out in letters.

    Raises LongTest where that would be too long and numbers are missing.
    """
    short = count_terms(tested.circuit) <= _MOST_PRODUCTS
    short = short and len({r for b in tested.circuit.branches for r in b.resistances}) < (
        _MOST_LETTERS
    )
    if not short and letters_without_value(tested.circuit):
        raise LongTest
    return short


def answer_by_test_source(
    tested: Tested,
    derivation: Derivation,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    taken: TakenNames,
) -> None:
    """Answer a question by the derivation of the circuit with the test source."""
    question = tested.question
    symbol = resistance_symbol(question)
    wanted = AskVoltage(question.one, question.other)
    answered = next(s for s in derivation.steps if isinstance(s, Conclude) and s.question == wanted)
    formula: StepId | None = None
    value: StepId | None = None
    partly: StepId | None = None
    if answered.formula is not None:
        right = _over_source(derivation, answered.formula, tested)
        step = BySource(
            question=question, derivation=derivation, conclusion=Equation(symbol, right)
        )
        formula = builder.add(step)
        workings = Workings(given, builder, taken, digits)
        value = workings.value(formula)
        partly = None if value is not None else workings.put_in(formula)
    else:
        assert answered.value is not None
        number = Ring(()).poly(derivation.equation(answered.value).right).constant_value
        step = BySource(
            question=question,
            derivation=derivation,
            conclusion=Equation(symbol, constant(number, OHM)),
        )
        value = builder.add(step)
    builder.add(
        Conclude(
            question=question,
            symbol=symbol,
            formula=formula,
            value=partly if value is None else value,
            rounded=None if value is None else builder.add(rounded(builder, value, digits)),
        )
    )


def _over_source(derivation: Derivation, cited: StepId, tested: Tested) -> Term:
    """Return a voltage over the current of the test source, as one fraction in lowest terms."""
    names: dict[Symbol, Term] = {}
    for step in derivation.steps:
        if isinstance(step, Define):
            assert isinstance(step.conclusion.left, Symbol)
            names[step.conclusion.left] = put_in(step.conclusion.right, names)
    voltage = put_in(derivation.equation(cited).right, names)
    source = tested.symbol
    term = Quotient(voltage, source)
    held = set(symbols(term))
    letters = tuple(s for s in tested.circuit.symbols if s in held)
    above, below = cancel(*Ring(letters).fraction(term))
    if not above:
        return constant(Fraction(0), OHM)
    negative = all(c < 0 for c in above.coefficients())
    unit = letters_dimension(below)
    top = above.ring.term(-above if negative else above, OHM * unit)
    found = top if below == 1 else quotient(top, below.ring.term(below, unit))
    return negate(found) if negative else found
