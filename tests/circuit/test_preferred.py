"""Preferred values against the tables of IEC 60063:2015 (from memory) and by brute force."""

from __future__ import annotations

from fractions import Fraction
from math import floor, log10

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.circuit.preferred import Series, decade, neighbours

_TABLES = {
    Series.E3: "1.0 2.2 4.7",
    Series.E6: "1.0 1.5 2.2 3.3 4.7 6.8",
    Series.E12: "1.0 1.2 1.5 1.8 2.2 2.7 3.3 3.9 4.7 5.6 6.8 8.2",
    Series.E24: "1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 "
    "6.8 7.5 8.2 9.1",
    Series.E48: "1.00 1.05 1.10 1.15 1.21 1.27 1.33 1.40 1.47 1.54 1.62 1.69 1.78 1.87 1.96 2.05 "
    "2.15 2.26 2.37 2.49 2.61 2.74 2.87 3.01 3.16 3.32 3.48 3.65 3.83 4.02 4.22 4.42 4.64 4.87 "
    "5.11 5.36 5.62 5.90 6.19 6.49 6.81 7.15 7.50 7.87 8.25 8.66 9.09 9.53",
}


@pytest.mark.parametrize("series", _TABLES, ids=lambda series: series.name)
def test_a_table_of_the_standard(series: Series) -> None:
    assert decade(series) == tuple(Fraction(value) for value in _TABLES[series].split())


@pytest.mark.parametrize("series", [Series.E48, Series.E96, Series.E192], ids=lambda s: s.name)
def test_fine_series_are_rounded_powers_but_for_one(series: Series) -> None:
    rounded = [Fraction(str(round(10 ** (k / series.value), 2))) for k in range(series.value)]
    others = [(a, b) for a, b in zip(decade(series), rounded, strict=True) if a != b]
    expected = [(Fraction("9.20"), Fraction("9.19"))] if series is Series.E192 else []
    assert others == expected


def test_each_series_holds_the_coarser_ones_of_its_kind() -> None:
    for fine, coarse in ((Series.E24, Series.E12), (Series.E12, Series.E6), (Series.E6, Series.E3),
                         (Series.E192, Series.E96), (Series.E96, Series.E48)):  # fmt: skip
        assert set(decade(coarse)) < set(decade(fine))


@settings(max_examples=60, deadline=None)
@given(
    st.fractions(min_value=Fraction(1, 10**6), max_value=10**8, max_denominator=10**6).filter(bool),
    st.sampled_from(Series),
)
def test_neighbours_by_brute_force(value: Fraction, series: Series) -> None:
    power = floor(log10(value))
    decades = range(power - 1, power + 3)
    every = [m * Fraction(10) ** k for k in decades for m in decade(series)]
    found = neighbours(value, series)
    assert found.below == max(v for v in every if v <= value)
    assert found.above == min(v for v in every if v >= value)
    assert found.nearest == min(every, key=lambda v: (max(v / value, value / v), v))


def test_the_nearest_is_told_by_the_ratio() -> None:
    """The middle of 1.0 and 2.2 by ratio is √2.2 = 1.483…, not 1.6."""
    assert neighbours(Fraction("1.48"), Series.E3).nearest == 1
    assert neighbours(Fraction("1.49"), Series.E3).nearest == Fraction("2.2")
    assert neighbours(Fraction(99), Series.E12).nearest == 100
