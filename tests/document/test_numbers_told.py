"""What is worked out ends in a number; what is nothing is not told at length."""

from __future__ import annotations

import re

from derive.pipeline import solve
from derive.source import Source
from derive.writers import text

CHARGED = """I1: A (-E1+) (R1) B
I2: B (capacitor C1) A
I3: B (R2) A
E1 = 30 V; R1 = 2.2 kohm; R2 = 100 kohm; C1 = 47 uF
"""
DISCHARGED = """: A (R1) (capacitor C1) A
R1 = 10 kohm; C1 = 22 uF
initially V(C1) = {volts} V
ask transient of C1
"""


def told(circuit: str) -> str:
    return " ".join(text.write(solve(Source("test", circuit)).document).split())


def test_what_a_battery_sees_has_its_decimal() -> None:
    # By hand: 0.4 + 17 · 13/30 = 233/30.
    walks = "I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) A\nask reducible\n"
    found = told(walks + "E1 = 12 V; r1 = 0.4 ohm; R1 = 17 ohm; R2 = 13 ohm\n")
    sees = found.partition("it is what ℰ₁ sees:")[2].partition(" 2 ")[0]
    assert sees.endswith("= 233/30 Ω ≈ 7.77 Ω")


def test_the_voltage_that_charges_a_capacitor_has_its_decimal() -> None:
    # By hand: 30 V · 100/102.2 = 29.35 V.
    found = told(f"{CHARGED}ask charge on C1\n")
    assert re.search(r"V_C₁ = R₂·I₁ .*? ≈ 29\.4 V Q_C₁ = C₁·V_C₁", found)


def test_nothing_is_told_once() -> None:
    found = told(CHARGED.replace("(R1) B", "(open S1) (R1) B") + "ask charge on C1\n")
    assert "V_C₁ = 0 V" in found
    assert "= 0 = 0" not in found


def test_the_start_is_among_what_is_given() -> None:
    found = told(DISCHARGED.format(volts=9))
    given, _, _ = found.partition("Wanted:")
    assert "At the start the voltage across C₁ is V₀ = 9 V." in given
    given, _, _ = told(CHARGED + "initially V(C1) = 0 V\nask transient of C1\n").partition(
        "Wanted:"
    )
    assert "At the start C₁ holds no charge." in given


def test_powers_that_are_all_nothing_are_not_listed() -> None:
    found = told(DISCHARGED.format(volts=9))
    assert "P_delivered" not in found
    assert "turns into heat 0 W" not in found
    assert "P_delivered" in told(CHARGED)


def test_a_course_is_read_at_its_end() -> None:
    found = told(CHARGED + "initially V(C1) = 0 V\nask transient of C1\n")
    means = found.partition("What it means")[2]
    assert "This is how things stand long after, when nothing changes any more." in means
    assert "long after" not in told(CHARGED).partition("What it means")[2]
