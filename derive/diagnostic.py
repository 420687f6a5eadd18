"""Diagnostics: what is wrong, where, and what would be right.

A diagnostic is a value. It is collected, not raised, wherever independent faults can be found
together; `Rejected` is the one exception that carries a batch of them to the caller.
`render` is the one place where carets are drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from unicodedata import category, east_asian_width

from derive.source import Source, Span


class Severity(Enum):
    """How grave a diagnostic is. Only an error stops the work."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Note:
    """A second place that belongs to a diagnostic."""

    message: str
    span: Span


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One fault of a circuit file, or one caution about it."""

    code: str
    """Stable short name of the kind of fault, such as ``unknown-point``."""
    message: str
    """What was found, in words of the trade."""
    span: Span | None = None
    """Where; None when the fault belongs to the circuit as a whole."""
    hints: tuple[str, ...] = ()
    """What would be right: each a sentence, the likeliest fix first."""
    notes: tuple[Note, ...] = ()
    severity: Severity = Severity.ERROR


class Rejected(Exception):  # noqa: N818  (a verdict, not a failure of the program)
    """The input cannot be worked on; carries every diagnostic that was found."""

    def __init__(self, diagnostics: Iterable[Diagnostic]) -> None:
        """Keep the diagnostics, in the order in which they were found."""
        self.diagnostics = tuple(diagnostics)
        super().__init__("; ".join(diagnostic.message for diagnostic in self.diagnostics))


def render(diagnostic: Diagnostic, source: Source) -> str:
    """Return the message with file, line, column, the source line and carets under the fault."""
    head = f"{diagnostic.severity.value}: {printable(diagnostic.message)}"
    name = printable(source.name)
    lines = []
    if diagnostic.span is None:
        lines.append(f"{name}: {head}")
    else:
        line, column = source.position(diagnostic.span.start)
        lines.append(f"{name}:{line}:{column}: {head}")
        lines.extend(_snippet(diagnostic.span, source))
    for note in diagnostic.notes:
        line, column = source.position(note.span.start)
        lines.append(f"  {name}:{line}:{column}: {printable(note.message)}")
        lines.extend(_snippet(note.span, source))
    lines.extend(f"  hint: {printable(hint)}" for hint in diagnostic.hints)
    return "\n".join(lines)


_WINDOW = 100
"""Longest piece of a source line that is shown; a longer line is cut around the fault."""


def _snippet(span: Span, source: Source) -> list[str]:
    number, column = source.position(span.start)
    text = source.line(number)
    length = max(1, min(span.end - span.start, len(text) - column + 1))
    start = 0
    if len(text) > _WINDOW:
        start = max(0, min(column - 1 - _WINDOW // 3, len(text) - _WINDOW))
        length = min(length, start + _WINDOW - column + 1)
    shown = printable(text[start : start + _WINDOW].replace("\t", " "))
    before = _width(printable(text[start : column - 1].replace("\t", " ")))
    marked = max(1, _width(printable(text[column - 1 : column - 1 + length])))
    gutter = f"{number:>5} | "
    return [gutter + shown, " " * (len(gutter) - 2) + "| " + " " * before + "^" * marked]


def printable(text: str) -> str:
    """Return text on one line that cannot drive a terminal, nor turn the words around it.

    Control characters, line ends too, and what sets the direction of text are replaced.
    """
    return "".join("\N{REPLACEMENT CHARACTER}" if category(c)[0] == "C" else c for c in text)


def _width(text: str) -> int:
    """Return the number of terminal columns a text takes."""
    wide = sum(east_asian_width(character) in "WF" for character in text)
    combining = sum(category(character) == "Mn" for character in text)
    return len(text) + wide - combining
