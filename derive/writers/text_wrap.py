"""Columns of a terminal: widths, padding, wrapping, and characters that must not reach it."""

from __future__ import annotations

import re
from textwrap import TextWrapper
from unicodedata import category, east_asian_width

_NO_BREAK = "\N{NO-BREAK SPACE}"


def clean(text: str) -> str:
    """Return text on one line, without characters that could drive a terminal."""
    flat = re.sub(r"[\t\n\r\v\f\x85\u2028\u2029]+", " ", text)
    return "".join("\N{REPLACEMENT CHARACTER}" if category(c)[0] == "C" else c for c in flat)


def shown_width(text: str) -> int:
    """Return the number of terminal columns a text takes."""
    wide = sum(east_asian_width(character) in "WF" for character in text)
    combining = sum(category(character) == "Mn" for character in text)
    return len(text) + wide - combining


def pad(text: str, width: int, *, right: bool = False) -> str:
    """Return text filled with spaces to a width, at its left when it is set to the right."""
    space = " " * max(0, width - shown_width(text))
    return space + text if right else text + space


def wrap(text: str, width: int) -> list[str]:
    """Return lines no wider than `width` where the words permit; no-break spaces hold."""
    wrapper = TextWrapper(width=max(width, 1), break_long_words=False, break_on_hyphens=False)
    return wrapper.wrap(text)


def unglue(text: str) -> str:
    """Return text with its no-break spaces as plain ones, for printing."""
    return text.replace(_NO_BREAK, " ")
