"""What a derivation has found of the quantities that depend on its results."""

from __future__ import annotations

from derive.algebra.term import Symbol, Term, symbols
from derive.circuit.model import Circuit
from derive.derivation.step import Derivation, Silent


def values_of_sources(circuit: Circuit, derivation: Derivation) -> dict[Symbol, Term]:
    """Return the value of every dependent source, and of all that is sought, once worked out."""
    dependent = {*circuit.dependent, *circuit.sought}
    found: dict[Symbol, Term] = {}
    for step in derivation.steps if dependent else ():
        if isinstance(step, Silent) or not isinstance(step.conclusion.left, Symbol):
            continue
        symbol, right = step.conclusion.left, step.conclusion.right
        if symbol in dependent and next(symbols(right), None) is None:
            found[symbol] = right
    return found
