"""Circuits at the edge of having one solution, through the whole program.

The currents are worked by hand.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.circuit.elaborate import load
from derive.circuit.solvability import solvability
from derive.diagnostic import Rejected
from derive.pipeline import solve
from derive.source import Source
from tests.checker.alone import refusal, told
from tests.circuit.refused import REFUSED

SOLVED = [
    # A hinged circuit: two loops with one point in common.
    ("I1: A (-E1+) B (R1) A\nI2: A (R2) C (-E2+) A\nE1 = 3 V; R1 = 1 ohm; E2 = 4 V; R2 = 2 ohm",
     {"I1": "3", "I2": "2"}),
    # One node: a single loop.
    ("I1: A (-E1+) (R1) A\nE1 = 3 V; R1 = 2 ohm", {"I1": "3/2"}),
    # A resistor shorted by a wire, with and without a current name.
    ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C A\nE1 = 3 V; R1 = 1 ohm; R2 = 2 ohm",
     {"I1": "3", "I2": "0", "I3": "3"}),
    ("I1: A (-E1+) B (R1) A\nI2: A (R2) C\n: A C\nE1 = 3 V; R1 = 1 ohm; R2 = 2 ohm",
     {"I1": "3", "I2": "0"}),
    # A resistance of zero beside another takes the whole current.
    ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) A\nE1 = 3 V\nR1 = 1 ohm; R2 = 2 ohm; "
     "R3 = 0 ohm", {"I1": "3", "I2": "0", "I3": "3"}),
    # An open end carries nothing.
    ("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) C\nE1 = 3 V; R1 = 2 ohm; R2 = 1 ohm\n"
     "ask currents\nask voltage C A", {"I1": "3/2", "I2": "3/2", "I3": "0"}),
    # No battery at all.
    ("I1: A (R1) B\nI2: B (R2) A\nI3: A (R3) B\nR1, R2, R3 = 1 ohm",
     {"I1": "0", "I2": "0", "I3": "0"}),
    # A battery of zero volts is a wire: 1 ohm and 2 ohm beside 4 ohm, 3 V.
    ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (-E2+) (R3) A\nE1 = 3 V; E2 = 0 V\n"
     "R1 = 1 ohm; R2 = 2 ohm; R3 = 4 ohm", {"I1": "9/7", "I2": "6/7", "I3": "3/7"}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "currents"), SOLVED)
def test_edge_cases_that_have_one_solution(text: str, currents: dict[str, str]) -> None:
    assert solvability(load(Source("x", text)).circuit) is None
    found = solve(Source("x", text)).contract.currents
    assert {name: result.exact for name, result in found} == {
        name: Fraction(value) for name, value in currents.items()
    }


@pytest.mark.parametrize("text", [text for text, _, _ in REFUSED])
def test_the_pipeline_refuses_what_has_no_one_solution(text: str) -> None:
    with pytest.raises(Rejected):
        solve(Source("x", text))


def test_a_named_wire_that_leads_to_gaps_alone() -> None:
    """No current flows in it, which both checkers see."""
    scene = (
        "I1: A (+E1-) (R1) B\nI2: B (R2) A\nI3: A C\nI5: C (open S3) B\nI6: C (open S4) B\n"
        "E1 = 3 V; R1, R2 = 1 ohm\nask currents\nask voltage C B\nask voltage across S3\n"
    )
    found = solve(Source("wire", scene))
    assert [a.result.exact for a in found.contract.answers] == [Fraction(3, 2), Fraction(3, 2)]
    exact = {name: current.exact for name, current in found.contract.currents}
    assert exact == {"I1": Fraction(-3, 2), "I2": Fraction(-3, 2), "I3": 0, "I5": 0, "I6": 0}
    assert refusal(told(found.circuit, found.derivation)) == ""
