"""Formulae in letters from named sources, compared as rational functions by sympy."""

from __future__ import annotations

import pytest
import sympy

from derive.algebra.interchange import to_sympy
from derive.algebra.term import Term
from derive.circuit.solution import general_solution
from tests.circuit_solution.build import circuit, quantity

_NAMES = [
    "E",
    "E1",
    "E2",
    "V",
    "r",
    "r1",
    "r2",
    "R",
    "R1",
    "R2",
    "R3",
    "R4",
    "R5",
    "R6",
    "RL",
    "P",
    "Q",
    "S",
    "G",
]
_LETTERS = {name: to_sympy(quantity(name)) for name in _NAMES}


def _agree(found: Term, printed: str) -> bool:
    # The printed formula is our own test data; its names are given, so nothing is guessed.
    wanted = eval(printed, {"__builtins__": {}}, _LETTERS)
    return bool(sympy.cancel(to_sympy(found) - wanted) == 0)


# Each: name, branches, {branch number: printed formula}. The sources:
# "cell": OpenStax, University Physics Vol. 2, sec. 10.1 (text read): I = E/(R + r).
# "two cells": in parallel on a load, classical (Maxwell, Treatise I, ch. VI); from memory.
# "bridge": galvanometer current, classical (Maxwell, Treatise I, art. 347-349); from memory.
# "divider": loaded voltage divider, OpenStax, University Physics Vol. 2, ch. 10, additional
#   problems (question read); formula classical; here I in R1 = V (R2 + RL)/(R1 R2 + R1 RL + R2 RL).
# "series-parallel": OpenStax, University Physics Vol. 2, sec. 10.3 (text read), R_eq of six.
# "three branches": two nodes, a battery and a resistor in each of three branches: Millman 1940;
#   from memory.
_PUBLISHED = [
    ("cell", [("A", "A", "+E r R")], {0: "E/(R+r)"}),
    (
        "two cells",
        [("g", "a", "+E1|r1"), ("g", "a", "+E2|r2"), ("a", "g", "R")],
        {
            0: "(E1*(R+r2)-E2*R)/(r1*r2+R*(r1+r2))",
            1: "(E2*(R+r1)-E1*R)/(r1*r2+R*(r1+r2))",
            2: "(E1*r2+E2*r1)/(r1*r2+R*(r1+r2))",
        },
    ),
    (
        "bridge",
        [
            ("A", "B", "P"), ("B", "C", "Q"), ("A", "D", "R"), ("D", "C", "S"),
            ("B", "D", "G"), ("C", "A", "+V"),
        ],
        {
            4: "V*(Q*R-P*S)/(G*(P+Q)*(R+S)+P*Q*(R+S)+R*S*(P+Q))",
            5: "V*((P+R)*(Q+S)+G*(P+Q+R+S))/(G*(P+Q)*(R+S)+P*Q*(R+S)+R*S*(P+Q))",
        },
    ),
    (
        "divider",
        [("g", "a", "+V R1"), ("a", "g", "R2"), ("a", "g", "RL")],
        {0: "V*(R2+RL)/(R1*R2+R1*RL+R2*RL)", 1: "V*RL/(R1*R2+R1*RL+R2*RL)"},
    ),
    (
        "series-parallel",
        [
            ("g", "a", "+E"), ("a", "g", "R6"), ("a", "g", "R1"), ("a", "b", "R2"),
            ("b", "g", "R4"), ("b", "g", "R3 R5"),
        ],
        {0: "E*(1/R6+1/R1+1/(R2+1/(1/R4+1/(R3+R5))))", 2: "E/R1"},
    ),
    (
        "three branches",
        [("A", "B", "+E1 R1"), ("A", "B", "+E2 R2"), ("B", "A", "R3")],
        {2: "(E1/R1+E2/R2)/(1/R1+1/R2+1/R3)/R3"},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("branches", "printed"), [case[1:] for case in _PUBLISHED], ids=[case[0] for case in _PUBLISHED]
)
def test_formula_agrees_with_the_source(
    branches: list[tuple[str, str, str]], printed: dict[int, str]
) -> None:
    solution = general_solution(circuit(branches))
    for branch, formula in printed.items():
        assert _agree(solution.formula(branch), formula)


def test_rows_of_equal_cells() -> None:
    # m = 3 rows of n = 2 cells: I = n E/(R + n r/m); classical, from memory. All emfs are tied to
    # the first, all internal resistances too.
    rows = [("g", "a", f"+E{k}|r{k} +E{k + 1}|r{k + 1}") for k in (1, 3, 5)]
    ties = {f"E{k}": quantity("E1") for k in range(2, 7)}
    ties |= {f"r{k}": quantity("r1") for k in range(2, 7)}
    solution = general_solution(circuit([*rows, ("a", "g", "R")], ties))
    assert _agree(solution.formula(3), "2*E1/(R+2*r1/3)")
    # The fraction is in lowest terms, with whole coefficients.
    assert repr(solution.current(3).denominator) == "3*R + 2*r1"


def test_a_wrong_formula_does_not_agree() -> None:
    solution = general_solution(circuit([("A", "A", "+E r R")]))
    assert not _agree(solution.formula(0), "E/(R-r)")
