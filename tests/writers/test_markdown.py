"""Markdown is read back with a parser of CommonMark (markdown-it-py)."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

from derive.document.model import (
    Align,
    Document,
    Figure,
    Paragraph,
    Section,
    SideBySide,
    Table,
    Text,
)
from derive.typesetting.style import Style
from derive.writers import markdown
from tests.example_solutions import NAMES, solved

HOSTILE = [
    "50 % of _all_ *cells* & `more`", "# no heading", "- no list", "1. no list", "2) no list",
    "> no quote", "| no | table |", "[no](link)", "![no](picture)", "<b>no tag</b>", "a < b > c",
    "$no$ math", "$$", r"back\slash \* star", "~~no~~", "&amp; no entity", "+ no list", "===",
    "no\n\nparagraph", "https://example.org", "<https://example.org>", "^no", "---", "***",
]  # fmt: skip


def parsed(text: str) -> list[Token]:
    return MarkdownIt("commonmark").enable("table").parse(text)


def shown(tokens: list[Token]) -> str:
    """Return the text that a reader sees."""
    found = []
    for token in tokens:
        for child in token.children or []:
            found.append(" " if child.type == "softbreak" else child.content)
    return " ".join("".join(found).split())


@pytest.mark.parametrize("text", HOSTILE)
def test_any_text_stands_for_itself(text: str) -> None:
    sections = (Section((), (Paragraph((Text(text),)),)),)
    tokens = parsed(markdown.write(Document(text, text, sections, Style())))
    kinds = [token.type for token in tokens]
    assert kinds.count("heading_open") == 1
    assert kinds.count("paragraph_open") == 3  # the subtitle, the paragraph, the last line
    assert not {"bullet_list_open", "ordered_list_open", "table_open", "hr", "fence"} & set(kinds)
    inner = {child.type for token in tokens for child in token.children or []}
    assert inner <= {"text", "text_special", "em_open", "em_close"}
    assert shown(tokens).count(" ".join(text.split())) == 3
    # A dollar that is not ours opens no mathematics.
    body = markdown.write(Document(text, text, sections, Style()))
    assert re.findall(r"(?<!\\)\$", body) == []


def test_a_table_keeps_its_cells_apart() -> None:
    cells = ((Text("a | b"),), (Text("c"),))
    table = Table(cells, (cells, cells), (Align.STRETCH, Align.RIGHT), "")
    document = Document("", "", (Section((), (table,)),), Style())
    tokens = parsed(markdown.write(document))
    kinds = [token.type for token in tokens]
    assert (kinds.count("th_open"), kinds.count("td_open"), kinds.count("tr_open")) == (2, 4, 3)
    assert shown(tokens).count("a | b") == 3


@pytest.mark.parametrize("name", NAMES)
def test_every_heading_equation_table_and_figure_is_there(name: str) -> None:
    document = solved(name).document
    text = markdown.write(document)
    tokens = parsed(text)
    titles = [section for section in document.sections if section.title]
    kinds = [token.type for token in tokens]
    assert kinds.count("heading_open") == len(titles) + 1
    assert text.count("$$") % 2 == 0
    numbers = [int(number) for number in re.findall(r"\\tag\{(\d+)\}", text)]
    assert numbers == list(range(1, len(numbers) + 1))
    pieces = [token.content for token in tokens if token.type == "html_block"]
    pictures = [ElementTree.fromstring(piece) for piece in pieces if piece.startswith("<svg")]
    assert [picture[0].text for picture in pictures] == [f.short for f in _figures(document)]


def _figures(document: Document) -> list[Figure]:
    found: list[Figure] = []
    waiting = [block for section in document.sections for block in section.blocks]
    while waiting:
        block = waiting.pop(0)
        if isinstance(block, Figure):
            found.append(block)
        elif isinstance(block, SideBySide):
            assert 0 < block.left_share < Fraction(1)
            waiting = [*block.left, *block.right, *waiting]
    return found


# What KaTeX and MathJax both know of what we write (katex.org/docs/supported.html, from memory).
KNOWN = {
    *[
        "frac",
        "left",
        "right",
        "cdot",
        "div",
        "times",
        "approx",
        "neq",
        "leq",
        "parallel",
        "mathrm",
        "mathcal",
        "mathit",
        "text",
        "qquad",
        "to",
        "infty",
        "scriptstyle",
    ],
    *[
        "tag",
        "Delta",
        "Omega",
        "mu",
        "alpha",
        "beta",
        "gamma",
        "rho",
        "lambda",
        "theta",
        "tau",
        "delta",
        "eta",
        "prime",
        "quad",
        "bigl",
        "bigr",
        "biggl",
        "biggr",
        "begin",
        "end",
    ],
}


@pytest.mark.parametrize("name", NAMES)
def test_mathematics_is_what_renderers_know(name: str) -> None:
    text = markdown.write(solved(name).document)
    body = "\n".join(line for line in text.splitlines() if not line.startswith("<"))
    pieces = re.findall(r"\$\$(.*?)\$\$|(?<![\\$])\$([^$\n]+)\$", body, re.DOTALL)
    assert len(pieces) > 10
    formulas = [display or inline for display, inline in pieces]
    used = {word for formula in formulas for word in re.findall(r"\\([A-Za-z]+)", formula)}
    assert used <= KNOWN, used - KNOWN
    assert all(formula.count("{") == formula.count("}") for formula in formulas)
