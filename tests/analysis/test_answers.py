"""Whole derivations: the independent checker accepts them, and forged ones it refuses."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elements import Battery
from derive.circuit.question import AskPowerIn, AskPowerOf, AskVoltage, AskVoltageAcross
from derive.derivation.step import Conclude, Round
from derive.pipeline import solve
from derive.source import Source
from tests.random_circuits import random_circuit


@pytest.mark.parametrize("numbers_first", [True, False])
@pytest.mark.parametrize("seed", range(25))
def test_every_derivation_is_accepted(seed: int, numbers_first: bool) -> None:
    circuit = random_circuit(random.Random(seed), loops=(2, 6) if numbers_first else (2, 3))
    questions = []
    for element in circuit.elements:
        questions += [AskVoltageAcross(element.name), AskPowerIn(element.name)]
        if isinstance(element, Battery):
            questions.append(AskPowerOf(element.name))
    ends = (circuit.nodes[-1].name, circuit.nodes[0].name)
    if ends[0] != ends[1]:
        questions.append(AskVoltage(*ends))
    circuit = replace(circuit, questions=(*circuit.questions, *dict.fromkeys(questions)))
    verdict = check(circuit, derive(circuit, numbers_first=numbers_first))
    assert verdict.accepted, verdict.refusal


@pytest.mark.parametrize("seed", range(5))
def test_letters_only_is_accepted(seed: int) -> None:
    circuit = random_circuit(random.Random(seed), loops=(2, 3), letters=True)
    verdict = check(circuit, derive(circuit))
    assert verdict.accepted, verdict.refusal


def test_rounding_is_once_and_half_away_from_zero() -> None:
    circuit = random_circuit(random.Random(3), loops=(2, 3))
    steps = derive(circuit, numbers_first=True, figures=2).steps
    for step in steps:
        if isinstance(step, Round) and step.rounded:
            size = abs(step.rounded) / step.unit.size / Fraction(10) ** step.unit_exponent
            assert size < 1000
            assert (size * 10**step.decimals).denominator == 1


def test_an_answer_left_out_is_refused() -> None:
    circuit = random_circuit(random.Random(3), loops=(2, 3))
    derivation = derive(circuit, numbers_first=True)
    last = max(k for k, s in enumerate(derivation.steps) if isinstance(s, Conclude))
    forged = replace(derivation, steps=derivation.steps[:last])
    assert not check(circuit, forged).accepted


def test_where_no_current_flows_an_answer_in_letters_is_zero() -> None:
    """Nothing but sources that follow currents: all of them are zero, and so is what they make."""
    text = "I1: A (R1) B\nI2: B (R2) A\nI3: B (-E1+) C (R3) A\nI4: A (capacitor C1) B\n"
    text += "E1 = 2 ohm * I1\nask currents\nask voltage across C1\n"
    contract = solve(Source("still", text)).contract
    assert {result.formula for _, result in contract.currents} == {"0"}
    assert [answer.result.formula for answer in contract.answers] == ["0"]
