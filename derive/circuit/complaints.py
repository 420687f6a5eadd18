"""Collects what is wrong with a circuit while it is being put together."""

from __future__ import annotations

from dataclasses import replace

from derive.diagnostic import Diagnostic, Note, Severity
from derive.language.parser import MOST_DIAGNOSTICS
from derive.source import Span


class Complaints:
    """The diagnostics found so far."""

    def __init__(self) -> None:
        """Begin with none."""
        self._found: list[Diagnostic] = []

    @property
    def many(self) -> bool:
        """True when more would help nobody."""
        return len(self._found) >= MOST_DIAGNOSTICS

    def error(
        self,
        code: str,
        message: str,
        span: Span | None,
        *hints: str,
        notes: tuple[Note, ...] = (),
    ) -> None:
        """Add an error."""
        if not self.many:
            self._found.append(Diagnostic(code, message, span, hints, notes))

    def warn(self, code: str, message: str, span: Span | None, *hints: str) -> None:
        """Add a warning."""
        if not self.many:
            self._found.append(Diagnostic(code, message, span, hints, (), Severity.WARNING))

    def add_both(self, before: Complaints, after: Complaints, event: str) -> None:
        """Add what was found in the two states of a circuit; each thing once, with its state."""
        for when, own, other in (("before", before, after), ("after", after, before)):
            for found in dict.fromkeys(own._found):
                if found not in other._found:
                    told = f"{when} {event}: {found.message}"
                    self._found.append(replace(found, message=told))
                elif own is after:
                    self._found.append(found)

    def in_order(self, severity: Severity) -> tuple[Diagnostic, ...]:
        """Return the errors or the warnings in source order, those without a place last."""
        chosen = [found for found in self._found if found.severity is severity]
        chosen.sort(key=lambda found: (found.span is None, found.span.start if found.span else 0))
        return tuple(chosen)


def not_solved_yet(complaints: Complaints, what: str, span: Span, *hints: str) -> None:
    """Refuse a thing of the language that no pass can work on yet."""
    complaints.error("not-solved-yet", f"{what} is not solved yet", span, *hints)
