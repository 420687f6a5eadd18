"""What is said of loops with a battery without resistance, and of equations that need no mixing."""

from __future__ import annotations

from derive.pipeline import solve
from derive.source import Source
from derive.writers import text

PARALLEL = """
I: G  (-E1+)  A
I1: A  (lamp L1)  G
I2: A  (lamp L2)  G
I3: A  (-E2+)  B  (R3)  G
use method branch currents
ask currents
"""


def told(further: str = "") -> str:
    return " ".join(text.write(solve(Source("tram", PARALLEL + further)).document).split())


def test_loops_that_are_no_windows_are_not_called_so() -> None:
    page = told()
    assert "windows of the figure" not in page
    assert "We take loops with few parts." in page
    assert "L₁·I₁ = ℰ₁ (2) (6) L₂·I₂ = ℰ₁ (3) (7) R₃·I₃ = ℰ₁ + ℰ₂ (4) (8)" in page


def test_what_is_found_on_the_way_back_is_not_said_to_be_found_by_determinants() -> None:
    """With the author's loops the equations are in steps; nothing is eliminated."""
    page = told(
        "use loop G (E1) A (L1) G\nuse loop G (E1) A (L2) G\nuse loop G (L1) A (E2) B (R3) G\n"
    )
    assert "I₃ = (ℰ₂ + L₁·I₁)/R₃" in page
    assert "Cramer" not in page
