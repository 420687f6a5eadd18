"""Whatever the text, it is accepted or refused with a message. The long run is in tests/bench."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from derive.diagnostic import Rejected
from derive.language.parser import parse
from derive.language.printer import print_file
from derive.source import Source
from tests.language.text_strategies import (
    SEEDS,
    files_of_statements,
    mutated_seeds,
    outcome,
    statements,
    token_soup,
)

_SOME = settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("text", SEEDS[:2])
def test_the_good_seeds_are_accepted(text: str) -> None:
    assert outcome(text) == "accepted"


@_SOME
@given(mutated_seeds())
def test_edited_files(text: str) -> None:
    outcome(text)


@_SOME
@given(files_of_statements())
def test_files_made_by_the_grammar(text: str) -> None:
    outcome(text)


@_SOME
@given(token_soup())
def test_pieces_of_the_language_in_any_order(text: str) -> None:
    outcome(text)


@_SOME
@given(st.text(max_size=60))
def test_any_text(text: str) -> None:
    outcome(text)


@_SOME
@given(statements() | mutated_seeds())
@example("rating A =3/2 ,3/2")
def test_what_is_printed_reads_back_to_the_same_tree(text: str) -> None:
    try:
        tree = parse(Source("x", text))
    except Rejected:
        return
    assert parse(Source("x", print_file(tree))) == tree
