"""Cut a text into statements, so that a fault in one cannot hide the faults of the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from derive.diagnostic import Diagnostic
from derive.source import Span

_CLOSING = {'"': '"', "“": "”", "„": "“”"}


@dataclass(frozen=True, slots=True)
class Piece:
    """The text of one statement, comments replaced by as many spaces."""

    start: int
    """Where it begins in the source."""
    text: str
    breaks: tuple[int, ...] = ()
    """Offsets at which indented lines go on with it."""

    @property
    def span(self) -> Span:
        """Its place in the source."""
        return Span(self.start, self.start + len(self.text))


@dataclass(frozen=True, slots=True)
class Pieces:
    """All statements of a text, and the quotations that are never closed."""

    whole: tuple[Piece, ...]
    unclosed: tuple[Piece, ...]
    diagnostics: tuple[Diagnostic, ...]


def split(text: str) -> Pieces:
    """Cut a text at line ends and semicolons.

    A line that is indented deeper than the leftmost line goes on with the statement above it.
    ``#`` outside quotation marks starts a comment.
    """
    cutter = _Cutter(text)
    margin = min((_indentation(text[start:end]) for start, end in _written_lines(text)), default=0)
    for start, end in _written_lines(text):
        if _indentation(text[start:end]) <= margin:
            cutter.finish(start)
        cutter.take(start, end)
    cutter.finish(len(text))
    return Pieces(tuple(cutter.whole), tuple(cutter.unclosed), tuple(cutter.diagnostics))


def _written_lines(text: str) -> Iterator[tuple[int, int]]:
    """Yield (start, end) of every line that holds more than space and comment."""
    start = 0
    for line in text.split("\n"):
        stripped = line.strip()
        if stripped and not stripped.startswith("#"):
            yield start, start + len(line)
        start += len(line) + 1


def _indentation(line: str) -> int:
    expanded = line.expandtabs(8)
    return len(expanded) - len(expanded.lstrip())


class _Cutter:
    """Collects the characters of the statement at hand."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._taken: list[tuple[int, int]] = []
        self._quote: tuple[str, int] | None = None
        self.whole: list[Piece] = []
        self.unclosed: list[Piece] = []
        self.diagnostics: list[Diagnostic] = []

    def take(self, start: int, end: int) -> None:
        """Read one line of the statement."""
        begin = start
        for offset in range(start, end):
            character = self._text[offset]
            if self._quote is not None:
                if character in self._quote[0]:
                    self._quote = None
            elif character in _CLOSING:
                self._quote = (_CLOSING[character], offset)
            elif character == "#":
                end = offset
                break
            elif character == ";":
                self._taken.append((begin, offset))
                self.finish(offset)
                begin = offset + 1
        self._taken.append((begin, end))

    def finish(self, end: int) -> None:
        """Close the statement at hand; the next one begins at `end` or later."""
        piece = self._piece()
        self._taken = []
        if piece is None:
            return
        if self._quote is None:
            self.whole.append(piece)
            return
        mark = self._quote[1]
        self._quote = None
        self.unclosed.append(piece)
        line_end = self._text.find("\n", mark, end)
        self.diagnostics.append(
            Diagnostic(
                code="unclosed-quote",
                message="this quotation mark has no partner",
                span=Span(mark, line_end if line_end >= 0 else end),
                hints=(
                    'close the words with a second mark: title "Two lamps"',
                    "words that go on in the next line need that line to be indented",
                ),
            )
        )

    def _piece(self) -> Piece | None:
        if not self._taken:
            return None
        start, end = self._taken[0][0], self._taken[-1][1]
        characters = [" "] * (end - start)
        for begin, stop in self._taken:
            characters[begin - start : stop - start] = self._text[begin:stop]
        text = "".join(characters).rstrip()
        lead = len(text) - len(text.lstrip())
        breaks = (begin - start - lead for begin, _ in self._taken[1:])
        # Behind a semicolon at a line end the statement itself begins in an indented line.
        return Piece(start + lead, text[lead:], tuple(b for b in breaks if b > 0)) if text else None
