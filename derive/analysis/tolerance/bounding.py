"""Every answer with its range, and with what each value that has a tolerance adds to it."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor, prod

from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import Symbol, Term
from derive.analysis.rounding import magnitude, prefix
from derive.analysis.tolerance.extremes import Extremes, extremes, shape_of
from derive.analysis.tolerance.moving import Moving, Unsettled, moving, spread, toleranced
from derive.bounds import MOST_CORNERS, MOST_TOLERANCES
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskEfficiency,
    AskLoadingError,
    AskMatchedLoad,
    AskPreferred,
    AskResistance,
    AskShortCircuit,
)
from derive.circuit.values import letters_without_value
from derive.derivation.builder import Builder
from derive.derivation.further import Lasts, OverTime
from derive.derivation.goal import Goal
from derive.derivation.laws import AcrossRule, ChargeRule, PartRule, PathRule, PotentialRule
from derive.derivation.spread import End, NoRange, Range, Share, Shares, Unbounded
from derive.derivation.step import Conclude, Derivation, Round
from derive.derivation.step_id import StepId

_LAWS = (PartRule, PathRule, AcrossRule, PotentialRule, Lasts, OverTime)
_QUOTIENTS = (AskShortCircuit, AskEfficiency, AskMatchedLoad)
_OF_THE_CIRCUIT = (Unbounded.CHARGES, Unbounded.DEPENDENT, Unbounded.MANY)
"""Reasons for which no answer of a circuit has a range; they are told before its own."""


def bound_answers(circuit: Circuit, derivation: Derivation) -> Derivation:
    """Bound every answer that has a value, if values have tolerances."""
    answers = [
        k
        for k, s in enumerate(derivation.steps)
        if isinstance(s, Conclude)
        and s.rounded is not None
        and not isinstance(s.question, AskPreferred)
    ]
    settled = not (letters_without_value(circuit) or circuit.sought)
    if not answers or not toleranced(circuit) or not settled:
        return derivation
    builder = Builder(derivation)
    builder.begin(Goal.TOLERANCES)
    laws: dict[Symbol, Term] = {}
    for step in derivation.steps:
        if isinstance(step, _LAWS) and isinstance(step.conclusion.left, Symbol):
            laws.setdefault(step.conclusion.left, step.conclusion.right)
    try:
        if any(isinstance(step, ChargeRule) for step in derivation.steps):
            raise Unsettled(Unbounded.CHARGES)
        found: Moving | Unbounded = _within_bounds(circuit, laws)
    except Unsettled as fault:
        found = fault.reason
    for k in answers:
        _bound(found, builder, k)
    return builder.finish()


def _within_bounds(circuit: Circuit, laws: dict[Symbol, Term]) -> Moving:
    if circuit.dependent:
        raise Unsettled(Unbounded.DEPENDENT)
    places = spread(circuit)
    if len(places) > MOST_TOLERANCES or prod(n + 1 for n in places.values()) > MOST_CORNERS:
        raise Unsettled(Unbounded.MANY)
    return moving(circuit, laws)


def _bound(found: Moving | Unbounded, builder: Builder, answer: StepId) -> None:
    step = builder.step(answer)
    assert isinstance(step, Conclude)
    if isinstance(step.question, AskResistance):
        found = Unbounded.BETWEEN
    elif isinstance(step.question, _QUOTIENTS) and found not in _OF_THE_CIRCUIT:
        found = Unbounded.RATIO
    elif isinstance(step.question, AskLoadingError):
        found = Unbounded.LOADING
    if isinstance(found, Unbounded):
        builder.add(NoRange(answer=answer, symbol=step.symbol, reason=found))
        return
    law = found.laws.get(step.symbol, step.symbol)
    try:
        ends = extremes(found, shape_of(found, step.symbol))
    except Unsettled as fault:
        builder.add(NoRange(answer=answer, symbol=step.symbol, reason=fault.reason))
        ends = None
    assert step.value is not None
    assert step.rounded is not None
    nominal = Ring(()).poly(builder.equation(step.value).right).constant_value
    rounding = builder.step(step.rounded)
    assert isinstance(rounding, Round)
    exponent = rounding.unit_exponent
    if ends is not None:
        if not nominal:
            exponent = prefix(max(abs(ends.low), abs(ends.high)))
        builder.add(_range(answer, step.symbol, ends, exponent, rounding.decimals))
    try:
        above, power = found.fraction(law)
    except Unsettled:
        return  # a value that is tied by a quotient
    _shares(found, (above, power), ends, nominal, builder, answer, exponent)


def _range(answer: StepId, symbol: Symbol, ends: Extremes, exponent: int, decimals: int) -> Range:
    half = (ends.high - ends.low) / 2
    if half:
        # As many digits as the nominal value, if they split the range finely but not too finely.
        coarse, fine = (_digits(half / steps, exponent) for steps in (5, 50))
        decimals = max(coarse, min(decimals, fine))
    place = Fraction(10) ** (exponent - decimals)
    low = End(value=ends.low, at=ends.low_at, shown=floor(ends.low / place) * place)
    high = End(value=ends.high, at=ends.high_at, shown=ceil(ends.high / place) * place)
    return Range(
        answer=answer,
        symbol=symbol,
        low=low,
        high=high,
        unit_exponent=exponent,
        decimals=decimals,
    )


def _digits(step: Fraction, exponent: int) -> int:
    """Return how many decimals tell apart what differs by a step."""
    return max(0, exponent - magnitude(step))


_FIGURES = 2, 3
"""Significant figures of the largest share: more where another one would be rounded away."""


def _shares(
    found: Moving,
    law: tuple[Poly, int],
    ends: Extremes | None,
    nominal: Fraction,
    builder: Builder,
    answer: StepId,
    exponent: int,
) -> None:
    """Add the exact first-order shares, rounded alike."""
    step = builder.step(answer)
    assert isinstance(step, Conclude)
    exact = {}
    for letter, (low, high) in found.ends.items():
        exact[letter] = found.slope(*law, letter) * (high - low) / 2
    total = sum(map(abs, exact.values()), Fraction(0))
    if not nominal and ends is None:
        exponent = prefix(total)
    sizes = [abs(value) for value in exact.values() if value]
    decimals = 0
    for figures in _FIGURES if sizes else ():
        decimals = max(0, exponent - magnitude(max(sizes)) + figures - 1)
        if 2 * min(sizes) >= Fraction(10) ** (exponent - decimals):
            break
    place = Fraction(10) ** (exponent - decimals)
    down = up = None
    if ends is not None:
        down = floor((ends.low - nominal) / place) * place
        up = ceil((ends.high - nominal) / place) * place
    builder.add(
        Shares(
            answer=answer,
            symbol=step.symbol,
            shares=tuple(
                Share(letter=s, value=v, shown=_nearest(v, place)) for s, v in exact.items()
            ),
            total=total,
            total_shown=_nearest(total, place),
            down=down,
            up=up,
            unit_exponent=exponent,
            decimals=decimals,
        )
    )


def _nearest(exact: Fraction, place: Fraction) -> Fraction:
    """Round half away from zero."""
    size = int(abs(exact) / place + Fraction(1, 2)) * place
    return -size if exact < 0 else size
