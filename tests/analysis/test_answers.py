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
