"""The circuit with one of its meters made ideal, to tell what the meter changes by its resistance.

An ideal voltmeter draws no current and an ideal ammeter has no voltage across it. The circuit is
made from the file once more, without the value of the meter, so that its branches are found anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from derive.circuit.model import Circuit
from derive.circuit.question import AskLoadingError
from derive.language.syntax import (
    Ask,
    Eliminate,
    Name,
    QuestionKind,
    Statement,
    SyntaxFile,
    UseJunction,
    UseLoop,
    UseMethod,
    ValueStatement,
)


def meters_to_idealize(circuit: Circuit) -> tuple[str, ...]:
    """Return the meters whose loading error is asked for."""
    asked = (q.part for q in circuit.questions if isinstance(q, AskLoadingError))
    return tuple(dict.fromkeys(asked))


def without_value(file: SyntaxFile, meter: str) -> SyntaxFile:
    """Return a file without the value of a meter, which asks for its reading."""
    return SyntaxFile(tuple(_statements(file, meter)))


def _statements(file: SyntaxFile, meter: str) -> Iterator[Statement]:
    asked: Ask | None = None
    for statement in file.statements:
        match statement:
            case UseLoop() | UseJunction() | UseMethod() | Eliminate():
                continue
            case ValueStatement(targets=targets):
                kept = tuple(t for t in targets if not isinstance(t, Name) or t.text != meter)
                if kept:
                    yield replace(statement, targets=kept)
            case Ask(kind=kind, names=names):
                if kind is QuestionKind.LOADING_ERROR:
                    name = next((n for n in names if n.text == meter), None)
                    if name is not None and asked is None:
                        asked = Ask(QuestionKind.READING_OF, (name,), statement.span)
                        yield asked
                elif kind in (QuestionKind.VOLTAGE, QuestionKind.POTENTIAL):
                    yield statement  # so that its points may be open ends
                elif kind is QuestionKind.RESISTANCE:
                    yield replace(statement, kind=QuestionKind.VOLTAGE)
            case _:
                yield statement
