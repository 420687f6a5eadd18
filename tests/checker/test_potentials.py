"""Potentials: what is true is accepted, every change of it refused, with the reason told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from derive.algebra.dimension import VOLT
from derive.algebra.term import ZERO, Equation, Negative, Sum, Symbol, SymbolKind, potential
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.exchanges import Agree
from derive.derivation.goal import Goal
from derive.derivation.laws import PotentialRule
from derive.derivation.step import Conclude, Derivation, Step
from derive.source import Source
from tests.checker.mutate import mutants
from tests.checker.test_mutations import reason

TEXT = """I1: A (-E1 r1+) B (R1) C
I2: A (R4) D (-E2+) F (R2) C
I3: C (R3) A
: C G
E1 = 12 V; E2 = 9 V; r1 = 1/2 ohm
R1, R4, R3 = 2 ohm; R2 = 1 ohm
ground A
ask potentials
ask potential F
"""
TOLD = (Goal.POTENTIALS, Goal.OTHER_PATH)


def sound(text: str = TEXT) -> tuple[Circuit, Derivation]:
    circuit = load(Source("x", text)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    return circuit, derivation


def told(derivation: Derivation) -> set[int]:
    return {k for s in derivation.stages if s.goal in TOLD for k in s.ids}


def in_letters() -> str:
    return "\n".join(line for line in TEXT.splitlines() if "=" not in line) + "\n"


@pytest.mark.parametrize("text", [TEXT, in_letters()], ids=["numbers", "letters"])
def test_every_change_is_refused(text: str) -> None:
    circuit, derivation = sound(text)
    own = told(derivation)
    tried = 0
    for number, mutant in enumerate(mutants(circuit, derivation)):
        if mutant.step not in own or number % 29:
            continue
        tried += 1
        if check(circuit, mutant.derivation).accepted:
            assert reason(mutant), f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
    assert tried > 40


def leg(derivation: Derivation, start: str, point: str) -> tuple[int, PotentialRule]:
    for k, step in enumerate(derivation.steps):
        if isinstance(step, PotentialRule) and (step.start, step.point) == (start, point):
            return k, step
    raise AssertionError(point)


def forgeries(derivation: Derivation) -> Iterator[tuple[str, int, Step, str]]:
    place, first = leg(derivation, "A", "B")
    yield (
        "a path with the wrong sign",
        place,
        replace(first, conclusion=Equation(potential("B"), Negative(first.conclusion.right))),
        "add up",
    )
    yield (
        "the potential of another point",
        place,
        replace(first, conclusion=Equation(potential("C"), first.conclusion.right)),
        "add up",
    )
    kind: Any = SymbolKind.VOLTAGE
    yield (
        "a voltage for a potential",
        place,
        replace(first, conclusion=Equation(Symbol("V(B)", kind, VOLT), first.conclusion.right)),
        "add up",
    )
    yield (
        "a path that stops half way",
        place,
        replace(
            first,
            crossings=first.crossings[:1],
            conclusion=Equation(potential("B"), first.crossings[0].change),
        ),
        "not end",
    )
    yield (
        "from a point that has not been told",
        place,
        PotentialRule(
            start="G",
            point="C",
            crossings=(),
            conclusion=Equation(potential("C"), potential("G")),
        ),
        "no meaning",
    )
    place, second = leg(derivation, "B", "C")
    yield (
        "the point before it taken for zero",
        place,
        replace(second, conclusion=Equation(potential("C"), second.crossings[0].change)),
        "add up",
    )
    yield (
        "the changes from the ground with the point before it",
        place,
        replace(
            second,
            start="A",
            crossings=first.crossings + second.crossings,
            conclusion=Equation(
                potential("C"),
                Sum((potential("B"), *(r.change for r in first.crossings + second.crossings))),
            ),
        ),
        "add up",
    )
    place, joined = leg(derivation, "C", "G")
    yield (
        "a point said to be joined that is not",
        place,
        replace(joined, start="B", conclusion=Equation(potential("G"), potential("B"))),
        "not end",
    )
    yield (
        "a point said to be at zero that is not",
        place,
        replace(joined, start="A", conclusion=Equation(potential("G"), ZERO)),
        "not end",
    )


@pytest.mark.parametrize("number", range(9))
def test_a_forged_potential_is_refused(number: int) -> None:
    circuit, derivation = sound()
    name, place, step, why = list(forgeries(derivation))[number]
    steps = (*derivation.steps[:place], step, *derivation.steps[place + 1 :])
    refusal = check(circuit, Derivation(steps)).refusal
    assert refusal is not None, name
    assert why in refusal.reason, (name, refusal)


def test_potentials_need_a_ground() -> None:
    circuit, derivation = sound()
    refusal = check(replace(circuit, ground=None), derivation).refusal
    assert refusal is not None
    assert refusal.reason == "no point is at zero"


def test_a_potential_left_out_is_refused() -> None:
    circuit, derivation = sound()
    kept = tuple(
        derivation.steps[0]
        if isinstance(s, Conclude) and s.symbol == potential("D")
        else s
        for s in derivation.steps
    )  # fmt: skip
    refusal = check(circuit, Derivation(kept)).refusal
    assert refusal is not None
    assert "not answered" in refusal.reason


def test_two_paths_to_two_points_do_not_agree() -> None:
    circuit, derivation = sound()
    place, agreed = next((k, s) for k, s in enumerate(derivation.steps) if isinstance(s, Agree))
    other = next(
        s.value
        for s in derivation.steps
        if isinstance(s, Conclude) and s.symbol == potential("B")
    )  # fmt: skip
    assert other is not None
    steps = list(derivation.steps)
    steps[place] = replace(agreed, one=other)
    refusal = check(circuit, Derivation(tuple(steps))).refusal
    assert refusal is not None
    assert refusal.step == place
