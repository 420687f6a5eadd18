"""Plain text for the terminal: equations in Unicode, figures by their descriptions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import assert_never

from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    Caution,
    Chain,
    Display,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
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
from derive.typesetting import layout
from derive.typesetting.flat import flat
from derive.typesetting.style import Style
from derive.typesetting.terms import set_expression
from derive.writers import text_math
from derive.writers.breaking import Line, break_right, break_whole
from derive.writers.columns import value_grid
from derive.writers.mark import MARK
from derive.writers.notation import set_relation
from derive.writers.text_wrap import clean, pad, shown_width, unglue, wrap
from derive.writers.words import CAUTION

_MARGIN = 4
"""Columns an equation is set in by."""
_CONTINUED = 4
_LEFT_SHARE = 0.35
"""Widest left side, as a part of the page, that others are aligned with."""


@dataclass(frozen=True, slots=True)
class _Page:
    style: Style
    language: str
    width: int


def write(document: Document, width: int = 80) -> str:
    """Return a document as text no wider than `width` columns, words and formulas permitting."""
    page = _Page(document.style, document.language, max(width, 24))
    parts: list[list[str]] = []
    head = [*wrap(clean(document.title), page.width), *wrap(clean(document.subtitle), page.width)]
    if head:
        parts.append([*head, "═" * max(map(shown_width, head))])
    number = 0
    for section in document.sections:
        number += bool(section.title) and not section.opens_part
        parts.extend(_section(section, number, page))
    parts.append([f"{MARK}. Every equation was checked."])
    lines = [line for part in parts for line in ([*part, ""])]
    return "\n".join(unglue(line).rstrip() for line in lines[:-1]) + "\n"


def _section(section: Section, number: int, page: _Page) -> list[list[str]]:
    parts: list[list[str]] = []
    if section.opens_part:
        title = wrap(_inlines(section.title, page.style), page.width)
        parts.append([*title, "═" * max(map(shown_width, title))])
    elif section.title:
        title = wrap(f"{number}  {_inlines(section.title, page.style)}", page.width)
        parts.append([*title, "─" * max(map(shown_width, title))])
    parts.extend(lines for block in section.blocks if (lines := _block(block, page)))
    return parts


def _block(block: Block, page: _Page) -> list[str]:
    """Return the lines of one block."""
    match block:
        case Paragraph(content):
            return wrap(_inlines(content, page.style), page.width)
        case Display(rows):
            return _display(rows, page)
        case Table():
            return _table(block, page)
        case Values(chains):
            return _values(chains, page)
        case Figure():
            return _figure(block, page)
        case SideBySide(left, right, _):
            return _stack((*left, *right), page)
        case Box():
            return _box(block, page)
        case AnswerLine():
            return _answers(block, page)
        case Caution(content):
            word = CAUTION.get(page.language, CAUTION["en"])
            text = f"{word}. {_inlines(content, page.style)}"
            return [f"!! {line}" for line in wrap(text, page.width - 3)]
        case _:
            assert_never(block)


def _stack(blocks: tuple[Block, ...], page: _Page) -> list[str]:
    lines: list[str] = []
    for block in blocks:
        more = _block(block, page)
        lines.extend(["", *more] if lines and more else more)
    return lines


def _inlines(content: tuple[Inline, ...], style: Style) -> str:
    return "".join(_inline(item, style) for item in content)


def _inline(item: Inline, style: Style) -> str:
    """Return one piece of running text; mathematics in it is not broken over lines."""
    match item:
        case Text(text):
            return clean(text)
        case Strong(inner):
            return _inlines(inner, style)
        case Math(content):
            return _glue(text_math.inline(content, style))
        case SignedTerm():
            return _glue(text_math.inline(item, style))
        case Reference(number):
            return f"({number})"
        case _:
            assert_never(item)


def _glue(formula: str) -> str:
    return formula.replace(" ", "\N{NO-BREAK SPACE}") if len(formula) < 30 else formula


def _display(rows: tuple[Row, ...], page: _Page) -> list[str]:
    sides = [_flat_sides(row.chain, page.style) for row in rows]
    widths = [shown_width(text_math.text(left)) for left, _ in sides]
    aligned = max(widths) <= _LEFT_SHARE * page.width
    lines: list[str] = []
    for row, width, (left, others) in zip(rows, widths, sides, strict=True):
        # A row with a short left side lines up with itself where it cannot with the others.
        column = max(widths) if aligned else width
        if column <= _LEFT_SHARE * page.width:
            shown = _at_relation(left, others, column, page)
        else:
            room = page.width - _MARGIN
            broken = break_whole(left, others, room, _CONTINUED, _measure)
            shown = [_line(line) for line in broken]
        shown = [" " * _MARGIN + line for line in shown]
        lines.extend(_tagged(shown, _tag(row, page.style), page.width))
    return lines


def _at_relation(left: layout.Row, others: list[layout.Row], column: int, page: _Page) -> list[str]:
    room = page.width - _MARGIN - column
    broken = break_right(others, room, _CONTINUED, _measure) or [Line(())]
    head, *rest = map(_line, broken)
    return [pad(text_math.text(left), column, right=True) + head, *(" " * column + r for r in rest)]


def _flat_sides(chain: Chain, style: Style) -> tuple[layout.Row, list[layout.Row]]:
    left = flat(set_expression(chain.sides[0], style))
    others = zip(chain.relations, chain.sides[1:], strict=True)
    return left, [
        (set_relation(relation), *flat(set_expression(side, style))) for relation, side in others
    ]


def _measure(row: layout.Row) -> float:
    return shown_width(text_math.text(row))


def _line(line: Line) -> str:
    text = text_math.text(line.row)
    return " " * _CONTINUED + text.lstrip() if line.continued else text


def _tag(row: Row, style: Style) -> str:
    number = "" if row.number is None else f"({row.number})"
    return "  ".join(part for part in (_inlines(row.source, style), number) if part)


def _tagged(lines: list[str], tag: str, width: int) -> list[str]:
    """Put source and number at the right margin of the last line, or below it."""
    if not tag:
        return lines
    space = width - shown_width(lines[-1]) - shown_width(tag)
    if space >= 2:
        return [*lines[:-1], lines[-1] + " " * space + tag]
    return [*lines, *(pad(line, width, right=True) for line in wrap(tag, width))]


def _table(table: Table, page: _Page) -> list[str]:
    cells = [[_inlines(c, page.style) for c in row] for row in (table.header, *table.rows)]
    widths = [max(shown_width(row[k]) for row in cells) for k in range(len(table.columns))]
    excess = sum(widths) + 2 * (len(widths) - 1) - page.width
    if excess > 0 and Align.STRETCH in table.columns:
        place = table.columns.index(Align.STRETCH)
        widths[place] = max(12, widths[place] - excess)
    lines: list[str] = []
    for row in cells:
        wrapped = [
            wrap(c, w) if a is Align.STRETCH else [c]
            for c, w, a in zip(row, widths, table.columns, strict=True)
        ]
        for parts in zip_longest(*wrapped, fillvalue=""):
            columns = zip(parts, widths, table.columns, strict=True)
            lines.append("  ".join(pad(p, w, right=a is Align.RIGHT) for p, w, a in columns))
    rule = "─" * (sum(widths) + 2 * (len(widths) - 1))
    heading = len(lines) - len(table.rows) if len(cells) == len(lines) else 1
    return [*lines[:heading], rule, *lines[heading:]]


def _values(chains: tuple[Chain, ...], page: _Page) -> list[str]:
    shown = {chain: text_math.inline(chain, page.style) for chain in chains}
    widths = [shown_width(shown[chain]) for chain in chains]
    grid = value_grid(chains, widths, page.width - _MARGIN)
    texts = [["" if c is None else shown[c] for c in row] for row in grid]
    columns = [max(map(shown_width, column)) for column in zip(*texts, strict=True)]
    return [
        " " * _MARGIN + "    ".join(pad(c, w) for c, w in zip(row, columns, strict=True))
        for row in texts
    ]


def _figure(figure: Figure, page: _Page) -> list[str]:
    if not figure.long:  # a figure before it has been described in full
        return []
    caption = _inlines(figure.caption, page.style)
    described = wrap(f"[Figure: {clean(figure.long)}]", page.width)
    return [*described, *(wrap(caption, page.width) if caption else [])]


def _box(box: Box, page: _Page) -> list[str]:
    inner = replace(page, width=page.width - 4)
    lines = wrap(_inlines(box.title, page.style), inner.width) if box.title else []
    body = _stack(box.blocks, inner)
    lines = [*lines, *body]
    width = max([inner.width, *map(shown_width, lines)]) if lines else inner.width
    return [
        f"┌{'─' * (width + 2)}┐",
        *(f"│ {pad(line, width)} │" for line in lines),
        f"└{'─' * (width + 2)}┘",
    ]


def _answers(line: AnswerLine, page: _Page) -> list[str]:
    """Return answers side by side; one is never cut unless it is wider than the page."""
    pieces = [_answer(chain, page) for chain in line.chains]
    if line.remark:
        pieces.append(wrap(_inlines(line.remark, page.style), page.width))
    lines: list[str] = []
    broken = True
    for piece in pieces:
        joined = piece[0] if broken else f"{lines[-1]}    {piece[0]}"
        if not broken and len(piece) == 1 and shown_width(joined) <= page.width:
            lines[-1] = joined
        else:
            lines.extend(piece)
        # Beside the end of an equation on several lines, another would look like a part of it.
        broken = len(piece) > 1
    return lines


def _answer(chain: Chain, page: _Page) -> list[str]:
    spelled = text_math.inline(chain, page.style)
    return [spelled] if shown_width(spelled) <= page.width else _display((Row(chain),), page)
