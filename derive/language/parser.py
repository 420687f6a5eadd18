"""Text to syntax tree."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lark.exceptions import UnexpectedInput

from derive.diagnostic import Diagnostic, Rejected
from derive.language import grammar
from derive.language.explain import explain, swallowed
from derive.language.statements import Piece, split
from derive.language.syntax import Statement, SyntaxFile, Walk
from derive.language.tree import Builder
from derive.source import Source, Span

LONGEST_FILE = 1 << 20
"""In characters; no circuit drawn by a person comes near."""
LONGEST_STATEMENT = 20_000
MOST_STATEMENTS = 5_000
DEEPEST_BRACKETS = 20
MOST_DIAGNOSTICS = 50

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]|\r(?!\n)")
_TURNED = re.compile(r"[\u202a-\u202e\u2066-\u2069]")
"""What sets the direction of text: with it a file shows another circuit than it holds."""
_QUOTED = re.compile(r'"[^"]*"|“[^”]*”|„[^“”]*[“”]')
_WORD = re.compile(r"[^\W\d][\w']*")


@dataclass(frozen=True, slots=True)
class Reading:
    """What could be read of a text."""

    file: SyntaxFile
    diagnostics: tuple[Diagnostic, ...]
    broken: frozenset[str]
    """The words of the statements that could not be read."""


def parse(source: Source) -> SyntaxFile:
    """Return the syntax tree of a circuit file.

    Raises Rejected with every fault of the language in it, one for each faulty statement.
    """
    reading = read(source)
    if reading.diagnostics:
        raise Rejected(reading.diagnostics)
    return reading.file


def read(source: Source) -> Reading:
    """Return what can be read of a circuit file, and what is wrong with the rest."""
    unfit = _unfit(source.text)
    if unfit is not None:
        return Reading(SyntaxFile(()), (unfit,), frozenset())
    # A byte order mark is no part of the text; a space in its place keeps the columns.
    text = " " + source.text[1:] if source.text.startswith("\N{BYTE ORDER MARK}") else source.text
    pieces = split(text)
    statements: list[Statement] = []
    diagnostics = list(pieces.diagnostics)
    broken = list(pieces.unclosed)
    for number, piece in enumerate(pieces.whole):
        if number == MOST_STATEMENTS:
            diagnostics.append(_too_many(piece))
        if len(diagnostics) >= MOST_DIAGNOSTICS or number == MOST_STATEMENTS:
            broken.extend(pieces.whole[number:])
            break
        result = _statement(piece)
        if isinstance(result, Diagnostic):
            diagnostics.append(result)
            broken.append(piece)
        else:
            statements.append(result)
    diagnostics.sort(key=lambda diagnostic: diagnostic.span.start if diagnostic.span else 0)
    words = frozenset(word for piece in broken for word in _WORD.findall(piece.text))
    return Reading(SyntaxFile(tuple(statements)), tuple(diagnostics[:MOST_DIAGNOSTICS]), words)


def _statement(piece: Piece) -> Statement | Diagnostic:
    if len(piece.text) > LONGEST_STATEMENT:
        return Diagnostic(
            code="statement-too-long",
            message=f"this statement has more than {LONGEST_STATEMENT} characters",
            span=Span(piece.start, piece.start + 1),
            hints=("cut it into several statements, one a line",),
        )
    deep = _too_deep(piece)
    if deep is not None:
        return deep
    try:
        tree = grammar.load("circuit").parse(piece.text)
    except UnexpectedInput as error:
        return explain(piece, error)
    statement = Builder(piece.start).statement(tree)
    stray = swallowed(piece) if isinstance(statement, Walk) else None
    return stray or statement


def _too_many(piece: Piece) -> Diagnostic:
    return Diagnostic(
        code="too-many-statements",
        message=f"the file has more than {MOST_STATEMENTS} statements",
        span=piece.span,
        hints=("a circuit takes a few dozen lines; is this the right file?",),
    )


def _too_deep(piece: Piece) -> Diagnostic | None:
    depth = 0
    code = _QUOTED.sub(lambda found: " " * len(found[0]), piece.text)
    for offset, character in enumerate(code):
        depth += (character == "(") - (character == ")")
        if depth > DEEPEST_BRACKETS:
            return Diagnostic(
                code="brackets-too-deep",
                message=f"more than {DEEPEST_BRACKETS} brackets are open here",
                span=Span(piece.start + offset, piece.start + offset + 1),
                hints=("close some of them, or write the value in a simpler way",),
            )
    return None


def _unfit(text: str) -> Diagnostic | None:
    """Return why a text cannot be a circuit file at all."""
    if len(text) > LONGEST_FILE:
        return Diagnostic(
            code="file-too-large",
            message=f"the file has {len(text)} characters; {LONGEST_FILE} is the most",
            hints=("a circuit takes a few dozen lines; is this the right file?",),
        )
    turned = _TURNED.search(text)
    if turned is not None:
        return Diagnostic(
            code="text-turned",
            message="the file holds a sign that turns the direction of the text around "
            f"(U+{ord(turned.group()):04X}), so that it need not say what it shows",
            span=Span(turned.start(), turned.end()),
            hints=("delete it: words of a language written from right to left need none",),
        )
    control = _CONTROL.search(text)
    if control is None:
        return None
    return Diagnostic(
        code="control-character",
        message=f"the file holds a control character (code {ord(control.group())})",
        span=Span(control.start(), control.end()),
        hints=("save the circuit as plain text in UTF-8",),
    )
