"""Every formula of the notation is spelled so that Typst sets it, and says what it means."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.dimension import OHM
from derive.algebra.term import Symbol, SymbolKind, emf, product, resistance
from derive.circuit.appearance import EmfSymbol
from derive.document.model import PointName, PointPath
from derive.typesetting.layout import (
    Bracket,
    Comma,
    Fence,
    Figures,
    Gap,
    Implied,
    Letter,
    Lines,
    Operator,
    Over,
    Prefix,
    Raised,
    Row,
    Sign,
    Units,
    Word,
)
from derive.typesetting.style import Style
from derive.writers.typst_math import inline, mathematics
from tests.page.reading_typst_math import tokens
from tests.writers.typst_runs import as_ua, page_of

_LETTERS = st.builds(
    Letter,
    st.sampled_from("RrIPVEℰaΔαεφµμЖé"),
    st.booleans(),
    st.sampled_from([(), (Figures(("12",)),), (Word("load"), Comma(), Word("é")), (Letter("a"),)]),
    st.integers(0, 3),
)
_FIGURES = st.builds(
    Figures,
    st.sampled_from([("0",), ("12", "345")]),
    st.sampled_from([(), ("5",), ("123", "45")]),
    st.booleans(),
)
_LEAVES = st.one_of(
    st.sampled_from(Sign).map(Operator),
    st.sampled_from([Prefix(Sign.PLUS), Prefix(Sign.MINUS), Gap(), Implied(True), Implied(False)]),
    st.sampled_from([Comma(), Word("load"), Word('Ω ( ) $ # \\ "')]),
    st.sampled_from([(("kΩ", 1),), (("V", 2), ("µA", -1)), (("Ω", 4),)]).map(Units),
    st.builds(Bracket, st.booleans(), st.booleans()),
    _LETTERS,
    _FIGURES,
    st.builds(Raised, st.one_of(_LETTERS, _FIGURES), st.integers(-3, 12)),
)


def _grow(inner: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    rows = st.lists(inner, min_size=1, max_size=5).map(tuple)
    return st.one_of(
        st.builds(Over, rows, rows),
        st.builds(Fence, rows),
        st.builds(Raised, st.builds(Fence, rows), st.integers(2, 3)),
        st.lists(rows, min_size=1, max_size=3)
        .map(tuple)
        .map(Lines)
        .map(lambda it: Over((it,), (it,))),
    )


_ROWS = st.lists(st.recursive(_LEAVES, _grow, max_leaves=12), min_size=1, max_size=8).map(tuple)


@settings(max_examples=60, deadline=None)
@given(st.lists(_ROWS, min_size=5, max_size=10))
def test_every_row_is_set(rows: list[Row]) -> None:
    body = "\n\n".join(f'#formula("x", ${mathematics(row)}$)' for row in rows)
    as_ua(page_of(body))


def test_the_test_before_can_fail() -> None:
    with pytest.raises(Exception, match="unknown variable"):
        as_ua(page_of('#formula("x", $thinattach(R)$)'))


@pytest.mark.parametrize(
    ("content", "typst"),
    [
        (emf("E1"), '#whole("ℰ₁", $attach(ℰ, b: "1")$)'),
        (PointName("C"), '#whole("C", $C$)'),
        (PointPath(("A", "B", "A")), '#whole("A B A", $A thin B thin A$)'),
        (product(resistance("R_load"), resistance("R'")), None),
        (Symbol("Delta", SymbolKind.AUXILIARY, OHM**2), '#whole("Δ", $Δ$)'),
    ],
)
def test_known_formulas(content: Symbol, typst: str | None) -> None:
    spelled = inline(content, Style())
    assert typst is None or spelled == typst
    as_ua(page_of(spelled))


@pytest.mark.parametrize("symbol", EmfSymbol)
def test_the_emf_as_the_author_wants_it(symbol: EmfSymbol) -> None:
    letters = {EmfSymbol.SCRIPT: "ℰ", EmfSymbol.EPSILON: "ε"}
    spelled = inline(emf("E2"), Style(emf=symbol))
    assert f"${'attach(' + letters.get(symbol, 'E')}, b: " in spelled


def test_a_comma_as_decimal_marker_takes_no_space_with_it() -> None:
    assert mathematics((Figures(("1",), ("5",), comma=True),)) == '"1,5"'


def test_parentheses_hold_all_lines_of_what_is_broken() -> None:
    lines = Fence((Lines(((Letter("a"),), (Operator(Sign.PLUS), Letter("b")))),))
    assert mathematics((lines,)) == r'lr(\(class("normal", & a \ & quad #plus;b)\))'
    assert tokens(mathematics((lines,))) == tokens(mathematics((Fence(_flat(lines)),)))


def _flat(fence: Fence) -> Row:
    (lines,) = fence.inner
    assert isinstance(lines, Lines)
    return tuple(glyph for row in lines.rows for glyph in row)
