"""Blocks of a document in TeX, the same for a complete document and for a fragment.

A displayed equation belongs to the paragraph above it: TeX then never parts the two
(`\\predisplaypenalty`), and puts no empty line between them. So a block that can carry an equation
leaves its paragraph open, and whatever comes next closes it or attaches to it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
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
from derive.writers import tikz
from derive.writers.answer_box import beside_title, holds_remark
from derive.writers.columns import value_grid
from derive.writers.notation import set_chain
from derive.writers.tex_display import Measure, centred, display
from derive.writers.tex_inline import inlines
from derive.writers.tex_math import inline as mathematics
from derive.writers.two_columns import one_below_the_other, shares, table_width
from derive.writers.words import CAUTION

_TALL_BOX = 34
"""Lines of a box that may still be kept on one page; a longer one is open at the sides."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What the setting of a block depends on."""

    style: Style
    language: str
    width: float
    """Width of the line, in em."""
    labels: str = ""
    """Prefix of the labels of numbered equations; empty for none."""

    @property
    def measure(self) -> Measure:
        """What displayed equations need to know."""
        return Measure(self.style, self.width)


def blocks(content: tuple[Block, ...], setting: Setting) -> str:
    """Return blocks one under the other; the last paragraph is closed."""
    parts: list[str] = []
    is_open = False
    for place, block in enumerate(content):
        if isinstance(block, Display):
            if not is_open:
                parts.append(r"\lwdisplaystart")
            parts.append(_labels(block, setting) + display(block, setting.measure))
            is_open = True
            continue
        if is_open:
            parts.append(r"\par")
        parts.append(_block(block, setting))
        following = content[place + 1] if place + 1 < len(content) else None
        is_open = isinstance(following, Display)
        if not is_open:
            keeps = isinstance(block, Paragraph) and not isinstance(following, Paragraph | None)
            parts.append(r"\par\nobreak" if keeps else r"\par")
            if isinstance(block, Figure | SideBySide) and isinstance(following, Paragraph):
                parts.append(r"\vspace{5pt}")
    if is_open:
        parts.append(r"\par")
    return "\n".join(parts)


def _block(block: Block, setting: Setting) -> str:
    """Return one block; its paragraph is left open."""
    match block:
        case Paragraph(content):
            return inlines(content, setting.style)
        case Display():
            return display(block, setting.measure)
        case Table():
            return _table(block, setting)
        case Values(chains):
            return _values(chains, setting)
        case Figure():
            return _figure(block, setting)
        case SideBySide():
            return _side_by_side(block, setting)
        case Box():
            return _box(block, setting)
        case AnswerLine():
            return rf"{{\raggedright\lwapart {_answer_line(block, setting)}\par}}"
        case Caution(content):
            word = CAUTION.get(setting.language, CAUTION["en"])
            return rf"\lwcaution{{{word}}}{{{inlines(content, setting.style)}}}"
        case _:
            assert_never(block)


def _labels(block: Display, setting: Setting) -> str:
    numbers = [row.number for row in block.rows if row.number is not None]
    if not setting.labels:
        return ""
    return "".join(rf"\lwlabel{{{n}}}{{{setting.labels}-eq-{n}}}%" + "\n" for n in numbers)


def _table(table: Table, setting: Setting) -> str:
    stretched = Align.STRETCH in table.columns
    columns = "".join({"left": "l", "right": "r", "stretch": "X"}[c.value] for c in table.columns)
    rows = [_table_row(row, table.columns, setting) for row in table.rows]
    begin, end = "tabular", "tabular"
    if stretched:
        begin, end = r"tabularx}{\linewidth", "tabularx"
    lines = [
        rf"\begin{{{begin}}}{{@{{}}{columns}@{{}}}}\toprule",
        _table_row(table.header, table.columns, setting),
        r"\midrule",
        *rows,
        rf"\bottomrule\end{{{end}}}",
    ]
    told = "\n".join(lines)
    if not stretched and table_width(table, setting.style) > setting.width:
        told = f"\\lwfit{{%\n{told}%\n}}"
    return f"\\noindent{{\\small\n{told}}}\\vspace{{3pt}}"


def _table_row(
    cells: tuple[tuple[Inline, ...], ...], columns: tuple[Align, ...], setting: Setting
) -> str:
    spelled = []
    for cell, align in zip(cells, columns, strict=True):
        ragged = r"\raggedright\arraybackslash " if align is Align.STRETCH else ""
        spelled.append(ragged + inlines(cell, setting.style))
    return " & ".join(spelled) + r" \\"


