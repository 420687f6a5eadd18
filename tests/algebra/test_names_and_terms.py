from fractions import Fraction

import pytest

from derive.algebra.dimension import AMPERE, OHM, VOLT, WATT, unit_of
from derive.algebra.name import natural_key, split_name
from derive.algebra.term import (
    Negative,
    Product,
    Quantity,
    Sum,
    constant,
    current,
    emf,
    negate,
    product,
    replace,
    resistance,
    symbols,
)  # fmt: skip


def test_units_of_the_course() -> None:
    # SI Brochure, 9th edition, table 4: V = W/A, Ω = V/A.
    assert VOLT * AMPERE == WATT
    assert VOLT / AMPERE == OHM
    assert unit_of(WATT) == (("W", 1),)
    assert unit_of(OHM**2) == (("Ω", 2),)


@pytest.mark.parametrize(
    ("text", "base", "subscript", "upright"),
    [
        ("R12", "R", "12", False),
        ("R_load", "R", "load", True),
        ("I_k", "I", "k", False),
        ("omega_0", "ω", "0", False),
        ("R", "R", "", False),
    ],
)
def test_names_are_read_as_they_are_set(
    text: str, base: str, subscript: str, upright: bool
) -> None:
    name = split_name(text)
    assert (name.base, name.subscript, name.upright) == (base, subscript, upright)


def test_natural_order_counts() -> None:
    assert sorted(["R10", "R2", "E1", "R1"], key=natural_key) == ["E1", "R1", "R2", "R10"]


def test_signs_do_not_stack() -> None:
    r, i = resistance("R1"), current("I1")
    assert negate(negate(r)) == r
    assert product(Negative(r), Negative(i)) == Product((r, i))
    assert constant(Fraction(-3), VOLT) == Negative(Quantity(Fraction(3), VOLT))


def test_replacing_keeps_the_order_of_the_walk() -> None:
    e, r, i = emf("E1"), resistance("R1"), current("I1")
    term = Sum((e, Negative(Product((r, i)))))
    two = Quantity(Fraction(2), OHM)
    assert replace(term, {r: two}) == Sum((e, Negative(Product((two, i)))))
    assert list(symbols(term)) == [e, r, i]
