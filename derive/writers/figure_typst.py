"""A figure by itself in Typst, on a page of its own."""

from __future__ import annotations

from derive.document.model import Figure
from derive.drawing.model import Drawing
from derive.typesetting.style import Style
from derive.writers.mark import MARK
from derive.writers.typst_figure import figure
from derive.writers.typst_page import page as common
from derive.writers.typst_text import literal, plain

_MARGIN = 0.5
"""White around the figure, in millimetres."""


def page(
    drawing: Drawing,
    style: Style,
    short: str,
    long: str = "",
    title: str = "",
    width_mm: float | None = None,
) -> str:
    """Return a document that is one page of the size of the figure; the width is that page's."""
    inner = drawing.width if width_mm is None else width_mm - 2 * _MARGIN
    factor = inner / drawing.width
    width, height = (side * factor + 2 * _MARGIN for side in (drawing.width, drawing.height))
    told = literal(plain(title) or plain(short))
    return "\n".join(
        [
            f"// {MARK}.",
            common(),
            f'#set document(title: {told}, description: "{MARK}.", date: none)',
            '#set text(lang: "en")',
            f"#set page(width: {width:.3f}mm, height: {height:.3f}mm, numbering: none)",
            f"#set page(margin: {_MARGIN}mm)",
            "#set block(spacing: 0pt)",
            f"#scale({100 * factor:.4f}%, reflow: true)[#box(width: {drawing.width:.3f}mm)[",
            figure(Figure(drawing, (), short, long), style),
            "]]\n",
        ]
    )
