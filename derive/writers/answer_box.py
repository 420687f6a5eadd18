"""How the box of answers is laid out, free of any output format."""

from __future__ import annotations

from derive.document.model import AnswerLine, Box
from derive.typesetting.extent import row_width
from derive.typesetting.style import Style
from derive.writers.notation import set_chain
from derive.writers.tex_inline import inlines_width

GAP = 1.8
"""Space between two answers, and between the title and the first one, in em."""
_BOLD = 1.15
"""Width of bold type against the running text."""


def beside_title(box: Box, style: Style, width: float) -> float | None:
    """Return the room right of the title; None where the answers have to stand below it.

    Beside it all rows begin at one place, and the title stands alone at the left of them.
    """
    if not box.title or not all(isinstance(block, AnswerLine) for block in box.blocks):
        return None
    room = width - _BOLD * inlines_width(box.title, style) - GAP
    lines = (block for block in box.blocks if isinstance(block, AnswerLine))
    fits = all(row_width(set_chain(c, style)) <= room for line in lines for c in line.chains)
    return room if fits else None


def holds_remark(line: AnswerLine, style: Style, width: float) -> bool:
    """Say whether a line has room for the remark beside the last answer."""
    if not line.remark or not line.chains:
        return False
    answer = row_width(set_chain(line.chains[-1], style))
    return answer + GAP + inlines_width(line.remark, style) <= width
