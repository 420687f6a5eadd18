"""Blocks of a document in Typst."""

from __future__ import annotations

from dataclasses import dataclass, replace
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
    Paragraph,
    Row,
    SideBySide,
    Table,
    Values,
)
from derive.typesetting.extent import row_width
from derive.typesetting.layout import is_tall
from derive.typesetting.style import Style
from derive.writers.answer_box import beside_title, holds_remark
from derive.writers.columns import value_grid
from derive.writers.notation import set_chain
from derive.writers.two_columns import one_below_the_other, shares
from derive.writers.typst_display import display
from derive.writers.typst_figure import figure
from derive.writers.typst_inline import inlines
from derive.writers.typst_math import inline as mathematics
from derive.writers.typst_math import mathematics as spelled
from derive.writers.typst_math import spoken
from derive.writers.typst_text import literal
from derive.writers.words import CAUTION

_COLUMNS = {
    Align.LEFT: "(auto, left)",
    Align.RIGHT: "(auto, right)",
    Align.STRETCH: "(1fr, left)",
}
"""Width and alignment of the columns of a table."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What the setting of a block depends on."""

    style: Style
    language: str
    width: float
    """Width of the line, in em."""


def blocks(content: tuple[Block, ...], setting: Setting, *, held: bool = False) -> str:
    """Return blocks one under the other; a sentence stays with the equation it leads to.

    With `held` the last one stays with what comes next.
    """
    parts = []
    for place, block in enumerate(content):
        following = content[place + 1] if place + 1 < len(content) else None
        if following is None:
            stays = held
        elif isinstance(block, Paragraph):
            stays = not isinstance(following, Paragraph)
        else:
            stays = isinstance(following, Display) and not isinstance(block, Display)
        told = _block(block, setting)
        parts.append(f"#held[\n{told}\n]" if stays else told)
    return "\n\n".join(parts)


def _block(block: Block, setting: Setting) -> str:
    match block:
        case Paragraph(content):
            return inlines(content, setting.style)
        case Display():
            return display(block, setting.style, setting.width)
        case Table():
            return _table(block, setting.style)
        case Values(chains):
            return _values(chains, setting)
        case Figure():
            return figure(block, setting.style)
        case SideBySide():
            return _side_by_side(block, setting)
        case Box():
            return _box(block, setting)
        case AnswerLine():
            return _answers(block, setting)
        case Caution(content):
            word = CAUTION.get(setting.language, CAUTION["en"])
            return f"#caution({literal(word)})[{inlines(content, setting.style)}]"
        case _:
            assert_never(block)


def _table(table: Table, style: Style) -> str:
    columns = ", ".join(_COLUMNS[align] for align in table.columns)
    header, *rows = (
        ", ".join(f"[{inlines(cell, style)}]" for cell in row)
        for row in (table.header, *table.rows)
    )
    body = "".join(f"\n  ({row},)," for row in rows)
    return f"#listed(({columns},), ({header},), ({body}\n))"


def _values(chains: tuple[Chain, ...], setting: Setting) -> str:
    widths = [row_width(set_chain(chain, setting.style)) for chain in chains]
    grid = value_grid(chains, widths, setting.width)
    if not grid:
        return ""
    rows = (
        ", ".join("[]" if c is None else f"[{mathematics(c, setting.style)}]" for c in row)
        for row in grid
    )
    body = "".join(f"\n  {row}," for row in rows)
    return f"#given({len(grid[0])},{body}\n)"


def _side_by_side(block: SideBySide, setting: Setting) -> str:
    # A table beside its figure is centred on it; running text starts level with it.
    parts = shares(block, setting.style, setting.width)
    if parts is None:
        return blocks(one_below_the_other(block), setting)
    tabular = not block.level and any(isinstance(b, Table) for b in (*block.left, *block.right))
    sides = "".join(
        f"[\n{blocks(content, replace(setting, width=setting.width * float(share)))}\n]"
        for share, content in zip(parts, (block.left, block.right), strict=True)
    )
    widths = ", ".join(f"{round(share * 1000) / 10:g}%" for share in parts)
    return f"#beside(({widths}), {'horizon' if tabular else 'top'}){sides}"


def _box(box: Box, setting: Setting) -> str:
    inner = replace(setting, width=setting.width - 2)
    colours = "tint, wash" if box.kind is BoxKind.FORMULA else "ink, white"
    title = f"#strong[{inlines(box.title, setting.style)}]" if box.title else ""
    answers = [block for block in box.blocks if isinstance(block, AnswerLine)]
    room = beside_title(box, setting.style, inner.width)
    if room is not None:
        lines = "".join(
            f"\n  {_array(_pieces(line, replace(inner, width=room)))}," for line in answers
        )
        return f"#framed({colours})[\n#titled([{title}],{lines}\n)\n]"
    above = [f"#held[{title}]"] if title else []
    body = "\n\n".join([*above, blocks(box.blocks, inner)])
    return f"#framed({colours})[\n{body}\n]"


def _array(pieces: list[str]) -> str:
    return f"({', '.join(f'[{piece}]' for piece in pieces)},)"


def _answers(line: AnswerLine, setting: Setting) -> str:
    """Return answers side by side; one wider than the line is displayed below the others."""
    parts: list[str] = []
    pieces: list[str] = []
    for chain in line.chains:
        if row_width(set_chain(chain, setting.style)) <= setting.width:
            pieces.append(_answer(chain, setting.style))
            continue
        parts += [_in_line(pieces)] if pieces else []
        alone = Display((Row(chain),))
        parts.append(display(alone, setting.style, setting.width, flush=True))
        pieces = []
    pieces = _with_remark(pieces, line, setting)
    parts += [_in_line(pieces)] if pieces else []
    return "\n\n".join(parts)


def _pieces(line: AnswerLine, setting: Setting) -> list[str]:
    """Return answers that all fit a line."""
    return _with_remark([_answer(chain, setting.style) for chain in line.chains], line, setting)


def _with_remark(pieces: list[str], line: AnswerLine, setting: Setting) -> list[str]:
    """Return pieces with the remark, which is not parted from the last answer if it need not be."""
    if not line.remark:
        return pieces
    remark = inlines(line.remark, setting.style)
    if pieces and holds_remark(line, setting.style, setting.width):
        return [*pieces[:-1], f"{pieces[-1]}#remark[{remark}]"]
    return [*pieces, f"#box[{remark}]"]


def _in_line(pieces: list[str]) -> str:
    return "#answers" + "".join(f"[{piece}]" for piece in pieces)


def _answer(chain: Chain, style: Style) -> str:
    row = set_chain(chain, style)
    function = "shown" if is_tall(row) else "whole"
    return f"#{function}({spoken(row)}, ${spelled(row)}$)"
