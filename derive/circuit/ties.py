"""Ties must lead to values or letters, not back to themselves, and to no negative resistance."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from derive.algebra.dimension import OHM
from derive.algebra.term import Symbol
from derive.circuit.amounts import shown
from derive.circuit.complaints import Complaints
from derive.circuit.expressions import MOST_ITEMS, Reading
from derive.circuit.valuation import Tie, Valuation
from derive.source import Span

Readings = Mapping[Symbol, Reading]
"""What each valued quantity amounts to in the quantities its value names."""


MOST_BITS = 400
"""Largest numerator or denominator of a value; a person writes far smaller ones."""


def check_ties(valuations: Sequence[Valuation], readings: Readings, complaints: Complaints) -> None:
    """Complain of ties in a circle and of resistances that come out negative."""
    circles = _circles([valuation.symbol for valuation in valuations], readings)
    spans = {valuation.symbol: valuation.span for valuation in valuations}
    for circle in circles:
        _complain_of_circle(circle, spans[circle[0]], complaints)
    if circles:
        return
    resolved: dict[Symbol, Reading] = {}
    for valuation in valuations:
        if isinstance(valuation.value, Tie):
            reading = _resolve(valuation.symbol, readings, resolved)
            if not _check_size(valuation, reading, complaints):
                return
            if valuation.symbol.dimension == OHM:
                _check_sign(valuation, readings[valuation.symbol], reading, complaints)


def _circles(start: Sequence[Symbol], readings: Readings) -> list[tuple[Symbol, ...]]:
    """Return ways from a quantity along ties back to itself, none of which share a quantity.

    Depth-first search: a way back to a quantity on the path is a circle.
    """
    found: list[tuple[Symbol, ...]] = []
    finished: set[Symbol] = set()
    for first in start:
        path: dict[Symbol, Iterator[Symbol]] = {}
        ahead: Symbol | None = first
        while ahead is not None or path:
            if ahead is not None and ahead in readings and ahead not in finished:
                path[ahead] = iter(readings[ahead].coefficients)
            here = next(reversed(path), None)
            if here is None:
                break
            ahead = next(path[here], None)
            if ahead is None:
                finished.add(here)
                del path[here]
            elif ahead in path:
                names = list(path)
                found.append(tuple(names[names.index(ahead) :]))
                finished.update(path)
                break
    return found


def _complain_of_circle(
    circle: tuple[Symbol, ...], span: Span | None, complaints: Complaints
) -> None:
    names = [symbol.name for symbol in (*circle, circle[0])]
    complaints.error(
        "tie-in-circle",
        f"the value of `{names[0]}` depends on itself: {' → '.join(names)}",
        span,
        "give one of them a value in numbers, or leave it out so that it stays a letter",
    )


def _check_size(valuation: Valuation, reading: Reading, complaints: Complaints) -> bool:
    amounts = (reading.constant, *reading.coefficients.values())
    bits = max(max(a.numerator.bit_length(), a.denominator.bit_length()) for a in amounts)
    if bits <= MOST_BITS and len(reading.coefficients) <= MOST_ITEMS:
        return True
    complaints.error(
        "value-too-long",
        f"what `{valuation.symbol.name}` amounts to is too long to work with",
        valuation.span,
        "tie it to fewer quantities, by round numbers: R3 = 2 R1 + R2",
    )
    return False


def _check_sign(
    valuation: Valuation, written: Reading, reading: Reading, complaints: Complaints
) -> None:
    """Judge a resistance by its tie as `written` and by what that amounts to, its `reading`."""
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
    elif not amounts and _is_difference(written):
        complaints.warn(
            "resistance-comes-out-zero",
            f"the resistance `{name}` comes out as zero, so it counts as a wire",
            valuation.span,
            f"if that is meant, write {name} = 0 ohm",
        )
    elif any(amount < 0 for amount in amounts):
        complaints.warn(
            "resistance-may-be-negative",
            f"the resistance `{name}` is a difference: it is negative {_where(reading)}",
            valuation.span,
            "the solution holds where it is positive",
        )


def _is_difference(reading: Reading) -> bool:
    return any(amount < 0 for amount in (reading.constant, *reading.coefficients.values()))


def _where(reading: Reading) -> str:
    """Tell for which letters a difference is negative."""
    amounts = [(letter, amount) for letter, amount in reading.coefficients.items() if amount]
    if len(amounts) > 1:
        return "for some values of the letters"
    ((letter, amount),) = amounts
    bound = shown(-reading.constant / amount, OHM)
    return f"where {letter.name} is {'less' if amount > 0 else 'more'} than {bound}"


def _resolve(symbol: Symbol, readings: Readings, resolved: dict[Symbol, Reading]) -> Reading:
    """Return a quantity as a constant and multiples of letters that have no value."""
    waiting = [symbol]
    while waiting:
        if waiting[-1] in resolved:
            waiting.pop()
            continue
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
        resolved[waiting.pop()] = Reading(reading.term, reading.dimension, constant, coefficients)
    return resolved[symbol]
