"""The preferred values next to a resistance or a capacitance of the circuit."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import Equation, Symbol, auxiliary, constant, symbols
from derive.analysis.evaluate import Known
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents
from derive.circuit.model import Circuit
from derive.circuit.preferred import Series, neighbours
from derive.circuit.question import AskPreferred
from derive.derivation.algebra import PutInValues
from derive.derivation.builder import Builder
from derive.derivation.further import PreferredValue
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId


class NoPreferredValue(ValueError):  # noqa: N818  (a finding about the circuit)
    """A value that was sought came out as zero, which no series has."""

    def __init__(self, symbol: Symbol) -> None:
        """Keep the quantity."""
        super().__init__(f"{symbol.name} is zero")
        self.symbol = symbol


def answer_preferred(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: AskPreferred,
    digits: int,
) -> None:
    """Answer by the value that is known of the quantity. Raises NoPreferredValue."""
    symbol = next(s for s in circuit.symbols if s.name == question.part)
    premise = value_step(symbol, found, known, builder)
    exact = Ring(()).poly(builder.equation(premise).right).constant_value
    if exact <= 0:
        raise NoPreferredValue(symbol)
    builder.add(rounded(builder, premise, digits))
    step = preferred_value(symbol, exact, question.series, premise)
    value = builder.add(step)
    once = builder.add(rounded(builder, value, question.series.decimals + 1))
    left = step.conclusion.left
    assert isinstance(left, Symbol)
    builder.add(Conclude(question=question, symbol=left, formula=None, value=value, rounded=once))


def value_step(symbol: Symbol, found: Currents, known: Known, builder: Builder) -> StepId:
    """Return a step that gives a quantity as a number; ties are followed."""
    if symbol in found.values:
        return found.values[symbol]
    step = next(k for k in found.given if builder.equation(k).left == symbol)
    right = builder.equation(step).right
    if next(symbols(right), None) is None:
        return step
    exact = Ring(()).poly(known.terms[symbol]).constant_value
    return builder.add(
        PutInValues(
            premise=step,
            values=known.cited(right),
            conclusion=Equation(symbol, constant(exact, symbol.dimension)),
        )
    )


def preferred_value(
    symbol: Symbol, value: Fraction, series: Series, premise: StepId
) -> PreferredValue:
    """Return the values of a series next to a value, with how far they are from it."""
    near = neighbours(value, series)
    place = Fraction(1, 10 ** (2 + series.decimals))
    off = [round((found / value - 1) / place) * place for found in (near.below, near.above)]
    left = auxiliary(f"{symbol.name[0]}n({symbol.name},{series.name})", symbol.dimension)
    return PreferredValue(
        series=series,
        premise=premise,
        below=near.below,
        above=near.above,
        off_below=off[0],
        off_above=off[1],
        conclusion=Equation(left, constant(near.nearest, symbol.dimension)),
    )
