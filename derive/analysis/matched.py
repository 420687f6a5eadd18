"""The load that takes the most power, everything else staying as it is.

The current in a resistance R is a fraction a/(b + c·R) in which a, b and c do not hold R. So the
rest of the circuit acts on it like one battery with the emf a/c and the internal resistance b/c
(L. Thévenin, 1883), and what its power falls short of a bound is a square.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.dimension import OHM, VOLT, WATT
from derive.algebra.name import unused_name
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ONE,
    Equation,
    Negative,
    Power,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    constant,
    number,
    product,
    quotient,
    resistance,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.by_voltage import ties
from derive.analysis.conclude import rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.expressions import by_battery
from derive.analysis.letters import letters_dimension
from derive.analysis.put_in import fraction_term
from derive.analysis.relations import part_rule
from derive.analysis.solve import Currents
from derive.analysis.taken import names_taken
from derive.circuit.model import Circuit
from derive.circuit.question import AskMatchedLoad
from derive.circuit.values import Values, evaluate
from derive.derivation.algebra import BackSubstitute, Collect, Define, PutInValues
from derive.derivation.builder import Builder
from derive.derivation.exchanges import PutBack
from derive.derivation.further import Largest, Most
from derive.derivation.laws import PartLaw
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId


class Unmatched(Enum):
    """Why no load takes the most power."""

    UNDRIVEN = "no emf and no source drives a current, so no load gets any power"
    STILL = "no current flows in it, whatever its resistance is"
    SOURCE = "a current source sets its current, so its power grows with it without end"
    BATTERY = "the voltage across it is fixed, so its power grows without end as it gets smaller"
    NEGATIVE = (
        "the rest of the circuit does not act on it like a battery with a positive internal "
        "resistance"
    )
    STEADY = "its current is the same whatever its resistance is, so its power grows without end"
    UNSURE = (
        "whether the rest of the circuit acts on it like a battery with a positive internal "
        "resistance depends on values that are not given"
    )
    SOUGHT = "another load would change what is sought, since a current or a voltage is given"
    NO_FORMULA = "the current in it has no formula that holds for all its values"


class NoMatch(ValueError):  # noqa: N818  (a finding about the circuit)
    """A part has no matched load."""

    def __init__(self, part: str, reason: Unmatched) -> None:
        """Keep the part and the reason."""
        super().__init__(f"{part}: {reason.value}")
        self.part = part
        self.reason = reason


def answer_matched_load(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: AskMatchedLoad,
    digits: int,
) -> None:
    """Answer by the battery that stands for the rest, and a square. Raises NoMatch."""
    part = question.part
    if circuit.sought:
        raise NoMatch(part, Unmatched.SOUGHT)
    index, _ = circuit.find_branch(part)
    if index >= len(circuit.branches):
        raise NoMatch(part, Unmatched.STILL)
    flow, load = circuit.branches[index].current, resistance(part)
    formula = found.formulas.get(flow)
    if formula is None:
        raise NoMatch(part, Unmatched.NO_FORMULA)
    cited, term = _in_letters(found, builder, formula)
    rest = _rest(circuit, part, term, load)
    taken = names_taken(circuit, builder)
    emf_symbol = auxiliary(unused_name("V_s", taken), VOLT)
    inner_symbol = auxiliary(unused_name("R_s", taken), OHM)
    names = {emf_symbol: rest.emf, inner_symbol: rest.inner}
    defined = {
        symbol: builder.add(Define(symbol=symbol, conclusion=Equation(symbol, term)))
        for symbol, term in names.items()
    }
    whole = Sum((inner_symbol, load))
    current_step = builder.add(
        Collect(
            premise=formula,
            rewriting=(*cited, *ties(found, builder), *defined.values()),
            conclusion=Equation(flow, Quotient(emf_symbol, whole)),
        )
    )
    values = {}
    if found.values:
        values = {s: _worked_out(known, builder, k, {}) for s, k in defined.items()}
    _require_battery(part, builder, values)
    falls_short = _square(circuit, builder, part, current_step, (emf_symbol, inner_symbol, load))
    bound = _bound(emf_symbol, inner_symbol)
    for kind, right, written in (
        (Most.LOAD, inner_symbol, rest.inner), (Most.POWER, bound, rest.bound),
    ):  # fmt: skip
        step = builder.add(
            Largest(
                kind=kind,
                part=part,
                at=inner_symbol,
                premise=falls_short,
                conclusion=Equation(largest_symbol(kind, part), right),
            )
        )
        formula = builder.add(
            BackSubstitute(
                premise=step,
                definitions=tuple(k for s, k in defined.items() if s in symbols(right)),
                conclusion=Equation(largest_symbol(kind, part), written),
            )
        )
        value = _worked_out(known, builder, step, values) if found.values else None
        builder.add(
            Conclude(
                question=question,
                symbol=largest_symbol(kind, part),
                formula=formula,
                value=value,
                rounded=rounded_value(builder, value, digits),
            )
        )


def _worked_out(
    known: Known, builder: Builder, rule: StepId, further: dict[Symbol, StepId]
) -> StepId:
    """Put in what is known; reckon it out also where the load itself has no value."""
    step = put_values(known, builder, rule, further)
    equation = builder.equation(step)
    if next(symbols(equation.right), None) is not None:
        return step
    assert isinstance(equation.left, Symbol)
    exact = constant(evaluate(equation.right), equation.left.dimension)
    if exact == equation.right:
        return step
    return builder.add(
        PutInValues(premise=step, values=(), conclusion=Equation(equation.left, exact))
    )


def largest_symbol(kind: Most, part: str) -> Symbol:
    """Return the symbol of a matched load, or of the power in it."""
    if kind is Most.LOAD:
        return Symbol(f"Rm({part})", SymbolKind.RESISTANCE, OHM)
    return Symbol(f"Pm({part})", SymbolKind.POWER, WATT)


def _in_letters(
    found: Currents, builder: Builder, formula: StepId
) -> tuple[tuple[StepId, ...], Term]:
    """Return a formula without names, and the steps that say what the names stand for."""
    rules: dict[Symbol, StepId] = {}
    steps = (*found.derivation.steps,)
    for k, step in enumerate(steps):
        if isinstance(step, Define | PutBack):
            left = step.conclusion.left
            assert isinstance(left, Symbol)
            rules.setdefault(left, k)
    rules |= found.formulas
    cited: dict[StepId, None] = {}
    term = builder.equation(formula).right
    while True:
        used = {s: rules[s] for s in dict.fromkeys(symbols(term)) if s in rules}
        if not used:
            return tuple(cited), term
        cited |= dict.fromkeys(used.values())
        term = put_in(term, {s: builder.equation(k).right for s, k in used.items()})


@dataclass(frozen=True, slots=True)
class _Rest:
    """The battery that stands for the rest of the circuit, in letters."""

    emf: Term
    inner: Term
    bound: Term
    """The most power that it gives, emf²/(4 inner)."""


def _rest(circuit: Circuit, part: str, formula: Term, load: Symbol) -> _Rest:
    """Return the emf and the internal resistance of the battery that stands for the rest."""
    ring = Ring(tuple(dict.fromkeys((*symbols(formula), load))))
    above, below = ring.fraction(formula)
    if _is_nothing(circuit, above):
        driven = any(not _is_nothing(circuit, Ring((s,)).poly(s)) for s in _drives(circuit))
        raise NoMatch(part, Unmatched.STILL if driven else Unmatched.UNDRIVEN)
    fixed, *rising = below.collect(load)
    if not rising:
        raise NoMatch(part, Unmatched.SOURCE)
    (factor,) = rising
    if _is_nothing(circuit, fixed):
        raise NoMatch(part, Unmatched.BATTERY)
    if _is_nothing(circuit, factor):
        raise NoMatch(part, Unmatched.STEADY)
    _require_positive(circuit, part, cancel(fixed, factor))
    return _Rest(_by_emfs(above, factor), fraction_term(fixed, factor, OHM),
                 _most(above, fixed, factor))  # fmt: skip


def _is_nothing(circuit: Circuit, poly: Poly) -> bool:
    """Tell whether given values and ties make it zero."""
    return _with_values(circuit, poly).is_zero


def _with_values(circuit: Circuit, poly: Poly) -> Poly:
    """Put given values and ties in; what these divide by is left out."""
    values = Values(circuit)
    term = put_in(poly.ring.term(poly), {s: values.actual(s) for s in poly.symbols})
    return Ring(tuple(dict.fromkeys(symbols(term)))).fraction(term)[0]


def _require_positive(circuit: Circuit, part: str, sides: tuple[Poly, Poly]) -> None:
    """Raise NoMatch unless a fraction is positive whatever the resistances are."""
    signs = [{c > 0 for c in _with_values(circuit, side).coefficients()} for side in sides]
    if any(len(found) > 1 for found in signs):
        raise NoMatch(part, Unmatched.UNSURE)
    if signs[0] != signs[1]:
        raise NoMatch(part, Unmatched.NEGATIVE)


def _drives(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the emfs and source currents that depend on nothing that flows."""
    kinds = (SymbolKind.EMF, SymbolKind.SOURCE_CURRENT)
    return tuple(s for s in circuit.symbols if s.kind in kinds and s not in circuit.dependent)


