"""Circuits whose currents Kirchhoff's rules contradict or leave open.

The verdicts are common practice, no source: ideal batteries of different emf in parallel have no
solution, equal ones share the current in no fixed way.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.algebra.plain import plain
from derive.algebra.term import Negative, Product, number
from derive.circuit.model import Circuit, Hop, Loop
from derive.circuit.numeric import numeric_solution
from derive.circuit.solution import general_solution
from derive.circuit.solvability import (
    Contradiction,
    NoUniqueSolution,
    Undetermined,
    solvability,
)
from derive.circuit.values import MissingValue, UnfitTie, Values
from tests.circuit_solution.build import circuit, quantity

_PARALLEL = [("A", "B", "+E1"), ("A", "B", "+E2"), ("B", "A", "R1"), ("B", "A", "R2")]
_OHMS = {"R1": 2, "R2": 4}


def _refused(case: Circuit) -> Contradiction | Undetermined:
    with pytest.raises(NoUniqueSolution) as caught:
        numeric_solution(case)
    return caught.value.report


def test_one_solution() -> None:
    assert solvability(circuit([("A", "A", "+E1 R1")])) is None


def test_different_ideal_batteries_in_parallel() -> None:
    case = circuit(_PARALLEL, {"E1": 12, "E2": 9, **_OHMS})
    report = solvability(case)
    assert report == Contradiction(Loop((Hop(1, True), Hop(0, False))))
    assert _refused(case) == report
    for mode in ("letters", "given"):
        with pytest.raises(NoUniqueSolution):
            general_solution(case, values=mode)


def test_letters_do_not_cancel() -> None:
    assert isinstance(solvability(circuit(_PARALLEL)), Contradiction)


def test_tied_letters_cancel() -> None:
    case = circuit(_PARALLEL, {"E2": quantity("E1")})
    assert solvability(case) == Undetermined((0, 1), (Loop((Hop(1, True), Hop(0, False))),))


@pytest.mark.parametrize("mode", ["letters", "given"])
def test_equal_ideal_batteries_leave_their_own_currents_open(mode: str) -> None:
    case = circuit(_PARALLEL, {"E1": 12, "E2": 12, **_OHMS})
    report = _refused(case)
    assert isinstance(report, Undetermined)
    assert report.branches == (0, 1)
    solution = general_solution(case, values="letters" if mode == "letters" else "given")
    assert solution.currents[:2] == (None, None)
    with pytest.raises(NoUniqueSolution):
        solution.current(0)
    assert plain(solution.formula(2)) == ("E1/R1" if mode == "letters" else "6")


def test_a_resistance_given_as_zero_counts_as_none() -> None:
    branches = [("A", "B", "+E1 R3"), ("A", "B", "+E2 R4"), ("B", "A", "R1")]
    assert solvability(circuit(branches)) is None
    zeros = {"R3": 0, "R4": Product((number(2), quantity("R3")))}
    assert isinstance(solvability(circuit(branches, zeros)), Contradiction)
    equal = circuit(branches, {**zeros, "E1": 5, "E2": 5})
    assert solvability(equal) == Undetermined((0, 1), (Loop((Hop(1, True), Hop(0, False))),))
    assert plain(general_solution(equal).formula(2)) == "E1/R1"


def test_an_ideal_branch_beside_an_open_loop_is_still_fixed() -> None:
    # Wires 0 and 1 side by side share the current as they like; battery 2 in series does not.
    case = circuit(
        [("A", "B", ""), ("A", "B", ""), ("C", "A", "+E1"), ("B", "C", "R1"), ("B", "C", "R2")],
        {"E1": 12, "R1": 4, "R2": 6},
    )
    report = solvability(case)
    assert isinstance(report, Undetermined)
    assert report.branches == (0, 1)
    solution = general_solution(case, values="given")
    assert [plain(solution.formula(k)) for k in (2, 3, 4)] == ["5", "3", "2"]


def test_a_battery_shorted_by_a_wire_contradicts() -> None:
    case = circuit([("A", "B", "+E1"), ("B", "A", ""), ("A", "B", "R1")], {"E1": 3, "R1": 1})
    report = solvability(case)
    assert isinstance(report, Contradiction)
    assert {hop.branch for hop in report.loop.hops} == {0, 1}


def test_a_loop_of_one_ideal_branch() -> None:
    assert solvability(circuit([("A", "A", "+E1")])) == Contradiction(Loop((Hop(0, True),)))
    assert solvability(circuit([("A", "A", "")])) == Undetermined((0,), (Loop((Hop(0, True),)),))


def test_open_ends_and_bridges_carry_nothing() -> None:
    case = circuit(
        [("A", "B", "+E1 R1"), ("B", "B", "+E2 R2"), ("B", "C", "+E3")],
        {"E1": 1, "R1": 2, "E2": 3, "R2": 4, "E3": 5},
    )
    assert numeric_solution(case) == (0, Fraction(3, 4), 0)
    solution = general_solution(case)
    assert [found is not None and found.is_zero for found in solution.currents] == [
        True, False, True,
    ]  # fmt: skip


def test_a_missing_value_is_named() -> None:
    with pytest.raises(MissingValue) as caught:
        numeric_solution(circuit([("A", "A", "+E1 R1")], {"E1": 1}))
    assert caught.value.symbol == quantity("R1")


def test_ties_in_a_circle_are_refused() -> None:
    case = circuit([("A", "A", "+E1 R1 R2")], {"R1": quantity("R2"), "R2": quantity("R1")})
    with pytest.raises(UnfitTie):
        Values(case).letters(quantity("R1"))


def test_a_long_chain_of_ties_is_followed() -> None:
    length = 3000
    ties = {f"R{k}": quantity(f"R{k + 1}") for k in range(1, length)}
    case = circuit([("A", "A", "+E1 R1")], {**ties, f"R{length}": 7})
    assert Values(case).number(quantity("R1")) == 7


def test_a_determinant_that_vanishes_through_a_difference_is_reported() -> None:
    minus = {"R2": Negative(quantity("R1"))}
    in_row = circuit([("A", "A", "+E1 R1 R2")], minus)
    assert solvability(in_row) == Contradiction(Loop((Hop(0, True),)))
    side_by_side = [("A", "B", "+E1 R1"), ("A", "B", "+E2 R2")]
    with pytest.raises(NoUniqueSolution):
        general_solution(circuit(side_by_side, minus))
    numbers = circuit(side_by_side, {**minus, "R1": 3, "E1": 1, "E2": 2})
    assert _refused(numbers) == Undetermined((0, 1), ())
