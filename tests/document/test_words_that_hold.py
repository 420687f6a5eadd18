"""Sentences and symbols that have to be true, and whole, in odd circuits too."""

from __future__ import annotations

import pytest

from derive.pipeline import solve
from derive.source import Source
from derive.writers import text

CELLS = """I1: A (-E1 r1+) B
I2: A (-E2 r2+) B
I3: B (R3) A
E1 = 6 V; E2 = 3 V; r1 = 1 ohm; r2 = 2 ohm; R3 = 5 ohm
"""


def told(circuit: str) -> str:
    return " ".join(text.write(solve(Source("test", circuit)).document).split())


def test_what_hangs_behind_a_capacitor_is_told_by_its_ends() -> None:
    found = told(
        "I1: A (-E1+) (R1) B\nI2: B (R3) (capacitor C1) A\nI3: B (R4) (open S1) A\n"
        "E1 = 9 V; R1, R3, R4 = 1 kohm; C1 = 1 uF\ninitially V(C1) = 0 V\nask transient of C1\n"
    )
    assert "R₄ lies on no way from one end of C₁ to the other" in found
    assert "{" not in found


def test_another_path_of_wire_has_no_parts() -> None:
    found = told(
        "I1: A (-E1 r1+) B\nI2: B (R2) C\nI3: C (R3) A\nI4: B C\n"
        "E1 = 1.5 V; r1 = 0.1 ohm; R2 = 5 ohm; R3 = 1.4 ohm\nask voltage B C\n"
    )
    assert "a walk from C to B along plain wire gives the same:" in found


@pytest.mark.parametrize("over", ["", " over 1 h"])
def test_a_battery_gives_and_takes_under_two_names(over: str) -> None:
    what = "energy" if over else "power"
    found = told(f"{CELLS}ask {what} of E1{over}\nask {what} in E1{over}\n")
    letter, time = ("W", ",1 h") if over else ("P", "")
    box = found.rpartition("Answers")[2]
    assert f"{letter}_ℰ₁{time} ≈" in box
    assert f"{letter}_ℰ₁{time},in ≈" in box


def test_a_voltage_across_and_a_potential_have_two_names() -> None:
    found = told(
        ": g (-E1+) (R1) a\n: a (lamp L2) b\n: a (R3) b\n: b (R4) g\nground g\n"
        "E1 = 12 V; R1 = 1 ohm; L2 = 3 ohm; R3 = 6 ohm; R4 = 3 ohm\nask potentials\n"
    )
    # By hand: 12 V drives 2 A through 1 + 2 + 3 ohm; 4 V lie across the middle, and a is at 10 V.
    assert "V_a = 10.0 V" in found
    assert "V_a = 4 V" not in found


def test_what_wire_joins_lies_on_no_other_way() -> None:
    walks = "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\n"
    found = told(f"{walks}E1 = 6 V; R1 = 3 ohm; R2 = 0 ohm; R3 = 5 ohm\nask resistance A B\n")
    assert "Wire joins A and B, so no current between them takes a way through R₁ and R₃." in found
    found = told(
        "I1: A (-E1+) (R1) B\nI2: B (R2) C\nI3: B C\nI4: C (R4) A\nask reducible\n"
        "E1 = 6 V; R1 = 3 ohm; R2 = 2 ohm; R4 = 5 ohm\nuse method reduction\n"
    )
    assert "Wire joins the two ends of R₂: it carries no current and is left out." in found


def test_half_is_lost_where_the_rest_is_one_loop() -> None:
    asked = "ask matched load R1\n"
    alone = told(f"I1: A (-E1 r1+) (R1) A\nE1 = 6 V; r1 = 2 ohm\n{asked}")
    assert "half of the power of the emf V_s is lost in R_s." in alone
    assert "not of the losses" not in alone
    assert "not of the losses" in told(
        f"I1: A (-E1 r1+) B\nI2: B (R2) A\nI3: B (R1) A\nE1 = 6 V; r1, R2 = 2 ohm\n{asked}"
    )


def test_formulas_are_put_back_where_there_are_equations() -> None:
    driven = told("I1: A (J1 ->) (R1) B\nI2: B (R2) A\n")
    assert "put back into" not in driven
    branching = told("I1: A (J1 ->) B\nI2: B (R2) A\nI3: B (J3 ->) A\n")
    assert "put back into every junction equation; they fit" in branching
    assert "put back into the loop equation; it fits" in told("I1: A (-E1+) (R1) A\n")


def test_a_loop_beside_a_dead_end_is_not_the_whole_circuit() -> None:
    found = told(
        "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R4) (open S1) A\nE1 = 9 V; R1, R2, R4 = 1 kohm\n"
        "use method branch currents\n"
    )
    assert "What carries a current is a single loop" in found
    assert "flows in every part of it" not in found


def test_several_branches_without_current() -> None:
    found = told(
        "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: B (R3) A\n"
        "E1, E2 = 0 V; R1, R2, R3 = 1 ohm\nuse method branch currents\n"
    )
    assert "No current flows in the branches of I₁, I₂ and I₃." in found


def test_what_has_no_range_says_why_truly() -> None:
    found = told(
        "I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) (capacitor C1) A\n"
        "E1 = 6 V ± 1 %; r1 = 1 ohm ± 5 %; R1, R2 = 20 ohm; C1 = 47 uF\ninitially V(C1) = 0 V\n"
        "ask short circuit current of E1\nask transient of C1\n"
    )
    assert "I_sc,ℰ₁: such answers are worked out for the nominal values alone." in found
    assert "No range is stated for the course in time" in found


def test_numbers_stand_first_and_what_is_there_twice_is_squared() -> None:
    driven = told("I1: A (J1 ->) (R1) B\nI2: B (R2) A\nask power of J1\n")
    assert "P_J₁ = J₁²·(R₁ + R₂)" in driven.rpartition("Answers")[2]
    tied = told(
        "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: A (-E2+) (R3) B\n"
        "R2 = 2 R1; R3 = R1; E2 = 2 E1\nask voltage B A\n"
    )
    assert "V_BA = 6·ℰ₁/5" in tied.rpartition("Answers")[2]
