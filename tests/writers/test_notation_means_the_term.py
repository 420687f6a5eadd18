"""What is printed means the term: read back and worked out, it gives the term's own value."""

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from derive.algebra.dimension import AMPERE, OHM, SIEMENS, VOLT, WATT
from derive.algebra.term import (
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Term,
    current,
    emf,
    resistance,
)
from derive.circuit.appearance import EmfSymbol
from derive.typesetting.style import Style
from derive.writers import tex_math, text_math
from tests.writers.reading_back import read_tex, read_text, value_of

_SYMBOLS = [resistance("R1"), resistance("R12"), emf("E1"), emf("E2"), current("I1")]
_VALUES = {s.name: Fraction(p) for s, p in zip(_SYMBOLS, (2, 3, 5, 13, 17), strict=True)}
_NUMBERS = st.fractions(min_value=-2000, max_value=100_000, max_denominator=5000)
_LEAVES = st.one_of(
    st.sampled_from(_SYMBOLS),
    _NUMBERS.map(Number),
    st.builds(Quantity, _NUMBERS, st.sampled_from([VOLT, OHM, AMPERE, WATT, SIEMENS, OHM**2])),
)


def _grow(inner: st.SearchStrategy[Term]) -> st.SearchStrategy[Term]:
    several = st.lists(inner, min_size=1, max_size=4).map(tuple)
    return st.one_of(
        inner.map(Negative),
        several.map(Sum),
        several.map(Product),
        several.map(Parallel),
        st.builds(Quotient, inner, inner),
        st.builds(Power, inner, st.integers(2, 3)),
    )


_TERMS = st.recursive(_LEAVES, _grow, max_leaves=12)
_STYLES = st.builds(
    Style,
    emf=st.sampled_from(EmfSymbol),
    decimal_comma=st.booleans(),
    volt_exponent=st.sampled_from([-6, -3, 0, 3]),
    ohm_exponent=st.sampled_from([-3, 0, 3, 6]),
)


def _value(term: Term) -> Fraction:
    try:
        return value_of(term, _VALUES)
    except ZeroDivisionError:
        assume(False)
        raise


@settings(max_examples=300, deadline=None)
@given(_TERMS, _STYLES)
def test_tex_read_back_gives_the_value_of_the_term(term: Term, style: Style) -> None:
    expected = _value(term)
    assert read_tex(tex_math.inline(term, style), _VALUES) == expected


@settings(max_examples=300, deadline=None)
@given(_TERMS, _STYLES)
def test_text_read_back_gives_the_value_of_the_term(term: Term, style: Style) -> None:
    expected = _value(term)
    assert read_text(text_math.inline(term, style), _VALUES) == expected


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        (r"R_{1} + R_{12}\,I_{1}", r"(R_{1} + R_{12})\,I_{1}"),
        (r"\frac{E_{1}}{R_{1}}I_{1}", "I_{1}"),
    ],
)
def test_the_reader_tells_different_formulas_apart(wrong: str, right: str) -> None:
    assert read_tex(wrong, _VALUES) != read_tex(right, _VALUES)
