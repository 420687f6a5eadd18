"""Significant figures as written. The rules are common practice, no source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from derive.algebra.term import emf, resistance
from derive.circuit.elaborate import load
from derive.circuit.figures import answer_figures, data_figures, written_figures
from derive.circuit.model import Circuit
from derive.source import Source

_LOOP = ": A (-E1+) B (R1) (R2) A\n"


def read(text: str) -> Circuit:
    return load(Source("x", _LOOP + text)).circuit


@pytest.mark.parametrize(
    ("text", "figures"),
    [
        ("12", None), ("100", None), ("3/2", None), ("2e3", None), ("10k", None), ("0", None),
        ("0.0", None), ("1.5", 2), ("1.50", 3), ("12.0", 3), ("0.5", 1), ("0.050", 2), (".5", 1),
        ("1.5e3", 2), ("1.500e-3", 4), ("4k7", 2), ("4k70", 3), ("0k47", 2), ("1,50", 3),
    ],
)  # fmt: skip
def test_figures_of_a_number(text: str, figures: int | None) -> None:
    assert written_figures(text) == figures


@given(st.decimals(min_value="0.001", max_value=1000, places=3))
def test_figures_are_the_digits_of_decimal(value: Decimal) -> None:
    """Python's own decimals keep trailing zeros and drop leading ones."""
    assert written_figures(f"{value:f}") == len(value.as_tuple().digits)


@pytest.mark.parametrize(
    ("line", "figures"),
    [
        ("R1 = 1.50 ohm", 3), ("R1 = 4.7 kohm", 2), ("R1 = 4k7", 2), ("R1 = 5 ohm", None),
        ("R1 = 1.50 ohm ± 2.5 %", 3), ("R1 = 6.00 V / 4.0 A", 2), ("R1 = 1.25 * 2.0 ohm", 2),
        ("R1 = 2 ohm + 0.25 ohm", 2), ("R1 = 3 * (2.50 ohm - 1 ohm)", 3), ("R1 = 1.5 R2", None),
        ("R1 = R2 + 0.250 ohm", 3), ("R1 = (R2 + 1.0 ohm)/2", 2), ("R1 = 2.5 ohm / 2", 2),
    ],
)  # fmt: skip
def test_figures_of_a_value(line: str, figures: int | None) -> None:
    known = read(line).valuation(resistance("R1"))
    assert known is not None
    assert known.figures == figures


def test_figures_come_with_the_decimal_comma() -> None:
    known = read("decimal comma\nE1 = 1,50 V").valuation(emf("E1"))
    assert known is not None
    assert known.figures == 3


@pytest.mark.parametrize(
    ("text", "data", "answer"),
    [
        ("", None, 3), ("E1 = 12 V; R1 = 3 ohm", None, 3), ("E1 = 12 V; R1 = 1.5 ohm", 2, 3),
        ("E1 = 12.00 V; R1 = 3 ohm", 4, 4), ("E1 = 12.00 V; R1 = 3.000 ohm; R2 = 1/3 ohm", 4, 4),
        ("E1 = 12.000 V; R1 = 4.70 ohm", 3, 3), ("E1 = 12.00 V; figures 2", 4, 2),
        ("E1 = 12.00000000000000 V", 16, 12),
    ],
)  # fmt: skip
def test_figures_of_answers(text: str, data: int | None, answer: int) -> None:
    circuit = read(text)
    assert (data_figures(circuit), answer_figures(circuit)) == (data, answer)
