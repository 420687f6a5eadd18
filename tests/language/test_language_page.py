"""The page for authors tells the truth: what it shows is read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from derive.circuit.elaborate import load
from derive.circuit.numbers import UNITS_HINT
from derive.diagnostic import Rejected
from derive.language.parser import parse
from derive.source import Source

_PAGE = (Path(__file__).resolve().parents[2] / "grammar" / "README.md").read_text(encoding="utf-8")
_BLOCK = re.search(r"```\n(.*?)```", _PAGE, re.DOTALL)
_INLINE = re.findall(r"`([^`\n]+)`", _PAGE.replace(_BLOCK.group() if _BLOCK else "", ""))
_STATEMENTS = [code for code in _INLINE if re.match(r"(ask|use|eliminate|place|figures) ", code)]
_STATEMENTS += [
    code for code in _INLINE if re.search(r"^:|^I\d: | = ", code) and "name" not in code
]
_PARTS = [code for code in _INLINE if re.fullmatch(r"\(.*\)", code)]


def test_the_example_is_a_circuit() -> None:
    assert _BLOCK is not None
    elaborated = load(Source("README", _BLOCK.group(1)))
    assert len(elaborated.circuit.branches) == 3
    assert elaborated.warnings == ()


def test_the_page_shows_something_of_everything() -> None:
    assert len(_STATEMENTS) >= 25
    assert len(_PARTS) >= 10


@pytest.mark.parametrize("code", _STATEMENTS)
def test_statements_are_read(code: str) -> None:
    parse(Source("README", code))


@pytest.mark.parametrize("code", _PARTS)
def test_parts_are_read(code: str) -> None:
    parse(Source("README", f": A {code} B"))


_UNITS = re.search(r"Units: `([^`]+)`, with a prefix `([^`]+)`; `(Ohm)`", _PAGE)
_SIGNS = sorted({*map(chr, range(33, 127)), *"ΩµμΔ°"})


def is_unit(unit: str) -> bool:
    try:
        parse(Source("x", f"R1 = 1 * 2 {unit}"))
    except Rejected:
        return False
    return True


def test_the_units_on_the_page_are_those_of_the_grammar_and_of_the_hint() -> None:
    assert _UNITS is not None
    units, prefixes = _UNITS[1].split(), _UNITS[2].split()
    letters = [sign for sign in _SIGNS if sign.isalpha()]
    one_letter = {unit for unit in letters if is_unit(unit)}
    assert one_letter | {"ohm"} == set(units)
    assert {prefix for prefix in letters if is_unit(f"{prefix}V")} - {"μ"} == set(prefixes)
    assert is_unit("μV")  # the Greek letter, which looks like the prefix
    assert all(is_unit(prefix + unit) for prefix in prefixes for unit in (*units, "Ohm"))
    told = re.fullmatch(
        r"units are (.+), each with a prefix (.+) if needed", UNITS_HINT.replace(" or ", ", ")
    )
    assert told is not None
    assert (told[1].split(", "), told[2].split()) == (units, prefixes)
