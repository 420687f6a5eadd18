"""Ranges and shares that are not so are refused: single changes, and forgeries with a purpose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor
from typing import Any

import pytest

from derive.algebra.polynomial import Ring
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.spread import End, NoRange, Range, Shares, Unbounded
from derive.derivation.step import Conclude, Derivation, Step
from derive.source import Source
from tests.checker.mutate import Mutant, mutants

_DIVIDER = """
I1: C (-E1+) A (R1) B
I2: B (R2) C
I3: B (R3) C
E1 = 12 V ± 2 %
R1, R2 = 1 kohm ± 5 %
R3 = 2.2 kohm
ask voltage across R3
ask power in R1
ask power of E1
"""
_CELLS = """
I1: A (-E1 r1+) B (R1) C (+E2-) A
E1 = 6 V ± 5 %
E2 = 6 V ± 2 %
r1 = 1 ohm
R1 = 2 ohm ± 10 %
ask power in R1
ask power in E1
"""


def _derived(text: str) -> tuple[Circuit, Derivation]:
    circuit = load(Source("test", text)).circuit
    return circuit, derive(circuit)


def _keeps_its_meaning(mutant: Mutant) -> bool:
    """Tell whether a changed step says something true with another number of digits."""
    old, new = mutant.old, mutant.new
    if not isinstance(old, Range | Shares) or not isinstance(new, Range | Shares):
        return False
    if replace(new, unit_exponent=old.unit_exponent, decimals=old.decimals) != old:
        return isinstance(new, Range) and isinstance(old, Range) and _same_but_rounded(old, new)
    place = Fraction(10) ** (new.unit_exponent - new.decimals)
    if isinstance(new, Range):
        return _is_rounded_outwards(new, place)
    steps = mutant.derivation.steps
    rounded = ((x.value, x.shown) for x in (*new.shares, _Sum(new.total, new.total_shown)))
    near = all(2 * abs(exact - shown) <= place for exact, shown in rounded)
    ends = steps[mutant.step - 1]
    answer = steps[new.answer]
    assert isinstance(answer, Conclude)
    assert answer.value is not None
    nominal = Ring(()).poly(Derivation(steps).equation(answer.value).right).constant_value
    if new.down is None or new.up is None or not isinstance(ends, Range):
        return near
    low, high = ends.low.value - nominal, ends.high.value - nominal
    return near and 0 <= low - new.down < place and 0 <= new.up - high < place


@dataclass(frozen=True)
class _Sum:
    value: Fraction
    shown: Fraction


def _is_rounded_outwards(step: Range, place: Fraction) -> bool:
    low, high = floor(step.low.value / place) * place, ceil(step.high.value / place) * place
    return (step.low.shown, step.high.shown) == (low, high)


def _same_but_rounded(old: Range, new: Range) -> bool:
    same = (old.low.value, old.high.value, old.answer) == (
        new.low.value,
        new.high.value,
        new.answer,
    )
    return same and _is_rounded_outwards(new, Fraction(10) ** (new.unit_exponent - new.decimals))


@pytest.mark.parametrize(
    ("text", "stride"), [(_DIVIDER, 11), (_CELLS, 3)], ids=["divider", "cells"]
)
def test_a_changed_step_is_refused(text: str, stride: int) -> None:
    circuit, derivation = _derived(text)
    assert check(circuit, derivation).accepted
    first = next(k for k, s in enumerate(derivation.steps) if isinstance(s, Range | NoRange))
    met = set()
    for number, mutant in enumerate(mutants(circuit, derivation)):
        if mutant.step < first or number % stride:
            continue
        met.add(type(mutant.old).__name__)
        if check(circuit, mutant.derivation).accepted:
            assert _keeps_its_meaning(mutant), f"{mutant.place}\n{mutant.old}\n{mutant.new}"
    assert met >= {"Range", "Shares"}


# --- forgeries -----------------------------------------------------------------------------------


def _of(derivation: Derivation, kind: type[Any], symbol: str) -> int:
    return next(
        k for k, s in enumerate(derivation.steps) if isinstance(s, kind) and s.symbol.name == symbol
    )


def _forged(derivation: Derivation, place: int, change: Callable[[Any], Step]) -> Derivation:
    steps = list(derivation.steps)
    steps[place] = change(steps[place])
    return Derivation(tuple(steps), derivation.stages)


_FORGERIES: tuple[tuple[str, str, type[Any], str, Callable[[Any], Step], str], ...] = (
    ("the ends of all values low, taken for the least", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, low=replace(s.low, value=s.low.value + Fraction(1, 10))),
     "the end is another one"),
    ("an end met at another corner", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, low=replace(s.low, at=s.high.at)), "not met there"),
    ("an end met out of the tolerance", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, low=replace(s.low, at=tuple((n, 2 * v) for n, v in s.low.at))),
     "out of its tolerance"),
    ("an end met nowhere", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, low=replace(s.low, at=())), "not said where"),
    ("a low end rounded inwards", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, low=replace(s.low, shown=s.low.shown + Fraction(1, 100))),
     "not rounded outwards"),
    ("a high end rounded too far outwards", _DIVIDER, Range, "V(R3)",
     lambda s: replace(s, high=replace(s.high, shown=s.high.shown + Fraction(1, 100))),
     "not rounded outwards"),
    ("a share with the other sign", _DIVIDER, Shares, "V(R3)",
     lambda s: replace(s, shares=(replace(s.shares[0], value=-s.shares[0].value), *s.shares[1:])),
     "a share is another one"),
    ("a share left out", _DIVIDER, Shares, "V(R3)",
     lambda s: replace(s, shares=s.shares[1:]), "not the values that move"),
    ("the sum of signed shares", _DIVIDER, Shares, "V(R3)",
     lambda s: replace(s, total=sum((x.value for x in s.shares), Fraction(0))),
     "add up to something else"),
    ("no ends beside the shares", _DIVIDER, Shares, "V(R3)",
     lambda s: replace(s, down=None, up=None), "the ends are not known"),
    ("a range that is said to be unknown", _DIVIDER, Range, "V(R3)",
     lambda s: NoRange(answer=s.answer, symbol=s.symbol, reason=Unbounded.BENDS),
     "a range can be stated"),
    ("the wrong reason for no range", _CELLS, NoRange, "P(E1)",
     lambda s: replace(s, reason=Unbounded.BENDS), "another reason"),
    ("a range where none can be stated", _CELLS, NoRange, "P(E1)",
     lambda s: _made(s.answer, s.symbol), "no range can be stated"),
    ("the power at the corners alone, though the current turns round", _CELLS, Range, "P(R1)",
     lambda s: replace(s, low=replace(s.high, shown=floor(s.high.value))),
     "another one"),
)  # fmt: skip


def _made(answer: int, symbol: Any) -> Range:
    zero = End(value=Fraction(0), at=(), shown=Fraction(0))
    return Range(answer=answer, symbol=symbol, low=zero, high=zero, unit_exponent=0, decimals=0)


@pytest.mark.parametrize(
    ("text", "kind", "symbol", "change", "reason"),
    [row[1:] for row in _FORGERIES],
    ids=[row[0] for row in _FORGERIES],
)
def test_a_forgery_is_refused(
    text: str, kind: type[Any], symbol: str, change: Callable[[Any], Step], reason: str
) -> None:
    circuit, derivation = _derived(text)
    place = _of(derivation, kind, symbol)
    verdict = check(circuit, _forged(derivation, place, change))
    assert verdict.refusal is not None
    assert reason in verdict.refusal.reason
    assert verdict.refusal.step == place


def test_a_range_of_a_letter_is_refused() -> None:
    """What holds in numbers must not be claimed where a value is left open."""
    circuit, derivation = _derived(_DIVIDER)
    letters = replace(circuit, values=circuit.values[:-1])
    other = derive(letters)
    place = next(
        k for k, s in enumerate(other.steps) if isinstance(s, Conclude) and s.symbol.name == "V(R3)"
    )
    step = derivation.steps[_of(derivation, Range, "V(R3)")]
    assert isinstance(step, Range)
    longer = Derivation((*other.steps, replace(step, answer=place)))
    verdict = check(letters, longer)
    assert verdict.refusal is not None
    assert "has no number" in verdict.refusal.reason
