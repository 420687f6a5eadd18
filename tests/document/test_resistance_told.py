"""What is said of batteries where a resistance between two points is asked for."""

from __future__ import annotations

from derive.pipeline import solve
from derive.source import Source
from derive.writers import text


def page(scene: str) -> str:
    return " ".join(text.write(solve(Source("scene", scene)).document).split())


def test_a_battery_without_current_is_replaced_as_well() -> None:
    shown = page("I1: A (-E1 r1+) B\nI2: B (open S1) (R2) C\nI3: C (R3) A\nask resistance B C\n")
    assert "every battery is replaced by its internal resistance" in shown
    assert "R_BC = R_a = r₁ + R₃" in shown


def test_no_battery_is_spoken_of_where_there_is_none() -> None:
    shown = page("I1: A (R1) B\nI2: B (open S1) (R2) C\nI3: C (R3) A\nask resistance B C\n")
    assert "battery" not in shown
