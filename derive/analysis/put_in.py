"""The numbers put in last: into the closed forms, or into the names of an elimination."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from derive.algebra.dimension import AMPERE, NUMBER, OHM, Dimension
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
    constant,
    number,
    product,
    quotient,
    replace,
    symbols,
    total,
)
from derive.analysis.closed import ClosedForm, ClosedForms
from derive.analysis.equations import Collected
from derive.analysis.expressions import DRIVING, by_battery
from derive.analysis.letters import Letters, Scale, choose_scale, letters_dimension
from derive.analysis.named import NamedElimination
from derive.analysis.numbers import exact_value, put_in
from derive.analysis.plan import Singular
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.derivation.algebra import PutInValues
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId

_LONGEST_SUM = 6
"""Products of numbers that are still written out."""


def given_numbers(circuit: Circuit, letters: Letters) -> dict[Symbol, Fraction]:
    """Return the given values of the letters that are left in the equations."""
    found = {}
    for symbol in letters.ring.symbols:
        value = circuit.valuation(symbol)
        if isinstance(value, Given):
            found[symbol] = value.value
    return found


def values_of_forms(
    circuit: Circuit, letters: Letters, closed: ClosedForms, builder: Builder
) -> dict[Symbol, StepId]:
    """Put the given values into the closed forms; nothing where none is given.

    Letters without a value stay. Raises Singular where the numbers make a denominator zero.
    """
    known = given_numbers(circuit, letters)
    if not known:
        return {}
    given = tuple(letters.steps.values())
    if len(known) < len(letters.ring.symbols):
        return _with_letters_left(circuit, letters, closed, known, builder)
    divisors = {}
    for symbol, poly in closed.names.items():
        value = poly.evaluate(known)
        if not value:
            raise Singular
        divisors[symbol] = _value_of(
            builder,
            closed.definitions[symbol],
            given,
            _products(poly, symbol.dimension, known, choose_scale(circuit)),
            constant(value, symbol.dimension),
        )
    found = {}
    said = circuit.stated
    for symbol, step in closed.steps.items():
        if symbol in said:
            found[symbol] = step  # what is given as nothing has its value
            continue
        form = closed.forms[symbol]
        below = form.denominator.evaluate(known)
        if not below:
            raise Singular
        exact = form.numerator.evaluate(known) / below
        used = set(symbols(builder.equation(step).right))
        cited = (*given, *(divisors[s] for s in closed.names if s in used))
        shown = _fraction(form, known, below, symbol.dimension)
        found[symbol] = _value_of(builder, step, cited, shown, constant(exact, symbol.dimension))
    return found


def _value_of(
    builder: Builder, step: StepId, values: tuple[StepId, ...], shown: Term | None, exact: Term
) -> StepId:
    """Put values into ``symbol = term``: first as it stands, where that says more, then exact."""
    left = builder.equation(step).left
    if shown is not None and shown != exact:
        step = builder.add(
            PutInValues(premise=step, values=values, conclusion=Equation(left, shown))
        )
        values = ()
    return builder.add(PutInValues(premise=step, values=values, conclusion=Equation(left, exact)))


def _products(
    poly: Poly, unit: Dimension, known: Mapping[Symbol, Fraction], scale: Scale
) -> Term | None:
    """Return (2 · 1 + 2 · 1.5 + …) Ω², or None where that is too long or says nothing."""
    power = unit.ohm
    if not 2 <= len(poly) <= _LONGEST_SUM or unit != OHM**power:
        return None
    size = Fraction(10) ** scale.ohm_exponent
    terms = []
    for exponents, coefficient in poly.terms():
        factors: list[Term] = [] if coefficient == 1 else [number(coefficient)]
        for symbol, exponent in zip(poly.ring.symbols, exponents, strict=True):
            factors += [number(known[symbol] / size)] * int(exponent)
        if sum(exponents) != power:
            return None
        # `product` would leave out the factors that are 1.
        terms.append(_joined(factors))
    return _joined([Sum(tuple(terms)), Quantity(size**power, unit)])


def _joined(factors: list[Term]) -> Term:
    return factors[0] if len(factors) == 1 else Product(tuple(factors))


def _fraction(
    form: ClosedForm, known: Mapping[Symbol, Fraction], below: Fraction, dimension: Dimension
) -> Term | None:
    """Return (4.5 Ω · 12 V − 1.5 Ω · 9 V) / 13.5 Ω²: the coefficient of each emf reckoned out."""
    driving = [s for s in form.numerator.symbols if s.kind in DRIVING]
    try:
        parts, rest = form.numerator.linear(driving)
    except ValueError:
        return None
    unit = dimension * form.unit
    terms = []
    for part, symbol in zip(parts, driving, strict=True):
        size = part.evaluate(known)
        if size:
            factor = constant(size, unit / symbol.dimension)
            terms.append(product(factor, constant(known[symbol], symbol.dimension)))
    if rest:
        terms.append(constant(rest.evaluate(known), unit))
    if not terms:
        return None
    terms.sort(key=lambda term: isinstance(term, Negative))
    above = total(tuple(terms))
    if form.unit == NUMBER and below == 1:
        return above
    return Quotient(above, constant(below, form.unit))


def _with_letters_left(
    circuit: Circuit,
    letters: Letters,
    closed: ClosedForms,
    known: Mapping[Symbol, Fraction],
    builder: Builder,
) -> dict[Symbol, StepId]:
    ring = Ring([s for s in letters.ring.symbols if s not in known])
    images = {s: ring.constant(v) for s, v in known.items()}
    values = (*letters.steps.values(), *closed.definitions.values())
    found = {}
    said = circuit.stated
    for symbol, step in closed.steps.items():
        if symbol in said:
            found[symbol] = step
            continue
        form = closed.forms[symbol]
        below = form.denominator.compose(images, ring)
        if not below:
            raise Singular
        right = current_term(form.numerator.compose(images, ring), below, symbol.dimension)
        found[symbol] = builder.add(
            PutInValues(premise=step, values=values, conclusion=Equation(symbol, right))
        )
    return found


def current_term(
    numerator: Poly,
    denominator: Poly,
    dimension: Dimension = AMPERE,
    *,
    decimals: bool = True,
) -> Term:
    """Return a current as a fraction in the letters that are left, in lowest terms.

    With decimals, the first coefficient below is 1 where short decimals stay.
    """
    above, below = cancel(numerator, denominator)
    if decimals:
        above, below = _decimal(above, below)
    if not above:
        return ZERO
    # Numbers carry the units that their letters had, less what was cancelled.
    unit = letters_dimension(below)
    right = by_battery(above, dimension * unit)
    return right if below == 1 else quotient(right, below.ring.term(below, unit))


def fraction_term(numerator: Poly, denominator: Poly, dimension: Dimension) -> Term:
    """Return a fraction in lowest terms: ``2 R1/3``, ``(R1·R2 + R1·R3)/(R1 + R2 + R3)``."""
    above, below = cancel(numerator, denominator)
    unit = letters_dimension(below)
    top = above.ring.term(above, dimension * unit)
    return top if below == 1 else quotient(top, below.ring.term(below, unit))


def _decimal(above: Poly, below: Poly) -> tuple[Poly, Poly]:
    """Make the first coefficient of the denominator 1 where short decimals stay."""
    if below.is_constant:
        return above / below.constant_value, below.ring.one
    lead = below.leading
    scaled = [c / lead for c in (*above.coefficients(), *below.coefficients())]
    if all(_is_short(c) for c in scaled):
        return above / lead, below / lead
    return above, below


def _is_short(value: Fraction) -> bool:
    scaled = abs(value) * 10**6
    return scaled.denominator == 1 and len(str(scaled.numerator).strip("0")) <= 5


def values_of_names(
    circuit: Circuit,
    letters: Letters,
    collected: Collected,
    found: NamedElimination,
    builder: Builder,
) -> dict[Symbol, StepId]:
    """Put the given values into the names one after the other, and so into the currents.

    Nothing unless every letter has a value. Raises Singular.
    """
    known = given_numbers(circuit, letters)
    if not known or len(known) < len(letters.ring.symbols):
        return {}
    sources = dict(letters.steps)
    terms: dict[Symbol, Term] = {s: constant(v, s.dimension) for s, v in known.items()}
    for symbol, step in found.definitions.items():
        right = builder.equation(step).right
        value = Ring(()).poly(replace(right, terms)).constant_value
        terms[symbol] = constant(value, symbol.dimension)
        sources[symbol] = builder.add(
            PutInValues(
                premise=step,
                values=_cited(right, sources),
                conclusion=Equation(symbol, terms[symbol]),
            )
        )
    currents: dict[Symbol, StepId] = {}
    for symbol, step in found.isolated.items():
        right = builder.equation(step).right
        shown = replace(right, terms)
        try:
            exact = constant(Ring(()).poly(shown).constant_value, AMPERE)
        except ZeroDivisionError:
            raise Singular from None
        currents[symbol] = _value_of(builder, step, _cited(right, sources), shown, exact)
        sources[symbol], terms[symbol] = currents[symbol], exact
    values = {s: currents[s] for s in collected.unknowns}
    for branch, step in collected.known.items():
        symbol, right = circuit.branches[branch].current, builder.equation(step).right
        values[symbol] = put_in(builder, step, _cited(right, sources), replace(right, terms))
    for branch, step in collected.isolated.items():
        right = builder.equation(step).right
        used = {s: currents[s] for s in dict.fromkeys(symbols(right)) if s in currents}
        driven = {s: sources[s] for s in dict.fromkeys(symbols(right)) if s not in currents}
        numbers = {s: constant(exact_value(builder, k), AMPERE) for s, k in used.items()}
        shown = replace(right, terms | numbers)
        used |= driven
        current = circuit.branches[branch].current
        values[current] = put_in(builder, step, tuple(used.values()), shown)
    return {branch.current: values[branch.current] for branch in circuit.branches}


def _cited(term: Term, sources: Mapping[Symbol, StepId]) -> tuple[StepId, ...]:
    """Return the steps that give the symbols of a term; ties bring those they are tied to."""
    return tuple(sources[s] for s in dict.fromkeys(symbols(term)))
