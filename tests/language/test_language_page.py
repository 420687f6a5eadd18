"""The page for authors tells the truth: what it shows is read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from derive.circuit.elaborate import load
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
