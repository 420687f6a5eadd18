"""Files changed in ways that go further than a few edits: other files' tokens, any character, size."""

from __future__ import annotations

import random
import re
import unicodedata
from functools import cache
from pathlib import Path

from tests.language.text_strategies import SEEDS, TOKENS, mutated

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
                sign = unicodedata.normalize(
                    choose.choice(("NFD", "NFKC")), text[place : place + 3]
                )
        text = text[:place] + sign + text[place + choose.choice((0, 0, 1)) :]
    return text


def any_character(choose: random.Random) -> str:
    """Return a character of Unicode, the first planes more often."""
    return chr(choose.choice((choose.randrange(0x3000), choose.randrange(0x110000))))


def with_something_huge(text: str, choose: random.Random) -> str:
    """Return a file with something in it of a size that nobody writes by hand."""
    place = choose.randint(0, len(text))
    return text[:place] + choose.choice(_HUGE) + text[place:]


def a_few_statements(text: str, choose: random.Random) -> str:
    """Return a circuit of two or three loops with some statements of a file, changed somehow."""
    lines = choose.choice(_SMALL).splitlines()
    lines += choose.choices(_ASKED, k=choose.choice((0, 1, 1, 2)))
    own = [line for line in text.splitlines() if line.strip() and len(line) < 200]
    if choose.random() < 0.4:
        lines.append(_renamed(choose.choice(own or [""]), choose))
    choose.shuffle(lines)
    changes = (with_names_swapped, with_tokens_swapped, with_any_characters, mutated)
    change = choose.choices(changes, (8, 3, 1, 2))[0]
    text = "\n".join(lines)
    return text if choose.random() < 0.25 else change(text, choose)


_ASKED = (
    "ask power in R1", "ask voltage A B", "ask resistance A B", "ground A", "use loop A B A",
    "use loop A (R1) B (E1) A", "eliminate I1", "ask reducible", "ask voltage across R1",
    "use method reduction", "use method branch currents", "ask terminal voltage of E1",
    "ask charge on C1", "ask transient of C1", "uncharged C1", "initially V(C1) = 2 V",
    "ask matched load R1", "ask energy in R1 over 2 h", "ask reading of M1", "ask value of R1",
    "ask loading error of M1", "R1 = ?", "I1 = 2 A", "V(A,B) = 3 V", "E1 = ?", "R1 = 2 R2",
    "rating L1 = 6 V, 3 W", "ask potentials", "use junction B", "place A at 0 0", "figures 4",
    "ask E12 value of R1", "ask short-circuit current of E1", "ask open-circuit voltage of E1",
    "ask efficiency of E1", "ask charge of E1 over 3 min", "R2 = 5 ohm ± 10 %", "E2 = 2 ohm * I1",
    "bridge diamond", "batteries cells", "resistors zigzag", "symbols emf script", ": A B",
    ": A (R9) B", ": B (-E9+) A", ": C (closes S9) B", ": A (<- J9) C", ": B (capacitor C9) A",
)  # fmt: skip
_SMALL = (
    "I1: A (-E1 r1+) B (R1) A\nE1 = 6 V; r1 = 1 ohm; R1 = 2 ohm",
    "I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) (closed S1) A\nE1 = 6 V\nR1, R2 = 3 ohm",
    ": A (-E1+) (R1) B\n: A (-E2+) (R2) B\n: A (R3) B\nE1, E2 = 5 V ± 5 %; R1 = 1 ohm",
    "I1: A (-E1+) B (R1) C\n: C (capacitor C1) A\n: C (opens S1) (lamp L1) A\nC1 = 2 µF; E1 = 9 V",
    "I1: A (J1 ->) B (R1) A\n: B (ammeter M1) (R2) A\n: B (voltmeter M2) A\nJ1 = 2 A; M2 = 10 kΩ",
)


def _renamed(line: str, choose: random.Random) -> str:
    """Return a statement with its names taken from a small circuit, so that it may fit one."""
    names = ("A", "B", "C", "R1", "R2", "E1", "I1", "C1", "S1", "L1", "M1", "J1", "r1", "I2")
    return re.sub(
        r"\b[A-Za-z][0-9]?\b",
        lambda found: choose.choice(names) if choose.random() < 0.5 else found[0],
        line,
    )
