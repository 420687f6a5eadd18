"""A page of the web that stands alone: one file, no other is ever asked for.

Mathematics is MathML, figures are SVG. Sections fold without a script. A page with live numbers
carries a script and the recipes for its numbers; without scripts it is the page of the file.
"""

from __future__ import annotations

import json
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from importlib.resources import files

from derive.algebra.term import Quantity
from derive.document.live import LiveDocument
from derive.document.model import Block, Document, Section, SideBySide, Values
from derive.typesetting.style import Decimal
from derive.writers.html_blocks import HEADS, Setting, blocks, share_of_column
from derive.writers.html_inline import inlines
from derive.writers.html_live import caution, constant, controls, payload
from derive.writers.html_marking import Marking
from derive.writers.html_text import comment, escape
from derive.writers.mark import MARK
from derive.writers.words import FOLD, PROMISE

PAGE_WIDTH = 38.0
"""Of the text, in em; the style sheet has the same."""


def write(document: Document, live: LiveDocument | None = None) -> str:
    """Return a page; with recipes for its numbers they follow the values that a reader types."""
    marking = Marking(None if live is None else live.recipes)
    setting = Setting(document.style, document.language, PAGE_WIDTH, marking)
    body = _body(document, live, setting)
    style = _style(document)
    scripts = ""
    policy = f"default-src 'none'; base-uri 'none'; form-action 'none'; style-src {_digest(style)}"
    if live is not None:
        code = _script()
        policy += f"; script-src {_digest(code)}"
        data = json.dumps(payload(live, marking, document), ensure_ascii=False, sort_keys=True)
        # No sign in it may end the element that holds it.
        data = data.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
        scripts = f'<script type="application/json" id="recipes">{data}</script>\n'
        scripts += f"<script>{code}</script>\n"
    title = escape(document.title or document.subtitle)
    return (
        f"<!DOCTYPE html>\n{_header(document)}"
        f'<html lang="{escape(document.language)}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f'<meta name="generator" content="{MARK}">\n'
        f"<title>{title}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n{body}{scripts}</body>\n</html>\n"
    )


def _header(document: Document) -> str:
    lines = [f"{MARK}. Every equation was checked before it was written."]
    if document.title:
        lines.append(f"Circuit: {comment(document.title)}")
    if document.digest:
        lines.append(f"SHA-256 of the circuit file: {comment(document.digest)}")
    return "".join(f"<!-- {line} -->\n" for line in lines)


def _body(document: Document, live: LiveDocument | None, setting: Setting) -> str:
    heading = document.title or document.subtitle
    parts = [f"<h1>{escape(heading)}</h1>"]
    if document.title and document.subtitle:
        parts.append(f'<p class="subtitle">{escape(document.subtitle)}</p>')
    head = "\n".join(parts)
    told, number, level = [], 0, 2
    for place, section in enumerate(document.sections):
        number += bool(section.title) and not section.opens_part
        level = 3 if section.opens_part else level
        if live is not None and live.needs_caution and section == document.sections[-1]:
            told.append(caution(setting.marking, document))
        told.append(_section(section, number, replace(setting, level=level)))
        if place == 0 and live is not None:
            told.append(controls(live, document))
        elif place == 0 and _has_values(section.blocks):
            told.append(constant(document))
    promise = PROMISE.get(document.language, PROMISE["en"])
    return (
        f"<main>\n<header>\n{head}\n</header>\n{chr(10).join(told)}\n</main>\n"
        f"<footer><p>{MARK}. {promise}</p></footer>\n"
    )


def _section(section: Section, number: int, setting: Setting) -> str:
    if not section.title:
        return blocks(section.blocks, setting)
    title = inlines(section.title, setting.style)
    if section.opens_part:
        return f'<h2 class="part">{title}</h2>\n{blocks(section.blocks, setting)}'
    live = setting.marking.attributes(section)
    inner = replace(setting, level=setting.level + 1)
    body = blocks(section.blocks, inner)
    head = HEADS[setting.level]
    fold = FOLD.get(setting.language, FOLD["en"])
    return (
        f"<section{live}>\n"
        f'<{head} id="part-{number}"><span class="number">{number}</span> {title}</{head}>\n'
        f'<details class="fold" open><summary><span class="unseen">{fold}: {title}</span>'
        f"</summary>\n{body}\n</details>\n</section>"
    )


def _has_values(content: tuple[Block, ...]) -> bool:
    """Tell whether some value is given as a number."""
    for block in content:
        if isinstance(block, SideBySide) and _has_values(block.left + block.right):
            return True
        if isinstance(block, Values) and any(
            isinstance(side, Decimal | Quantity) for c in block.chains for side in c.sides
        ):
            return True
    return False


def _style(document: Document) -> str:
    """Return the style sheet, with the widths of the columns that this document has."""
    shares: dict[int, None] = {}
    for section in document.sections:
        for left in _shares(section.blocks):
            shares.update({left: None, 100 - left: None})
    columns = "".join(f".share-{share} {{ flex-grow: {share}; }}\n" for share in sorted(shares))
    return f"\n{_resource('page.css')}{columns}"


def _shares(content: tuple[Block, ...]) -> list[int]:
    found: list[int] = []
    for block in content:
        if isinstance(block, SideBySide):
            found += [share_of_column(block.left_share), *_shares(block.left + block.right)]
        elif hasattr(block, "blocks"):
            found += _shares(block.blocks)
    return found


def _script() -> str:
    """Return the parts of the script as one, out of the way of other scripts."""
    parts = "\n".join(map(_resource, ("numbers.js", "setting.js", "graphs.js", "live.js")))
    return f'\n"use strict";\n(() => {{\n{parts}}})();\n'


def _resource(name: str) -> str:
    """Return a file that stands beside this one; line ends are those of the digest."""
    return files("derive.writers").joinpath("page", name).read_text("utf-8")


def _digest(text: str) -> str:
    """Return how a content security policy names an inline text that it allows."""
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
