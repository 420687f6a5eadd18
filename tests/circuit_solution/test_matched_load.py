"""Matched loads against numpy: no other value of the load takes more power."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.dimension import OHM
from derive.algebra.term import Symbol, symbols
from derive.analysis.answers import derive
from derive.analysis.matched import NoMatch, Unmatched
from derive.checker.kernel import check
from derive.circuit.elements import Resistor
from derive.circuit.model import Circuit
from derive.circuit.question import AskMatchedLoad
from derive.circuit.valuation import Given, Tie, Valuation
from derive.derivation.step import Conclude, Derivation
from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from tests.circuit_solution.test_energy_and_batteries import value_of
from tests.random_circuits import in_letters, nodal_currents, random_circuit


def power(circuit: Circuit, load: Resistor, value: float) -> float:
    """Return the power in a load of some value, by nodal analysis."""
    kept = tuple(v for v in circuit.values if v.symbol != load.resistance)
    given = Given(Fraction(value), OHM)
    changed = replace(circuit, values=(*kept, Valuation(load.resistance, given)))
    index, _ = circuit.find_branch(load.name)
    return value * nodal_currents(changed)[index] ** 2


def free_loads(circuit: Circuit) -> list[Resistor]:
    """Return the resistors that are neither tied nor have others tied to them."""
    ties = [v for v in circuit.values if isinstance(v.value, Tie)]
    bound: set[Symbol] = {v.symbol for v in ties}
    for tie in ties:
        assert isinstance(tie.value, Tie)
        bound |= set(symbols(tie.value.term))
    found = [e for e in circuit.elements if isinstance(e, Resistor)]
    return [e for e in found if e.resistance not in bound]


def scene(rng: random.Random) -> tuple[Circuit, Resistor]:
    """Return a circuit and one of its free loads."""
    while True:
        circuit = random_circuit(rng, loops=(1, 3))
        loads = free_loads(circuit)
        if loads:
            return circuit, rng.choice(loads)


def matched(circuit: Circuit, load: Resistor) -> Derivation:
    asked = replace(circuit, questions=(*circuit.questions, AskMatchedLoad(load.name)))
    derivation = derive(asked, in_letters=True)
    verdict = check(asked, derivation)
    assert verdict.accepted, verdict.refusal
    return derivation


def answers(derivation: Derivation) -> list[float]:
    concluded = [
        s for s in derivation.steps
        if isinstance(s, Conclude) and isinstance(s.question, AskMatchedLoad)
    ]  # fmt: skip
    return [float(value_of(derivation, step)) for step in concluded]


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("valued", [True, False])
def test_no_other_load_takes_more_power(seed: int, valued: bool) -> None:
    rng = random.Random(seed)
    circuit, load = scene(rng)
    given = circuit
    if not valued:
        kept = tuple(v for v in circuit.values if v.symbol != load.resistance)
        given = replace(circuit, values=kept)
    tries = [10 ** (k / 8) for k in range(-24, 33)]
    powers = [power(circuit, load, r) for r in tries]
    try:
        found, reason = answers(matched(given, load)), None
    except NoMatch as refused:
        found, reason = [], refused.reason
    if reason is Unmatched.STILL:
        assert max(powers) < 1e-9
        return
    if reason is not None:  # the power grows towards one end
        assert reason is Unmatched.BATTERY
        assert powers == sorted(powers, reverse=True)
        return
    best, most = found
    assert power(circuit, load, best) == pytest.approx(most, rel=1e-9)
    assert max(powers) <= most * (1 + 1e-9)
    assert power(circuit, load, best * 1.05) < most
    assert power(circuit, load, best / 1.05) < most


@pytest.mark.parametrize("seed", range(8))
def test_in_letters(seed: int) -> None:
    rng = random.Random(seed)
    circuit, load = scene(rng)
    try:
        derivation = matched(in_letters(circuit), load)
    except NoMatch:
        with pytest.raises(NoMatch):
            matched(circuit, load)
        return
    concluded = [s for s in derivation.steps if isinstance(s, Conclude)]
    assert all(s.formula is not None for s in concluded)


TWO = "I1: A (-E1 r1+) B\nI2: B (R2) A\nI3: B (R3) A\nE1 = 6 V\nr1 = 2 ohm\nR2 = 2 ohm\n"
"""Invented: R3 sees 3 V behind 1 ohm, so it takes at most 2.25 W."""


@pytest.mark.parametrize("value", ["", "R3 = 7 ohm\n"])
@pytest.mark.parametrize("numbers_first", [True, False])
@pytest.mark.parametrize("method", ["", "use method reduction\n", "use method branch currents\n"])
def test_what_is_told_does_not_depend_on_the_way(
    value: str, numbers_first: bool, method: str
) -> None:
    text = TWO + value + method + "ask matched load R3\n"
    found = solve(Source("x", text), Options(numbers_first=numbers_first)).contract
    assert [(a.ask, a.result.exact) for a in found.answers] == [
        ("matched load R3", 1),
        ("power in matched load R3", Fraction(9, 4)),
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R3) A\nE1 = 6 V\nR1 = 1 ohm\n", "smaller"),
        ("I1: A (J1 ->) B\nI2: B (R3) A\nJ1 = 1 A\n", "a current source sets its current"),
        ("I1: A (-E1+) (R1) B\nI2: B (R2) A\n: B (R3) C (open S1) A\nE1 = 6 V\nR1, R2 = 1 ohm\n",
         "no current flows in it"),
        ("I1: A (-E1+) (R1) B\nI2: B (R3) (+E2-) A\nE1, E2 = 6 V\nR1 = 1 ohm\n",
         "no current flows in it"),
        ("I1: A (-E1+) (R1) B\nI2: B (R3) A\nE1 = 6 V\nR1 = 1 ohm\nR3 = 2 R1\n", "is tied"),
        ("I1: A (-E1+) (R1) B\nI2: B (R3) A\nE1 = 6 V\nR1 = 2 R3\n", "has R1 tied to it"),
        ("I1: A (-E1+) (R1) B\nI2: B (R3) A\nE1 = 6 V\nR1 = 1 ohm\nR3 = 0 ohm\n", "is a wire"),
        ("I1: A (-E1+) (R1) B\nI2: B (-E2+) (R3) A\nE1 = 6 V\nR1 = 1 ohm\nE2 = 3 ohm * I1\n",
         "positive internal resistance"),
    ],
)  # fmt: skip
def test_what_has_no_matched_load_is_refused(text: str, message: str) -> None:
    with pytest.raises(Rejected) as refused:
        solve(Source("x", text + "ask matched load R3\n"))
    assert message in refused.value.diagnostics[0].message
