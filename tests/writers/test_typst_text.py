"""Text of the user comes out of Typst as text, whatever it holds."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from derive.writers.typst_text import literal, plain, string
from tests.writers.typst_runs import as_ua, page_of

_LITERAL = re.compile(r'"(?:[^"\\]|\\["\\])*"')


@given(st.text())
def test_a_text_is_one_string_literal_and_nothing_else(text: str) -> None:
    spelled = string(text)
    assert _LITERAL.fullmatch(spelled)
    # JSON is another language with these two escapes.
    assert json.loads(spelled) == json.loads(literal(json.loads(spelled)))
    assert "\n" not in spelled


@given(st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E)))
def test_plain_characters_stay_as_they_are(text: str) -> None:
    assert plain(text) == re.sub(" +", " ", text)
    assert json.loads(literal(plain(text))) == plain(text)


@pytest.mark.parametrize(
    ("text", "typst"),
    [
        ('#read("/etc/passwd")', r'"#read(“/etc/passwd”)"'),
        ("a\n\nb\t c", '"a b c"'),
        ("don't", '"don’t"'),
        ('say "yes"', '"say “yes”"'),
        ("cafe\N{COMBINING ACUTE ACCENT} 3 Ω ± 5 %", '"café 3 Ω ± 5 %"'),
        ("中\x07\u202e", '"[U+4E2D][U+0007][U+202E]"'),
        ("\\", r'"\\"'),
    ],
)
def test_known_texts(text: str, typst: str) -> None:
    assert string(text) == typst


def test_the_fonts_have_every_character_that_is_not_replaced() -> None:
    kept = [chr(code) for code in range(0x3000) if plain(chr(code)) == chr(code)]
    assert len(kept) > 500
    texts = (string("".join(kept[k : k + 20])) for k in range(0, len(kept), 20))
    as_ua(page_of("\n".join(f"#{text} #strong[#{text}]" for text in texts)))


def test_the_test_before_can_fail() -> None:
    with pytest.raises(Exception, match="could not be displayed"):
        as_ua(page_of('#"中"'))
