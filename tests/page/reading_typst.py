"""Reads a Typst document of ours back into items, its mathematics into chains.

What is read: the body after the settings: string literals as text, calls of the functions of our
pages (`_Body._call` names them all), content in brackets, mathematics between dollars with
``attach``, ``frac``, ``lr``, ``class``, names of signs, strings, letters. The words that each
formula has for a screen reader are kept beside it, so that a test can compare the two.
"""

from __future__ import annotations

import re
from typing import Any

from tests.page.items import Figure, Item, Page, Prose, Row, Run, Table, Values, run_of, told
from tests.page.mathematics import Chain, Misread, Token, read
from tests.page.reading_typst_math import STRING, tokens, unescaped

_WORD = re.compile(r"[A-Za-z][\w-]*")


def read_typst(text: str) -> Page:
    """Read a document."""
    start = re.search(r"^#set text\(lang: \"\w+\"\)$", text, re.MULTILINE)
    if not start:
        raise Misread("no settings")
    body = _Body(text[start.end() :])
    items = body.items()
    return Page(tuple(items), tuple(body.said))


class _Formula:
    """What a call of `whole` and the like holds: a piece of a chain."""

    def __init__(self, tokens: list[Token], says: str) -> None:
        self.tokens, self.says = tokens, says


class _Body:
    """Goes through markup once."""

    def __init__(self, text: str, said: list[tuple[Chain, str]] | None = None) -> None:
        self.text = text
        self.place = 0
        self.found: list[Item] = []
        self.pieces: list[str | Chain | _Formula] = []
        self.said = [] if said is None else said

    def items(self) -> list[Item]:
        self._go()
        self._ends()
        return self.found

    def run(self) -> Run:
        """Return what is running text alone."""
        self._go()
        if self.found:
            raise Misread(f"blocks in running text: {self.text}")
        return self._taken()

    def _taken(self) -> Run:
        told: list[str | Chain] = []
        waiting: list[_Formula] = []
        for piece in [*self.pieces, ""]:
            if isinstance(piece, _Formula):
                waiting.append(piece)
                continue
            if waiting:
                chain = read([token for part in waiting for token in part.tokens])
                self.said.append((chain, " ".join(part.says for part in waiting)))
                told.append(chain)
                waiting = []
            told.append(piece)
        self.pieces = []
        return run_of(told)

    def _ends(self) -> None:
        run = self._taken()
        if run:
            self.found.append(told(run))

    def _go(self) -> None:
        while self.place < len(self.text):
            if blank := re.compile(r"\n\s*\n").match(self.text, self.place):
                self._ends()
                self.place = blank.end()
            elif self.text[self.place].isspace():
                self.pieces += [" "] if self.pieces else []
                self.place += 1
            elif self.text[self.place] == "#":
                self.place += 1
                self._code()
            else:
                raise Misread(f"markup {self.text[self.place : self.place + 40]!r}")

    def _inner(self, text: str) -> Run:
        return _Body(text, self.said).run()

    def _code(self) -> None:
        if string := STRING.match(self.text, self.place):
            self.place = string.end()
            self.pieces.append(unescaped(string[1]))
            return
        word = _WORD.match(self.text, self.place)
        if not word:
            raise Misread(f"code {self.text[self.place : self.place + 40]!r}")
        self.place = word.end()
        arguments: list[Any] = []
        named: dict[str, Any] = {}
        if self.text.startswith("(", self.place):
            arguments, named = self._arguments()
        while self.text.startswith("[", self.place):
            arguments.append(self._content())
        self._call(word[0], arguments, named)

    def _call(self, function: str, arguments: list[Any], named: dict[str, Any]) -> None:
        if function in ("whole", "formula", "shown"):
            says, formula = arguments
            piece = _Formula(tokens(formula.text), says)
            self.pieces.append(piece)
        elif function in ("ruled", "after"):
            return
        elif function == "h":
            self.pieces.append(" ")
        elif function == "box":
            (inner,) = arguments
            self.pieces += [inner] if isinstance(inner, str) else self._inner(inner.text)
        elif function in ("strong", "source", "signed"):
            (inner,) = arguments
            self.pieces += self._inner(inner.text)
        elif function == "place-name":
            self.pieces.append(read([("word", arguments[0])]))
        elif function in ("title", "text"):
            self._ends()
            self.found.append(Prose(run_of([arguments[-1]])))
        elif function == "heading":
            self._ends()
            self.found.append(Prose(self._inner(arguments[-1].text)))
        elif function in ("held", "framed", "beside"):
            self._ends()
            for content in arguments:
                if isinstance(content, _Content):
                    self.found += _Body(content.text, self.said).items()
        elif function == "caution":
            word, inner = arguments
            self._ends()
            self.found.append(Prose(run_of([f"{word}. ", *self._inner(inner.text)])))
        elif function == "answers":
            self._ends()
            for piece in arguments:
                self.found += _Body(piece.text, self.said).items()
        elif function == "titled":
            title, *lines = arguments
            self._ends()
            self.found.append(Prose(self._inner(title.text)))
            for piece in (piece for line in lines for piece in line):
                self.found += _Body(piece.text, self.said).items()
        elif function == "remark":
            self._ends()
            self.found.append(Prose(self._inner(arguments[0].text)))
        elif function == "given":
            cells = [run for cell in arguments[1:] if (run := self._inner(cell.text))]
            if not all(len(cell) == 1 and isinstance(cell[0], Chain) for cell in cells):
                raise Misread(f"values {cells}")
            self._ends()
            self.found.append(Values(tuple(c for (c,) in cells if isinstance(c, Chain))))
        elif function == "listed":
            _, header, rows = arguments
            self._ends()
            told_rows = [tuple(self._inner(c.text) for c in row) for row in (header, *rows)]
            self.found.append(Table(tuple(told_rows)))
        elif function == "display":
            self._ends()
            self.found += [self._row(row) for row in arguments[-1]]
        elif function == "drawn":
            self._ends()
            self.found.append(Figure(named["alt"], None))
            if "caption" in named:
                self.found.append(told(self._inner(named["caption"].text)))
        else:
            raise Misread(f"#{function}")

    def _row(self, fields: dict[str, Any]) -> Row:
        if set(fields) - {"says", "left", "lines", "tall", "note", "tag"}:
            raise Misread(f"fields {set(fields)}")
        lines = " ".join(line.text for line in fields["lines"])
        chain = read(tokens(f"{fields['left'].text} {lines}"))
        self.said.append((chain, fields["says"]))
        tag = self._inner(fields["tag"].text) if "tag" in fields else ()
        number = None
        if tag and isinstance(tag[-1], str) and (found := re.search(r"(?:^| )\((\d+)\)$", tag[-1])):
            # A source may end in a number too; that of the equation is no part of it.
            if fields["tag"].text.endswith(f'#"({found[1]})"'):
                number = int(found[1])
                tag = run_of([*tag[:-1], tag[-1][: found.start()]])
        if "note" in fields:
            tag = self._inner(fields["note"].text)
        return Row(chain, number, tag)

    # --- arguments ------------------------------------------------------------------------------

    def _space(self) -> None:
        while self.text[self.place : self.place + 1].isspace():
            self.place += 1

    def _arguments(self) -> tuple[list[Any], dict[str, Any]]:
        """Read what is between parentheses."""
        self.place += 1
        found: list[Any] = []
        named: dict[str, Any] = {}
        while True:
            self._space()
            if self.text.startswith(")", self.place):
                self.place += 1
                return found, named
            key = re.compile(r"([a-z-]+): ").match(self.text, self.place)
            if key:
                self.place = key.end()
                named[key[1]] = self._value()
            else:
                found.append(self._value())
            self._space()
            if self.text.startswith(",", self.place):
                self.place += 1

    def _value(self) -> Any:
        self._space()
        text = self.text
        sign = text[self.place : self.place + 1]
        if sign == '"':
            string = STRING.match(text, self.place)
            if not string:
                raise Misread("a string without an end")
            self.place = string.end()
            return unescaped(string[1])
        if sign == "$":
            end = _end_of_mathematics(text, self.place)
            inner = text[self.place + 1 : end]
            self.place = end + 1
            return _Mathematics(inner)
        if sign == "[":
            return self._content()
        if sign == "(":
            found, named = self._arguments()
            return named or found
        bare = re.compile(r"[^,()\[\]\"$]+").match(text, self.place)
        if not bare:
            raise Misread(f"a value {text[self.place : self.place + 30]!r}")
        self.place = bare.end()
        if text.startswith("[", self.place):  # a call in an argument: source[…]
            return self._content()
        return _Bare(bare[0].strip())

    def _content(self) -> _Content:
        """Read what is between brackets."""
        place, depth = self.place, 0
        while True:
            sign = self.text[place : place + 1]
            if not sign:
                raise Misread("a bracket without an end")
            if sign == '"':
                string = STRING.match(self.text, place)
                if not string:
                    raise Misread("a string without an end")
                place = string.end()
                continue
            depth += {"[": 1, "]": -1}.get(sign, 0)
            place += 1
            if not depth:
                inner = self.text[self.place + 1 : place - 1]
                self.place = place
                return _Content(inner)


class _Content:
    def __init__(self, text: str) -> None:
        self.text = text


class _Mathematics(_Content):
    pass


class _Bare:
    """A name or a length, which says nothing."""

    def __init__(self, word: str) -> None:
        self.word = word


def _end_of_mathematics(text: str, start: int) -> int:
    place = start + 1
    while text[place : place + 1] != "$":
        string = STRING.match(text, place)
        place = string.end() if string else place + 1
        if place >= len(text):
            raise Misread("mathematics without an end")
    return place
