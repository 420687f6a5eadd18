"""Circuits of all kinds of parts: every step checked, every answer as by nodal analysis."""

from __future__ import annotations

import random
import re

import numpy as np
import pytest
import sympy

from derive.diagnostic import Rejected
from derive.options import Options
from tests import random_parts
from tests.answering import answered
from tests.random_parts import Answer, Part, Scene


def questions(made: Scene, rng: random.Random) -> dict[str, object]:
    """Return questions, and for each what to compare with."""
    points = list(dict.fromkeys(p for part in made.parts for p in (part.tail, part.head)))
    asked: dict[str, object] = {}
    for _ in range(2):
        one, other = rng.sample(points, 2)
        asked[f"voltage {one} {other}"] = (one, other)
    for part in rng.sample(made.parts, min(4, len(made.parts))):
        asked[f"voltage across {part.name}"] = part
        asked[f"current in {part.name}"] = part
        asked[f"power in {part.name}"] = part
        if part.kind in ("ammeter", "voltmeter"):
            asked[f"reading of {part.name}"] = part
        if part.kind == "capacitor":
            asked[f"charge on {part.name}"] = part
            asked[f"energy in {part.name}"] = part
        if part.kind in ("source", "battery"):
            asked[f"power of {part.name}"] = part
    return asked


def expected(made: Scene, answer: Answer, asked: str, about: object) -> float:
    if isinstance(about, tuple):
        one, other = about
        return answer.potentials[one] - answer.potentials[other]
    assert isinstance(about, Part)
    walk = next(name for name, parts in made.walks.items() if about in parts)
    current, voltage = answer.currents[walk], answer.voltage(about)
    question = asked.rsplit(" ", 1)[0]
    match question:
        case "current in":
            return current
        case "reading of":
            return current if about.kind == "ammeter" else voltage
        case "charge on":
            return float(about.value or 0) * voltage
        case "energy in":
            return float(about.value or 0) * voltage**2 / 2
        case "power in":
            return voltage * current
        case "power of":
            if about.kind == "battery":
                emf = random_parts.values(made, answer)[about.name]
                return emf * (current if about.along else -current)
            return -voltage * current
        case _:
            if about.kind in ("battery", "source"):
                return -voltage if about.along else voltage
            return voltage


def compare(seed: int, *, dependent: bool = False) -> None:
    rng = random.Random(seed)
    made = random_parts.scene(rng)
    if dependent:
        made = random_parts.with_dependent_sources(made, rng)
    asked = questions(made, rng)
    text = made.text + "ask currents\n" + "".join(f"ask {question}\n" for question in asked)
    try:
        answer = random_parts.solve(made)
    except np.linalg.LinAlgError:
        with pytest.raises(Rejected, match=r"not fixed|do not fix|ask"):
            answered(text)
        return
    for options in (Options(numbers_first=True), Options()):
        contract = answered(text, options)
        assert contract.checked
        for name, result in contract.currents:
            assert result.exact is not None
            assert float(result.exact) == pytest.approx(answer.currents[name], abs=1e-7), text
        assert {name for name, _ in contract.currents} == set(answer.currents)
        told = {a.ask: a.result.exact for a in contract.answers}
        for question, about in asked.items():
            exact = told[question]
            assert exact is not None
            wanted = expected(made, answer, question, about)
            assert float(exact) == pytest.approx(wanted, rel=1e-6, abs=1e-6), (question, text)


@pytest.mark.parametrize("seed", range(60))
def test_every_answer_is_that_of_nodal_analysis(seed: int) -> None:
    compare(seed)


@pytest.mark.parametrize("seed", range(2000, 2050))
def test_dependent_sources_too(seed: int) -> None:
    compare(seed, dependent=True)


@pytest.mark.parametrize("seed", range(4000, 4012))
def test_numbers_go_in_first_although_a_letter_is_left(seed: int) -> None:
    """With the letter's own value put in, both routes give what numpy gives."""
    rng = random.Random(seed)
    made = random_parts.scene(rng)
    part = rng.choice([p for p in made.parts if p.kind == "resistor"])
    lines = [line for line in made.text.splitlines() if not line.startswith(f"{part.name} = ")]
    answer = random_parts.solve(made)
    for options in (Options(numbers_first=True), Options()):
        asks = ["ask currents", f"ask power in {part.name}", f"ask voltage across {part.name}", ""]
        found = answered("\n".join([*lines, *asks]), options)
        for name, result in found.currents:
            value = result.exact
            if value is None:
                assert result.formula is not None
                names = {symbol.name: symbol for symbol in _values(made)}
                value = sympy.sympify(result.formula, locals=names).subs(_values(made))
            assert float(value) == pytest.approx(answer.currents[name], abs=1e-7)


def _values(made: Scene) -> dict[sympy.Symbol, sympy.Rational]:
    return {
        sympy.Symbol(p.name): sympy.Rational(str(p.value))
        for p in made.parts
        if p.value is not None
    }


LOOP = "I1: A (-E1+) (R1) B\nI2: B (R2) A\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (LOOP + "E1 = 2 ohm * I1; R1, R2 = 1 ohm", "they keep each other up"),
        (
            "I1: A (-E1+) P (R1) B\nI2: B (R2) A\nE1 = 4 ohm * I1; ask resistance A P",
            "if I1, on which it depends, divides at P",
        ),
        (
            LOOP + "E1 = 1 V + 4 ohm * I2; R1, R2 = 1 ohm; ask resistance A B",
            "unless E1 is zero where no current flows",
        ),
        (
            LOOP + "I3: A (-E2+) B\nE1 = 4 ohm * I3; ask resistance A B",
            "unless I3 flows in a resistance of its own walk",
        ),
        (
            LOOP + "E1 = 2 ohm * I2; R1, R2 = 1 ohm; ask resistance A B",
            "there is no resistance between A and B",
        ),
        (
            LOOP + ": A (capacitor C1) Q (capacitor C2) B; uncharged C1, C2; E1 = 2 * V(Q,B)",
            "follows from the charges of C1 and C2, and no source can depend on it yet",
        ),
        (
            LOOP + "E1 = 4 ohm * I2; R1 = ?; R2 = 1 ohm; I2 = 1 A; ask resistance A B",
            "where a value is sought",
        ),
        (LOOP + ": A (capacitor C1) Q (capacitor C2) B; ask charge on C1", "how they were charged"),
        (LOOP + ": A (open S1) Q (capacitor C2) B; ask voltage Q A", "nothing but S1 and C2 leads"),
        (LOOP + "I3: A (J1 ->) (open S1) B", "where none can pass"),
        (LOOP + "I3: A (J1 ->) (J2 ->) B\nJ1 = 1 A; J2 = 2 A", "that asks J1 = J2, but"),
        (LOOP + "I3: A (-E2+) (ammeter M1) B\nI4: B (closed S1) A", "is short-circuited"),
        (LOOP + "I3: A (J1 ->) B\nuse method reduction", "are not merged with other parts"),
        ("I1: A (-E1+) (R1) A\nI2: C (-E2+) (R2) C\n: A (voltmeter M1) C", "only M1 joins"),
    ],
)
def test_what_has_no_answer_is_refused_with_the_parts_concerned(text: str, told: str) -> None:
    with pytest.raises(Rejected, match=re.escape(told)):
        answered(text.replace("; ", "\n") + "\n")


def test_a_resistance_is_seen_without_the_current_sources() -> None:
    text = LOOP + "I3: A (J1 ->) B\nE1 = 2 V\nR1 = 3 ohm\nR2 = 6 ohm\nask resistance A B\n"
    (answer,) = answered(text).answers
    assert answer.result.exact == 2