def _values(chains: tuple[Chain, ...], setting: Setting) -> str:
    widths = [row_width(set_chain(chain, setting.style)) for chain in chains]
    grid = value_grid(chains, widths, setting.width)
    if not grid:
        return r"\noindent"
    columns = r"@{\qquad}".join("l" for _ in grid[0])
    rows = [
        " & ".join("" if c is None else f"${mathematics(c, setting.style)}$" for c in row)
        for row in grid
    ]
    body = "\\\\[2pt]\n".join(rows)
    begin = f"\\noindent\\begin{{tabular}}{{@{{}}{columns}@{{}}}}"
    return f"{begin}\n{body}\n\\end{{tabular}}\\vspace{{3pt}}"


def _figure(figure: Figure, setting: Setting) -> str:
    picture = tikz.write(figure.drawing, setting.style, figure.short)
    caption = ""
    if figure.caption:
        text = inlines(figure.caption, setting.style)
        caption = f"\\par\\nobreak\\vspace{{2pt}}{{\\footnotesize {text}\\par}}"
    return f"{{\\centering\\lwfit{{%\n{picture.strip()}%\n}}{caption}\\par}}"


def _side_by_side(block: SideBySide, setting: Setting) -> str:
    # A table beside its figure is centred on it; running text starts level with it.
    parts = shares(block, setting.style, setting.width)
    if parts is None:
        return blocks(one_below_the_other(block), setting).removesuffix(r"\par").rstrip()
    tabular = not block.level and any(isinstance(b, Table) for b in (*block.left, *block.right))
    position, strut = ("c", "") if tabular else ("t", r"\vspace{0pt}")
    sides = [
        f"\\begin{{minipage}}[{position}]{{\\lwshare{{{_decimal(share)}}}\\linewidth}}{strut}\\lwcolumn\n"
        f"{blocks(content, replace(setting, width=setting.width * float(share)))}\n"
        "\\end{minipage}"
        for share, content in zip(parts, (block.left, block.right), strict=True)
    ]
    return r"\noindent" + "\\hfill\n".join(sides)


def _decimal(share: Fraction) -> str:
    return f"0.{round(share * 1000):03d}"


def _box(box: Box, setting: Setting) -> str:
    inner = replace(setting, width=setting.width - 2)
    formula = box.kind is BoxKind.FORMULA
    colours = "{loopwalktint}{loopwalkwash}" if formula else "{loopwalkink}{white}"
    title = rf"\textbf{{{inlines(box.title, setting.style)}}}" if box.title else ""
    room = beside_title(box, setting.style, inner.width)
    if room is not None:
        body = _boxed(box, replace(inner, width=room))
        if _height(body) <= _TALL_BOX:
            return f"\\lwframe{colours}{{%\n\\lwtitled{{{title}}}{{%\n{body}%\n}}}}"
    above = [rf"{title}\par\nobreak"] if title else []
    framed = "\n".join([*above, _boxed(box, inner)])
    if _height(framed) <= _TALL_BOX:
        return f"\\lwframe{colours}{{%\n{framed}%\n}}"
    opened = "\n".join([*above, blocks(box.blocks, setting)])
    return f"\\lwopen{colours}{{%\n{opened}%\n}}"


def _boxed(box: Box, setting: Setting) -> str:
    return "\n".join(_boxed_block(block, setting) for block in box.blocks)


def _height(tex: str) -> int:
    """Return roughly how many lines a piece of TeX takes."""
    return 1 + tex.count(r"\\") + tex.count(r"\frac") + tex.count(r"\par")


def _boxed_block(block: Block, setting: Setting) -> str:
    if isinstance(block, Display):
        tagged = any(row.number is not None or row.source for row in block.rows)
        if not tagged:
            chains = tuple(row.chain for row in block.rows)
            return rf"{{\centering {centred(chains, setting.measure)}\par}}"
    return blocks((block,), setting)


def _answer_line(line: AnswerLine, setting: Setting) -> str:
    answers = "\\lwanswergap\n".join(_answer(chain, setting) for chain in line.chains)
    if not line.remark:
        return answers
    # A remark stands on the line of the last answer if it can.
    held = holds_remark(line, setting.style, setting.width)
    gap = r"\lwremarkgap" if held else "\\lwanswergap\n"
    return rf"{answers}{gap}\mbox{{{inlines(line.remark, setting.style)}}}"


def _answer(chain: Chain, setting: Setting) -> str:
    if row_width(set_chain(chain, setting.style)) <= setting.width:
        formula = mathematics(chain, setting.style)
        if r"\frac" in formula:
            return rf"\lwtall{{$\displaystyle {formula}$}}"
        return rf"\mbox{{${formula}$}}"
    return rf"\lwtall{{{centred((chain,), setting.measure)}}}"
