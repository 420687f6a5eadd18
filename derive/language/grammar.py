"""Find and load the grammars, which live outside the code."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from lark import Lark

_PACKAGE = Path(__file__).resolve().parent.parent
# In a wheel the grammars are inside the package; in a checkout they are beside it.
_PLACES = (_PACKAGE / "grammar", _PACKAGE.parent / "grammar")


@cache
def load(name: str) -> Lark:
    """Return the LALR parser for ``grammar/<name>.lark``."""
    for place in _PLACES:
        file = place / f"{name}.lark"
        if file.is_file():
            return Lark.open(str(file), parser="lalr", propagate_positions=True)
    raise FileNotFoundError(f"{name}.lark is in none of: {', '.join(map(str, _PLACES))}")
