"""A law with all that is known put into it."""

from __future__ import annotations

from derive.algebra.polynomial import Ring
from derive.algebra.term import Equation, Symbol, Term, constant, replace, symbols
from derive.analysis.solve import Currents
from derive.derivation.builder import Builder
from derive.derivation.step import PutInValues, StepId


def put_values(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put what is known into a law, first as it stands, then reckoned out if it is a number."""
    law = builder.equation(rule)
    assert isinstance(law.left, Symbol)
    known = known_terms(found, builder)
    shown = replace(law.right, {s: known[s] for s in set(symbols(law.right)) if s in known})
    steps = (*found.given, *(k for s, k in found.values.items() if s in set(symbols(law.right))))
    if shown != law.right:
        rule = builder.add(
            PutInValues(premise=rule, values=steps, conclusion=Equation(law.left, shown))
        )
    if not found.numeric:
        return rule
    exact = constant(Ring(()).poly(shown).constant_value, law.left.dimension)
    if exact == shown:
        return rule
    return builder.add(PutInValues(premise=rule, values=(), conclusion=Equation(law.left, exact)))


def known_terms(found: Currents, builder: Builder) -> dict[Symbol, Term]:
    """Return what each given quantity and each current is, ties followed."""
    known: dict[Symbol, Term] = {}
    given = [builder.equation(k) for k in found.given]
    for _ in given:
        for equation in given:
            assert isinstance(equation.left, Symbol)
            right = replace(equation.right, known)
            ring = Ring(tuple(dict.fromkeys(symbols(right))))
            if not ring.symbols:
                right = constant(ring.poly(right).constant_value, equation.left.dimension)
            known[equation.left] = right
    for symbol, step in found.values.items():
        known[symbol] = builder.equation(step).right
    return known
