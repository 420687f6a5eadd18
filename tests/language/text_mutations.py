"""Files changed in ways that go further than a few edits: other files' tokens, any character, size."""

from __future__ import annotations

import random
import re
import unicodedata
from functools import cache
from pathlib import Path

from tests.language.text_strategies import SEEDS, TOKENS

ROOT = Path(__file__).resolve().parents[2]

_TOKEN = re.compile(r"[^\W\d][\w']*|\d+|\s+|.", re.DOTALL)

CONFUSABLE = (
    "\u202e", "\u202d", "\u2066", "\u2067", "\u2069", "\u200e", "\u200f", "\u200d", "\u00ad",
    "\u0410", "\u0391", "\u212a", "\uff21", "\U0001d434", "\u0131", "\u2160", "\u00b2", "\u2082",
    "\u0660", "\u0301", "\u20dd", "\ufe0f", "\U0001f50b", "\ue000", "\U0010ffff", "\u2028",
    "\u0085", "\u00a0", "\u3000", "\u037e", "\u2236", "\ufe55", "\u2044", "\u2215", "\u2010",
)  # fmt: skip
"""Signs that turn the text around, look like others, are no characters, or are very odd spaces."""

PAYLOADS = (
    r"\input{/etc/passwd}", r"\write18{touch x}", r"^^5cinput", "%", "$", "<script>alert(1)</script>",
    "<!--", "-->", "]]>", "&amp;", "#import \"x\"", "#read(\"/etc/passwd\")", "$(touch x)", "`touch x`",
    "[a](javascript:alert(1))", "![](x)", "../../x", "{{7*7}}", "%s%n", "'; --",
)  # fmt: skip
"""What other languages than ours would do something with."""

_HUGE = (
    "9" * 5000, "1e999999999", "1e-999999999", "0." + "0" * 3000 + "1", "1/" + "7" * 3000,
    "(" * 400 + "1" + ")" * 400, "R" * 3000, "R1 + " * 800 + "R1", "A (R1) " * 400, "\n" * 4000,
    '"' + "x" * 9000 + '"', ", ".join(f"R{k}" for k in range(900)), "; " * 3000, "# " + "c" * 9000,
)  # fmt: skip


@cache
def files() -> tuple[str, ...]:
    """Return the seeds, the examples and the refused files of the tests."""
    return (*good_files(), *_texts(ROOT / "tests" / "rejected"))


@cache
def good_files() -> tuple[str, ...]:
    """Return the seeds and the examples."""
    return (*SEEDS, *_texts(ROOT / "examples"))


def _texts(folder: Path) -> list[str]:
    return [path.read_text("utf-8") for path in sorted(folder.glob("*.circuit"))]


@cache
def _tokens_of(text: str) -> tuple[str, ...]:
    return tuple(_TOKEN.findall(text))


def with_tokens_swapped(text: str, choose: random.Random) -> str:
    """Return a file in which some tokens have become others of it, or of another file."""
    tokens = list(_TOKEN.findall(text))
    for _ in range(choose.randint(1, 4)):
        if not tokens:
            break
        place = choose.randrange(len(tokens))
        other = choose.choice((tokens, _tokens_of(choose.choice(files())), TOKENS))
        tokens[place] = choose.choice(other)
    return "".join(tokens)


def with_names_swapped(text: str, choose: random.Random) -> str:
    """Return a file in which names stand for each other: it often still means something."""
    tokens = list(_TOKEN.findall(text))
    places = [k for k, token in enumerate(tokens) if len(token) < 4 and token[:1].isupper()]
    for _ in range(choose.randint(1, 3)):
        if len(places) > 1:
            one, other = choose.sample(places, 2)
            tokens[one] = tokens[other]
    numbers = [k for k, token in enumerate(tokens) if token.isdecimal()]
    if numbers and choose.random() < 0.5:
        values = ("0", "1", "2", "3", "1000000", "00", "0.5", "7/3", "1e12", "1e-12")
        tokens[choose.choice(numbers)] = choose.choice(values)
    return "".join(tokens)


def with_lines_of_another(text: str, choose: random.Random) -> str:
    """Return lines of two files in one."""
    lines, others = text.splitlines(), choose.choice(files()).splitlines()
    for _ in range(choose.randint(1, 4)):
        lines.insert(choose.randint(0, len(lines)), choose.choice(others or [""]))
        if choose.random() < 0.5:
            del lines[choose.randrange(len(lines))]
    return "\n".join(lines)


def with_any_characters(text: str, choose: random.Random) -> str:
    """Return a file with characters of any kind in it, or with what other languages obey."""
    for _ in range(choose.randint(1, 5)):
        place = choose.randint(0, len(text))
        match choose.randrange(4):
            case 0:
                sign = choose.choice(CONFUSABLE)
            case 1:
                sign = choose.choice(PAYLOADS)
            case 2:
                sign = any_character(choose)
            case _:
                sign = unicodedata.normalize(choose.choice(("NFD", "NFKC")), text[place : place + 3])
        text = text[:place] + sign + text[place + choose.choice((0, 0, 1)) :]
    return text


def any_character(choose: random.Random) -> str:
    """Return a character of Unicode, the first planes more often."""
    return chr(choose.choice((choose.randrange(0x3000), choose.randrange(0x110000))))


def with_something_huge(text: str, choose: random.Random) -> str:
    """Return a file with something in it of a size that nobody writes by hand."""
    place = choose.randint(0, len(text))
    return text[:place] + choose.choice(_HUGE) + text[place:]
