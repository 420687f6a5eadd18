"""Typst: a complete document that the engine in the wheel sets without any installation."""

from __future__ import annotations

from derive.document.model import Document, Paragraph, Section, SideBySide
from derive.writers.mark import MARK
from derive.writers.tex_text import comment
from derive.writers.typst_blocks import Setting, blocks
from derive.writers.typst_inline import inlines
from derive.writers.typst_page import page
from derive.writers.typst_text import literal, plain, string

PAGE_WIDTH = 42.0
"""165 mm at 11 pt, in em, less a little for the error of the estimate."""


def write(document: Document) -> str:
    """Return a complete Typst document."""
    setting = Setting(document.style, document.language, PAGE_WIDTH)
    parts = [_header(document) + page() + _metadata(document), _title(document)]
    sections = document.sections
    for place, section in enumerate(sections):
        held = any(map(_belongs, sections[place + 1 : place + 2]))
        parts.append(_section(section, setting, held=held))
    return "\n\n".join(part for part in parts if part) + "\n"


def _header(document: Document) -> str:
    lines = [f"// {MARK}. Every equation was checked before it was written."]
    if document.title:
        lines.append(f"// Circuit: {comment(document.title)}")
    if document.digest:
        lines.append(f"// SHA-256 of the circuit file: {comment(document.digest)}")
    return "\n".join(lines) + "\n"


def _metadata(document: Document) -> str:
    title = literal(plain(document.title) or plain(document.subtitle) or MARK)
    told = f"{document.subtitle}. {MARK}." if document.subtitle else f"{MARK}."
    return (
        f"#set document(title: {title}, description: {literal(plain(told))}, date: none)\n"
        f"#set text(lang: {literal(document.language)})"
    )


def _title(document: Document) -> str:
    lines = []
    if document.title:
        lines.append(f"#title({string(document.title)})")
    if document.subtitle:
        lines.append(f"#text(fill: tint, {string(document.subtitle)})")
    if lines:
        lines.append("#ruled")
    return "\n\n".join(lines)


def _belongs(following: Section) -> bool:
    """Say whether a section has no heading of its own and goes on with what is before it."""
    if following.title or not following.blocks:
        return False
    return not isinstance(following.blocks[0], SideBySide | Paragraph)


def _section(section: Section, setting: Setting, *, held: bool) -> str:
    body = blocks(section.blocks, setting, held=held)
    if section.opens_part:
        return f"#heading(numbering: none)[{inlines(section.title, setting.style)}]\n\n{body}"
    if not section.title:
        return body
    return f"#heading[{inlines(section.title, setting.style)}]\n\n{body}"
