"""Text of the user comes out as text, whatever it holds."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from derive.writers.tex_text import comment, escape, escape_metadata

# What `escape` may write: its own commands, and characters without a special meaning to TeX.
_SAFE = re.compile(
    r"(?:\\(?:[$&#%_{}]|,|S\{\}|text[a-z]+\{\}|text(?:super|sub)script\{\d\}|dots\{\}|mbox\{-\}"
    r"|['`^~\"=.rHvuckd]\{[A-Za-z]\}|textcommabelow\{[A-Za-z]\}|[A-Za-z]{1,2}\{\}"
    r"|textquestiondown\{\}|guillemot(?:left|right)\{\}|quotedblbase\{\}"
    r"|ensuremath\{(?:\\[A-Za-z]+(?:\{E\}|\d\d)?|-|\{\}\^\{\\circ\})\})"
    r"|~|\{\\kern0pt\}|[^\\{}$&#^_%~])*"
)


@given(st.text())
def test_nothing_special_is_left(text: str) -> None:
    assert _SAFE.fullmatch(escape(text))
    assert escape(text).isascii()
    assert "\n" not in escape(text)


@given(st.text())
def test_metadata_and_comments_are_safe_too(text: str) -> None:
    assert _SAFE.fullmatch(escape_metadata(text))
    assert r"\ensuremath" not in escape_metadata(text)
    assert all(" " <= character <= "~" for character in comment(text))


@pytest.mark.parametrize(
    ("text", "tex"),
    [
        (r"\input{x}", r"\textbackslash{}input\{x\}"),
        ("^^M", r"\textasciicircum{}\textasciicircum{}M"),
        ("50 % of $3 & #1", r"50 \% of \$3 \& \#1"),
        ("a\n\n\\par b", r"a \textbackslash{}par b"),
        ("don't -- wait", r"don't -{\kern0pt}- wait"),
        ("café, 3 Ω ± 5 %", r"caf\'{e}, 3 \ensuremath{\Omega} \ensuremath{\pm} 5 \%"),
        ("cafe\N{COMBINING ACUTE ACCENT}", r"caf\'{e}"),
        ('say "yes"', r"say \textquotedblleft{}yes\textquotedblright{}"),
        ("Łódź ȘŐđ ĳ", r"\L{}\'{o}d\'{z} \textcommabelow{S}\H{O}\dj{} [U+0133]"),
        ("中\x07", "[U+4E2D][U+0007]"),
    ],
)
def test_known_texts(text: str, tex: str) -> None:
    assert escape(text) == tex
