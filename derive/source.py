"""Source texts and places in them."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True, slots=True)
class Span:
    """A half-open range of character offsets in a source text."""

    start: int
    end: int


@dataclass(frozen=True)
class Source:
    """A named text."""

    name: str
    """What to call it in a message: usually the file name as the user gave it."""
    text: str

    @cached_property
    def _line_starts(self) -> tuple[int, ...]:
        starts = [0]
        for offset, character in enumerate(self.text):
            if character == "\n":
                starts.append(offset + 1)
        return tuple(starts)

    def position(self, offset: int) -> tuple[int, int]:
        """Return the line and column of an offset, both counted from 1."""
        offset = max(0, min(offset, len(self.text)))
        line = bisect_right(self._line_starts, offset)
        return line, offset - self._line_starts[line - 1] + 1

    def line(self, number: int) -> str:
        """Return the text of a line counted from 1, without its end."""
        start = self._line_starts[number - 1]
        end = self.text.find("\n", start)
        return self.text[start : end if end >= 0 else len(self.text)]
