"""A law with all that is known put into it."""

from __future__ import annotations

from collections.abc import Mapping

from derive.algebra.polynomial import Ring
from derive.algebra.term import Equation, Symbol, Term, constant, replace, symbols
from derive.analysis.solve import Currents
from derive.derivation.algebra import PutInValues
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId


class Known:
    """What each given quantity and each current is, and which step says so."""

    def __init__(self, found: Currents, builder: Builder) -> None:
        """Follow the ties of the given values."""
        self.numeric = found.numeric
        self._values = found.values
        self._given: dict[Symbol, tuple[StepId, tuple[Symbol, ...]]] = {}
        for step in found.given:
            equation = builder.equation(step)
            assert isinstance(equation.left, Symbol)
            self._given[equation.left] = step, tuple(dict.fromkeys(symbols(equation.right)))
        self.terms: Mapping[Symbol, Term] = _terms(found, builder)

    def cited(self, term: Term) -> tuple[StepId, ...]:
        """Return the steps that put values into a term."""
        given: dict[StepId, None] = {}
        waiting = list(dict.fromkeys(symbols(term)))
        currents = [self._values[s] for s in waiting if s in self._values]
        while waiting:
            known = self._given.get(waiting.pop(0))
            if known is not None and known[0] not in given:
                given[known[0]] = None
                waiting += known[1]
        return (*sorted(given), *currents)


def _terms(found: Currents, builder: Builder) -> dict[Symbol, Term]:
    known: dict[Symbol, Term] = {}
    waiting = [builder.equation(k) for k in found.given]
    while waiting:
        later = []
        given = {e.left for e in waiting}
        for equation in waiting:
            assert isinstance(equation.left, Symbol)
            if any(s in given for s in symbols(equation.right)):
                later.append(equation)  # a tie to what comes further down
                continue
            right = replace(equation.right, known)
            if next(symbols(right), None) is None:
                right = constant(Ring(()).poly(right).constant_value, equation.left.dimension)
            known[equation.left] = right
        if len(later) == len(waiting):
            raise ValueError("tied values go round in a circle")
        waiting = later
    for symbol, step in found.values.items():
        known[symbol] = builder.equation(step).right
    return known


def put_values(
    known: Known, builder: Builder, rule: StepId, further: Mapping[Symbol, StepId] | None = None
) -> StepId:
    """Put what is known into a law, first as it stands, then reckoned out if it is a number.

    `further` are steps ``symbol = value`` for symbols that are neither given nor currents.
    """
    law = builder.equation(rule)
    assert isinstance(law.left, Symbol)
    more = further or {}
    found = {symbol: builder.equation(step).right for symbol, step in more.items()}
    shown = replace(law.right, {**known.terms, **found})
    if shown != law.right:
        rule = builder.add(
            PutInValues(
                premise=rule,
                values=(*known.cited(law.right), *more.values()),
                conclusion=Equation(law.left, shown),
            )
        )
    if next(symbols(shown), None) is not None:
        return rule  # some letter is left
    exact = constant(Ring(()).poly(shown).constant_value, law.left.dimension)
    if exact == shown:
        return rule
    return builder.add(PutInValues(premise=rule, values=(), conclusion=Equation(law.left, exact)))
