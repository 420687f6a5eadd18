r"""LaTeX: a complete document, or a fragment for ``\input`` into the author's own.

Mathematics uses amsmath alone, units are plain ``\,\mathrm{V}``, equation numbers are fixed tags
of the document, and a fragment defines nothing outside its own group.
"""

from __future__ import annotations

import re

from pylatex import Document as TexDocument
from pylatex import NoEscape, Package

from derive.document.model import Document, Paragraph, Section, SideBySide
from derive.writers import tikz
from derive.writers.mark import MARK
from derive.writers.tex_blocks import Setting, blocks
from derive.writers.tex_inline import inlines
from derive.writers.tex_macros import (
    ALIKE_SO_FAR,
    FONT_ENCODING,
    FRAGMENT_MACROS,
    MACROS,
    SAME_BYTES,
    colours,
    definitions,
)
from derive.writers.tex_text import comment, escape, escape_metadata, needs_t1

PAGE_WIDTH = 42.0
"""165 mm at 11 pt, in em, less a little for the error of the estimate."""
FRAGMENT_WIDTH = 30.0
"""12 cm at 11 pt, in em, less a little for the error of the estimate."""

_PACKAGES = ("amsmath", "xcolor", "booktabs", "tabularx", "titlesec")
_FRAGMENT_PACKAGES = ("amsmath", "booktabs", "tabularx")

_LAYOUT = (
    r"\setlength{\parindent}{0pt}\setlength{\parskip}{5pt plus 1pt}",
    r"\raggedbottom\allowdisplaybreaks[1]",
    r"\clubpenalty=10000 \widowpenalty=10000 \emergencystretch=2em",
    r"\titleformat{\section}{\large\bfseries\raggedright\color{loopwalktint}}{\thesection}{.7em}{}",
    r"\titlespacing*{\section}{0pt}{13pt plus 3pt}{3pt}",
)


def write(document: Document) -> str:
    """Return a complete LaTeX document."""
    tex = TexDocument(
        documentclass="article",
        document_options=["11pt", "a4paper"],
        fontenc=None,
        inputenc=None,
        lmodern=False,
        textcomp=False,
        page_numbers=False,
        indent=True,
        microtype=False,
        geometry_options=["textwidth=165mm", "top=20mm", "bottom=22mm", "centering"],
    )
    tex.data.clear()  # pylatex starts with a font size and a page style of its own
    tex.preamble.append(NoEscape(FONT_ENCODING))
    for name in ("lmodern", "microtype", *_PACKAGES):
        tex.preamble.append(Package(name))
    tex.preamble.append(Package("hyperref", options=["hidelinks", "bookmarks=false"]))
    for line in _preamble(document):
        tex.preamble.append(NoEscape(line))
    tex.append(NoEscape(_title(document)))
    setting = Setting(document.style, document.language, PAGE_WIDTH)
    for section in document.sections:
        tex.append(NoEscape(_section(section, setting)))
    return _header(document) + _tidy(tex.dumps())


def fragment(document: Document, prefix: str) -> str:
    r"""Return text for ``\input``, with labels ``prefix-eq-number``.

    A colon, which others put there, is an active character in French documents.
    """
    labels = re.sub(r"[^A-Za-z0-9-]+", "-", prefix).strip("-") or "solution"
    setting = Setting(document.style, document.language, FRAGMENT_WIDTH, labels)
    lines = [
        _header(document) + _needs(document),
        r"\begingroup",
        *colours("providecolor"),
        *tikz.setup(loading=False),
        *definitions(MACROS, "providecommand"),
        *definitions(FRAGMENT_MACROS, "providecommand"),
        r"\par\lwparagraphs\interdisplaylinepenalty=500 \clubpenalty=10000 \widowpenalty=10000",
    ]
    number = 0
    for section in document.sections:
        if section.opens_part:
            lines.append(rf"\lwpart{{{inlines(section.title, document.style)}}}")
        elif section.title:
            number += 1
            title = inlines(section.title, document.style)
            lines.append(rf"\lwheading{{{number}\quad }}{{{title}}}")
        lines.append(blocks(section.blocks, setting))
    lines.append("\\endgroup\n")
    return _tidy("\n".join(lines))


def _header(document: Document) -> str:
    lines = [f"% {MARK}. Every equation was checked before it was written."]
    if document.title:
        lines.append(f"% Circuit: {comment(document.title)}")
    if document.digest:
        lines.append(f"% SHA-256 of the circuit file: {comment(document.digest)}")
    return "\n".join(lines) + "\n"


def _needs(document: Document) -> str:
    packages = ",".join(_FRAGMENT_PACKAGES)
    lines = ["% The document that inputs this needs, in its preamble:"]
    lines.append(rf"%   \usepackage{{{packages}}}")
    lines.extend(f"%   {line}" for line in tikz.setup(loading=True))
    if needs_t1(repr(document)):
        lines.append(r"%   \usepackage[T1]{fontenc}  (unless it is set by LuaLaTeX or XeLaTeX)")
    lines.append("% Its lines are broken for a text at least 12 cm wide.")
    return "\n".join(lines)


def _preamble(document: Document) -> list[str]:
    return [
        *colours("definecolor"),
        *definitions(MACROS, "newcommand"),
        *tikz.PREAMBLE.splitlines(),
        *_LAYOUT,
        ALIKE_SO_FAR,
        rf"\hypersetup{{pdftitle={{{escape_metadata(document.title)}}},"
        rf"pdfcreator={{{MARK}}},pdflang={{{document.language}}}}}",
        *SAME_BYTES,
    ]


def _title(document: Document) -> str:
    lines = []
    if document.title:
        lines.append(rf"{{\LARGE\bfseries\raggedright {escape(document.title)}\par}}")
    if document.subtitle:
        lines.append(rf"{{\color{{loopwalktint}}{escape(document.subtitle)}\par}}")
    if lines:
        lines.append(r"\vspace{2pt}{\color{loopwalkfaint}\hrule height .5pt}\vspace{8pt}")
    return "\n".join(lines)


def _section(section: Section, setting: Setting) -> str:
    body = blocks(section.blocks, setting)
    if section.opens_part:
        return f"\\lwpart{{{inlines(section.title, setting.style)}}}\n{body}"
    if not section.title:
        # What ends a solution takes along a line of what it belongs to.
        opens = isinstance(section.blocks[0], SideBySide | Paragraph)
        return body if opens else f"\\nobreak\n{body}"
    return f"\\section{{{inlines(section.title, setting.style)}}}\n{body}"


def _tidy(text: str) -> str:
    """Drop empty lines, which would end paragraphs, and pylatex's lone comment signs."""
    lines = (line.rstrip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and line != "%") + "\n"
