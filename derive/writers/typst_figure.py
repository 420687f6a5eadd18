"""Figures in Typst: lines and symbols as SVG, and labels set as the mathematics of the page."""

from __future__ import annotations

from dataclasses import replace

from derive.document.model import Figure
from derive.drawing.model import Anchor, Label, Point
from derive.drawing.reckoning import label_reach, label_row
from derive.typesetting.layout import Over
from derive.typesetting.style import Style
from derive.writers import svg
from derive.writers.outlines import label_colour
from derive.writers.svg_spelling import number
from derive.writers.typst_inline import inlines
from derive.writers.typst_math import mathematics
from derive.writers.typst_text import literal, plain

_ANCHOR = {Anchor.LEFT: "left", Anchor.CENTRE: "center", Anchor.RIGHT: "right"}


def figure(block: Figure, style: Style) -> str:
    """Return a figure, centred, with its caption.

    Both descriptions are its alternative text: a page has no other place for the long one.
    """
    bare = replace(block.drawing, labels=())
    told = f"{block.short} {block.long}" if block.long else block.short
    # The SVG holds no words of its own, so that nothing is said twice.
    image = svg.write(bare, style, "")
    fields = [
        f"  alt: {literal(plain(told))}",
        f"  size: ({number(bare.box.width)}mm, {number(bare.box.height)}mm)",
        f"  picture: {literal(image)}",
        f"  labels: ({''.join(_label(label, block, style) for label in block.drawing.labels)}\n  )",
    ]
    if block.caption:
        fields.append(f"  caption: [{inlines(block.caption, style)}]")
    return "#drawn(\n" + ",\n".join(fields) + ",\n)"


def _label(label: Label, block: Figure, style: Style) -> str:
    box = block.drawing.box
    # The line stands where the box was reckoned to have it, whichever letters are on it.
    above, below = label_reach(label.content, style)
    size = label.size.value
    at = Point(label.at.x - box.left, box.top - label.at.y)
    drop = (above - below) / 2 * size
    row = label_row(label.content, style)
    display = "true" if any(isinstance(glyph, Over) for glyph in row) else "false"
    colour = label_colour(label).removeprefix("loopwalk")
    return (
        f"\n    ({number(at.x)}mm, {number(at.y)}mm + {number(drop)} * point, "
        f"{_ANCHOR[label.anchor]}, {number(size)} * point, {colour}, {display}, "
        f"${mathematics(row)}$),"
    )
