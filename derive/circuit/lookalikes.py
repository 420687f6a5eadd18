"""What a name becomes where a solution shows it, so that two names cannot become one."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator
from dataclasses import replace
from enum import Enum, auto

from derive.algebra.name import identifier, is_greek, look


class Setting(Enum):
    """How a name is set."""

    POINT = auto()
    BATTERY = auto()
    OTHER = auto()


_PRINT = "look the same in print"
_EMF_LETTERS = {"E": "italic", "ℰ": "script", "ε": "epsilon"}
"""As what a battery's letter E may be set, and what chooses that: ``symbols emf italic``."""


def appearances(name: str, setting: Setting) -> Iterator[tuple[Hashable, str]]:
    """Yield the forms of a name, each with words for two names that have it in common.

    The letter of a battery, E or ℰ, may be set as E, ℰ or ε, whichever the author chooses.
    """
    seen, word = look(name), identifier(name)
    formula = f"become the same name, `{word}`, in a formula"
    if setting is Setting.POINT:
        yield (setting, seen), _PRINT
        yield (setting, word), formula
        if _is_word(name):
            return
    emf = setting is Setting.BATTERY and seen.base in ("E", "ℰ")
    yield (Setting.BATTERY if emf else None, replace(seen, base="E") if emf else seen), _PRINT
    if setting is not Setting.POINT:
        yield word, formula
    for letter in _EMF_LETTERS if emf else (seen.base,):
        if letter in _EMF_LETTERS:
            choice = f"would look the same in print with `symbols emf {_EMF_LETTERS[letter]}`"
            yield (_EMF_LETTERS[letter], replace(seen, base=letter)), choice


def _is_word(point: str) -> bool:
    """Tell whether the name of a point is printed whole, not as a letter with a subscript."""
    return bool(re.fullmatch(r"[^\W\d_]{2,}[0-9]*", point)) and not is_greek(point)
