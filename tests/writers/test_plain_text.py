"""Plain text: everything is there, nothing is too wide, nothing drives the terminal."""

from dataclasses import replace
from unicodedata import category

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.document.model import Document, Paragraph, Section, Text
from derive.typesetting.style import Style
from derive.writers import text
from derive.writers.mark import MARK
from derive.writers.text_wrap import clean, pad, shown_width, wrap
from tests.writers.sample_document import DOCUMENT, FIGURE


@pytest.mark.parametrize("width", [60, 72, 80, 100])
def test_no_line_is_wider_than_the_page(width: int) -> None:
    lines = text.write(DOCUMENT, width).split("\n")
    assert max(map(shown_width, lines)) <= width


def test_every_kind_of_block_is_told() -> None:
    told = text.write(DOCUMENT)
    for piece in (
        "Two batteries & a heater", "1  Junction rule at C", "I₁ + I₂ = I₃′", "(1) in (2)  (4)",
        "+ ℰ₁", "− R₁·I₁", "along the arrow of I₁: a fall", "ℰ₁ = 12 V", "R_load = 1.5 Ω",
        "[Figure: A rectangle of wire with the points A, B and C.", "Loop A B C A",
        "!! Caution. Charging ℰ₂ may harm it.", "12.5 kV", "I₁ ≠ V_BA", "P_R₁ > 0",
        "P_R₁ < R₁ ∥ R₂", "I₁ = 17/12 A ≈ 1.42 A", "I₂ = −21.3 mA", "as drawn", "The formula",
        "I₁ = ((R₂ + R₃)·ℰ₁ − R₃·ℰ₂)/Δ",
    ):  # fmt: skip
        assert piece in told


def test_the_last_line_is_our_mark() -> None:
    assert text.write(DOCUMENT).rstrip().split("\n")[-1].startswith(MARK)


def test_equation_numbers_stand_at_the_right_margin() -> None:
    lines = text.write(DOCUMENT).split("\n")
    assert next(line for line in lines if line.endswith("(1)")) == (
        "    I₁ + I₂ = I₃′".ljust(77) + "(1)"
    )


def test_a_figure_is_described_once() -> None:
    first = replace(FIGURE, long="One sentence about wire. " * 40)
    again = replace(FIGURE, long="")
    told = text.write(replace(DOCUMENT, sections=(Section((), (first, again)),)))
    assert " ".join(told.split()).count("about wire.") == 40
    assert told.count("[Figure") == 1


@settings(max_examples=60)
@given(st.text(max_size=80))
def test_no_text_of_the_user_drives_the_terminal(title: str) -> None:
    sections = (Section((Text(title),), (Paragraph((Text(title),)),)),)
    told = text.write(Document(title, title, sections, Style()))
    assert all(category(c)[0] != "C" or c == "\n" for c in told)


def test_wide_characters_take_two_columns() -> None:
    # Unicode Standard Annex 11, East Asian Width: W and F take two columns.
    assert shown_width("中a") == 3
    assert pad("中", 4, right=True) == "  中"


def test_control_characters_are_shown_as_replaced() -> None:
    assert clean("a\x1b[2Jb\n c") == "a\N{REPLACEMENT CHARACTER}[2Jb  c"


def test_a_formula_in_a_sentence_is_not_torn() -> None:
    assert wrap("aaaa I₁\xa0=\xa02", 8) == ["aaaa", "I₁\xa0=\xa02"]
