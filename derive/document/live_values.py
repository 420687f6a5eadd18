"""What a live page computes with: the values that may be changed, and formulas for all the rest.

A formula is taken only from a law, a definition or a conclusion in letters. Each is tried on the
values of the file and on others: it has to give what the derivation concluded, and what the
solution in numbers gives, which shares no code with the formulas.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from derive.algebra.dimension import OHM
from derive.algebra.term import Quantity, Symbol, SymbolKind, Term, children, constant, symbols
from derive.algebra.term import replace as put_in
from derive.circuit.model import Circuit
from derive.circuit.numeric import numeric_solution
from derive.circuit.question import AskPreferred
from derive.circuit.solvability import NoUniqueSolution
from derive.circuit.valuation import Given, Tie, Valuation
from derive.circuit.values import MissingValue, UnfitTie, evaluate
from derive.derivation.algebra import BackSubstitute, Combine, Define, Isolate
from derive.derivation.course import Course
from derive.derivation.exchanges import LeftBetween
from derive.derivation.further import Efficiency, Largest, Lasts
from derive.derivation.laws import (
    AcrossRule,
    KnownCurrent,
    PartRule,
    PathRule,
    PotentialRule,
    SameCurrent,
)
from derive.derivation.step import Conclude, Derivation, IdealReading, Silent

_PRIMES = (3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73)

Known = Mapping[Symbol, Fraction]


@dataclass(frozen=True, slots=True)
class Live:
    """The values of a circuit and the formulas that lead from them to every number."""

    inputs: tuple[Valuation, ...]
    """The given values that may be changed."""
    formulas: tuple[tuple[Symbol, Term], ...]
    """In an order in which each needs only those before it and the inputs."""
    trials: tuple[Known, ...]
    """Every value, first by the file, then by other values of the inputs."""

    tied: tuple[Symbol, ...]
    """Resistances tied to others, which may not come out negative."""

    @property
    def file(self) -> Known:
        """The values of the file and all that follows from them."""
        return self.trials[0]

    def everywhere(self, one: Term, other: Term) -> bool:
        """Tell whether two terms are equal at all trials; False where one cannot be worked out."""
        found = [(value_of(one, known), value_of(other, known)) for known in self.trials]
        return all(a is not None and a == b for a, b in found)


def value_of(term: Term, known: Known) -> Fraction | None:
    """Return the value of a term; None where a symbol has none, or a denominator is zero."""
    met = {s: known[s] for s in symbols(term) if s in known}
    try:
        return evaluate(put_in(term, {s: constant(v, s.dimension) for s, v in met.items()}))
    except (MissingValue, ZeroDivisionError):
        return None


def has_quantities(term: Term) -> bool:
    """Tell whether a term holds values with units, so that it is true of some circuits only."""
    return isinstance(term, Quantity) or any(map(has_quantities, children(term)))


def live_values(circuit: Circuit, derivation: Derivation) -> Live | None:
    """Return the values and the formulas; None where some answer has no formula in letters."""
    still = Lasts | Efficiency | Largest | Course | IdealReading
    if any(isinstance(step, still) for step in derivation.steps):
        return None  # the script of a page knows one circuit, the units of the SI, no exponentials
    if circuit.dependent or circuit.sought:
        return None  # with other values what is sought may not exist
    if circuit.ratings:
        return None  # whether a part is over its rating is told in words
    inputs = tuple(v for v in circuit.values if may_be_typed(v))
    if not inputs:
        return None
    candidates = _candidates(circuit, derivation)
    ordered = _ordered(circuit, candidates)
    asked = [
        s.symbol
        for s in derivation.steps
        if isinstance(s, Conclude) and not isinstance(s.question, AskPreferred)
    ]
    if any(symbol not in dict(ordered) for symbol in asked):
        return None
    trials = []
    for round_ in range(3):
        known = _trial(circuit, inputs, ordered, round_)
        if known is None:
            return None
        trials.append(known)
    tied = tuple(
        v.symbol for v in circuit.values if isinstance(v.value, Tie) and v.symbol.dimension == OHM
    )
    return Live(inputs, ordered, tuple(trials), tied)


def may_be_typed(valuation: Valuation) -> bool:
    """Tell whether a value may be changed: a resistance of zero is a wire in every formula."""
    if not isinstance(valuation.value, Given):
        return False
    return valuation.symbol.dimension != OHM or valuation.value.value > 0


def _candidates(circuit: Circuit, derivation: Derivation) -> dict[Symbol, list[Term]]:
    """Return what each symbol may be worked out by, the conclusions in letters first."""
    found: dict[Symbol, list[Term]] = {}
    for valuation in circuit.values:
        if isinstance(valuation.value, Tie):
            found.setdefault(valuation.symbol, []).append(valuation.value.term)
    conclusions = [s for s in derivation.steps if isinstance(s, Conclude)]
    for step in conclusions:
        if step.formula is not None:
            right = derivation.equation(step.formula).right
            found.setdefault(step.symbol, []).append(right)
    concluded = {step.symbol for step in conclusions if step.formula is not None}
    for other in derivation.steps:
        if isinstance(other, Silent) or not isinstance(other.conclusion.left, Symbol):
            continue
        left, right = other.conclusion.left, other.conclusion.right
        law = isinstance(other, Define | LeftBetween | PartRule | PathRule | SameCurrent)
        if (
            law
            or isinstance(other, AcrossRule | KnownCurrent | PotentialRule)
            or (
                # What was found of capacitors that share their charge is told, asked for or not.
                isinstance(other, BackSubstitute | Combine)
                and left.kind in (SymbolKind.VOLTAGE, SymbolKind.CHARGE)
            )
            or (
                # A named elimination ends in lines that are formulas by the names.
                isinstance(other, Isolate) and left in concluded
            )
        ):
            found.setdefault(left, []).append(right)
    return found


def _ordered(
    circuit: Circuit, candidates: Mapping[Symbol, list[Term]]
) -> tuple[tuple[Symbol, Term], ...]:
    known = {v.symbol for v in circuit.values if isinstance(v.value, Given)}
    ordered: list[tuple[Symbol, Term]] = []
    waiting = list(candidates)
    while True:
        later = []
        for symbol in waiting:
            for term in candidates[symbol]:
                if not has_quantities(term) and all(s in known for s in symbols(term)):
                    ordered.append((symbol, term))
                    known.add(symbol)
                    break
            else:
                later.append(symbol)
        if len(later) == len(waiting):
            return tuple(ordered)
        waiting = later


def _trial(
    circuit: Circuit,
    inputs: tuple[Valuation, ...],
    formulas: tuple[tuple[Symbol, Term], ...],
    round_: int,
) -> Known | None:
    """Return all values for one choice of the inputs; None where the formulas do not hold."""
    chosen = dict(zip((v.symbol for v in inputs), _choices(inputs, round_), strict=True))
    changed = replace(circuit, values=tuple(_with(v, chosen) for v in circuit.values))
    known: dict[Symbol, Fraction] = {
        v.symbol: v.value.value for v in changed.values if isinstance(v.value, Given)
    }
    for symbol, term in formulas:
        value = value_of(term, known)
        if value is None:
            return None
        known[symbol] = value
    if circuit.asks_for_currents:
        try:
            currents = numeric_solution(changed)
        except (NoUniqueSolution, MissingValue, UnfitTie):
            return None
        flows = {b.current: value for b, value in zip(changed.branches, currents, strict=True)}
        if any(known.get(symbol, value) != value for symbol, value in flows.items()):
            return None
    return known


def _choices(inputs: tuple[Valuation, ...], round_: int) -> Iterator[Fraction]:
    for place, valuation in enumerate(inputs):
        assert isinstance(valuation.value, Given)
        prime = _PRIMES[(place + 7 * round_) % len(_PRIMES)]
        yield valuation.value.value if not round_ else Fraction(prime + place, round_ + 1)


def _with(valuation: Valuation, chosen: Known) -> Valuation:
    if valuation.symbol not in chosen:
        return valuation
    return replace(valuation, value=Given(chosen[valuation.symbol], valuation.symbol.dimension))
