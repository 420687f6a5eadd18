"""The examples in docstrings run."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MODULES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for path in ROOT.glob("derive/**/*.py")
    if ">>> " in path.read_text("utf-8")
)


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples(name: str) -> None:
    outcome = doctest.testmod(import_module(name))
    assert outcome.attempted
    assert not outcome.failed