def _by_emfs(above: Poly, below: Poly) -> Term:
    """Return a voltage as one fraction, its numerator grouped by the emfs."""
    top, bottom = above.ring.fraction(Quotient(above.ring.term(above), below.ring.term(below)))
    unit = letters_dimension(bottom)
    right = by_battery(top, VOLT * unit)
    return right if bottom == 1 else quotient(right, bottom.ring.term(bottom, unit))


def _most(above: Poly, fixed: Poly, factor: Poly) -> Term:
    """Return a²/(4 b c), grouped by the emfs."""
    top, bottom = cancel(above, fixed * factor)
    if bottom.ring.one == bottom or above != top:
        # Something cancels; then the square is one fraction in lowest terms.
        return fraction_term(above * above, fixed * factor * 4, WATT)
    unit = letters_dimension(factor)
    below = [p.ring.term(p, u) for p, u in ((fixed, unit * OHM), (factor, unit)) if p != 1]
    return Quotient(Power(by_battery(above, VOLT * unit), 2), product(number(4), *below))


def _require_battery(part: str, builder: Builder, values: dict[Symbol, StepId]) -> None:
    """Raise NoMatch where the battery that stands for the rest drives nothing."""
    for symbol, step in values.items():
        right = builder.equation(step).right
        if next(symbols(right), None) is not None:
            continue
        if symbol.dimension == VOLT and not evaluate(right):
            raise NoMatch(part, Unmatched.STILL)
        if symbol.dimension == OHM and evaluate(right) <= 0:
            raise NoMatch(part, Unmatched.NEGATIVE if evaluate(right) else Unmatched.BATTERY)


def _square(
    circuit: Circuit,
    builder: Builder,
    part: str,
    current_step: StepId,
    letters: tuple[Symbol, Symbol, Symbol],
) -> StepId:
    """Write the power by the load, and what it falls short of the bound."""
    emf, inner, load = letters
    law = builder.add(part_rule(circuit, part, PartLaw.POWER_IN))
    symbol = builder.equation(law).left
    whole = Power(Sum((inner, load)), 2)
    power = builder.add(
        BackSubstitute(
            premise=law,
            definitions=(current_step,),
            conclusion=Equation(symbol, Quotient(Product((Power(emf, 2), load)), whole)),
        )
    )
    lost = Product((Power(emf, 2), Power(Sum((inner, Negative(load))), 2)))
    return builder.add(
        Collect(
            premise=power,
            factor=Negative(ONE),
            conclusion=Equation(
                Sum((_bound(emf, inner), Negative(symbol))),
                Quotient(lost, Product((number(4), inner, whole))),
            ),
        )
    )


def _bound(emf: Symbol, inner: Symbol) -> Term:
    return Quotient(Power(emf, 2), Product((number(4), inner)))
