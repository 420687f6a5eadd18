"""What is printed means the term: read back and worked out, it gives the term's own value."""

from collections.abc import Callable

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
from derive.writers import mathml, tex_math, text_math, typst_math
from derive.writers.notation import set_content
from tests.page.mathematics import Token, Tree, read
from tests.page.reading_html import read_formula
from tests.page.reading_tex import tokens as tex_tokens
from tests.page.reading_text import tokens as text_tokens
from tests.page.reading_typst_math import tokens as typst_tokens
from tests.page.worth import PLACES

_SYMBOLS = [resistance("R1"), resistance("R12"), emf("E1"), emf("E2"), current("I1")]
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


def _tex(term: Term, style: Style) -> list[Token]:
    return tex_tokens(tex_math.inline(term, style))


def _text(term: Term, style: Style) -> list[Token]:
    return text_tokens(text_math.inline(term, style).replace("\N{NO-BREAK SPACE}", " "))


def _typst(term: Term, style: Style) -> list[Token]:
    return typst_tokens(typst_math.mathematics(set_content(term, style)))


def _mathml(term: Term, style: Style) -> list[Token]:
    return read_formula(mathml.inline(term, style))


def _side(tokens: list[Token]) -> Tree:
    (side,) = read(tokens).sides
    return side


@pytest.mark.parametrize("spelled", [_tex, _text, _typst, _mathml])
@settings(max_examples=200, deadline=None)
@given(term=_TERMS, style=_STYLES)
def test_what_is_read_back_has_the_value_of_the_term(
    spelled: Callable[[Term, Style], list[Token]], term: Term, style: Style
) -> None:
    side = _side(spelled(term, style))
    for place in PLACES:
        try:
            expected = place.term(term, style.emf)
        except ValueError:  # it divides by zero
            assume(False)
        assert place.tree(side) == expected


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        (r"R_{1} + R_{12}\,I_{1}", r"(R_{1} + R_{12})\,I_{1}"),
        (r"\frac{E_{1}}{R_{1}}I_{1}", "I_{1}"),
    ],
)
def test_the_reader_tells_different_formulas_apart(wrong: str, right: str) -> None:
    place = PLACES[0]
    assert place.tree(_side(tex_tokens(wrong))) != place.tree(_side(tex_tokens(right)))
