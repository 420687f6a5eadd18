"""What a capacitor begins with when switches change: the voltage that it has had till then.

Its charge needs time to flow, so that its voltage does not jump.
"""

from __future__ import annotations

from dataclasses import replace

from derive.algebra.dimension import VOLT
from derive.algebra.polynomial import Ring
from derive.algebra.term import Symbol, Term, symbols
from derive.algebra.term import replace as put_in
from derive.circuit.model import Circuit
from derive.circuit.question import AskTransient
from derive.circuit.valuation import Given, Initial, Tie
from derive.derivation.algebra import Define
from derive.derivation.step import Conclude, Derivation

_LONGEST = 200
"""Letters of a voltage that is still taken over as a formula (common practice, no source)."""


class LongStart(Exception):  # noqa: N818  (a finding about the circuit)
    """The voltage at the start is too long a formula."""

    def __init__(self, capacitor: str) -> None:
        """Keep the capacitor."""
        super().__init__(f"the formula of the voltage of {capacitor} is too long")
        self.capacitor = capacitor


def begun(circuit: Circuit, before: Derivation) -> Circuit:
    """Return a circuit with the voltages at the start that its author leaves to what was before.

    Raises LongStart.
    """
    initials = list(circuit.initials)
    for question in circuit.questions:
        if isinstance(question, AskTransient) and circuit.initial(question.capacitor) is None:
            value = _steady(before, question)
            initials.append(Initial(question.capacitor, value, is_steady=True))
    return replace(circuit, initials=tuple(initials))


def _steady(before: Derivation, question: AskTransient) -> Given | Tie:
    answer = next(s for s in before.steps if isinstance(s, Conclude) and s.question == question)
    cited = [k for k in (answer.value, answer.formula) if k is not None]
    terms = [before.equation(k).right for k in cited]
    for term in terms:
        if next(symbols(term), None) is None:
            return Given(Ring(()).poly(term).constant_value, VOLT)
    return Tie(_written_out(before, terms[-1], question.capacitor))


def _written_out(before: Derivation, term: Term, capacitor: str) -> Term:
    """Return a formula in the letters of the circuit, without names of its own."""
    names: dict[Symbol, Term] = {}
    for step in before.steps:
        if isinstance(step, Define):
            names[step.symbol] = put_in(step.conclusion.right, names)
            if sum(1 for _ in symbols(names[step.symbol])) > _LONGEST:
                del names[step.symbol]
    found = put_in(term, names)
    made = {step.symbol for step in before.steps if isinstance(step, Define)}
    if not made.isdisjoint(symbols(found)) or sum(1 for _ in symbols(found)) > _LONGEST:
        raise LongStart(capacitor)
    return found
