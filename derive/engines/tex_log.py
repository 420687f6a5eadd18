"""Find in the log of TeX what went wrong, and in which line."""

from __future__ import annotations

import re
from dataclasses import dataclass

_SHOWN_LINES = 6
"""Lines of a complaint that are passed on."""
_LINE_SEARCH = 12
"""Lines after a complaint among which TeX says where it was."""

_LOCATED = re.compile(r"(?P<file>[^:\s][^:]*\.\w+):(?P<line>[0-9]+): (?P<text>.*)")
"""What ``-file-line-error`` makes of an error."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """The first error in a log."""

    message: str
    line: int | None
    """Line of the document, counted from 1; none for an error inside a package."""


def complaint(log: str, document: str) -> Complaint | None:
    """Return the first error of a log; `document` is the name of the file that was set."""
    lines = log.splitlines()
    for place, text in enumerate(lines):
        located = _LOCATED.match(text)
        if located:
            inside = located["file"].removeprefix("./") == document
            number = int(located["line"]) if inside else None
            return Complaint(_block(located["text"], lines[place + 1 :]), number)
        # Tectonic, whose option for this is another, says "error: solution.tex:3: …".
        if text.startswith("error: "):
            return complaint(text.removeprefix("error: "), document) or Complaint(text[7:], None)
        if text.startswith("! "):
            return Complaint(_block(text[2:], lines[place + 1 :]), _line_number(lines[place:]))
    return None


def last_words(output: str) -> str:
    """Return the end of what a program printed before it failed without an error message."""
    lines = [line for line in output.splitlines() if line.strip()]
    return "\n".join(lines[-_SHOWN_LINES:]) or "it ended without a PDF and without a word"


def _block(first: str, following: list[str]) -> str:
    block = [first.rstrip()]
    for line in following[: _SHOWN_LINES - 1]:
        if not line.strip() or line.startswith("Here is how much"):
            break
        block.append(line.rstrip())
    return "\n".join(block)


def _line_number(lines: list[str]) -> int | None:
    for text in lines[:_LINE_SEARCH]:
        found = re.match(r"l\.([0-9]+) ", text)
        if found:
            return int(found[1])
    return None
