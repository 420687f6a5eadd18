"""The elimination plan against plain exact elimination, and against every other plan."""

from fractions import Fraction
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.polynomial import Ring
from derive.algebra.term import resistance
from derive.analysis.number_plan import best_plan
from derive.analysis.plan import (
    Elimination,
    LinearRow,
    Singular,
    eliminate,
)  # fmt: skip

RING = Ring((resistance("R1"), resistance("R2"), resistance("R3")))


def rows_of(table: list[list[int]]) -> tuple[LinearRow, ...]:
    return tuple(
        LinearRow(tuple(RING.constant(v) for v in line[:-1]), RING.constant(line[-1]))
        for line in table
    )


def term(size: Fraction, letter: str) -> str:
    return f"{'-' if size < 0 else '+'}{'' if abs(size) == 1 and letter else abs(size)}{letter}"


def told(row: LinearRow) -> str:
    """Return an equation as it is written; one letter stands for each unknown."""
    terms = [term(c.constant_value, "x") for c in row.coefficients if c]
    return "".join(terms).removeprefix("+") + f"={row.right.constant_value}"


def found_by(row: LinearRow, unknown: int, values: dict[int, Fraction]) -> str:
    """Return x=(12-3x)/7=(12-3·5)/7=-3/7, without its brackets."""
    lead = row.coefficients[unknown].constant_value
    sign = 1 if lead > 0 else -1
    right = row.right.constant_value * sign
    others = [
        (-c.constant_value * sign, values[k])
        for k, c in enumerate(row.coefficients)
        if c and k != unknown
    ]
    if not others:
        return f"x={right * sign / lead}"
    below = "" if abs(lead) == 1 else f"/{abs(lead)}"
    first = term(right, "") if right else ""
    in_letters = first + "".join(term(c, "x") for c, _ in others)
    in_numbers = first + "".join(
        (term(c, "·") if abs(c) != 1 else "-" if c < 0 else "+") + str(value) for c, value in others
    )
    lines = ["x", *(f"{s.removeprefix('+')}{below}" for s in (in_letters, in_numbers))]
    value = str((right + sum(c * v for c, v in others)) / abs(lead))
    if in_letters == "+x" and not below:
        lines.pop()  # x = y = 5
    return "=".join([*lines, value])


def run(rows: tuple[LinearRow, ...], plan: tuple[Elimination, ...]) -> tuple[list[Fraction], int]:
    """Carry a plan out, and count the characters of what is written."""
    work, open_rows, text = list(rows), set(range(len(rows))), ""
    for move in plan:
        pivot = work[move.pivot]
        open_rows.remove(move.pivot)
        for k in sorted(open_rows):
            if work[k].coefficients[move.unknown]:
                made = eliminate(work[k], pivot, move.unknown)
                assert made.row.coefficients[move.unknown].is_zero
                work[k] = made.row
                text += told(made.row)
                for above, below in (made.own, made.pivot):
                    text += term(above.constant_value / below.constant_value, "#")
    found: dict[int, Fraction] = {}
    for move in reversed(plan):
        row = work[move.pivot]
        known = sum((row.coefficients[k].constant_value * v for k, v in found.items()), Fraction(0))
        lead = row.coefficients[move.unknown].constant_value
        value = (row.right.constant_value - known) / lead
        text += found_by(row, move.unknown, found)
        found[move.unknown] = value
    return [found[k] for k in sorted(found)], len(text)


def every_plan(size: int) -> list[tuple[Elimination, ...]]:
    return [
        tuple(Elimination(x, p) for x, p in zip(xs, ps, strict=True))
        for xs, ps in product(permutations(range(size)), permutations(range(size)))
    ]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(-9, 9), min_size=4, max_size=4), min_size=3, max_size=3))
def test_the_plan_solves_the_system_and_none_is_cheaper(table: list[list[int]]) -> None:
    rows = rows_of(table)
    a, b, c = table
    determinant = (
        a[0] * (b[1] * c[2] - b[2] * c[1])
        - a[1] * (b[0] * c[2] - b[2] * c[0])
        + a[2] * (b[0] * c[1] - b[1] * c[0])
    )
    if determinant == 0:
        with pytest.raises(Singular):
            best_plan(rows)
        return
    values, cost = run(rows, best_plan(rows))
    for line in table:
        total = sum((v * k for v, k in zip(values, line, strict=False)), Fraction(0))
        assert total == line[-1]
    others = []
    for plan in every_plan(3):
        try:
            others.append(run(rows, plan)[1])
        except (ArithmeticError, KeyError):
            continue  # a pivot that is zero: not a plan
    assert cost == min(others)


def test_combination_in_letters_is_what_its_multipliers_say() -> None:
    r1, r2, r3 = RING.generators
    row = LinearRow((r1 + r3, r3), r1)
    pivot = LinearRow((r3, r2 + r3), r2)
    made = eliminate(row, pivot, 1)
    # (R1 + R3)(R2 + R3) − R3² is the sum over co-trees of the two-window circuit (Kirchhoff 1847).
    assert made.row.coefficients[0] == r1 * r2 + r1 * r3 + r2 * r3
    for k in range(2):
        left = made.row.coefficients[k] * made.own[1] * made.pivot[1]
        assert left == (
            made.own[0] * made.pivot[1] * row.coefficients[k]
            + made.pivot[0] * made.own[1] * pivot.coefficients[k]
        )


def test_the_author_decides_what_goes_first() -> None:
    rows = rows_of([[4, 1, 5], [1, 3, 4]])
    assert best_plan(rows, first=(0,))[0].unknown == 0
    assert best_plan(rows, first=(1,))[0].unknown == 1
