"""Say what is wrong with a statement that cannot be read.

The statement is compared with the samples of `derive.language.mistakes`: it gets the message of
the sample that went wrong in the same kind of statement, at the same state of the parser, with the
same kind of word (the idea of error examples is from Jeffery, Generating LR syntax error messages
from examples, 2003; cited from memory).
"""

from __future__ import annotations

import re
from functools import cache

from lark import Token
from lark.exceptions import UnexpectedCharacters, UnexpectedInput, UnexpectedToken
from lark.parsers.lalr_parser_state import ParserState

from derive.diagnostic import Diagnostic
from derive.language import grammar
from derive.language.forms import FORMS, form_of, question_hints, statement_hints
from derive.language.mistakes import MISTAKES, UNCLOSED, Mistake
from derive.language.statements import Piece
from derive.source import Span


def explain(piece: Piece, error: UnexpectedInput) -> Diagnostic:
    """Return what is wrong with a statement that the parser could not read."""
    if isinstance(error, UnexpectedCharacters):
        return _alien(piece, error)
    assert isinstance(error, UnexpectedToken)
    span, found = _place(piece, error)
    strayed = _strayed(piece, span.start - piece.start)
    if strayed is not None:
        return strayed
    form = form_of(piece.text, span.start - piece.start)
    opening = _open_bracket(piece.text, span.start - piece.start)
    if opening is not None and form in ("walk", "use loop"):
        start = piece.start + opening
        return Diagnostic(
            code=UNCLOSED.code,
            message=UNCLOSED.message.format(found=found),
            span=Span(start, start + 1),
            hints=UNCLOSED.hints,
        )
    mistake = _table().get((form, _state(error), _kind(error.token)))
    if mistake is None and not form:
        mistake = MISTAKES[-1]
    if mistake is None:
        return Diagnostic(
            code="not-here",
            message=f"{found} does not fit here",
            span=span,
            hints=(FORMS[form],),
        )
    hints = mistake.hints
    if mistake.code == "question-unknown":
        hints = question_hints(piece.text)
        span = Span(min(span.start, piece.span.end), piece.span.end)
    elif mistake.code == "no-statement":
        hints = statement_hints(piece.text)
        span = piece.span
    return Diagnostic(
        code=mistake.code, message=mistake.message.format(found=found), span=span, hints=hints
    )


def swallowed(piece: Piece) -> Diagnostic | None:
    """Complain of a walk with an indented line that would be a question or a choice by itself.

    Its words read as points, so that the parser sees nothing wrong.
    """
    for number, start in enumerate(piece.breaks):
        if re.match(r"\s*(ask|use|eliminate)(?![\w'])", piece.text[start:]):
            found = _indented(piece, number)
            if found is not None:
                return found
    return None


def _strayed(piece: Piece, fault: int) -> Diagnostic | None:
    """Complain of an indented line that goes wrong, but is a statement by itself."""
    numbers = [number for number, start in enumerate(piece.breaks) if start <= fault]
    return _indented(piece, numbers[-1]) if numbers else None


def _indented(piece: Piece, number: int) -> Diagnostic | None:
    start = piece.breaks[number]
    line = piece.text[start : [*piece.breaks, len(piece.text)][number + 1]]
    lead = len(line) - len(line.lstrip())
    try:
        grammar.load("circuit").parse(line)
    except UnexpectedInput:
        return None
    begin = piece.start + start + lead
    return Diagnostic(
        code="indented-line",
        message="this line is indented, so it goes on with the statement above it, and there it "
        "does not fit",
        span=Span(begin, begin + len(line.strip())),
        hints=("to make it a statement of its own, begin it at the left margin",),
    )


def _open_bracket(text: str, fault: int) -> int | None:
    """Return where a bracket opens that is still open at the fault and never closed."""
    opening = max(text.rfind("(", 0, fault), text.rfind(")", 0, fault))
    if opening < 0 or text[opening] == ")":
        return None
    following = re.search(r"[()]", text[opening + 1 :])
    return opening if following is None or following.group() == "(" else None


@cache
def _table() -> dict[tuple[str, int, str], Mistake]:
    """Return the mistakes by the place where their samples go wrong."""
    table: dict[tuple[str, int, str], Mistake] = {}
    for mistake in MISTAKES:
        if mistake is UNCLOSED:
            continue  # known by the bracket, wherever the parser stumbles
        for sample in mistake.samples:
            try:
                grammar.load("circuit").parse(sample)
            except UnexpectedToken as error:
                span, _ = _place(Piece(0, sample), error)
                key = (form_of(sample, span.start), _state(error), _kind(error.token))
                table.setdefault(key, mistake)
    return table


def _state(error: UnexpectedToken) -> int:
    # The contextual lexer reports the whole parser state, the parser only its number.
    state = error.state.position if isinstance(error.state, ParserState) else error.state
    assert isinstance(state, int)
    return state


def _kind(token: Token) -> str:
    # Outside its context a name may look like a unit or like a word of the language.
    return "NAME" if token[:1].isalpha() else token.type


def _place(piece: Piece, error: UnexpectedToken) -> tuple[Span, str]:
    token = error.token
    if token.type == "$END":
        return Span(piece.span.end, piece.span.end), "the end of the statement"
    start = piece.start + (token.start_pos or 0)
    return Span(start, start + len(token)), f"`{token}`"


_ALIENS = {
    "[": "parts and sums stand in round brackets: (R1)",
    "{": "parts and sums stand in round brackets: (R1)",
    "|": "a resistor in parallel is a walk of its own between the same two points",
    "^": "values are sums and multiples of other values: R3 = 2 R1 + R2",
    "~": "write ± or +- before a tolerance",
    '"': "words between quotation marks follow circuit, title or statement",
    "'": "a prime stands behind a name: R'",
    "’": "a prime is the straight mark: R'",
    "”": 'words stand between straight quotation marks: title "Two lamps"',
    ".": "a decimal has digits on both sides of its sign: 0.5",
    "!": "a comment begins with #",
    "<": "an arrow against the walk is written <-",
    ">": "an arrow along the walk is written ->",
    "_": "a name begins with a letter: R_load",
}  # fmt: skip


def _alien(piece: Piece, error: UnexpectedCharacters) -> Diagnostic:
    position = error.pos_in_stream or 0
    character = piece.text[position]
    hint = _ALIENS.get(character)
    if hint is None and character.isalpha():
        hint = "names are made of Latin or Greek letters, digits, _ and '"
    elif hint is None and character.isdigit():
        hint = "numbers are written with the digits 0 to 9"
    form = form_of(piece.text, position)
    hints = [hint] if hint else []
    hints += [FORMS[form]] if form in FORMS and not hint else []
    hints = hints or list(statement_hints(piece.text))
    start = piece.start + position
    return Diagnostic(
        code="alien-character",
        message=f"the character `{character}` has no meaning here",
        span=Span(start, start + 1),
        hints=tuple(hints),
    )
