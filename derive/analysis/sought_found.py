"""Sought resistances: the voltage across each, divided by its current."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import AMPERE, NUMBER, OHM, VOLT
from derive.algebra.polynomial import Poly, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Symbol,
    Term,
    constant,
    product,
    quotient,
    symbols,
    voltage_across,
)
from derive.algebra.term import replace as put_in
from derive.analysis.closed import ClosedForm, ClosedForms
from derive.analysis.cofactors import MOST_WORK
from derive.analysis.equations import Collected
from derive.analysis.expressions import by_battery, shared_letters
from derive.analysis.letters import Letters, letters_dimension
from derive.analysis.numbers import exact_value
from derive.analysis.sought import NoSuchValue
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.derivation.algebra import BackSubstitute, Isolate
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId


def resistances_in_letters(
    circuit: Circuit, letters: Letters, collected: Collected, closed: ClosedForms, builder: Builder
) -> ClosedForms:
    """Return closed forms with those of the sought resistances.

    Raises NoSuchValue where no current flows in one.
    """
    forms, steps = dict(closed.forms), dict(closed.steps)
    for symbol, rule in collected.sought.items():
        current, turned = _current_in(builder, rule)
        across, flow = forms[voltage_across(symbol.name)], _flow(letters, forms, current)
        if not flow.numerator:
            raise NoSuchValue(symbol, _value(circuit, across), Fraction(0))
        forms[symbol] = form = _quotient(across, flow, turned=turned)
        definitions = tuple(steps[s] for s in (voltage_across(symbol.name), current) if s in steps)
        flowing = builder.equation(steps[current]).right if current in steps else current
        steps[symbol] = builder.add(
            Isolate(
                premise=rule,
                symbol=symbol,
                factor=_over(flowing, turned=turned),
                definitions=definitions,
                rewriting=tuple(closed.definitions.values()),
                conclusion=Equation(symbol, _fraction(form)),
            )
        )
    return replace(closed, forms=forms, steps=steps)


def _current_in(builder: Builder, rule: StepId) -> tuple[Symbol, bool]:
    """Return the current of a law ``V = R·I``, and whether the product has a minus sign."""
    right = builder.equation(rule).right
    body = right.term if isinstance(right, Negative) else right
    assert isinstance(body, Product)
    current = body.factors[-1]
    assert isinstance(current, Symbol)
    return current, isinstance(right, Negative)


def _flow(letters: Letters, forms: Mapping[Symbol, ClosedForm], current: Symbol) -> ClosedForm:
    if current in forms:
        return forms[current]
    ring = letters.ring  # a given current
    return ClosedForm(ring.symbol(current), ring.one, NUMBER, ring.one)


def _quotient(across: ClosedForm, flow: ClosedForm, *, turned: bool) -> ClosedForm:
    outer, inner = cancel(flow.denominator, across.denominator)  # most often they are the same
    above = across.numerator * outer * (-1 if turned else 1)
    below = inner * flow.numerator
    shared = across.denominator / inner
    unit = across.unit * AMPERE * flow.unit / letters_dimension(shared)
    divisor = below.ring.one
    if above and len(above) * len(below) <= MOST_WORK:
        top, bottom = cancel(above, below)
        divisor = below / bottom
        above, below, unit = top, bottom, unit / letters_dimension(divisor)
    if _minuses(above) + _minuses(below) > _minuses(-above) + _minuses(-below):
        above, below = -above, -below
    return ClosedForm(above, below, unit, divisor)


def _minuses(poly: Poly) -> int:
    return sum(c < 0 for c in poly.coefficients())


def _fraction(form: ClosedForm) -> Term:
    if not form.numerator:
        return ZERO
    shared = shared_letters(form.numerator)
    outside = letters_dimension(shared)
    rest = by_battery(form.numerator / shared, OHM * form.unit / outside)
    top = product(form.numerator.ring.term(shared, outside), rest)
    if form.denominator == 1 and form.unit == NUMBER:
        return top
    return quotient(top, by_battery(form.denominator, form.unit))


def _over(current: Term, *, turned: bool) -> Term:
    """Return what a law ``V = R·I`` is multiplied by to leave R."""
    return Quotient(ONE, current) if turned else Negative(Quotient(ONE, current))


def _value(circuit: Circuit, form: ClosedForm) -> Fraction | None:
    """Return the value of a form, if its letters have values."""
    known = {}
    for symbol in dict.fromkeys((*form.numerator.symbols, *form.denominator.symbols)):
        value = circuit.valuation(symbol)
        if not isinstance(value, Given):
            return None
        known[symbol] = value.value
    return form.numerator.evaluate(known) / form.denominator.evaluate(known)


def check_currents(
    circuit: Circuit, collected: Collected, closed: ClosedForms, letters: Letters, builder: Builder
) -> None:
    """Raise NoSuchValue where the values leave a sought resistance without current."""
    for symbol, rule in collected.sought.items():
        current, _ = _current_in(builder, rule)
        if _value(circuit, _flow(letters, closed.forms, current)) == 0:
            across = _value(circuit, closed.forms[voltage_across(symbol.name)])
            raise NoSuchValue(symbol, across, Fraction(0))


def resistances_in_numbers(
    collected: Collected, found: Mapping[Symbol, StepId], builder: Builder
) -> dict[Symbol, StepId]:
    """Return the steps that give the sought resistances. Raises NoSuchValue."""
    steps: dict[Symbol, StepId] = {}
    for symbol, rule in collected.sought.items():
        current, turned = _current_in(builder, rule)
        across = voltage_across(symbol.name)
        volts, amperes = (exact_value(builder, found[s]) for s in (across, current))
        if not amperes:
            raise NoSuchValue(symbol, volts, amperes)
        known = {across: constant(volts, VOLT), current: constant(amperes, AMPERE)}
        shown = Quotient(known[across], put_in(current, known))
        isolated = builder.add(
            Isolate(
                premise=rule,
                symbol=symbol,
                factor=_over(known[current], turned=turned),
                definitions=(found[across], found[current]),
                conclusion=Equation(symbol, Negative(shown) if turned else shown),
            )
        )
        exact = constant(volts / amperes * (-1 if turned else 1), OHM)
        steps[symbol] = builder.add(
            BackSubstitute(premise=isolated, definitions=(), conclusion=Equation(symbol, exact))
        )
    return steps


def check_signs(found: Mapping[Symbol, StepId], circuit: Circuit, builder: Builder) -> None:
    """Raise NoSuchValue where a sought resistance comes out negative."""
    for symbol in circuit.sought:
        if symbol.dimension != OHM or symbol not in found:
            continue
        right = builder.equation(found[symbol]).right
        if next(symbols(right), None) is None and exact_value(builder, found[symbol]) < 0:
            raise NoSuchValue(symbol, None, None, exact_value(builder, found[symbol]))
