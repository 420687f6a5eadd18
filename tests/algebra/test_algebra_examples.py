"""The examples in the docstrings of the algebra run."""

from __future__ import annotations

import doctest
from types import ModuleType

import pytest

from derive.algebra import element, linear, name, plain, polynomial, trees


@pytest.mark.parametrize("module", [element, linear, name, plain, polynomial, trees])
def test_docstring_examples(module: ModuleType) -> None:
    outcome = doctest.testmod(module)
    assert outcome.attempted
    assert not outcome.failed
