r"""A figure by itself in TeX: a picture for ``\input`` into a book, and a page of its own."""

from __future__ import annotations

from derive.drawing.model import Drawing
from derive.typesetting.style import Style
from derive.writers import tikz
from derive.writers.mark import MARK
from derive.writers.tex_macros import ALIKE_SO_FAR, FONT_ENCODING, SAME_BYTES
from derive.writers.tex_text import comment, escape_metadata, needs_t1

_MARGIN = 0.5
"""White around the figure on a page of its own, in millimetres."""


def picture(
    drawing: Drawing,
    style: Style,
    short: str,
    title: str = "",
    digest: str = "",
    width_mm: float | None = None,
) -> str:
    r"""Return text for ``\input``; its head says what it needs.

    With a width the whole figure, its type included, is made as wide as that.
    """
    body = _fitted(tikz.write(drawing, style, short), width_mm)
    lines = [f"% {MARK}."]
    if title:
        lines.append(f"% Circuit: {comment(title)}")
    if digest:
        lines.append(f"% SHA-256 of the circuit file: {comment(digest)}")
    lines.append("% The document that inputs this needs, in its preamble:")
    lines.append(r"%   \usepackage{amsmath}")
    lines += [f"%   {line}" for line in tikz.setup(loading=True)]
    if needs_t1(body):
        lines.append(r"%   \usepackage[T1]{fontenc}  (unless it is set by LuaLaTeX or XeLaTeX)")
    # What is defined here ends with the group; no line adds a space to a paragraph.
    setup = [line + "%" for line in tikz.setup(loading=False) if not line.startswith("%")]
    return "\n".join([*lines, r"\begingroup%", *setup, body + "%", "\\endgroup%", ""])


def page(
    drawing: Drawing, style: Style, short: str, title: str = "", width_mm: float | None = None
) -> str:
    """Return a document that is one page of the size of the figure; the width is that page's."""
    inner = None if width_mm is None else width_mm - 2 * _MARGIN
    factor = 1.0 if inner is None else inner / drawing.width
    width, height = (side * factor + 2 * _MARGIN for side in (drawing.width, drawing.height))
    metadata = f"pdftitle={{{escape_metadata(title)}}},pdfcreator={{{MARK}}},pdflang={{en}}"
    return "\n".join(
        [
            f"% {MARK}.",
            r"\documentclass{article}",
            FONT_ENCODING,
            r"\usepackage{lmodern,amsmath,xcolor}",
            *tikz.PREAMBLE.splitlines(),
            r"\usepackage{geometry}",
            r"\usepackage[hidelinks,bookmarks=false]{hyperref}",
            r"\pagestyle{empty}\setlength{\parindent}{0pt}\setlength{\topskip}{0pt}",
            ALIKE_SO_FAR,
            rf"\geometry{{paperwidth={width:.3f}mm,paperheight={height:.3f}mm,"
            # Less at two sides: a figure larger than the text by a rounding would move on a page.
            rf"left={_MARGIN}mm,top={_MARGIN}mm,right={_MARGIN / 2}mm,bottom={_MARGIN / 2}mm,"
            r"noheadfoot,nomarginpar}",
            rf"\hypersetup{{{metadata}}}",
            *SAME_BYTES,
            r"\begin{document}",
            _fitted(tikz.write(drawing, style, short), inner),
            "\\end{document}\n",
        ]
    )


def _fitted(body: str, width_mm: float | None) -> str:
    return body if width_mm is None else f"\\resizebox{{{width_mm:g}mm}}{{!}}{{%\n{body}}}"
