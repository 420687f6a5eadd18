"""Loading errors: every change of their steps is refused, and so is another circuit's work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from derive.algebra.dimension import VOLT
from derive.algebra.term import Equation, Negative, Product, Quantity, Quotient, Sum, Symbol, number
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.elements import Instrument, Resistor
from derive.circuit.model import Circuit
from derive.derivation.further import LoadingError, MeterError
from derive.derivation.goal import Goal
from derive.derivation.spread import NoRange, Unbounded
from derive.derivation.step import Conclude, Derivation, IdealReading, Step
from derive.source import Source
from tests.checker.mutate import mutants
from tests.checker.test_mutations import reason

TEXT = """I1: A (-E1 r1+) B (R1) C
I2: C (R2) A
I3: C (voltmeter M1) A
E1 = 9 V; r1 = 1/2 ohm
R1, R2 = 4 ohm; M1 = 40 ohm
ask loading error of M1
"""


def sound() -> tuple[Circuit, Derivation]:
    circuit = load(Source("x", TEXT)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).refusal is None
    return circuit, derivation


def place_of(derivation: Derivation, kind: type[Step], number: int = 0) -> int:
    return [k for k, step in enumerate(derivation.steps) if isinstance(step, kind)][number]


def instead(derivation: Derivation, place: int, step: Step) -> Derivation:
    return Derivation((*derivation.steps[:place], step, *derivation.steps[place + 1 :]))


def test_every_change_is_refused() -> None:
    circuit, derivation = sound()
    own = {k for s in derivation.stages if s.goal is Goal.LOADING for k in s.ids}
    tried = 0
    for number_, mutant in enumerate(mutants(circuit, derivation)):
        if mutant.step not in own or mutant.place.startswith("derivation") or number_ % 97:
            continue
        tried += 1
        if check(circuit, mutant.derivation).accepted:
            assert reason(mutant), f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
    assert tried > 6


def test_changes_of_the_other_derivation_are_refused() -> None:
    circuit, derivation = sound()
    place = place_of(derivation, IdealReading)
    step = derivation.steps[place]
    assert isinstance(step, IdealReading)
    ideal = dict(circuit.ideal)["M1"]
    tried = 0
    for number_, mutant in enumerate(mutants(ideal, step.derivation)):
        if number_ % 101:
            continue
        tried += 1
        forged = instead(derivation, place, replace(step, derivation=mutant.derivation))
        # What keeps its meaning there keeps it here, and nothing else is let through.
        assert check(circuit, forged).accepted == check(ideal, mutant.derivation).accepted
    assert tried > 20


def forgeries(derivation: Derivation) -> Iterator[tuple[str, Derivation, str]]:
    place = place_of(derivation, IdealReading)
    step = derivation.steps[place]
    assert isinstance(step, IdealReading)
    ideal = step.conclusion.left
    yield (
        "another reading",
        instead(
            derivation, place,
            replace(step, conclusion=Equation(ideal, Product((number(2), step.conclusion.right)))),
        ),
        "shows something else",
    )  # fmt: skip
    yield (
        "a meter that is not asked for",
        instead(derivation, place, replace(step, part="R2")),
        "no circuit",
    )
    without = replace(derivation, steps=())
    yield (
        "no work at all",
        instead(derivation, place, replace(step, derivation=without)),
        "with M1 made ideal",
    )
    yield (
        "the work of the circuit with the real meter",
        instead(derivation, place, replace(step, derivation=derivation)),
        "with M1 made ideal",
    )
    place = place_of(derivation, LoadingError)
    error = derivation.steps[place]
    assert isinstance(error, LoadingError)
    assert isinstance(error.conclusion.right, Sum)
    absolute = error.conclusion.left
    yield (
        "the ideal reading less the real one",
        instead(
            derivation, place,
            replace(error, conclusion=Equation(absolute, Sum((ideal, Negative(absolute))))),
        ),
        "not the loading error",
    )  # fmt: skip
    place = place_of(derivation, LoadingError, 1)
    relative = derivation.steps[place]
    assert isinstance(relative, LoadingError)
    assert relative.kind is MeterError.RELATIVE
    reading = error.conclusion.right.terms[0]
    yield (
        "the share of the real reading",
        instead(
            derivation, place,
            replace(
                relative,
                conclusion=Equation(relative.conclusion.left, Quotient(absolute, reading)),
            ),
        ),
        "not the loading error",
    )  # fmt: skip


@pytest.mark.parametrize("index", range(6))
def test_a_forgery_is_refused(index: int) -> None:
    circuit, derivation = sound()
    name, forged, why = list(forgeries(derivation))[index]
    refusal = check(circuit, forged).refusal
    assert refusal is not None, name
    assert why in refusal.reason, (name, refusal)


def test_the_number_of_a_file_is_no_formula() -> None:
    circuit, derivation = sound()
    places = [k for k, s in enumerate(derivation.steps) if isinstance(s, IdealReading)]
    formula, value = places
    place, answer = next(
        (k, s)
        for k, s in enumerate(derivation.steps)
        if isinstance(s, Conclude) and s.formula == formula
    )
    forged = instead(derivation, place, replace(answer, formula=value))
    refusal = check(circuit, forged).refusal
    assert refusal is not None
    assert "some values only" in refusal.reason


def changed(ideal: Circuit) -> Iterator[tuple[str, Circuit]]:
    """Yield circuits that are not the same one with an ideal meter."""
    branches = list(ideal.branches)
    passages = tuple(
        replace(p, element=Resistor("R9")) if p.element.name == "R2" else p
        for p in branches[0].passages
    )
    yield "other parts", replace(ideal, branches=(replace(branches[0], passages=passages),))
    values = tuple(
        replace(v, value=replace(v.value, value=v.value.value * 2)) if v.symbol.name == "R2" else v  # type: ignore[union-attr]
        for v in ideal.values
    )
    yield "another value", replace(ideal, values=values)
    idle = tuple(
        replace(
            b,
            passages=tuple(
                replace(p, element=replace(p.element, is_real=True))
                if isinstance(p.element, Instrument)
                else p
                for p in b.passages
            ),
        )
        for b in ideal.idle
    )
    yield "not made ideal", replace(ideal, idle=idle)


@pytest.mark.parametrize("index", range(3))
def test_another_circuit_with_the_ideal_meter_is_refused(index: int) -> None:
    circuit, derivation = sound()
    _, other = list(changed(dict(circuit.ideal)["M1"]))[index]
    refusal = check(replace(circuit, ideal=(("M1", other),)), derivation).refusal
    assert refusal is not None
    words = ("has other parts", "has another value there", "is not made ideal there")
    assert words[index] in refusal.reason


def test_units_of_the_answers() -> None:
    circuit, derivation = sound()
    told = {s.symbol.name: s for s in derivation.steps if isinstance(s, Conclude)}
    assert {"Videal(M1)", "e(M1)", "δ(M1)"} <= told.keys()
    assert told["e(M1)"].symbol.dimension == VOLT
    assert isinstance(told["e(M1)"].symbol, Symbol)
    value = told["e(M1)"].value
    assert value is not None
    assert isinstance(derivation.equation(value).right, Negative | Quantity)
    assert circuit.ideal


def test_no_range_of_a_loading_error_is_stated_and_for_the_right_reason() -> None:
    circuit = load(Source("x", TEXT.replace("R1, R2 = 4 ohm", "R1, R2 = 4 ohm ± 5 %"))).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).refusal is None
    places = [
        k
        for k, s in enumerate(derivation.steps)
        if isinstance(s, NoRange) and s.reason is Unbounded.LOADING
    ]
    assert len(places) == 3
    step = derivation.steps[places[0]]
    assert isinstance(step, NoRange)
    forged = instead(derivation, places[0], replace(step, reason=Unbounded.BENDS))
    refusal = check(circuit, forged).refusal
    assert refusal is not None
    assert "another reason" in refusal.reason
