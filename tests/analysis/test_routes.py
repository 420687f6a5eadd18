"""The planned solution is never longer than Gauss's elimination or Cramer's rule.

On the loop equations of the reference cases and of random circuits, with numbers and in letters,
measured by `tests/elimination_routes.py`. ``python -m tests.bench.eliminations`` prints the margins
and compares with every other plan.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.algebra.dimension import VOLT
from derive.algebra.term import (
    Equation,
    Negative,
    Quotient,
    Sum,
    constant,
    current,
    number,
    product,
)
from derive.circuit.model import Circuit
from tests import elimination_routes as routes
from tests.bench.eliminations import letters_of, numbers_of, random, reference
from tests.elimination_routes import Cost

REFERENCE = dict(reference())
RANDOM = dict(random(100, first=700_000))


@pytest.mark.parametrize("circuits", [REFERENCE, RANDOM], ids=["reference", "random"])
def test_with_numbers_no_other_route_is_shorter(circuits: dict[str, Circuit]) -> None:
    measured = 0
    for name, circuit in circuits.items():
        found = numbers_of(circuit)
        if found is None:
            continue
        measured += 1
        ours = routes.planned_numbers(found).marks
        assert ours <= routes.gauss_numbers(found).marks, name
        assert ours <= routes.cramer_numbers(found).marks, name
    assert measured > 20


@pytest.mark.parametrize("circuits", [REFERENCE, RANDOM], ids=["reference", "random"])
def test_in_letters_no_other_route_is_shorter(circuits: dict[str, Circuit]) -> None:
    measured = 0
    for name, circuit in circuits.items():
        found = letters_of(circuit)
        if found is None or len(found.rows) > 3:
            continue
        ours = routes.planned_letters(found)
        if ours is None:
            continue
        measured += 1
        assert ours.marks <= routes.gauss_letters(found).marks, name
        assert ours.marks <= routes.cramer_letters(found).marks, name
        if len(found.rows) > 2 and (named := routes.named_by(found, routes.file_order(found.rows))):
            assert ours.marks <= named.marks, name
    assert measured > 20


@pytest.mark.parametrize("name", ["K13", "K18", "K20", "W06"])
def test_no_order_of_elimination_is_shorter(name: str) -> None:
    """Against all orders of unknowns and pivots."""
    found = numbers_of(REFERENCE[name])
    assert found is not None
    plans = [p for p in routes.every_plan(len(found.rows)) if routes.possible(found.rows, p)]
    best = min(routes.by_plan(found, plan).marks for plan in plans)
    assert routes.planned_numbers(found).marks == best


def test_what_is_counted() -> None:
    """By hand: 3 I1 + 3 I2 = 24 V has 3, I, +, 3, I, =, 2 and 4; a fraction has one bar."""
    one, other = current("I1"), current("I2")
    left = Sum((product(number(3), one), product(number(3), other)))
    line = routes.of_equation(Equation(left, constant(Fraction(24), VOLT)))
    assert line == Cost(marks=8, longest=2, fractions=0)
    above = Sum((constant(Fraction(12), VOLT), Negative(product(number(3), other))))
    line = routes.of_equation(Equation(one, Quotient(above, number(-7))))
    assert line == Cost(marks=10, longest=2, fractions=1)
