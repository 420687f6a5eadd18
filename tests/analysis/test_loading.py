"""Loading errors of meters against numpy's nodal analysis, a published case and results by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.contract import contract_of
from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.proving import prove
from derive.source import Source
from derive.writers.answers_json import Result
from tests import random_parts
from tests.random_parts import Part, Scene

DIVIDER = """I1: A (-E1+) (R1) B
I2: B (R2) A
I3: B (voltmeter M1) A
"""
VALUES = "E1 = 9 V\nR1, R2 = 1 Mohm\nM1 = 1 Mohm\n"


def told(text: str, options: Options | None = None) -> dict[str, Result]:
    proved = prove(Source("x", text), options or Options())
    contract = contract_of(proved.circuit, proved.derivation, proved.steps, ())
    return {answer.ask: answer.result for answer in contract.answers}


def codes(text: str) -> list[str]:
    with pytest.raises(Rejected) as refused:
        prove(Source("x", text))
    return [diagnostic.code for diagnostic in refused.value.diagnostics]


def test_a_cell_measured_with_a_voltmeter() -> None:
    # OpenStax, College Physics 2e (Urone, Hinrichs), sec. 21.4, problem on a 1.585 V alkaline cell
    # of 0.100 ohm and a voltmeter of 1.00 kohm: 1.58 mA, 1.5848 V, and 0.99990 of the emf.
    text = "I1: A (-E1 r1+) B (voltmeter M1) A\nE1 = 1.585 V; r1 = 0.100 ohm; M1 = 1.00 kohm\n"
    found = told(text + "ask current in M1\nask reading of M1\nask loading error of M1\n")
    values = {name: result.exact for name, result in found.items()}
    assert f"{float(values['current in M1'] or 0) * 1000:.2f}" == "1.58"
    assert f"{float(values['reading of M1'] or 0):.4f}" == "1.5848"
    assert values["ideal reading of M1"] == Fraction("1.585")
    relative = values["relative loading error of M1"]
    assert relative is not None
    assert f"{float(1 + relative):.5f}" == "0.99990"


@pytest.mark.parametrize("numbers_first", [False, True])
def test_a_divider_by_hand(numbers_first: bool) -> None:
    # R2 and M1 side by side are 500 kohm: a third of 9 V; without the meter it is a half.
    options = Options(numbers_first=numbers_first)
    found = told(DIVIDER + VALUES + "ask loading error of M1\n", options)
    assert {name: result.exact for name, result in found.items()} == {
        "ideal reading of M1": Fraction(9, 2),
        "loading error of M1": Fraction(-3, 2),
        "relative loading error of M1": Fraction(-1, 3),
    }
    assert [result.unit for result in found.values()] == ["V", "V", None]


def test_in_letters_it_is_the_resistance_seen_over_that_and_the_meter() -> None:
    # By Thevenin's theorem the share is −R/(R + M1) with R = R1 ∥ R2 (common practice, no source).
    found = told(DIVIDER + "M1 = 1 Mohm\nask loading error of M1\n")
    formula = found["relative loading error of M1"].formula
    assert formula is not None
    sizes = {"R1": Fraction(3), "R2": Fraction(6), "M1": Fraction(8), "E1": Fraction(5)}
    assert eval(formula, {}, sizes) == Fraction(-2, 10)
    assert "E1" not in formula


def test_an_ammeter_in_a_loop_by_hand() -> None:
    text = "I1: A (-E1+) (R1) (ammeter M1) A\nE1 = 6 V; R1 = 11 ohm; M1 = 1 ohm\n"
    found = told(text + "ask loading error of M1\n")
    assert found["ideal reading of M1"].exact == Fraction(6, 11)
    assert found["loading error of M1"].exact == Fraction(1, 2) - Fraction(6, 11)
    assert found["relative loading error of M1"].exact == Fraction(-1, 12)


def _ideal(made: Scene, meter: Part) -> Scene:
    walks = {
        name: [replace(p, value=None) if p is meter else p for p in walk]
        for name, walk in made.walks.items()
    }
    return Scene(walks)


def _shown(made: Scene, meter: Part) -> float:
    answer = random_parts.solve(made)
    if meter.kind == "voltmeter":
        return answer.voltage(meter)
    (name,) = (name for name, walk in made.walks.items() if meter.name in {p.name for p in walk})
    return answer.currents[name]


def _metered(seed: int) -> tuple[Scene, Part] | None:
    rng = random.Random(f"loading {seed}")
    made = random_parts.scene(rng)
    if seed % 4 == 0:
        made = random_parts.with_dependent_sources(made, rng)
    real = [p for p in made.parts if p.kind in ("ammeter", "voltmeter") and p.value]
    return (made, rng.choice(real)) if real else None


def test_random_circuits_against_two_nodal_analyses() -> None:
    compared = 0
    kinds = set()
    for seed in range(32):
        drawn = _metered(seed)
        if drawn is None:
            continue
        made, meter = drawn
        try:
            found = told(f"{made.text}ask loading error of {meter.name}\n")
        except Rejected as refused:
            if not {d.code for d in refused.diagnostics} <= UNSOLVABLE:
                raise
            continue
        reading, ideal = _shown(made, meter), _shown(_ideal(made, meter), meter)
        error = found[f"loading error of {meter.name}"].exact
        without = found[f"ideal reading of {meter.name}"].exact
        assert error is not None
        assert without is not None
        assert float(without) == pytest.approx(ideal, abs=1e-6)
        assert float(error) == pytest.approx(reading - ideal, abs=1e-6)
        compared += 1
        kinds.add(meter.kind)
    assert compared > 9
    assert kinds == {"ammeter", "voltmeter"}


UNSOLVABLE = {
    "voltage-not-fixed", "joined-by-gaps", "currents-not-fixed", "source-at-gap",
    "walk-with-two-currents", "emfs-contradict", "short-circuit", "current-not-fixed",
    "dangling", "nothing-closed",
}  # fmt: skip


def test_nothing_to_measure_has_no_share() -> None:
    text = "I1: A (-E1+) (R1) A\n: A (ammeter M1) (R2) A\nE1 = 6 V; R1, R2 = 11 ohm; M1 = 1 ohm\n"
    found = told(text + "ask loading error of M1\n")
    assert {name: result.exact for name, result in found.items()} == {
        "ideal reading of M1": 0,
        "loading error of M1": 0,
    }


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (DIVIDER + "ask loading error of M1\n", "meter-ideal"),
        (DIVIDER + VALUES + "ask loading error of R1\n", "wrong-kind"),
        (
            "I1: A (-E1+) (ammeter M1) A\nE1 = 6 V; M1 = 1 ohm\nask loading error of M1\n",
            "short-circuit",
        ),
        (
            "I1: A (-E1+) (R1) A\n: A (voltmeter M1) B (capacitor C1) A\n"
            "E1 = 9 V; R1, M1 = 1 ohm\nask loading error of M1\n",
            "voltage-not-fixed",
        ),
        (DIVIDER + VALUES + "R3 = 2 M1\nask loading error of M1\n", "unknown-quantity"),
    ],
)
def test_what_has_no_loading_error_is_refused(text: str, code: str) -> None:
    assert codes(text)[0] == code


def test_numbers_first_where_the_letter_left_is_beside_the_ideal_circuit() -> None:
    """With an ideal meter the only loop has no letter; its formula is wanted all the same."""
    text = "I1: A (-E1+) B (voltmeter M1) C\nI2: C (-E2+) (R1) A\nI3: A (R2) C\n"
    text += "M1 = 1.2 kohm; E2 = 9 V; R1 = 2 ohm; R2 = 24 ohm\nask loading error of M1\n"
    for first in (False, True):
        contract = solve(Source("letter", text), Options(numbers_first=first)).contract
        told = {answer.ask: answer.result for answer in contract.answers}
        assert told["loading error of M1"].formula is not None
        assert "E1" in str(told["ideal reading of M1"].formula)
