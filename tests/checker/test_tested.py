"""Resistances by a test source: every change of their steps is refused, as is another circuit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.dimension import VOLT
from derive.algebra.term import Equation, Product, Sum, constant, number
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit import model
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.question import AskResistance
from derive.circuit.valuation import Given, Tie
from derive.derivation.step import BySource, Conclude, Derivation, Step
from derive.source import Source
from tests.checker.mutate import mutants
from tests.checker.test_mutations import reason

TEXT = """I1: A (-E1 r1+) P (R1) B
I2: B (R2) Q (+E2-) A
I3: A (J1 ->) B
I4: B (R4) A
E1 = 9 V; r1 = 1/2 ohm
R1, R2 = 4 ohm; R4 = 3 ohm
E2 = 2 ohm * I4
J1 = 2 A
ask resistance Q B
"""


def load_text(text: str) -> Circuit:
    return load(Source("x", text.replace("; ", "\n"))).circuit


def sound() -> tuple[Circuit, Derivation]:
    circuit = load_text(TEXT)
    derivation = derive(circuit)
    assert check(circuit, derivation).refusal is None
    return circuit, derivation


def law(derivation: Derivation) -> tuple[int, BySource]:
    return next((k, s) for k, s in enumerate(derivation.steps) if isinstance(s, BySource))


def instead(derivation: Derivation, place: int, step: Step) -> Derivation:
    return Derivation((*derivation.steps[:place], step, *derivation.steps[place + 1 :]))


def test_every_change_is_refused() -> None:
    circuit, derivation = sound()
    place, _ = law(derivation)
    tried = 0
    for mutant in mutants(circuit, derivation):
        if mutant.step < place or mutant.place.startswith("derivation"):
            continue
        tried += 1
        if tried % 7 == 0 and check(circuit, mutant.derivation).accepted:
            assert reason(mutant), f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
    assert tried > 100


def test_changes_of_the_other_derivation_are_refused() -> None:
    circuit, derivation = sound()
    place, step = law(derivation)
    (tested,) = circuit.tested
    tried = 0
    for number_, mutant in enumerate(mutants(tested.circuit, step.derivation)):
        if number_ % 997:
            continue
        tried += 1
        forged = instead(derivation, place, replace(step, derivation=mutant.derivation))
        # What keeps its meaning there keeps it here, and nothing else is let through.
        accepted = check(tested.circuit, mutant.derivation).accepted
        assert check(circuit, forged).accepted == accepted
    assert tried > 5


def forgeries(derivation: Derivation) -> Iterator[tuple[Derivation, str]]:
    place, step = law(derivation)
    left, right = step.conclusion.left, step.conclusion.right
    doubled = Equation(left, Product((number(2), right)))
    yield instead(derivation, place, replace(step, conclusion=doubled)), "another voltage"
    elsewhere = AskResistance("A", "B")
    yield instead(derivation, place, replace(step, question=elsewhere)), "no circuit"
    turned = AskResistance("B", "Q")
    yield instead(derivation, place, replace(step, question=turned)), "no circuit"
    empty = Derivation(())
    yield instead(derivation, place, replace(step, derivation=empty)), "with a test source"
    yield instead(derivation, place, replace(step, derivation=derivation)), "with a test source"


@pytest.mark.parametrize("index", range(5))
def test_a_forgery_is_refused(index: int) -> None:
    circuit, derivation = sound()
    forged, why = list(forgeries(derivation))[index]
    refusal = check(circuit, forged).refusal
    assert refusal is not None
    assert why in refusal.reason


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("R4 = 3 ohm", "R4 = 5 ohm", "R4 has another value"),
        ("Q (+E2-) A", "(+E2-) Q A", "parts lie elsewhere"),
        ("I4: B (R4) A", "I4: A (R4) B", "parts lie elsewhere"),
        ("Q (+E2-) A", "Q (-E2+) A", "parts lie elsewhere"),
        ("E2 = 2 ohm * I4", "E2 = 3 ohm * I4", "depends on something else"),
        ("E2 = 2 ohm * I4", "E2 = 2 ohm * I1", "another current"),
        ("E2 = 2 ohm * I4", "E2 = 2 * V(B,A)", "depends on something else"),
        ("I4: B (R4) A", "I4: B (R4) A\nI5: A (R5) B\nR5 = 1 ohm", "other parts"),
        ("ask resistance Q B", "ask resistance Q A", "the test source lies elsewhere"),
        ("ask resistance Q B", "ask resistance B Q", "the test source lies elsewhere"),
    ],
)
def test_another_circuit_with_a_test_source_is_refused(old: str, new: str, why: str) -> None:
    """Even where its own derivation is sound."""
    circuit, derivation = sound()
    assert old in TEXT
    strange = load_text(TEXT.replace(old, new))
    (own,), (other,) = circuit.tested, strange.tested
    taken = replace(own, source=other.source, circuit=other.circuit)
    refusal = check(replace(circuit, tested=(taken,)), derivation).refusal
    assert refusal is not None
    assert why in refusal.reason


def altered(tested: model.Tested) -> Iterator[tuple[model.Tested, str]]:
    circuit = tested.circuit
    values = tuple(
        replace(v, value=replace(v.value, value=v.value.value * 2))
        if v.symbol == tested.symbol and isinstance(v.value, Given)
        else v
        for v in circuit.values
    )
    yield replace(tested, circuit=replace(circuit, values=values)), "is not 1 A"
    nameless = tuple(v for v in circuit.values if v.symbol != tested.symbol)
    yield replace(tested, circuit=replace(circuit, values=nameless)), "is not 1 A"
    kept = load_text(TEXT.replace("ask resistance", "ask voltage"))
    unit = next(v for v in circuit.values if v.symbol == tested.symbol)
    yield replace(tested, circuit=replace(kept, values=(*kept.values, unit))), "E1 is not zero"
    yield replace(tested, source="J1"), "the name of another part"
    fewer = tuple(v for v in circuit.values if v.symbol.name != "R4")
    yield replace(tested, circuit=replace(circuit, values=fewer)), "other values"


@pytest.mark.parametrize("index", range(5))
def test_an_altered_test_source_is_refused(index: int) -> None:
    circuit, derivation = sound()
    tested, why = list(altered(circuit.tested[0]))[index]
    refusal = check(replace(circuit, tested=(tested,)), derivation).refusal
    assert refusal is not None
    assert why in refusal.reason


def shifted(circuit: Circuit) -> Circuit:
    """Add 1 V to what E2 is."""
    volt = constant(Fraction(1), VOLT)
    values = tuple(
        replace(v, value=replace(v.value, term=Sum((v.value.term, volt))))
        if isinstance(v.value, Tie)
        else v
        for v in circuit.values
    )
    return replace(circuit, values=values)


def test_a_source_that_is_not_zero_by_itself_is_refused() -> None:
    circuit, _ = sound()
    (tested,) = circuit.tested
    taken = replace(tested, circuit=shifted(tested.circuit))
    strange = replace(shifted(circuit), tested=(taken,))
    refusal = check(strange, derive(strange)).refusal
    assert refusal is not None
    assert refusal.reason == "E2 is not zero where no current flows"


def test_the_number_of_a_file_is_no_formula() -> None:
    circuit, derivation = sound()
    place, step = law(derivation)
    answer = next(s for s in derivation.steps if isinstance(s, Conclude))
    assert answer.value is not None
    in_numbers = Equation(step.conclusion.left, derivation.equation(answer.value).right)
    forged = instead(derivation, place, replace(step, conclusion=in_numbers))
    refusal = check(circuit, forged).refusal
    assert refusal is not None
    assert refusal.step > place


def test_a_long_one_is_found_in_numbers() -> None:
    """A ladder whose formula would be too long to be worked out."""
    rungs = [(f"P{k}", f"P{k + 1}") for k in range(8)]
    lines = [f": {a} (R{k}) {b}\n: {b} (S{k}) G\nR{k} = {k + 1} ohm\nS{k} = 2 ohm"
             for k, (a, b) in enumerate(rungs)]  # fmt: skip
    lines += [": P8 (-E1+) (R9) G", "R9 = 1 ohm", "E1 = 2 * V(P1,G)", "ask resistance P0 G"]
    circuit = load_text("\n".join([*lines, ""]))
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    answer = next(s for s in derivation.steps if isinstance(s, Conclude))
    assert answer.formula is None
    assert answer.value is not None
