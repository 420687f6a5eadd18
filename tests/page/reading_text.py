"""Reads the plain text of a solution and compares it with a page that has been read.

Formulas stand unmarked in running text there, so what another page holds is needed to tell them
from words; the other page says only where something should be looked for, and all that is found
there is read from the text alone. What is read: paragraphs, headings, displayed equations set in by
four columns with sources and numbers at the right margin, values and answers in columns, tables,
frames, cautions, ``[Figure: …]``; names with ``₁`` and ``_``, powers with ``²``, ``·``, ``/``,
``e^(…)``, numbers in groups, units after a number.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from tests.page.items import Figure, Item, Page, Prose, Row, Run, Table, Values, plain
from tests.page.mathematics import SYMBOLS, Chain, Misread, Token, name, read

Names = tuple[str, ...]
"""Names of points that are several words."""
_SIGNS = "+−·×∥/=≈><≠→≤"
_DOWN = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789", "_")
_UP = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_UNIT = "|".join(sorted(map(re.escape, SYMBOLS), key=len, reverse=True))
_LETTER = r"[^\W\d_₀-₉⁰¹²³⁴-⁹]"
_AFTER_VALUE = re.compile(rf" ({_UNIT})(?!{_LETTER}|[0-9₀-₉_])")
_FURTHER_UNIT = re.compile(rf"·({_UNIT})(?!{_LETTER}|[0-9₀-₉_])")
_NUMBER = re.compile(
    r"(?:\d{1,3}(?: \d{3})+(?!\d)|\d+)(?:[.,](?:\d{3}(?: \d{3})*(?: \d{1,3})(?!\d)|\d+))?"
)
_BELOW = rf"(?:{_LETTER}|[0-9₀-₉_∞]|′+(?=,|[0-9A-Za-z]))+"
_TIME = r"\d+(?:[.,/]\d+)? (?:min|h|s|d)\b"
_NAME = re.compile(rf"({_LETTER}|∞)(?:([₀-₉]+)|_({_BELOW}(?:,(?:{_TIME}|{_BELOW}))*))?(′*)")
_WORD = re.compile(rf"{_LETTER}{{2,}}[0-9]*(?!\w)")
_MARGIN = "    "
_RULE = re.compile(r"[─═]+")


def tokens(text: str, spaced: Names = ()) -> list[Token]:
    """Return the tokens of a formula on one line."""
    for words in spaced:
        text = text.replace(words, words.replace(" ", ""))
    if _is_path(text):
        return [_path_name(point) for point in re.split(r" – | ", text) if point]
    found: list[Token] = []
    place = 0
    while place < len(text):
        before = found[-1][0] if found else ""
        if (before in ("number", ")", "power") and (unit := _AFTER_VALUE.match(text, place))) or (
            before in ("unit", "power") and (unit := _FURTHER_UNIT.match(text, place))
        ):
            found.append(("unit", unit[1]))
            place = unit.end()
        elif text[place] == " ":
            place += 1
        elif text.startswith("e^(", place):
            end = _closing(text, place + 2)
            found.append(("e", tokens(text[place + 3 : end])))
            place = end + 1
        elif text[place] in _SIGNS:
            found.append(("sign", text[place]))
            place += 1
        elif text[place] in "()":
            found.append((text[place],))
            place += 1
        elif power := re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+").match(text, place):
            found.append(("power", int(power[0].translate(_UP))))
            place = power.end()
        elif number := _NUMBER.match(text, place):
            found.append(("number", number[0].replace(" ", "").replace(",", ".")))
            place = number.end()
        elif word := _WORD.match(text, place):
            found.append(("name", word[0]))
            place = word.end()
        elif symbol := _NAME.match(text, place):
            found.append(_name(symbol))
            place = symbol.end()
        else:
            raise Misread(f"{text[place:]!r} in {text!r}")
    for one, other in pairwise(found):
        if one[0] in ("name", "number") and other[0] in ("name", "number"):
            raise Misread(f"nothing between {one} and {other} in {text!r}")
    return found


def _name(symbol: re.Match[str]) -> Token:
    below = (symbol[2] or symbol[3] or "").translate(_DOWN)
    return ("name", name(symbol[1], below, len(symbol[4])))


def _is_path(text: str) -> bool:
    points = re.split(r" – | ", text)
    if _NAME.fullmatch(text):
        return False
    return len(points) > 1 and all(_path_name(point) for point in points)


def _path_name(text: str) -> Token | None:
    if word := _WORD.fullmatch(text):
        return ("name", word[0])
    symbol = _NAME.fullmatch(text)
    return _name(symbol) if symbol else None


def _closing(text: str, start: int) -> int:
    depth = 0
    for place in range(start, len(text)):
        depth += {"(": 1, ")": -1}.get(text[place], 0)
        if not depth:
            return place
    raise Misread(f"a parenthesis that is not closed: {text!r}")


def matches(run: Run, text: str, spaced: Names = ()) -> bool:
    """Tell whether a text spells a run, its words letter by letter and its formulas as read."""
    flat = " ".join(text.split())
    return _matches(list(run), flat, plain(flat), 0, spaced)


def _matches(pieces: list[str | Chain], text: str, shown: str, place: int, spaced: Names) -> bool:
    if not pieces:
        return place == len(text)
    first, *rest = pieces
    if isinstance(first, str):
        if not shown.startswith(first, place):
            return False
        return _matches(rest, text, shown, place + len(first), spaced)
    if rest and isinstance(rest[0], str):
        ends = [m.start() for m in re.finditer(re.escape(rest[0]), shown) if m.start() > place]
    else:
        ends = [len(text)]
    for end in ends:
        said = _says(text[place:end], first, spaced)
        if said and _matches(rest, text, shown, end, spaced):
            return True
    return False


def _says(text: str, chain: Chain, spaced: Names) -> bool:
    try:
        return read(tokens(text, spaced)) == chain
    except Misread:
        return False


# --- the page -----------------------------------------------------------------------------------


@dataclass
class _Lines:
    """The lines of the text without rules and frames; None where something ends."""

    lines: list[str | None] = field(default_factory=list)
    figures: list[str] = field(default_factory=list)


def _lines(text: str) -> _Lines:
    made = _Lines()
    number = 0
    for block in re.split(r"\n\s*\n", text):
        lines = block.rstrip("\n").split("\n")
        if lines[0].startswith("Made by "):
            continue
        flat: list[str | None] = []
        for line in lines:
            if line[:1] in "┌└":
                flat.append(None)
            elif line.startswith("│"):
                inner = line[2:-1].rstrip()
                flat.append(inner or None)
            else:
                flat.append(line[3:] if line.startswith("!! ") else line)
        if len(flat) > 1 and flat[-1] and _RULE.fullmatch(flat[-1]):
            flat.pop()
            heading = re.match(r"(\d+)  (?=\S)", flat[0] or "")
            if heading and flat[0]:
                number += 1
                if int(heading[1]) != number:
                    raise Misread(f"section {heading[1]} after {number - 1}")
                flat[0] = flat[0][heading.end() :]
        if flat[0] and flat[0].startswith("[Figure: "):
            end = next(k for k, line in enumerate(flat) if line and line.endswith("]"))
            described = " ".join(line for line in flat[: end + 1] if line)
            made.figures.append(described.removeprefix("[Figure: ")[:-1])
            flat = flat[end + 1 :]
        made.lines += [*flat, None]
    return made


class _Comparison:
    def __init__(self, lines: list[str | None], spaced: Names) -> None:
        self.lines = lines
        self.spaced = spaced
        self.place = 0
        self.begin = 0
        """Where in the line the next answer begins."""

    def item(self, item: Item) -> bool:
        """Take one item; False where it does not stand there."""
        while self.place < len(self.lines) and self.lines[self.place] is None:
            self.place += 1
        if self.place == len(self.lines):
            return False
        match item:
            case Prose(run):
                return self._prose(run)
            case Row():
                return self._row(item)
            case Values(chains):
                return self._values(chains)
            case Table():
                return self._table(item)
        raise AssertionError(item)

    def _here(self) -> str:
        line = self.lines[self.place]
        assert line is not None
        return line[self.begin :]

    def _block(self) -> list[str]:
        """Return what is left of the lines up to the next that ends something."""
        found = [self._here()]
        for line in self.lines[self.place + 1 :]:
            if line is None:
                break
            found.append(line)
        return found

    def _step(self, count: int) -> None:
        self.place += count
        self.begin = 0

    def _piece(self) -> str:
        """Take what stands before the next wide gap of the line."""
        here = self._here()
        gap = re.search(r" {4,}", here)
        if gap is None:
            self._step(1)
            return here
        self.begin += gap.end()
        return here[: gap.start()]

    def _prose(self, run: Run) -> bool:
        block = self._block()
        for count in range(1, len(block) + 1):
            if matches(run, " ".join(block[:count]), self.spaced):
                self._step(count)
                return True
        return matches(run, self._piece(), self.spaced)

    def _row(self, row: Row) -> bool:
        if self.begin or not self._here().startswith(_MARGIN):
            return (
                row.number is None
                and not row.source
                and _says(self._piece(), row.chain, self.spaced)
            )
        block = self._block()
        count = 1
        while count < len(block) and re.match(rf" +[{_SIGNS}] ", block[count]):
            count += 1
        *front, last = block[:count]
        last, *tag = re.split(r" {2,}", last.strip())
        wants = bool(row.source) or row.number is not None
        if wants and not tag:
            # The tag stands below, at the right margin, perhaps on several lines.
            for more in range(1, len(block) - count + 1):
                below = re.split(r" {2,}", " ".join(x.strip() for x in block[count : count + more]))
                below = re.split(r" {2,}", "  ".join(x.strip() for x in block[count : count + more])
                                 ) if more == 1 else below  # fmt: skip
                if self._is_tag(row, " ".join(below)):
                    tag = [" ".join(below)]
                    count += more
                    break
        equation = " ".join([*(line.strip() for line in front), last])
        alike = _says(equation, row.chain, self.spaced) and self._is_tag(row, " ".join(tag))
        self._step(count)
        return alike

    def _is_tag(self, row: Row, tag: str) -> bool:
        if row.number is not None:
            if not tag.endswith(f"({row.number})"):
                return False
            tag = tag.removesuffix(f"({row.number})").rstrip()
        return matches(row.source, tag, self.spaced)

    def _values(self, chains: tuple[Chain, ...]) -> bool:
        block = self._block()
        self._step(len(block))
        cells = [cell for line in block for cell in re.split(r" {4,}", line.strip())]
        try:
            found = [read(tokens(cell, self.spaced)) for cell in cells]
        except Misread:
            return False
        return sorted(map(repr, found)) == sorted(map(repr, chains))

    def _table(self, table: Table) -> bool:
        block = self._block()
        self._step(len(block))
        rule = next((k for k, line in enumerate(block) if _RULE.fullmatch(line)), None)
        if rule is None:
            return False
        lines = block[:rule] + block[rule + 1 :]
        rows = list(_cells(lines, len(table.rows)))
        if len(rows) != len(table.rows):
            return False
        return all(
            len(row) == len(cells)
            and all(self._cell(c, t) for c, t in zip(cells, row, strict=True))
            for row, cells in zip(rows, table.rows, strict=True)
        )

    def _cell(self, run: Run, text: str) -> bool:
        return matches(run, text, self.spaced) if run else not text.strip()


def _cells(lines: list[str], count: int) -> Iterator[list[str]]:
    """Yield the cells of the rows; columns are parted by two free columns in every line."""
    width = max(map(len, lines))
    padded = [line.ljust(width) for line in lines]
    free = "".join(" " if all(line[k] == " " for line in padded) else "x" for k in range(width))
    columns = [(m.start(), m.end()) for m in re.finditer(r"x(?:x| (?! ))*", free)]
    rows: list[list[str]] = []
    for line in padded:
        cells = [line[a:b].strip() for a, b in columns]
        filled = [k for k, cell in enumerate(cells) if cell]
        if len(lines) > count and len(filled) == 1 and rows:
            rows[-1][filled[0]] += " " + cells[filled[0]]
        else:
            rows.append(cells)
    yield from rows


def text_differences(page: Page, text: str, spaced: Names = ()) -> Iterator[str]:
    """Yield what a text says otherwise than a page, figures left out."""
    comparison = _Comparison(_lines(text).lines, spaced)
    for place, item in enumerate(page.items):
        if isinstance(item, Figure):
            continue
        start = comparison.place
        if not comparison.item(item):
            near = [line for line in comparison.lines[start : start + 6] if line]
            yield f"item {place}: {item}\n    is not {near}"
            return
    rest = [line for line in comparison.lines[comparison.place :] if line]
    if rest:
        yield f"more in the text: {rest[:4]}"


def text_figures(text: str) -> list[str]:
    """Return the descriptions of the figures."""
    return _lines(text).figures
