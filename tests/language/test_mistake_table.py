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
