"""What is said of a battery by the sign of its emf, and of a source that is no battery."""

import pytest

import derive


def told(text: str) -> str:
    return " ".join(derive.read(f'circuit "x"\n{text}').solve().text().split())


ALONE = "I1: A (-E1 r1+) (R1) A\nr1 = 1 ohm; R1 = 4 ohm\nask charge of E1 over 1 h\n"


@pytest.mark.parametrize("emf", ["E1 = -5 V", "E1 = ?; I1 = -1 A"])
def test_a_battery_with_a_negative_emf_is_not_charged_while_it_delivers(emf: str) -> None:
    found = told(ALONE + emf)
    assert "is being charged" not in found
    assert "The emf of ℰ₁ is negative as well, so power is delivered all the same." in found
    assert "ℰ₁ delivers 5.00 W" in found


def test_a_battery_that_takes_in_charge_is_being_charged() -> None:
    two = "I1: A (-E1+) (+E2-) (R1) A\nE1 = 12 V; E2 = 6 V; R1 = 2 ohm\nask charge of E2 over 1 h"
    assert "charge enters at the + terminal: ℰ₂ is being charged." in told(two)


CONTROLLED = (
    "I1: A (-E1 r1+) B\nI2: B (R2) A\nI3: B (+E3-) (R3) A\n"
    "E1 = 12 V; r1 = 1 ohm; R2 = 3 ohm; R3 = 3 ohm; E3 = {factor} ohm * I2\n"
    "ask currents\nask charge of E3 over 1 h\nask resistance A B\n"
)


def test_a_dependent_source_takes_in_power_and_is_not_charged() -> None:
    found = told(CONTROLLED.format(factor=1))
    # By hand: V = R2·I2 = 3 I2, I3 = (V − I2)/3 = 2/3 I2; 12 V − 5/3 I2 = 3 I2: I2 = 18/7 A.
    assert "I₂ ≈ 2.57 A" in found
    assert "charge" not in found.replace("charge that", "").replace("that charge enters", "")
    assert "ℰ₃ takes in power: current enters at its + terminal." in found
    assert "terminal: ℰ₃ takes in power." in found
    assert "ℰ₃ takes in 4.41 W" in found
    assert "What the sources deliver is what the other parts take in" in found
    assert "and with the value that ℰ₃ has in it" in found


def test_a_dependent_source_that_comes_out_negative_is_no_battery() -> None:
    found = told(CONTROLLED.format(factor=-1))
    assert "The emf of ℰ₃ comes out negative: it acts against its signs." in found
    assert "battery acts" not in found


def test_a_voltage_at_terminals_without_current_is_the_emf() -> None:
    idle = "I1: A (-E1 r1+) B (R1) C (open S1) A\nE1 = 9 V; r1 = 1 ohm; R1 = 2 ohm\n"
    found = told(idle + "ask terminal voltage of E1")
    assert "No current flows in ℰ₁, so no voltage is lost in r₁" in found
