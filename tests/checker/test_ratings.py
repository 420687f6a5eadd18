"""Ratings in a derivation: right ones are accepted, changed, forged and missing ones refused."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from derive.algebra.dimension import WATT
from derive.analysis.answers import derive
from derive.checker.comparison import check_comparison
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Rating
from derive.derivation.further import AgainstRating, Load
from derive.derivation.laws import Rated
from derive.derivation.step import Derivation, Round, Silent, Step
from derive.proving import prove
from derive.source import Source
from tests.checker.mutate import mutants

_TEXT = """
: A (-E1 r1+) B
: B (R1) C
I1: C (lamp L1) A
I2: C (lamp L2) A
: B (open S1) (R2) A
E1 = 9 V
r1, R1 = 1 ohm
R2 = 2 R1
rating L1 = 6 V, 2.4 W
rating L2 = 6 V, 9 W
rating R1, R2 = 0.25 W
"""


def _derived(text: str = _TEXT) -> tuple[Circuit, Derivation]:
    circuit = load(Source("test", text)).circuit
    return circuit, derive(circuit)


def test_it_is_accepted() -> None:
    circuit, derivation = _derived()
    assert check(circuit, derivation).accepted
    loads = {s.part: s.load for s in derivation.steps if isinstance(s, AgainstRating)}
    assert loads == {"L1": Load.BELOW, "L2": Load.BELOW, "R1": Load.OVER, "R2": Load.BELOW}


def _same_power(step: AgainstRating, derivation: Derivation) -> bool:
    """Tell whether another line is cited that gives the same power, with nothing else changed."""
    own = (s for s in derivation.steps if isinstance(s, AgainstRating) and s.part == step.part)
    true = next(own, None)
    found = derivation.steps[step.power] if 0 <= step.power < len(derivation.steps) else None
    if true is None or found is None or isinstance(found, Silent):
        return False
    same = found.conclusion.left == derivation.equation(true.power).left
    return same and replace(true, power=step.power) == step


def test_a_changed_step_is_refused() -> None:
    circuit, derivation = _derived()
    met = {Rated: 0, AgainstRating: 0}
    for mutant in mutants(circuit, derivation):
        if isinstance(mutant.old, Rated | AgainstRating):
            if isinstance(mutant.new, AgainstRating) and _same_power(mutant.new, derivation):
                continue
            met[type(mutant.old)] += 1
            assert not check(circuit, mutant.derivation).accepted, mutant.place
    assert min(met.values()) > 30


def _first(derivation: Derivation, kind: type[Step]) -> int:
    return next(k for k, s in enumerate(derivation.steps) if isinstance(s, kind))


@pytest.mark.parametrize(
    ("kind", "change", "reason"),
    [
        (Rated, {"part": "L2"}, "another resistance"),
        (Rated, {"part": "R1"}, "no lamp"),
        (AgainstRating, {"load": Load.OVER}, "less than its rating"),
        (AgainstRating, {"rating": Fraction(9)}, "another power"),
        (AgainstRating, {"part": "r1"}, "has no rating"),
        (AgainstRating, {"part": "L2", "rating": Fraction(9)}, "not the power in L2"),
    ],
)
def test_a_forgery_is_refused(kind: type[Step], change: dict[str, Any], reason: str) -> None:
    circuit, derivation = _derived()
    place = _first(derivation, kind)
    steps = list(derivation.steps)
    steps[place] = replace(steps[place], **change)
    verdict = check(circuit, Derivation(tuple(steps)))
    assert verdict.refusal is not None
    assert verdict.refusal.step == place
    assert reason in verdict.refusal.reason


@pytest.mark.parametrize("kind", [Rated, AgainstRating])
def test_none_may_be_left_out_or_said_twice(kind: type[Step]) -> None:
    circuit, derivation = _derived()
    place, steps = _first(derivation, kind), list(derivation.steps)
    again = check(circuit, Derivation((*steps, steps[place])))
    assert again.refusal is not None
    assert "twice" in again.refusal.reason
    for k in (place, place + 1):  # the rounding of a resistance goes with it
        steps[k] = steps[_first(derivation, Round)]
    out = check(circuit, Derivation(tuple(steps)))
    assert out.refusal is not None
    assert "left out" in out.refusal.reason


def test_another_resistance_of_the_lamp_is_refused() -> None:
    circuit, _ = _derived()
    other = Rating("L1", Given(Fraction(3), WATT), circuit.ratings[0].voltage)
    changed = replace(circuit, ratings=(other, *circuit.ratings[1:]))
    verdict = check(changed, derive(changed))
    assert verdict.refusal is not None
    assert "reckons with another resistance" in verdict.refusal.reason


def test_two_states_with_different_ratings_are_refused() -> None:
    proved = prove(Source("test", _TEXT.replace("open S1", "closes S1")))
    assert proved.switching is not None
    was = proved.switching.before
    before = replace(was.circuit, ratings=was.circuit.ratings[1:])
    verdict = check_comparison(
        proved.switching.event,
        (before, was.derivation),
        (proved.circuit, proved.derivation),
        proved.switching.comparison,
    )
    assert verdict.refusal is not None
    assert "different ratings" in verdict.refusal.reason
