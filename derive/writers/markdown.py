"""Markdown (CommonMark) with mathematics between dollars, for notebooks and sites of notes.

Every equation is a display of its own with its number as a tag, which all renderers of mathematics
know; figures are SVG in the text, so that it stands alone.
"""

from __future__ import annotations

import re
from typing import assert_never

from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    Caution,
    Display,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointPath,
    Reference,
    Row,
    Section,
    SideBySide,
    SignedTerm,
    Strong,
    Table,
    Text,
    Values,
)
from derive.typesetting.style import Style
from derive.writers import svg, tex_math
from derive.writers.mark import MARK
from derive.writers.notation import DASH, Content, points_in_words
from derive.writers.tex_text import escape as tex_escape
from derive.writers.words import CAUTION, PROMISE

_SIGNS = {
    "+": "+", "−": "-", "·": r"\cdot ", "÷": r"\div ", "(": "(", ")": ")", "→": r"\to ",
    "∞": r"\infty ",
}  # fmt: skip
_SPACE = "[ \N{NO-BREAK SPACE}]"
_RULE = {Align.LEFT: ":--", Align.STRETCH: ":--", Align.RIGHT: "--:"}


def write(document: Document) -> str:
    """Return a document as Markdown."""
    language = document.language
    parts = [f"<!-- {MARK}. -->"]
    if document.title:
        parts.append(f"# {_escape(document.title)}")
    if document.subtitle:
        parts.append(f"*{_escape(document.subtitle)}*")
    number, level = 0, 2
    for section in document.sections:
        number += bool(section.title) and not section.opens_part
        level = 2 if section.opens_part else level
        parts += _section(section, number, level, document.style, language)
        level += section.opens_part
    parts.append(f"*{MARK}. {PROMISE.get(language, PROMISE['en'])}*")
    return "\n\n".join(parts) + "\n"


def _section(section: Section, number: int, level: int, style: Style, language: str) -> list[str]:
    parts = [_block(block, style, language) for block in section.blocks]
    if section.title:
        count = "" if section.opens_part else f"{number}. "
        parts.insert(0, f"{'#' * level} {count}{_inlines(section.title, style)}")
    return [part for part in parts if part]


def _block(block: Block, style: Style, language: str) -> str:
    match block:
        case Paragraph(content):
            return _line(_inlines(content, style))
        case Display(rows):
            return "\n\n".join(_display(row, style) for row in rows)
        case Table():
            return _table(block, style)
        case Values(chains):
            return "\n".join(f"- {_math(chain, style)}" for chain in chains)
        case Figure():
            return _figure(block, style)
        case SideBySide(left, right):
            return _stack((*left, *right), style, language)
        case Box(_, title, inner):
            lead = f"**{_inlines(title, style)}**\n\n" if title else ""
            return _quoted(lead + _stack(inner, style, language))
        case AnswerLine():
            return _answers(block, style)
        case Caution(content):
            word = CAUTION.get(language, CAUTION["en"])
            return _quoted(f"**{word}.** {_inlines(content, style)}")
        case _:
            assert_never(block)


def _stack(blocks: tuple[Block, ...], style: Style, language: str) -> str:
    return "\n\n".join(text for b in blocks if (text := _block(b, style, language)))


def _quoted(text: str) -> str:
    return "\n".join(f"> {line}".rstrip() for line in text.splitlines())


def _display(row: Row, style: Style) -> str:
    formula = _formula(row.chain, style)
    source = "".join(_in_formula(item, style) for item in row.source)
    if source:
        formula += rf" \qquad {{\scriptstyle {source}}}"
    if row.number is not None:
        formula += rf" \tag{{{row.number}}}"
    return f"$$\n{formula}\n$$"


def _in_formula(item: Inline, style: Style) -> str:
    """Return a piece of text within a formula."""
    match item:
        case Text(text):
            return "".join(
                map(_upright, re.split(f"{_SPACE}*([{''.join(_SIGNS)}]){_SPACE}*", text))
            )
        case Strong(inner):
            return "".join(_in_formula(piece, style) for piece in inner)
        case Math(content):
            return _formula(content, style)
        case SignedTerm():
            return _formula(item, style)
        case Reference(number):
            return f"({number})"
        case _:
            assert_never(item)


def _upright(text: str) -> str:
    """Return a sign as mathematics, and words as words, in what every renderer knows."""
    if text in _SIGNS:
        return _SIGNS[text]
    # A tilde within \text is a tilde to some renderers.
    plain = text.replace("\N{NO-BREAK SPACE}", " ")
    return rf"\text{{{tex_escape(plain)}}}" if plain.strip() else text and r"\;"


def _table(table: Table, style: Style) -> str:
    rows = [table.header, *table.rows]
    lines = [
        "| " + " | ".join(_inlines(cell, style).replace("|", r"\|") for cell in row) + " |"
        for row in rows
    ]
    lines.insert(1, "|" + "|".join(_RULE[align] for align in table.columns) + "|")
    return "\n".join(lines)


def _figure(figure: Figure, style: Style) -> str:
    # Without an empty line it is one piece of HTML (CommonMark 4.6). As a data link most renderers
    # would refuse it.
    lines = [svg.write(figure.drawing, style, figure.short).strip()]
    if figure.caption:
        lines.append(f"*{_inlines(figure.caption, style)}*")
    if figure.long:
        lines.append(_escape(figure.long))
    return "\n\n".join(lines)


def _answers(line: AnswerLine, style: Style) -> str:
    text = ", ".join(_math(chain, style) for chain in line.chains)
    return text + (f" ({_inlines(line.remark, style)})" if line.remark else "")


def _inlines(content: tuple[Inline, ...], style: Style) -> str:
    return "".join(_inline(item, style) for item in content)


def _inline(item: Inline, style: Style) -> str:
    match item:
        case Text(text):
            return _escape(text)
        case Strong(inner):
            return f"**{_inlines(inner, style)}**"
        case Math(content):
            return _math(content, style)
        case SignedTerm():
            return _math(item, style)
        case Reference(number):
            return f"({number})"
        case _:
            assert_never(item)


def _math(content: Content, style: Style) -> str:
    # Renderers break no line within a formula.
    points = points_in_words(content) if isinstance(content, PointPath) else ()
    return DASH.join(f"${tex_math.tex((p,))}$" for p in points) or f"${_formula(content, style)}$"


def _formula(content: Content, style: Style) -> str:
    # Renderers of the web know the character, not the command.
    return tex_math.inline(content, style).replace(tex_math.MICRO, r"\text{µ}")


def _escape(text: str) -> str:
    """Return text that stands for itself: any ASCII punctuation may be escaped (CommonMark 2.4)."""
    flat = re.sub(r"[\n\r\v\f\x85\u2028\u2029]+", " ", text)
    return re.sub(r"([\\`*_{}\[\]<>#$|~&^!])", r"\\\1", flat)


def _line(text: str) -> str:
    """Keep the start of a paragraph from opening a list or a heading."""
    return re.sub(r"^(\d+)([.)])", r"\1\\\2", re.sub(r"^([-+=])", r"\\\1", text))
