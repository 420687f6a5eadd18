"""Exchanges of resistances: sound ones are accepted, every changed one is refused."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations

import pytest

from derive.algebra.term import Equation, Product, Sum, Symbol, number, resistance
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.step import (
    Define,
    Derivation,
    Exchange,
    LeftBetween,
    LookBetween,
    LookFrom,
    Replace,
    Step,
)
from derive.source import Source

LADDER = "I1: A (R1) P\nI2: P (R2) B\nI3: P (R3) (R4) B\nI4: P (R5) X\nI5: X (R6) X\nask resistance A B\n"
BRIDGE = (
    "I1: A (R1) C\nI2: A (R2) D\nI3: C (R3) B\nI4: D (R4) B\nI5: C (R5) D\nI6: A (-E1 r1+) B\n"
    "ask resistance A B\n"
)
FOUR_ENDS = "".join(
    f"I{k}: {a} (R{k}) {b}\n"
    for k, (a, b) in enumerate([p for p in permutations("ABCDE", 2) if p[0] < p[1]], 1)
) + "ask resistance A B\n"  # fmt: skip
WIRE = "I1: A (R1) B\nI2: A (R2) P\nI3: P (R3) B\nI4: P (R4) B\nR3 = 0 ohm\nask resistance A B\n"
BATTERY = "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) (R4) A\nI4: B (R5) X\nI5: X (R6) X\n"
TEXTS = {
    "battery": BATTERY,
    "ladder": LADDER,
    "bridge": BRIDGE,
    "four ends": FOUR_ENDS,
    "wire": WIRE,
}


def sound(name: str) -> tuple[Circuit, Derivation]:
    circuit = load(Source(name, TEXTS[name])).circuit
    return circuit, derive(circuit)


@pytest.mark.parametrize("name", TEXTS)
def test_sound_ones_are_accepted(name: str) -> None:
    circuit, derivation = sound(name)
    assert check(circuit, derivation).accepted


def test_the_cases_hold_every_exchange() -> None:
    held = {s.exchange for name in TEXTS for s in sound(name)[1].steps if isinstance(s, Replace)}
    assert held == {*Exchange}


def changed(step: Step) -> Iterator[tuple[str, Step]]:
    """Yield steps that say something else."""
    match step:
        case LookBetween():
            yield "other point", replace(step, other="C" if step.other != "C" else "D")
            yield "no point", replace(step, one="Q9")
            yield "the same point", replace(step, one=step.other)
        case LookFrom():
            yield "another battery", replace(step, battery="E2")
        case Replace():
            for kind in Exchange:
                if kind is not step.exchange:
                    yield f"as {kind.value}", replace(step, exchange=kind)
            yield "one less is taken", replace(step, taken=step.taken[1:])
            yield "one is taken twice", replace(step, taken=(*step.taken, step.taken[0]))
            yield "a stranger is taken", replace(step, taken=(*step.taken, resistance("R77")))
            if step.made:
                yield "nothing is made", replace(step, made=())
                yield "a stranger is made", replace(step, made=(resistance("R78"), *step.made[1:]))
                yield "what is there is made", replace(step, made=(step.taken[0], *step.made[1:]))
            if len(step.made) > 1:
                yield "in another order", replace(step, made=(*step.made[1:], step.made[0]))
        case Define(symbol=symbol, conclusion=conclusion):
            more = Sum((conclusion.right, conclusion.right))
            yield "twice as much", replace(step, conclusion=Equation(symbol, more))
            held = Product((number(1), resistance("R1")))
            if held != conclusion.right:
                yield "R1 alone", replace(step, conclusion=Equation(symbol, held))
        case LeftBetween(conclusion=conclusion):
            yield (
                "R1 is left",
                replace(step, conclusion=Equation(conclusion.left, resistance("R1"))),
            )
            other = Symbol("R(B,A)", conclusion.left.kind, conclusion.left.dimension)  # type: ignore[union-attr]
            yield "between others", replace(step, conclusion=Equation(other, conclusion.right))
        case _:
            pass


@pytest.mark.parametrize("name", TEXTS)
def test_every_changed_step_is_refused(name: str) -> None:
    circuit, derivation = sound(name)
    count = 0
    for k, step in enumerate(derivation.steps):
        for what, other in changed(step):
            steps = (*derivation.steps[:k], other, *derivation.steps[k + 1 :])
            verdict = check(circuit, replace(derivation, steps=steps))
            assert not verdict.accepted, (k, step, what)
            count += 1
    assert count > 15


@pytest.mark.parametrize("name", TEXTS)
def test_a_step_left_out_or_moved_is_refused(name: str) -> None:
    circuit, derivation = sound(name)
    for k, step in enumerate(derivation.steps):
        said = isinstance(step, LeftBetween) and name != "battery"
        if said or isinstance(step, Replace | LookBetween | LookFrom):
            steps = derivation.steps[:k] + derivation.steps[k + 1 :]
            shifted = replace(derivation, steps=steps)
            assert not check(circuit, shifted).accepted, (k, step)


@pytest.mark.parametrize("seed", range(40))
def test_parts_of_other_networks_are_refused(seed: int) -> None:
    """What is in series or in parallel elsewhere is not so here."""
    rng = random.Random(seed)
    circuit, derivation = sound(rng.choice([*TEXTS]))
    places = [k for k, s in enumerate(derivation.steps) if isinstance(s, Replace) and s.made]
    k = rng.choice(places)
    step = derivation.steps[k]
    assert isinstance(step, Replace)
    symbols = [r for b in circuit.branches for r in b.resistances if r not in step.taken]
    taken = list(step.taken)
    taken[rng.randrange(len(taken))] = rng.choice(symbols)
    steps = (*derivation.steps[:k], replace(step, taken=tuple(taken)), *derivation.steps[k + 1 :])
    assert not check(circuit, replace(derivation, steps=steps)).accepted
