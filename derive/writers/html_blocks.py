"""Blocks of a document in HTML."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import assert_never

from derive.document.model import (
    Align,
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Caution,
    Chain,
    Display,
    Figure,
    Inline,
    Paragraph,
    SideBySide,
    Table,
    Values,
)
from derive.typesetting.extent import row_width
from derive.typesetting.style import Style
from derive.writers import svg
from derive.writers.columns import value_grid
from derive.writers.html_display import Measure, display, flowing
from derive.writers.html_inline import inlines
from derive.writers.html_marking import Marking
from derive.writers.html_text import escape
from derive.writers.notation import set_chain
from derive.writers.two_columns import table_width
from derive.writers.words import CAUTION, DESCRIPTION

_ID = re.compile(r"\bfigure-[0-9a-f]{12}\b")
FIGURE_SCALE = 1.22
"""Type of the page against that of print, to which figures are drawn."""
HEADS = {2: "h2", 3: "h3", 4: "h4", 5: "h5"}
"""Headings by their level."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What the setting of a block depends on."""

    style: Style
    language: str
    width: float
    """Width of the line, in em."""
    marking: Marking
    level: int = 2
    """Of a heading inside the block."""
    pictures: list[str] = field(default_factory=list)
    """The figures of the page so far: one that comes again needs an id of its own."""

    @property
    def measure(self) -> Measure:
        """What displayed equations need to know."""
        return Measure(self.style, self.width, self.marking)


def blocks(content: tuple[Block, ...], setting: Setting) -> str:
    """Return blocks one under the other."""
    return "\n".join(_block(block, setting) for block in content)


def _block(block: Block, setting: Setting) -> str:
    match block:
        case Paragraph(content):
            live = setting.marking.attributes(block)
            return f"<p{live}>{inlines(content, setting.style)}</p>"
        case Display():
            return display(block, setting.measure)
        case Table():
            return _table(block, setting)
        case Values():
            return _values(block, setting)
        case Figure():
            return _figure(block, setting)
        case SideBySide():
            return _side_by_side(block, setting)
        case Box():
            return _box(block, setting)
        case AnswerLine():
            return _answers(block, setting)
        case Caution():
            return caution(block, setting)
        case _:
            assert_never(block)


def caution(block: Caution, setting: Setting) -> str:
    """Return a warning of harm; its first word says so."""
    word = CAUTION.get(setting.language, CAUTION["en"])
    live = setting.marking.attributes(block)
    told = f'<span class="told">{inlines(block.inlines, setting.style)}</span>'
    return f'<p class="caution" role="note"{live}><strong>{word}.</strong> {told}</p>'


# --- tables and values --------------------------------------------------------------------------


_MANY_COLUMNS = 4
_WIDE = 13.0
"""Columns, and em, that may be wider than a narrow screen; such a table can be scrolled by
itself."""


def _table(table: Table, setting: Setting) -> str:
    stretched = ' class="stretched"' if Align.STRETCH in table.columns else ""
    head = "".join(
        f'<th scope="col"{_aligned(align)}>{inlines(cell, setting.style)}</th>'
        for cell, align in zip(table.header, table.columns, strict=True)
    )
    rows = "\n".join(_table_row(row, table.columns, setting) for row in table.rows)
    told = (
        f"<table{stretched}{setting.marking.attributes(table)}>\n"
        f'<caption class="unseen">{escape(table.summary)}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>"
    )
    if len(table.columns) < _MANY_COLUMNS and table_width(table, setting.style) < _WIDE:
        return told
    return f'<div class="wide" tabindex="0" role="group" aria-label="Table">\n{told}\n</div>'


def _table_row(
    cells: tuple[tuple[Inline, ...], ...], columns: tuple[Align, ...], setting: Setting
) -> str:
    spelled = []
    for place, (cell, align) in enumerate(zip(cells, columns, strict=True)):
        tag, scope = ("td", "") if place else ("th", ' scope="row"')
        spelled.append(f"<{tag}{scope}{_aligned(align)}>{inlines(cell, setting.style)}</{tag}>")
    return f"<tr>{''.join(spelled)}</tr>"


def _aligned(align: Align) -> str:
    return ' class="end"' if align is Align.RIGHT else ""


def _values(block: Values, setting: Setting) -> str:
    chains = block.chains
    widths = [row_width(set_chain(chain, setting.style)) for chain in chains]
    grid = value_grid(chains, widths, setting.width)
    lists = []
    for column in zip(*grid, strict=True):
        items = "".join(f"<li>{_answer(c, setting)}</li>" for c in column if c is not None)
        lists.append(f"<ul>{items}</ul>")
    return f'<div class="values">{"".join(lists)}</div>'


def _answers(line: AnswerLine, setting: Setting) -> str:
    pieces = [_answer(chain, setting) for chain in line.chains]
    live = setting.marking.attributes(line)
    if line.remark or live:
        pieces.append(f'<span class="remark"{live}>{inlines(line.remark, setting.style)}</span>')
    return f'<p class="results">{" ".join(pieces)}</p>'


def _answer(chain: Chain, setting: Setting) -> str:
    return flowing(chain, setting.measure)


# --- figures and frames -------------------------------------------------------------------------


def _figure(figure: Figure, setting: Setting) -> str:
    drawing = figure.drawing
    wide = (drawing.width * FIGURE_SCALE) if drawing.width else None
    picture = svg.write(drawing, setting.style, figure.short, width_mm=wide).strip()
    again = setting.pictures.count(picture)
    setting.pictures.append(picture)
    if again:
        picture = _ID.sub(rf"\g<0>-{again}", picture, count=2)
    caption = ""
    if figure.caption:
        caption = f"\n<figcaption>{inlines(figure.caption, setting.style)}</figcaption>"
    told = ""
    if figure.long:
        word = DESCRIPTION.get(setting.language, DESCRIPTION["en"])
        long = escape(figure.long)
        told = f'\n<details class="described"><summary>{word}</summary><p>{long}</p></details>'
    live = setting.marking.attributes(figure)
    return f"<figure{live}>\n{picture}{caption}{told}\n</figure>"


def _side_by_side(block: SideBySide, setting: Setting) -> str:
    shares = (block.left_share, 1 - block.left_share)
    sides = (
        f'<div class="share-{share_of_column(share)}{_whole(content)}">\n'
        f"{blocks(content, replace(setting, width=setting.width * float(share)))}\n</div>"
        for share, content in zip(shares, (block.left, block.right), strict=True)
    )
    tabular = not block.level and any(isinstance(b, Table) for b in (*block.left, *block.right))
    middle = " middle" if tabular else ""
    return f'<div class="beside{middle}">\n{"".join(sides)}\n</div>'


def _whole(content: tuple[Block, ...]) -> str:
    """Return the class of a column with a table that is not to be narrowed."""
    tables = (block for block in content if isinstance(block, Table))
    return " holds" if any(Align.STRETCH not in table.columns for table in tables) else ""


def share_of_column(share: Fraction) -> int:
    """Return a part of the width in hundredths, which names its class in the style sheet."""
    return round(share * 100)


def _box(box: Box, setting: Setting) -> str:
    inner = replace(setting, width=setting.width - 2, level=setting.level + 1)
    title = ""
    if box.title:
        tag = HEADS[setting.level] if box.kind is BoxKind.ANSWERS else "p"
        title = f'<{tag} class="boxed">{inlines(box.title, setting.style)}</{tag}>\n'
    return f'<div class="box {box.kind.value}">\n{title}{blocks(box.blocks, inner)}\n</div>'
