"""Broken equations hold all that the whole ones hold, and every line fits."""

from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.term import (
    Negative,
    Parallel,
    Power,
    Product,
    Quotient,
    Sum,
    Term,
    current,
    emf,
    resistance,
)
from derive.document.model import Chain, Relation
from derive.typesetting.extent import row_width
from derive.typesetting.layout import Over, Row
from derive.typesetting.style import Style
from derive.writers import text_math
from derive.writers.breaking import Line, break_right, break_whole, narrow, relation_rows

STYLE = Style()
_LETTERS = [resistance(f"R{k}") for k in range(1, 30)] + [current("I1"), emf("E2")]
_PRODUCTS = st.lists(st.sampled_from(_LETTERS), min_size=1, max_size=4).map(
    lambda factors: Product(tuple(factors))
)
_SIGNED = st.one_of(_PRODUCTS, _PRODUCTS.map(Negative))
_SUMS = st.lists(_SIGNED, min_size=1, max_size=25).map(lambda terms: Sum(tuple(terms)))
_SIDES = st.one_of(
    _SUMS,
    st.builds(lambda s, p: Product((s, p)), _SUMS, st.sampled_from(_LETTERS)),
    st.builds(lambda a, b: Sum((Product((a, _LETTERS[0])), Negative(b))), _SUMS, _PRODUCTS),
)
_CHAINS = st.lists(_SIDES, min_size=2, max_size=4).map(
    lambda sides: Chain(tuple(sides), (Relation.EQUAL,) * (len(sides) - 1))
)
LIMIT = 30.0
INDENT = 2.0


def _spelled(rows: list[Row]) -> str:
    return "".join(map(text_math.text, rows))


def _fits(line: Line) -> bool:
    return row_width(line.row) + (INDENT if line.continued else 0) <= LIMIT + 1e-9


@settings(max_examples=200, deadline=None)
@given(_CHAINS)
def test_a_whole_equation_is_kept_and_fits(chain: Chain) -> None:
    left, sides = relation_rows(chain, STYLE)
    lines = break_whole(left, sides, LIMIT, INDENT, row_width)
    assert _spelled([line.row for line in lines]) == _spelled([left, *sides])
    assert all(map(_fits, lines))


@settings(max_examples=200, deadline=None)
@given(_CHAINS)
def test_right_sides_are_kept_and_fit(chain: Chain) -> None:
    _, sides = relation_rows(chain, STYLE)
    lines = break_right(sides, LIMIT, INDENT, row_width)
    assert _spelled([line.row for line in lines]) == _spelled(list(sides))
    assert all(map(_fits, lines))


def test_what_fits_stays_on_one_line() -> None:
    chain = Chain((_LETTERS[0], _LETTERS[1], _LETTERS[2]), (Relation.EQUAL,) * 2)
    left, sides = relation_rows(chain, STYLE)
    assert len(break_right(sides, LIMIT, INDENT, row_width)) == 1
    assert len(break_whole(left, sides, LIMIT, INDENT, row_width)) == 1


def test_relations_break_before_signs_do() -> None:
    half = Sum(tuple(_LETTERS[:8]))
    _, sides = relation_rows(Chain((_LETTERS[0], half, half), (Relation.EQUAL,) * 2), STYLE)
    lines = break_right(sides, LIMIT, INDENT, row_width)
    assert [line.row for line in lines] == list(sides)


@settings(max_examples=100, deadline=None)
@given(_SUMS, _SUMS)
def test_a_wide_fraction_is_set_on_several_lines(over: Term, under: Term) -> None:
    _, (side,) = relation_rows(
        Chain((_LETTERS[0], Quotient(over, under)), (Relation.EQUAL,)), STYLE
    )
    narrowed = narrow(side, LIMIT, row_width)
    assert row_width(narrowed) <= LIMIT
    assert any(isinstance(glyph, Over) for glyph in narrowed)
    assert text_math.text(narrowed) == text_math.text(side)


@settings(max_examples=100, deadline=None)
@given(_SUMS, _SUMS, st.sampled_from([1, 2]))
def test_a_wide_fraction_in_parentheses_makes_room_for_what_is_beside_it(
    over: Term, under: Term, exponent: int
) -> None:
    fraction = Quotient(over, under)
    inner = Power(fraction, exponent) if exponent > 1 else Sum((_LETTERS[1], fraction))
    chain = Chain((_LETTERS[0], Product((_LETTERS[2], inner))), (Relation.EQUAL,))
    _, (side,) = relation_rows(chain, STYLE)
    narrowed = narrow(side, LIMIT, row_width)
    assert row_width(narrowed) <= LIMIT
    assert text_math.text(narrowed) == text_math.text(side)


def test_a_fraction_that_fits_beside_its_relation_is_not_divided() -> None:
    over = Quotient(Sum(tuple(_LETTERS[:10])), _LETTERS[0])
    _, (side,) = relation_rows(Chain((_LETTERS[0], over), (Relation.EQUAL,)), STYLE)
    assert narrow(side, row_width(side), row_width) == side


def test_many_resistances_in_parallel_are_cut_where_they_have_to_be() -> None:
    side = Sum((_LETTERS[0], Parallel(tuple(_LETTERS[:20]))))
    _, sides = relation_rows(Chain((_LETTERS[0], side), (Relation.EQUAL,)), STYLE)
    lines = break_right(sides, LIMIT, INDENT, row_width)
    assert _spelled([line.row for line in lines]) == _spelled(list(sides))
    assert len(lines) > 1
    assert all(map(_fits, lines))
