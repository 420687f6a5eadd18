"""Ties must lead to values or letters, not back to themselves, and to no negative resistance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from derive.algebra.dimension import OHM
from derive.algebra.term import Symbol
from derive.circuit.complaints import Complaints
from derive.circuit.expressions import Reading
from derive.circuit.model import Tie, Valuation

Readings = Mapping[Symbol, Reading]
"""What each valued quantity amounts to in the quantities its value names."""


def check_ties(
    valuations: Sequence[Valuation], readings: Readings, complaints: Complaints
) -> None:
    """Complain of ties in a circle and of resistances that come out negative."""
    complained: set[Symbol] = set()
    for valuation in valuations:
        circle = _circle(valuation.symbol, readings)
        if circle and complained.isdisjoint(circle):
            complained.update(circle)
            _complain_of_circle(circle, valuation, complaints)
    if complained:
        return
    resolved: dict[Symbol, Reading] = {}
    for valuation in valuations:
        if isinstance(valuation.value, Tie) and valuation.symbol.dimension == OHM:
            _check_sign(valuation, _resolve(valuation.symbol, readings, resolved), complaints)


def _circle(start: Symbol, readings: Readings) -> tuple[Symbol, ...]:
    """Return the shortest way from a quantity back to itself along ties, if there is one."""
    ways: list[tuple[Symbol, ...]] = [(start,)]
    seen: set[Symbol] = set()
    for way in ways:
        for symbol in readings[way[-1]].coefficients if way[-1] in readings else ():
            if symbol == start:
                return way
            if symbol not in seen:
                seen.add(symbol)
                ways.append((*way, symbol))
    return ()


def _complain_of_circle(
    circle: tuple[Symbol, ...], valuation: Valuation, complaints: Complaints
) -> None:
    names = [symbol.name for symbol in (*circle, circle[0])]
    complaints.error(
        "tie-in-circle",
        f"the value of `{names[0]}` depends on itself: {' → '.join(names)}",
        valuation.span,
        "give one of them a value in numbers, or leave it out so that it stays a letter",
    )


def _check_sign(valuation: Valuation, reading: Reading, complaints: Complaints) -> None:
    name = valuation.symbol.name
    letters = [amount for amount in reading.coefficients.values() if amount != 0]
    amounts = [amount for amount in (reading.constant, *letters) if amount != 0]
    if amounts and all(amount < 0 for amount in amounts):
        complaints.error(
            "negative-resistance",
            f"the resistance `{name}` comes out negative",
            valuation.span,
            "a resistance is zero or positive; look at the signs of its tie",
        )
    elif any(amount < 0 for amount in amounts):
        complaints.warn(
            "resistance-may-be-negative",
            f"the resistance `{name}` is a difference, and negative for some values of the letters",
            valuation.span,
            "the solution holds where it is positive",
        )


def _resolve(symbol: Symbol, readings: Readings, resolved: dict[Symbol, Reading]) -> Reading:
    """Return a quantity as a constant and multiples of letters that have no value."""
    waiting = [symbol]
    while waiting:
        reading = readings[waiting[-1]]
        open_ones = [s for s in reading.coefficients if s in readings and s not in resolved]
        if open_ones:
            waiting.extend(open_ones)
            continue
        constant = reading.constant
        coefficients: dict[Symbol, Fraction] = {}
        for name, amount in reading.coefficients.items():
            inner = resolved.get(name)
            constant += amount * (inner.constant if inner is not None else 0)
            for letter, share in (inner.coefficients if inner is not None else {name: 1}).items():
                coefficients[letter] = coefficients.get(letter, Fraction(0)) + amount * share
        resolved[waiting.pop()] = Reading(
            reading.term, reading.dimension, constant, coefficients
        )
    return resolved[symbol]
