"""What parts are made for: the resistances of rated lamps, and each power beside its rating."""

from __future__ import annotations

from derive.algebra.dimension import OHM
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    Equation,
    Power,
    Quotient,
    Symbol,
    constant,
    resistance,
    symbols,
)
from derive.analysis.evaluate import Known, put_values
from derive.analysis.relations import part_rule
from derive.analysis.rounding import rounded
from derive.circuit.model import Circuit
from derive.circuit.valuation import Rating
from derive.derivation.builder import Builder
from derive.derivation.further import AgainstRating, Load
from derive.derivation.goal import Goal
from derive.derivation.laws import PartLaw, Rated
from derive.derivation.step import Silent
from derive.derivation.step_id import StepId


def rate_lamps(circuit: Circuit, builder: Builder, digits: int) -> None:
    """Tell the resistance of each rated lamp, V²/P, and round it once."""
    builder.begin(Goal.LAMPS)
    for rating in circuit.ratings:
        if rating.voltage is not None:
            builder.add(rounded(builder, builder.add(_rated(rating)), digits))


def _rated(rating: Rating) -> Rated:
    assert rating.voltage is not None
    at, power = (constant(g.value, g.dimension) for g in (rating.voltage, rating.power))
    left = resistance(rating.part)
    assert left.dimension == OHM
    return Rated(part=rating.part, conclusion=Equation(left, Quotient(Power(at, 2), power)))


def compare_with_ratings(circuit: Circuit, known: Known, builder: Builder, digits: int) -> None:
    """Compare the power in each rated part, which the balance has found, with its rating."""
    builder.begin(Goal.RATINGS)
    for rating in circuit.ratings:
        rule = part_rule(circuit, rating.part, PartLaw.POWER_IN)
        assert isinstance(rule.conclusion.left, Symbol)
        step = _found(builder, rule.conclusion.left)
        if step is None:  # no current flows there, so that the balance leaves it out
            step = put_values(known, builder, builder.add(rule))
        value = Ring(()).poly(builder.equation(step).right).constant_value
        builder.add(rounded(builder, step, digits))
        limit = rating.power.value
        load = Load.BELOW if value < limit else Load.AT if value == limit else Load.OVER
        builder.add(AgainstRating(part=rating.part, power=step, rating=limit, load=load))


def _found(builder: Builder, symbol: Symbol) -> StepId | None:
    """Return the last step that gives a quantity as a number."""
    for k in reversed(range(len(builder.steps))):
        step = builder.step(k)
        if isinstance(step, Silent) or step.conclusion.left != symbol:
            continue
        if next(symbols(step.conclusion.right), None) is None:
            return k
    return None
