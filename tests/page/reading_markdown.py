r"""Reads a Markdown page of ours back into items, its formulas by `reading_tex`.

What is read: headings, paragraphs, block quotes, lists of values, tables with pipes, ``$…$``,
``$$ … $$`` with ``\qquad {\scriptstyle …}`` for the source and ``\tag{…}`` for the number, and the
``title`` of an SVG that stands in the text; backslash escapes of CommonMark.
"""

from __future__ import annotations

import re
from html import unescape

from tests.page import reading_tex
from tests.page.items import Figure, Item, Page, Prose, Row, Run, Table, Values, run_of, told
from tests.page.mathematics import Chain, Misread, Token, read
from tests.page.reading_tex import group

_ESCAPED = re.compile(r"\\([!-/:-@\[-`{-~])")


def read_markdown(text: str) -> Page:
    """Read a page. The sources of its rows are ``Tokens``: `agreement` compares them so."""
    quoted = "\n".join(re.sub(r"^> ?", "", line) for line in text.splitlines())
    items: list[Item] = []
    place = 0
    while place < len(quoted):
        if found := re.compile(r"\s+|<!--.*?-->", re.DOTALL).match(quoted, place):
            place = found.end()
        elif found := re.compile(r"<svg.*?<title[^>]*>(.*?)</title>.*?</svg>", re.DOTALL).match(
            quoted, place
        ):
            items.append(Figure(unescape(found[1]), None))
            place = found.end()
        else:
            end = quoted.find("\n\n", place)
            end = len(quoted) if end < 0 else end
            items.extend(_block(quoted[place:end].strip("\n")))
            place = end
    if items[-1:] and isinstance(items[-1], Prose) and str(items[-1].run[0]).startswith("Made by"):
        items.pop()
    return Page(tuple(_with_descriptions(items)))


def _with_descriptions(items: list[Item]) -> list[Item]:
    """Join the long description of a figure, a paragraph after it, to the short one."""
    joined: list[Item] = []
    for item in items:
        if isinstance(item, Prose) and _describes(item.run):
            for place in range(len(joined) - 1, max(-1, len(joined) - 3), -1):
                before = joined[place]
                if isinstance(before, Figure) and before.long is None:
                    (text,) = item.run
                    joined[place] = Figure(before.short, str(text))
                    break
            else:
                joined.append(item)
        else:
            joined.append(item)
    return joined


def _describes(run: Run) -> bool:
    return len(run) == 1 and isinstance(run[0], str) and re.match(_BEGINS, run[0]) is not None


_BEGINS = (
    r"(\d+ junctions?:|No junction\.|The potential, counted|Two bars of|At the start |"
    r"Plain wire joins)"
)
"""How a long description begins."""


def _block(block: str) -> list[Item]:
    if block.startswith("$$\n") and block.endswith("\n$$"):
        return [_row(block[3:-3])]
    if heading := re.fullmatch(r"#+ (?:\d+\. )?(.*)", block):
        return [Prose(_run(heading[1]))]
    if block.startswith("- $"):
        chains = [_run(line.removeprefix("- ")) for line in block.splitlines()]
        return [Values(tuple(c for (c,) in chains if isinstance(c, Chain)))]
    if block.startswith("| "):
        head, _, *rows = block.splitlines()
        cells = [re.split(r"(?<!\\)\|", row)[1:-1] for row in (head, *rows)]
        return [Table(tuple(tuple(_run(c.replace(r"\|", "|")) for c in row) for row in cells))]
    if block.startswith("**") and block.endswith("**"):
        return [Prose(_run(block[2:-2]))]
    if block.startswith("*") and not block.startswith("**") and block.endswith("*"):
        return [Prose(_run(block[1:-1]))]
    run = _run(re.sub(r"^\*\*(Caution\.)\*\*", r"\1", block.replace("\n", " ")))
    return _answers(run) or [told(run)]


def _answers(run: Run) -> list[Item]:
    """Return answers that stand side by side, and the remark after them."""
    found: list[Item] = []
    for place, piece in enumerate(run):
        if place % 2 == 0:
            if not isinstance(piece, Chain) or not piece.relations:
                return []
            found.append(Row(piece))
        elif not isinstance(piece, str):
            return []
        elif piece.startswith(" (") and isinstance(run[-1], str) and run[-1].endswith(")"):
            found.append(Prose(run_of([piece[2:], *run[place + 1 : -1], run[-1][:-1]])
                               if place + 1 < len(run) else run_of([piece[2:-1]])))  # fmt: skip
            return found
        elif piece != ", ":
            return []
    return found if len(run) > 1 else []


def _run(text: str) -> Run:
    """Read running text."""
    pieces: list[str | Chain] = []
    place = 0
    while place < len(text):
        if text[place] == "$":
            end = text.index("$", place + 1)
            pieces.append(read(reading_tex.tokens(text[place + 1 : end])))
            place = end + 1
        elif found := _ESCAPED.match(text, place):
            pieces.append(found[1])
            place = found.end()
        elif text.startswith("**", place):
            place += 2
        elif text[place] in "*`<#|":
            raise Misread(f"{text[place]!r} is not escaped in {text!r}")
        else:
            pieces.append(text[place])
            place += 1
    return run_of(pieces)


def _row(formula: str) -> Row:
    number = None
    if found := re.search(r" \\tag\{(\d+)\}$", formula):
        number, formula = int(found[1]), formula[: found.start()]
    source: list[Token] = []
    start = formula.find(r" \qquad {\scriptstyle ")
    if start >= 0:
        inner = formula[start + len(r" \qquad ") :]
        if group(inner, 0) != len(inner):
            raise Misread(f"a source: {inner}")
        source = source_tokens(inner[1:-1].removeprefix(r"\scriptstyle "))
        formula = formula[:start]
    return Row(read(reading_tex.tokens(formula)), number, tuple(source))  # type: ignore[arg-type]


def source_tokens(tex: str) -> list[Token]:
    r"""Return tokens of a source, which is one formula with words in ``\text``."""
    found: list[Token] = []
    start = 0
    for match in re.finditer(r"\\text\{([^{}\\]*(?:\\[%&#_$][^{}\\]*)*)\}", tex):
        if match[1] == "µ" or tex[: match.start()].endswith((r"\mathrm{", r"\mathit{")):
            continue
        found += reading_tex.tokens(tex[start : match.start()])
        found.append(("text", re.sub(r"\\(.)", r"\1", match[1])))
        start = match.end()
    return [*found, *reading_tex.tokens(tex[start:])]
