"""Laws of parts whose voltage all the rest decides: the voltage first, then the law."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Quotient,
    Symbol,
    Term,
    product,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.conclude import formula_of, rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.laws import across_rule
from derive.analysis.relations import part_rule
from derive.analysis.solve import Currents
from derive.circuit.model import Circuit
from derive.derivation.algebra import BackSubstitute
from derive.derivation.builder import Builder
from derive.derivation.laws import PartLaw
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True)
class Answered:
    """What a law gives, by the steps that say so."""

    symbol: Symbol
    formula: StepId | None
    """In letters; None on the route that puts numbers first."""
    value: StepId | None


def law_by_voltage(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    part: str,
    law: PartLaw,
    digits: int,
) -> Answered:
    """Work out a law of a part by the voltage across it, which is rounded too."""
    across = builder.add(across_rule(circuit, part))
    form = formula_of(found, builder, across) if found.formulas else None
    value = put_values(known, builder, across) if found.values else None
    rounded_value(builder, value, digits)
    rule = builder.add(part_rule(circuit, part, law))
    equation = builder.equation(rule)
    voltage = builder.equation(across).left
    assert isinstance(voltage, Symbol)
    assert isinstance(equation.left, Symbol)
    formula = None
    if form is not None:
        own = {s: found.formulas[s] for s in symbols(equation.right) if s in found.formulas}
        law_right = put_in(equation.right, {s: builder.equation(k).right for s, k in own.items()})
        right = with_factor(law_right, voltage, builder.equation(form).right)
        formula = builder.add(
            BackSubstitute(
                premise=rule,
                definitions=(form, *own.values()),
                rewriting=(*found.definitions, *ties(found, builder)),
                conclusion=Equation(equation.left, right),
            )
        )
    if value is not None:
        value = put_values(known, builder, rule, {voltage: value})
    return Answered(equation.left, formula, value)


def ties(found: Currents, builder: Builder) -> tuple[StepId, ...]:
    """Return the steps that tie given quantities to others."""
    return tuple(k for k in found.given if any(True for _ in symbols(builder.equation(k).right)))


def _times(others: Sequence[Term], own: Term) -> Term:
    """Multiply; what is there twice is squared."""
    factors = own.factors if isinstance(own, Product) else (own,)
    twice = next((factor for factor in factors if factor in others), None)
    if twice is None:
        return product(*others, own)
    rest = [factor for factor in factors if factor != twice]
    return product(*(factor for factor in others if factor != twice), Power(twice, 2), *rest)


def with_factor(law: Term, factor: Symbol, term: Term) -> Term:
    """Put the formula of a factor into a law; nothing is worth nothing."""
    if term == ZERO:
        return ZERO
    negative = isinstance(law, Negative)
    body = law.term if isinstance(law, Negative) else law
    if isinstance(body, Product) and factor in body.factors:
        # One fraction reads better than a factor beside it.
        others = [item for item in body.factors if item != factor]
        own = term.term if isinstance(term, Negative) else term
        negative = negative != isinstance(term, Negative)
        if isinstance(own, Quotient):
            body = Quotient(_times(others, own.numerator), own.denominator)
        else:
            body = _times(others, own)
        return Negative(body) if negative else body
    return put_in(law, {factor: term})
