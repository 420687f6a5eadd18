"""How much every answer changes when switches do."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.dimension import NUMBER
from derive.algebra.polynomial import Ring
from derive.algebra.term import ZERO, Equation, Sum, Term, constant, negate, symbols
from derive.algebra.unit import Unit
from derive.analysis.rounding import rounded_value
from derive.derivation.comparison import Compared, Comparison, change_of
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId


def compare(before: Derivation, after: Derivation, figures: int) -> Comparison:
    """Return each answer of two derivations for two states of one circuit, and its change."""
    earlier = {(s.question, s.symbol): k for k, s in _answers(before)}
    found: list[Compared] = []
    for k, step in _answers(after):
        cited = earlier[step.question, step.symbol]
        values = _value(before, cited), _value(after, k)
        if values[0] is None or values[1] is None:
            found.append(Compared(before=cited, after=k, change=None, rounded=None))
            continue
        symbol = change_of(step.symbol)
        unit = Unit.PERCENT if symbol.dimension == NUMBER else Unit.SI
        difference = Ring(()).poly(Sum((values[1], negate(values[0])))).constant_value
        shown = _is_rounded(before, cited) and _is_rounded(after, k)
        rounding = rounded_value(symbol, difference, len(found), figures, unit)
        found.append(
            Compared(
                before=cited,
                after=k,
                change=Equation(
                    symbol, constant(difference, symbol.dimension) if difference else ZERO
                ),
                rounded=rounding if shown else None,
            )
        )
    return tuple(found)


def _answers(derivation: Derivation) -> Iterator[tuple[StepId, Conclude]]:
    return ((k, s) for k, s in enumerate(derivation.steps) if isinstance(s, Conclude))


def _value(derivation: Derivation, answer: StepId) -> Term | None:
    """Return the exact value of an answer; None where letters are left."""
    step = derivation.steps[answer]
    assert isinstance(step, Conclude)
    if step.value is None:
        return None
    right = derivation.equation(step.value).right
    return None if any(True for _ in symbols(right)) else right


def _is_rounded(derivation: Derivation, answer: StepId) -> bool:
    step = derivation.steps[answer]
    return isinstance(step, Conclude) and step.rounded is not None
