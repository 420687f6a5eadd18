"""Sources tied to each other, and sources that follow what is zero: answers against numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests.answering import answered

ROUTES = [Options(), Options(numbers_first=True)]

SIDE_BY_SIDE = """\
I1: A (J1 ->) B
I2: B (R2) A
I3: A (J2 ->) B
I4: B (R4) A
ask currents
"""


def currents(scene: str, options: Options) -> dict[str, Fraction]:
    found = answered(scene, options).currents
    return {name: current.exact for name, current in found if current.exact is not None}


def formulas(scene: str) -> dict[str, str]:
    return {name: current.formula or "" for name, current in answered(scene).currents}


def page(scene: str, options: Options | None = None) -> str:
    document = solve(Source("scene", scene), options or Options()).document
    return " ".join(text.write(document).split())


@pytest.mark.parametrize("options", ROUTES)
@pytest.mark.parametrize(
    ("tie", "second"),
    [
        ("2 J1", Fraction(2)),
        ("J1", Fraction(1)),
        ("J1 + 2 A", Fraction(3)),
        ("J1/4", Fraction(1, 4)),
        ("J0; J0 = 5 J1", Fraction(5)),
    ],
)
def test_a_current_source_tied_to_another_one(tie: str, second: Fraction, options: Options) -> None:
    scene = f"{SIDE_BY_SIDE}J1 = 1 A; R2 = 2 ohm; R4 = 4 ohm; J2 = {tie}\n"
    if "J0" in tie:
        scene += "I5: A (<- J0) B\n"
    into = 1 + second - (5 if "J0" in tie else 0)  # what the resistors share
    found = currents(scene, options)
    assert found["I3"] == second
    assert found["I2"] == into * Fraction(4, 6)
    assert found["I4"] == into * Fraction(2, 6)


@pytest.mark.parametrize("options", ROUTES)
def test_tied_current_sources_in_letters(options: Options) -> None:
    answered(f"{SIDE_BY_SIDE}J2 = 2 J1\n", options)
    found = formulas(f"{SIDE_BY_SIDE}J2 = 2 J1\n")
    assert found["I3"] == "2*J1"
    assert found["I2"] == "3*R4*J1/(R2 + R4)"
    beside = "I1: A (J2 ->) B\nI2: B (R1) (-E1+) A\nI3: A (J3 ->) B\nJ3 = 3 J2\nask currents\n"
    assert formulas(beside)["I2"] == "4*J2"
    shown = page(beside)
    assert "I₃ = J₃ = 3·J₂ (2)" in shown
    assert "I₂ = 4·J₂ (1), (2) in (3)" in shown


def test_a_cancelled_pair_of_tied_sources_drives_nothing() -> None:
    scene = "I1: A (J1 ->) B\nI2: B (R2) A\nI3: A (<- J2) B\nJ2 = J1\nask currents\n"
    assert formulas(scene)["I2"] == "0"


OPEN = "I1: A (-E1+) (R1) {gap} B\nI2: B (-E2 r2+) A\nE2 = 2 ohm * I1\nask currents\n"


@pytest.mark.parametrize("options", ROUTES)
@pytest.mark.parametrize("gap", ["(open S1)", "(capacitor C1)"])
def test_a_source_that_follows_nothing(gap: str, options: Options) -> None:
    scene = OPEN.format(gap=gap)
    answered(scene, options)
    assert formulas(scene) == {"I1": "0", "I2": "0"}
    assert "ℰ₂ = (2 Ω)·I₁ = 0" in page(scene, options)


@pytest.mark.parametrize("options", ROUTES)
def test_a_source_that_follows_nothing_after_a_switch_opens(options: Options) -> None:
    scene = OPEN.format(gap="(opens S1)") + "E1 = 3 V; R1 = 2 ohm; r2 = 1 ohm\n"
    assert currents(scene, options) == {"I1": 0, "I2": 0}
    shown = page(scene, options)
    assert "I₁ 3.00 A 0 A −3.00 A" in shown  # before: 3 V/(2 Ω + 1 Ω − 2 Ω)


@pytest.mark.parametrize("options", ROUTES)
def test_a_source_that_follows_its_own_voltage_where_nothing_flows(options: Options) -> None:
    scene = OPEN.format(gap="(open S1)").replace("2 ohm * I1", "0.5 V(A,B) + 1 V")
    assert "V_AB = ℰ₂ = 2.00 V" in page(f"{scene}E1 = 2 V\nask voltage A B\n", options)


def test_what_a_current_source_follows_is_cited() -> None:
    scene = "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: A (J3 ->) B\nJ3 = 0.2 S * V(B,A)\n"
    shown = page(f"{scene}ask currents\n")
    assert "(4) in (3), J₃ = (0.2 S)·V_BA, V_BA = R₂·I₂ (5)" in shown


def test_nothing_without_a_number_is_put_into_the_loop_equation() -> None:
    shown = page(f"{OPEN.format(gap='')}E1 = 3 V\n")
    assert "Collect the terms of the loop equation:" in shown
    assert "Put into" not in shown


@pytest.mark.parametrize("options", ROUTES)
@pytest.mark.parametrize("source", ["(-E1 r1+)", "(-E1+)"])
def test_no_load_gets_power_where_nothing_drives_a_current(source: str, options: Options) -> None:
    scene = f"I1: A {source} (R1) A\nE1 = 0 V\nask matched load R1\n"
    with pytest.raises(Rejected, match="no emf and no source drives a current"):
        answered(scene, options)


@pytest.mark.parametrize("options", ROUTES)
@pytest.mark.parametrize("values", ["", "E1 = 3 V; R1, r2 = 1 ohm\n"])
def test_a_battery_of_zero_volts_has_no_efficiency(values: str, options: Options) -> None:
    scene = f"I1: A (-E1+) (R1) B\nI2: B (+E2 r2-) A\nE2 = 0 V\nask efficiency of E2\n{values}"
    with pytest.raises(Rejected, match="the emf of E2 is 0 V and delivers nothing"):
        answered(scene, options)


@pytest.mark.parametrize("options", ROUTES)
def test_a_tie_within_the_voltage_that_a_source_follows(options: Options) -> None:
    """V(B,A) = R3·I3 = 6 ohm · I3, so J5 = 1.2 I3; E1 drives 10 V round R1 and R3."""
    scene = (
        "I1: A (-E1+) (R1) B\nI3: B (R3) A\nI5: A (<- J5) B\nJ5 = 0.2 S * V(B,A)\n"
        "R3 = 3 R1\nask currents\n"
    )
    answered(scene, options)
    found = currents(f"{scene}E1 = 10 V; R1 = 2 ohm\n", options)
    assert found["I5"] == -Fraction(12, 10) * found["I3"]
    assert found["I1"] == found["I3"] - found["I5"]
    assert 2 * found["I1"] + 6 * found["I3"] == 10


@pytest.mark.parametrize("options", ROUTES)
def test_the_power_of_a_source_where_a_letter_is_left(options: Options) -> None:
    scene = "I1: A (-E1 r1+) B\nI2: B (<- J2) A\nE1 = 5 V\nJ2 = 2 A\nask power of J2\n"
    (answer,) = answered(scene, options).answers
    assert answer.result.formula == "J2*(E1 + r1*J2)"
    assert answer.result.exact is None


DEPENDENT_LOAD = """\
I1: A (-E1 r1+) B
I2: B (R2) A
I3: A (J3 ->) B
J3 = 0.2 S * V(B,A)
ask matched load R2
"""


@pytest.mark.parametrize("options", ROUTES)
def test_a_matched_load_beside_a_source_that_follows_its_voltage(options: Options) -> None:
    """Seen from R2 the conductance is 1/r1 − 0.2 S: 5/4 ohm for r1 = 1 ohm, −10 ohm for 3.33."""
    scene = f"{DEPENDENT_LOAD}E1 = 4 V; r1 = 1 ohm\n"
    load, power = (a.result.exact for a in answered(scene, options).answers)
    assert load == Fraction(5, 4)
    assert power == 5  # the open voltage is 5 V: 25/(4 · 5/4)
    with pytest.raises(Rejected, match="depends on values that are not given"):
        answered(DEPENDENT_LOAD, options)
    with pytest.raises(Rejected, match="like a battery with a positive internal resistance"):
        answered(f"{DEPENDENT_LOAD}E1 = 4 V; r1 = 10 ohm\n", options)
    with pytest.raises(Rejected, match="its current is the same"):
        answered(f"{DEPENDENT_LOAD}E1 = 4 V; r1 = 5 ohm\n", options)


@pytest.mark.parametrize("options", ROUTES)
def test_a_battery_that_another_one_holds_back_has_no_efficiency(options: Options) -> None:
    scene = "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nE2 = E1\nask efficiency of E2\n"
    with pytest.raises(Rejected, match="no current flows in E2"):
        answered(scene, options)
