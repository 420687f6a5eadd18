"""The table of mistakes is tested by its own samples."""

from __future__ import annotations

import pytest

from derive.diagnostic import render
from derive.language.forms import FORMS
from derive.language.mistakes import MISTAKES
from derive.language.parser import parse, read
from derive.source import Source

_SAMPLES = [(mistake.code, sample) for mistake in MISTAKES for sample in mistake.samples]


@pytest.mark.parametrize(("code", "sample"), _SAMPLES)
def test_a_sample_gets_the_message_of_its_mistake(code: str, sample: str) -> None:
    found = read(Source("x", sample)).diagnostics
    assert [diagnostic.code for diagnostic in found] == [code]
    assert "{" not in found[0].message
    assert found[0].hints


@pytest.mark.parametrize(("code", "sample"), _SAMPLES)
def test_the_same_mistake_is_found_behind_another_statement(code: str, sample: str) -> None:
    text = f"R9 = 5 ohm; {sample}\n"
    source = Source("x", text)
    (diagnostic,) = read(source).diagnostics
    assert diagnostic.code == code
    assert diagnostic.span is not None
    assert 12 <= diagnostic.span.start <= len(text)
    assert diagnostic.message in render(diagnostic, source)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("R1 = 5 ohm\n  ask currents", "ask currents"),
        ("I1: A (R1) B\n  ask currents", "ask currents"),
        ("I1: A (R1) B\n  (R2) C\n  use loop A C A", "use loop A C A"),
        ("R1 = 5 ohm\n\tR2 = 3 ohm  # two", "R2 = 3 ohm"),
        ('I1: A (R1) B\n  title "x"', 'title "x"'),
        ("eliminate I1\n  R1 = 5 ohm\n  R2 = 3 ohm", "R1 = 5 ohm"),
    ],
)
def test_an_indented_statement_is_said_to_be_indented(text: str, line: str) -> None:
    (found,) = read(Source("x", text)).diagnostics
    assert found.code == "indented-line"
    assert found.span is not None
    assert text[found.span.start : found.span.end] == line


@pytest.mark.parametrize(
    "text",
    ["I1: A (R1)\n  B (R2) C", "R3 = R1\n  + R2", "R1 = 5 ohm;\n  ask currents",
     "I1: A (R1)\n  ground B", "  R1 = 5 ohm\n  ask currents", "ask power in R1,\n  R2"],
)  # fmt: skip
def test_a_line_may_go_on_indented(text: str) -> None:
    assert read(Source("x", text)).diagnostics == ()


def test_what_goes_wrong_before_an_indented_line_is_told_as_it_is() -> None:
    (found,) = read(Source("x", "R1 = 5 5\n  ask currents")).diagnostics
    assert found.code == "times-missing"


def test_the_caret_stands_under_the_bracket_that_is_open() -> None:
    for text in ("I1: A (-E1+) B (R1 C", "I1: A (R3) B (R1 C (R2) D", "use loop A (R1) B (R2 A"):
        (found,) = read(Source("x", text)).diagnostics
        assert found.code == "bracket-not-closed"
        assert found.span is not None
        assert text[found.span.start :].startswith("(R1 C" if "I1" in text else "(R2 A")


def test_codes_are_different() -> None:
    codes = [mistake.code for mistake in MISTAKES]
    assert len(codes) == len(set(codes)) >= 40


@pytest.mark.parametrize("form", FORMS)
def test_the_example_of_each_form_is_a_statement(form: str) -> None:
    example = FORMS[form].split(": ", 1)[1] if form != "ask" else "ask currents"
    if form.startswith(("walk",)):
        example = FORMS[form].removeprefix("a walk reads: ")
    parse(Source("x", example.removesuffix(" ± 5 %") if form == "value" else example))


@pytest.mark.parametrize(
    "jargon", ["token", "parse", "syntax", "terminal symbol", "lookahead", "invalid", "illegal"]
)
def test_messages_speak_plainly(jargon: str) -> None:
    for mistake in MISTAKES:
        assert all(jargon not in words.lower() for words in (mistake.message, *mistake.hints))
