"""The checker on what the analysis derives: accepted as it is, refused when changed."""

from __future__ import annotations

import random
from contextlib import suppress
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest

from derive.analysis.answers import derive
from derive.checker import kernel
from derive.checker.kernel import check
from derive.checker.ledger import Ledger
from derive.checker.polynomial import Refused
from derive.circuit.elaborate import elaborate
from derive.circuit.model import Circuit
from derive.circuit.question import AskMatchedLoad
from derive.derivation.algebra import AlgebraStep
from derive.derivation.course import Course, CourseAt, RoundedCourse
from derive.derivation.step import Derivation
from derive.language.parser import parse
from derive.source import Source
from tests.checker.mutate import mutants
from tests.checker.sound import Proof, in_letters, one_loop, only_letters
from tests.checker.test_mutations import reason
from tests.forged import algebra
from tests.random_circuits import random_circuit

EXAMPLES = sorted(Path(__file__).parents[2].glob("examples/*.circuit"))


COURSES = (Course, RoundedCourse, CourseAt)
"""Steps of which test_course.py tells, in its own reckoning, which changes keep the meaning."""


def example(path: Path) -> Circuit:
    return elaborate(parse(Source(path.name, path.read_text(encoding="utf-8")))).circuit


def derived(circuit: Circuit, *, numbers_first: bool) -> Derivation:
    """Derive by a route; only a formula tells how a current follows a load."""
    loads = any(isinstance(question, AskMatchedLoad) for question in circuit.questions)
    return derive(circuit, numbers_first=numbers_first and not loads)


def refuse_changes(circuit: Circuit, derivation: Derivation, start: int, stride: int) -> int:
    """Check each mutant in `stride`; return how many were refused."""
    refused = 0
    for mutant in islice(mutants(circuit, derivation), start, None, stride):
        if not check(circuit, mutant.derivation).accepted:
            refused += 1
        elif not isinstance(mutant.old, COURSES):
            assert reason(mutant), f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
    return refused


@pytest.mark.parametrize("numbers_first", [False, True], ids=["letters", "numbers"])
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_accepted_and_its_changes_are_not(path: Path, numbers_first: bool) -> None:
    circuit = example(path)
    derivation = derived(circuit, numbers_first=numbers_first)
    assert check(circuit, derivation).refusal is None
    stride = max(307, 9 * len(derivation.steps))  # some thirty changes; tests/bench tries more
    assert refuse_changes(circuit, derivation, start=len(path.stem), stride=stride)


@pytest.mark.parametrize("seed", range(12))
def test_random_circuits_are_accepted(seed: int) -> None:
    for letters in (False, True):
        circuit = random_circuit(random.Random(seed), loops=(1, 4), letters=letters)
        assert check(circuit, derive(circuit)).refusal is None


@pytest.mark.parametrize("proof", [one_loop(), in_letters(), only_letters()], ids=lambda p: p.name)
def test_the_derivation_of_another_circuit_is_refused(proof: Proof) -> None:
    turned = tuple(
        replace(branch, tail=branch.head, head=branch.tail) for branch in proof.circuit.branches[:1]
    )
    passages = tuple(replace(p, along=not p.along) for p in turned[0].passages)
    branches = (replace(turned[0], passages=passages), *proof.circuit.branches[1:])
    assert not check(replace(proof.circuit, branches=branches), proof.derivation).accepted


@pytest.mark.parametrize(
    "name", ["a term lost on the way", "a sign lost on the way", "kiloohms for ohms"]
)
def test_the_test_point_refuses_false_lines_by_itself(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the certificates are not looked at, the second guard still finds a false line."""
    (forgery,) = (f for f in algebra.FORGERIES if f.name == name)
    strict = kernel.check_certificate

    def lenient(ledger: Ledger, step: AlgebraStep) -> None:
        with suppress(Refused):
            strict(ledger, step)

    monkeypatch.setattr(kernel, "check_certificate", lenient)
    refusal = check(forgery.circuit, forgery.derivation).refusal
    assert refusal is not None
    assert refusal.reason == "it is false at the test point"
