"""Preferred values in a derivation: right ones are accepted, changed ones refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.preferred import Series
from derive.derivation.further import PreferredValue
from derive.derivation.step import Derivation
from derive.diagnostic import Rejected
from derive.pipeline import solve
from derive.source import Source
from tests.checker.mutate import mutants

_TEXT = """
I1: A (-E1+) B (R1) C (R2) A
: C (capacitor C1) A
E1 = 5 V
R1 = 4.25 kohm
R2 = 2 R1
C1 = 9 uF
ask E24 value of R1, R2
ask E6 value of C1
ask E192 value of R1
"""


def test_neighbours_of_values_and_ties() -> None:
    circuit = load(Source("test", _TEXT)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    steps = [s for s in derivation.steps if isinstance(s, PreferredValue)]
    found = [(s.series, s.below, s.above, s.off_below) for s in steps]
    assert found == [
        (Series.E24, 3900, 4300, Fraction(-82, 1000)),
        (Series.E24, 8200, 9100, Fraction(-35, 1000)),
        (Series.E6, Fraction(68, 10**7), Fraction(1, 10**5), Fraction(-244, 1000)),
        (Series.E192, 4220, 4270, Fraction(-71, 10000)),
    ]
    nearest = [derivation.equation(k).right for k, s in enumerate(derivation.steps) if s in steps]
    assert [getattr(term, "value", None) for term in nearest] == [
        4300, 8200, Fraction(1, 10**5), 4270,
    ]  # fmt: skip


def test_a_changed_step_is_refused() -> None:
    circuit = load(Source("test", _TEXT)).circuit
    derivation = derive(circuit)
    met = 0
    for mutant in mutants(circuit, derivation):
        if isinstance(mutant.old, PreferredValue):
            met += 1
            assert not check(circuit, mutant.derivation).accepted, mutant.place
    assert met > 50


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"below": Fraction(3600)}, "below"),
        ({"above": Fraction(4700)}, "above"),
        ({"off_above": Fraction(13, 1000)}, "farther"),
        ({"off_above": Fraction(118, 10000)}, "more digits"),
    ],
)
def test_a_forgery_is_refused(change: dict[str, Fraction], reason: str) -> None:
    circuit = load(Source("test", _TEXT)).circuit
    derivation = derive(circuit)
    steps = list(derivation.steps)
    place = next(k for k, s in enumerate(steps) if isinstance(s, PreferredValue))
    old = steps[place]
    assert isinstance(old, PreferredValue)
    steps[place] = replace(old, **change)  # type: ignore[arg-type]
    verdict = check(circuit, Derivation(tuple(steps)))
    assert verdict.refusal is not None
    assert verdict.refusal.step == place
    assert reason in verdict.refusal.reason


def test_the_value_may_be_one_that_is_sought() -> None:
    """R1 = 9 V/0.18 A − 15.5 Ω = 34.5 Ω; 34.5² > 33 · 36, so the nearest in E24 is 36 Ω."""
    text = (
        "I1: A (-E1 r1+) B (R1) C (lamp L1) A\nE1 = 9 V\nr1 = 0.5 ohm\nL1 = 15 ohm\nR1 = ?\n"
        "I1 = 180 mA\nask E24 value of R1\nask E12 value of R1"
    )
    circuit = load(Source("test", text)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    steps = [s for s in derivation.steps if isinstance(s, PreferredValue)]
    assert [(s.below, s.above) for s in steps] == [(33, 36), (33, 39)]
    assert [getattr(s.conclusion.right, "value", None) for s in steps] == [36, 33]


def test_a_sought_value_of_zero_has_no_neighbours() -> None:
    text = (
        "I1: A (-E1+) B (R1) C (R2) A\nE1 = 9 V\nR1 = ?\nR2 = 3 ohm\nI1 = 3 A\nask E24 value of R1"
    )
    with pytest.raises(Rejected) as refused:
        solve(Source("test", text))
    assert [d.code for d in refused.value.diagnostics] == ["no-value"]
