"""The elimination plan against plain exact elimination, and against every other plan."""

from fractions import Fraction
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import resistance
from derive.analysis.number_plan import best_plan
from derive.analysis.plan import (
    Elimination,
    LinearRow,
    Singular,
    eliminate,
    row_weight,
    weight,
)  # fmt: skip

RING = Ring((resistance("R1"), resistance("R2"), resistance("R3")))


def rows_of(table: list[list[int]]) -> tuple[LinearRow, ...]:
    return tuple(
        LinearRow(tuple(RING.constant(v) for v in line[:-1]), RING.constant(line[-1]))
        for line in table
    )


def run(rows: tuple[LinearRow, ...], plan: tuple[Elimination, ...]) -> tuple[list[Poly], int]:
    """Carry a plan out, back-substitute, and count the writing independently of the planner."""
    work, open_rows, cost = list(rows), set(range(len(rows))), 0
    for move in plan:
        pivot = work[move.pivot]
        open_rows.remove(move.pivot)
        lead = pivot.coefficients[move.unknown]
        cost += row_weight(pivot) + (0 if lead in (1, -1) else 2 * weight(lead))
        for k in sorted(open_rows):
            if work[k].coefficients[move.unknown]:
                made = eliminate(work[k], pivot, move.unknown)
                assert made.row.coefficients[move.unknown].is_zero
                work[k] = made.row
                cost += row_weight(made.row)
                cost += sum(weight(m) for m in (made.own[0], made.pivot[0]) if m not in (1, -1))
    found: dict[int, Fraction] = {}
    for move in reversed(plan):
        row = work[move.pivot]
        known = sum((row.coefficients[k].constant_value * v for k, v in found.items()), Fraction(0))
        found[move.unknown] = (row.right.constant_value - known) / row.coefficients[
            move.unknown
        ].constant_value
    return [RING.constant(found[k]) for k in sorted(found)], cost


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
        total = sum((v.constant_value * k for v, k in zip(values, line, strict=False)), Fraction(0))
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
