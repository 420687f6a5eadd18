"""Energy, charge, short circuits and efficiencies of random circuits, against numpy."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.unit import Unit
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskChargeOf,
    AskChargeThrough,
    AskEfficiency,
    AskEnergyIn,
    AskEnergyOf,
    AskOpenCircuit,
    AskShortCircuit,
    Duration,
    Question,
)
from derive.circuit.values import evaluate
from derive.derivation.further import PowerBalance, PowerPart
from derive.derivation.step import Conclude, Derivation
from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests.random_circuits import nodal_currents, numeric_value, random_circuit

TIMES = (
    Duration(Fraction(90), Unit.MINUTE),
    Duration(Fraction(3, 2), Unit.HOUR),
    Duration(Fraction(1, 4), Unit.DAY),
    Duration(Fraction(20), Unit.SI),
)
SECONDS = (5400, 5400, 21600, 20)


def asked(circuit: Circuit, rng: random.Random) -> dict[Question, float]:
    """Return questions about all parts, and what they come to by nodal analysis."""
    currents = nodal_currents(circuit)
    found: dict[Question, float] = {}
    for index, branch in enumerate(circuit.branches):
        for passage in branch.passages:
            element = passage.element
            time = rng.randrange(len(TIMES))
            inner = 0.0
            if element.resistance is not None:
                inner = numeric_value(circuit, element.resistance)
            flow, seconds = currents[index], SECONDS[time]
            if isinstance(element, Resistor):
                found[AskEnergyIn(element.name, TIMES[time])] = inner * flow**2 * seconds
                sign = 1 if circuit.walk_of(element.name).along else -1
                found[AskChargeThrough(element.name, TIMES[time])] = sign * flow * seconds
            elif isinstance(element, Battery):
                out = flow if passage.along else -flow
                emf = numeric_value(circuit, element.emf)
                terminal = emf - inner * out
                found[AskEnergyOf(element.name, TIMES[time])] = emf * out * seconds
                found[AskEnergyIn(element.name, TIMES[time])] = -terminal * out * seconds
                found[AskChargeOf(element.name, TIMES[time])] = out * seconds
                found[AskOpenCircuit(element.name)] = emf
                if inner:
                    found[AskShortCircuit(element.name)] = emf / inner
                if inner and abs(out) > 1e-9 and (out < 0 or terminal >= 0):
                    found[AskEfficiency(element.name)] = (
                        terminal / emf if out > 0 else emf / terminal
                    )
    return found


def value_of(derivation: Derivation, step: Conclude) -> Fraction:
    assert step.value is not None
    return evaluate(derivation.equation(step.value).right)


def told(derivation: Derivation) -> dict[Question, Fraction]:
    return {
        step.question: value_of(derivation, step)
        for step in derivation.steps
        if isinstance(step, Conclude) and step.value is not None
    }


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("numbers_first", [True, False])
def test_every_answer_is_that_of_nodal_analysis(seed: int, numbers_first: bool) -> None:
    rng = random.Random(seed)
    circuit = random_circuit(rng, loops=(1, 4))
    wanted = asked(circuit, rng)
    circuit = replace(circuit, questions=(*circuit.questions, *wanted))
    derivation = derive(circuit, numbers_first=numbers_first)
    verdict = check(circuit, derivation)
    assert verdict.accepted, verdict.refusal
    answers = told(derivation)
    for question, value in wanted.items():
        assert float(answers[question]) == pytest.approx(value, rel=1e-6, abs=1e-6), question


@pytest.mark.parametrize("seed", range(5))
def test_formulas_in_letters_are_checked_too(seed: int) -> None:
    rng = random.Random(seed)
    circuit = random_circuit(rng, loops=(1, 3), letters=True)
    questions: list[Question] = []
    for element in circuit.elements:
        if isinstance(element, Battery):
            questions += [AskEnergyOf(element.name, TIMES[0]), AskChargeOf(element.name, TIMES[1])]
            if element.resistance is not None:
                questions += [AskEfficiency(element.name), AskShortCircuit(element.name)]
        elif isinstance(element, Resistor):
            questions.append(AskEnergyIn(element.name, TIMES[2]))
    circuit = replace(circuit, questions=(*circuit.questions, *questions))
    verdict = check(circuit, derive(circuit))
    assert verdict.accepted, verdict.refusal


@pytest.mark.parametrize("seed", range(8))
def test_the_shares_of_each_side_make_the_whole(seed: int) -> None:
    circuit = random_circuit(random.Random(seed), loops=(2, 4))
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    (balance,) = (s for s in derivation.steps if isinstance(s, PowerBalance))
    found = {s.power: s for s in derivation.steps if isinstance(s, PowerPart)}
    currents = nodal_currents(circuit)
    heat = [
        numeric_value(circuit, r) * currents[k] ** 2
        for k, branch in enumerate(circuit.branches)
        for r in branch.resistances
    ]
    for side in (balance.delivered, balance.taken):
        parts = [evaluate(found[k].conclusion.right) for k in side]
        assert sum(parts) == 1
        assert all(0 <= part <= 1 for part in parts)
    charged = [k for k in balance.taken if "Pd(" in str(derivation.equation(k).left)]
    if not charged:  # all goes into heat
        largest = max(evaluate(found[k].conclusion.right) for k in balance.taken)
        assert float(largest) == pytest.approx(max(heat) / sum(heat), rel=1e-9)


def test_who_charges_whom_is_said_where_it_is_true() -> None:
    one = "I1: A (-E1 r1+) (R1) (+E2 r2-) A\nE1 = 9 V\nE2 = 6 V\nr1, r2, R1 = 1 ohm\n"
    told = text.write(solve(Source("x", one + "ask currents\n")).document)
    assert "So ℰ₁ charges ℰ₂: of the 9.00 W that ℰ₁ delivers, 6.00 W go into ℰ₂" in flat(told)
    # With two that deliver nobody can tell whose power goes where.
    two = "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: A (-E3 r3+) B\nI4: B (R1) A\n"
    two += "E1, E2 = 9 V\nE3 = 6 V\nr1, r2, r3 = 1 ohm\nR1 = 100 ohm\nask currents\n"
    told = flat(text.write(solve(Source("x", two)).document))
    assert "ℰ₃ is being charged" in told
    assert "So ℰ" not in told


def flat(page: str) -> str:
    return " ".join(page.split())


SINGLE = "I1: A (-E1 r1+) B (R1) C (-E2 r2+) A\nr1, r2 = 1 ohm\nR1 = 2 ohm\n"
AGAINST = SINGLE.replace("(-E2 r2+)", "(+E2 r2-)")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (AGAINST + "E1, E2 = 4 V\n", "no current flows in E1"),
        (SINGLE + "E1 = 1 V\nE2 = 20 V\n", "lost in its own internal resistance"),
    ],
)
def test_a_battery_that_does_nothing_of_use_has_no_efficiency(text: str, message: str) -> None:
    with pytest.raises(Rejected, match="has no efficiency") as refused:
        solve(Source("x", text + "ask efficiency of E1\n"))
    (diagnostic,) = refused.value.diagnostics
    assert message in diagnostic.message


def test_energy_and_charge_are_told_in_units_of_the_trade_too() -> None:
    source = (
        SINGLE + "E1 = 6 V\nE2 = 6 V\nask energy in R1 over 30 min\nask charge of E1 over 30 s\n"
    )
    found = solve(Source("x", source), Options())
    energy, charge = (a.result for a in found.contract.answers)
    assert energy.exact == 2 * 9 * 1800
    assert (energy.unit, charge.unit) == ("J", "C")
    assert charge.exact == 3 * 30
    rounds = [found.derivation.steps[s.also] for s in found.derivation.steps
              if isinstance(s, Conclude) and s.also is not None]  # fmt: skip
    assert [(r.unit, r.rounded) for r in rounds] == [(Unit.WATT_HOUR, 32400)]  # type: ignore[union-attr]


@pytest.mark.parametrize("numbers_first", [True, False])
def test_a_capacitor_takes_in_nothing_and_its_own_energy_is_still_asked(
    numbers_first: bool,
) -> None:
    text = (
        "I1: A (-E1+) B (R1) A\n: B (capacitor C1) A\nE1 = 10 V\nR1 = 5 ohm\nC1 = 2 mF\n"
        "ask energy in C1\nask energy in R1 over 1 h\n"
    )
    found = solve(Source("x", text), Options(numbers_first=numbers_first)).contract.answers
    assert [a.result.exact for a in found] == [Fraction(1, 10), 72000]
