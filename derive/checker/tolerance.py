"""Ranges of answers and what tolerances contribute, worked out anew at every corner.

What is claimed of an answer is compared with the values at all corners of the tolerances, and, in
the one letter in which it may turn round, at its turning points. See `derive.checker.box` for why
corners are enough. Shares come from a solution that carries its slope along.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import comb, isqrt

from derive.algebra.term import Symbol, Term, replace
from derive.checker.box import (
    Box,
    Monomials,
    Unstated,
    box_of,
    degree,
    monomials,
    worth,
)
from derive.checker.dual import Dual
from derive.checker.ledger import Ledger, read_rule, require
from derive.checker.polynomial import Expansion, Refused
from derive.checker.rounding import MOST_EXPONENT
from derive.circuit.question import AskLoadingError, AskResistance
from derive.derivation.further import Efficiency, Largest, Lasts, OverTime
from derive.derivation.laws import (
    AcrossRule,
    ChargeRule,
    PartLaw,
    PartRule,
    PathRule,
    PotentialRule,
)
from derive.derivation.spread import End, NoRange, Range, Shares, Unbounded
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId

Line = list[Fraction]
"""Coefficients of a polynomial by rising powers of s, which runs from 0 to 1 over a tolerance."""


_Law = PartRule | PathRule | AcrossRule | PotentialRule | Lasts | OverTime


# --- the quantity --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Quantity:
    """An answer as ``factor · unknown**power``; without an unknown it is the factor alone."""

    factor: Monomials
    unknown: Symbol | None
    power: int


_LINEAR = (PartLaw.CURRENT, PartLaw.VOLTAGE, PartLaw.OPEN_CIRCUIT)


def _box(ledger: Ledger) -> Box:
    """Return the box of the circuit, built once, with all voltages that have been stated.

    Raises Unstated.
    """
    if ledger.box is None:
        if any(isinstance(step, ChargeRule) for step in ledger.steps[: ledger.here]):
            raise Unstated(Unbounded.CHARGES)
        further: dict[Symbol, Term] = {}
        for step in ledger.steps[: ledger.here]:
            if isinstance(step, PartRule) and step.kind not in _LINEAR:
                continue
            if isinstance(step, PartRule | PathRule | AcrossRule | PotentialRule):
                further.setdefault(*_said(step))
        ledger.box = box_of(ledger.circuit, further)
    return ledger.box


def _said(step: _Law) -> tuple[Symbol, Term]:
    symbol = step.conclusion.left
    assert isinstance(symbol, Symbol)
    return symbol, step.conclusion.right


def _law(ledger: Ledger, box: Box, symbol: Symbol) -> Monomials:
    """Return what an answer is, in letters that move and unknowns of the box. Raises Unstated."""
    if symbol in box.unknowns:
        return {((symbol, 1),): Fraction(1)}
    said: dict[Symbol, Term] = {}
    for step in ledger.steps[: ledger.here]:
        if isinstance(step, Efficiency | Largest) or (
            isinstance(step, PartRule) and step.kind is PartLaw.SHORT_CIRCUIT
        ):
            if step.conclusion.left == symbol:
                raise Unstated(Unbounded.RATIO)
        elif isinstance(step, PartRule | Lasts | OverTime) and step.conclusion.left not in said:
            # A law over a time holds a power and a time, which have been told before it.
            known, right = _said(step)
            said[known] = replace(right, said)
    if symbol not in said:
        raise Refused(f"no law gives {symbol.name}")
    return monomials(box.expansion, said[symbol], (*box.letters, *box.unknowns))


def _taken_apart(box: Box, law: Monomials) -> _Quantity:
    """Return a law as a factor and a power of one unknown. Raises Unstated."""
    factor: dict[tuple[tuple[Symbol, int], ...], Fraction] = {}
    powers = set()
    for monomial, coefficient in law.items():
        powers.add(tuple(pair for pair in monomial if pair[0] in box.unknowns))
        factor[tuple(pair for pair in monomial if pair[0] in box.letters)] = coefficient
    if len(powers) > 1 or any(len(found) > 1 for found in powers):
        raise Unstated(Unbounded.TERMINALS)
    (found,) = powers or {()}
    unknown, power = found[0] if found else (None, 1)
    if power > 2:
        raise Unstated(Unbounded.TERMINALS)
    return _Quantity(factor, unknown, power)


def _answer(ledger: Ledger, place: StepId, symbol: Symbol) -> Conclude:
    """Return the answer that a step is about; it has a value in numbers."""
    require(0 <= place < ledger.here, "the answer does not come before it")
    step = ledger.steps[place]
    if not isinstance(step, Conclude):
        raise Refused(f"step {place} answers nothing")
    require(step.symbol == symbol, f"step {place} answers by {step.symbol.name}")
    require(step.value is not None and step.rounded is not None, "the answer has no number")
    return step


def _elsewhere(answer: Conclude) -> Unbounded | None:
    """Return why an answer is no quantity of the currents of its circuit, if it is none."""
    if isinstance(answer.question, AskResistance):
        return Unbounded.BETWEEN
    return Unbounded.LOADING if isinstance(answer.question, AskLoadingError) else None


def _nominal(ledger: Ledger, answer: Conclude) -> Fraction:
    assert answer.value is not None
    value = Expansion(ledger.defined).constant(read_rule(ledger, answer.value)[1])
    if value is None:
        raise Refused("the answer has no number")
    return value


# --- ranges --------------------------------------------------------------------------------------


def check_range(ledger: Ledger, step: Range) -> None:
    """The ends are met where they are said to be met, and nothing lies beyond them."""
    answer = _answer(ledger, step.answer, step.symbol)
    require(_elsewhere(answer) is None, "this is no quantity of the currents")
    try:
        box = _box(ledger)
        quantity = _taken_apart(box, _law(ledger, box, step.symbol))
        low, high = _bounds(box, quantity)
    except Unstated as fault:
        raise Refused(f"no range can be stated: {fault.reason.value}") from None
    nominal = _nominal(ledger, answer)
    require(low <= nominal <= high, "the nominal value lies outside")
    place = _place(step.unit_exponent, step.decimals)
    for end, exact, outwards in ((step.low, low, -1), (step.high, high, 1)):
        require(end.value == exact, "the end is another one")
        _check_met(box, quantity, end)
        require((end.shown / place).denominator == 1, "it has more digits than it says")
        beyond = (end.shown - exact) * outwards
        require(0 <= beyond < place, "an end is not rounded outwards")


def _check_met(box: Box, quantity: _Quantity, end: End) -> None:
    """An end is the value at a point of the box; a square may be zero at a point without a name."""
    if not end.at:
        require(quantity.power == 2 and end.value == 0, "it is not said where an end is met")
        return
    at = dict(end.at)
    require(
        tuple(at) == box.letters and len(at) == len(end.at), "these are not the values that move"
    )
    for letter, value in at.items():
        inside = abs(value - box.nominal[letter]) <= box.reach[letter]
        require(inside, f"{letter.name} is out of its tolerance")
    known = {s: Dual(v) for s, v in at.items()}
    found = worth(quantity.factor, known).value
    if quantity.unknown is not None:
        _, unknowns = box.at(tuple(at.values()))
        found *= unknowns[box.unknowns.index(quantity.unknown)].value ** quantity.power
    require(found == end.value, "the end is not met there")


def _bounds(box: Box, quantity: _Quantity) -> tuple[Fraction, Fraction]:
    """Return the least and the greatest value over the box. Raises Unstated."""
    bent = [letter for letter in box.letters if _bends(box, quantity, letter)]
    if len(bent) > 1:
        raise Unstated(Unbounded.BENDS)
    others = [letter for letter in box.letters if letter not in bent]
    found: list[Fraction] = []
    roots: list[Fraction] = []
    signs: set[bool] = set()
    for corner in _corners(box, others):
        factor, above, below = _lines(box, quantity, corner, bent)
        for s in _turns(factor, above, below, quantity.power) if bent else [Fraction(0)]:
            under = _at(below, s)
            if not under:
                raise Unstated(Unbounded.OPEN)
            signs.add(under > 0)
            roots.append(_at(above, s) / under)
            found.append(_at(factor, s) * roots[-1] ** quantity.power)
            if quantity.power == 2 and _at(factor, s) < 0:
                raise Unstated(Unbounded.BENDS)
    if len(signs) != 1:
        raise Unstated(Unbounded.OPEN)
    crosses = quantity.power == 2 and min(roots) < 0 < max(roots)
    return (Fraction(0) if crosses else min(found)), max(found)


def _bends(box: Box, quantity: _Quantity, letter: Symbol) -> bool:
    """Tell whether more than the first power of a letter may be in it, above or below."""
    points = box.points[box.letters.index(letter)]
    if degree(quantity.factor, letter) > (1 if quantity.unknown is None else 0):
        return True
    if len(points) == 2:
        return False
    rest = [other for other in box.letters if other != letter]
    for known in box.grid(rest):
        _, above, below = _lines(box, quantity, known, [letter])
        if any(above[2:]) or any(below[2:]):
            return True
    return False


def _corners(box: Box, letters: list[Symbol]) -> Iterator[dict[Symbol, Fraction]]:
    ends = {s: (p[0], p[-1]) for s, p in zip(box.letters, box.points, strict=True)}
    for known in box.grid(letters):
        if all(value in ends[letter] for letter, value in known.items()):
            yield known


def _lines(
    box: Box, quantity: _Quantity, known: Mapping[Symbol, Fraction], bent: list[Symbol]
) -> tuple[Line, Line, Line]:
    """Return factor, numerator and determinant in the letter that is left, all others known."""
    points = box.points[box.letters.index(bent[0])] if bent else (Fraction(0),)
    above, below = [], []
    for value in points:
        whole = {**known, **dict.fromkeys(bent, value)}
        determinant, unknowns = box.at(tuple(whole[s] for s in box.letters))
        root = Fraction(1)
        if quantity.unknown is not None:
            root = unknowns[box.unknowns.index(quantity.unknown)].value
        above.append(root * determinant)
        below.append(determinant)
    count = 1 + (degree(quantity.factor, bent[0]) if bent else 0)
    factor = []
    for k in range(count):
        value = points[0] + (points[-1] - points[0]) * Fraction(k, max(count - 1, 1))
        at = {**known, **dict.fromkeys(bent, value)}
        factor.append(worth(quantity.factor, {s: Dual(v) for s, v in at.items()}).value)
    return _through(factor), _through(above), _through(below)


# --- polynomials in one letter -------------------------------------------------------------------


def _through(values: Line) -> Line:
    """Return the polynomial with these values at equally spaced points from 0 to 1 (I. Newton)."""
    count = len(values) - 1
    differences, found, basis = list(values), [Fraction(0)] * len(values), [Fraction(1)]
    for k in range(len(values)):
        for j, coefficient in enumerate(basis):
            found[j] += differences[0] * coefficient
        differences = [b - a for a, b in pairwise(differences)]
        # (s·count − k)/(k + 1) leads from one basis polynomial to the next
        shifted = [Fraction(0), *(c * count for c in basis)]
        held = [*(c * k for c in basis), Fraction(0)]
        basis = [(a - b) / (k + 1) for a, b in zip(shifted, held, strict=True)]
    return found


def _at(line: Line, s: Fraction) -> Fraction:
    return sum((c * s**k for k, c in enumerate(line)), Fraction(0))


def _slope(line: Line) -> Line:
    return [c * k for k, c in enumerate(line) if k] or [Fraction(0)]


def _product(*lines: Line) -> Line:
    found = [Fraction(1)]
    for line in lines:
        old, found = found, [Fraction(0)] * (len(found) + len(line) - 1)
        for i, a in enumerate(old):
            for j, b in enumerate(line):
                found[i + j] += a * b
    return found


def _sum(*lines: Line) -> Line:
    size = max(map(len, lines))
    return [sum((line[k] for line in lines if k < len(line)), Fraction(0)) for k in range(size)]


def _turns(factor: Line, above: Line, below: Line, power: int) -> list[Fraction]:
    """Return 0, 1 and where ``factor·(above/below)**power`` turns round. Raises Unstated."""
    if _inner_zeros(below, Unbounded.OPEN):
        raise Unstated(Unbounded.OPEN)
    weight, minus = [Fraction(power)], [Fraction(-power)]
    rising = _sum(
        _product(_slope(factor), above, below),
        _product(weight, factor, _slope(above), below),
        _product(minus, factor, above, _slope(below)),
    )
    found = _inner_zeros(rising, Unbounded.BENDS)
    if power > 1:
        found |= _inner_zeros(above, Unbounded.BENDS)
        if _inner_zeros(factor, Unbounded.BENDS):
            raise Unstated(Unbounded.BENDS)
    return [Fraction(0), Fraction(1), *sorted(found)]


def _inner_zeros(line: Line, reason: Unbounded) -> set[Fraction]:
    """Return the zeros strictly between 0 and 1, none for zero itself. Raises Unstated.

    Coefficients of one sign in Bernstein's basis leave no zero; else a zero must be a fraction.
    """
    size = max((k + 1 for k, c in enumerate(line) if c), default=0)
    bounds = [
        sum((line[k] * Fraction(comb(i, k), comb(size - 1, k)) for k in range(i + 1)), Fraction(0))
        for i in range(size)
    ]
    if min(bounds, default=Fraction(0)) >= 0 or max(bounds) <= 0:
        return set()
    found: list[Fraction] = []
    if size == 2:
        found = [-line[0] / line[1]]
    elif size == 3:
        middle, under = -line[1] / (2 * line[2]), line[1] ** 2 - 4 * line[0] * line[2]
        if under >= 0:
            root = Fraction(isqrt(under.numerator), isqrt(under.denominator))
            if root * root != under:
                raise Unstated(reason)
            found = [middle - root / (2 * line[2]), middle + root / (2 * line[2])]
    else:
        raise Unstated(reason)
    return {zero for zero in found if 0 < zero < 1}


# --- what is said besides ------------------------------------------------------------------------


def check_no_range(ledger: Ledger, step: NoRange) -> None:
    """The reason for which no range is stated holds."""
    answer = _answer(ledger, step.answer, step.symbol)
    elsewhere = _elsewhere(answer)
    if elsewhere is not None:
        require(step.reason is elsewhere, "there is another reason")
        return
    try:
        box = _box(ledger)
        if box.points:
            _bounds(box, _taken_apart(box, _law(ledger, box, step.symbol)))
    except Unstated as fault:
        require(fault.reason is step.reason, "there is another reason")
        return
    raise Refused("a range can be stated")


def check_shares(ledger: Ledger, step: Shares) -> None:
    """Each share is the slope at the nominal values, times how far the value may be off."""
    answer = _answer(ledger, step.answer, step.symbol)
    require(_elsewhere(answer) is None, "this is no quantity of the currents")
    try:
        box = _box(ledger)
        law = _law(ledger, box, step.symbol)
    except Unstated as fault:
        raise Refused(f"no shares can be stated: {fault.reason.value}") from None
    require(
        tuple(s.letter for s in step.shares) == box.letters, "these are not the values that move"
    )
    place = _place(step.unit_exponent, step.decimals)
    total = Fraction(0)
    for share in step.shares:
        if share.letter not in ledger.slopes:
            ledger.slopes[share.letter] = box.along(share.letter)
        slope = worth(law, ledger.slopes[share.letter]).slope
        require(share.value == slope * box.reach[share.letter], "a share is another one")
        _check_nearest(share.shown, share.value, place)
        total += abs(share.value)
    require(step.total == total, "the shares add up to something else")
    _check_nearest(step.total_shown, total, place)
    _check_ends(ledger, step, answer, place)


def _check_ends(ledger: Ledger, step: Shares, answer: Conclude, place: Fraction) -> None:
    """Beside the shares stand the exact ends, counted from the nominal value."""
    before = ledger.steps[ledger.here - 1]
    found = before if isinstance(before, Range) and before.symbol == step.symbol else None
    require((found is None) == (step.down is None) == (step.up is None), "the ends are not known")
    if found is None or step.down is None or step.up is None:
        require(isinstance(before, NoRange), "no range stands before the shares")
        return
    require(found.answer == step.answer, "the range is of another answer")
    nominal = _nominal(ledger, answer)
    ends = (step.down, found.low.value, -1), (step.up, found.high.value, 1)
    for shown, exact, outwards in ends:
        beyond = (shown - (exact - nominal)) * outwards
        require(
            (shown / place).denominator == 1 and 0 <= beyond < place, "an end is rounded wrongly"
        )


def _check_nearest(shown: Fraction, exact: Fraction, place: Fraction) -> None:
    require((shown / place).denominator == 1, "it has more digits than it says")
    require(2 * abs(shown - exact) <= place, "it is rounded to a wrong value")


def _place(exponent: int, decimals: int) -> Fraction:
    in_range = exponent % 3 == 0 and abs(exponent) <= MOST_EXPONENT
    require(in_range and 0 <= decimals <= 100, "no unit has this prefix")
    return Fraction(10) ** (exponent - decimals)
