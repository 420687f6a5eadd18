"""Which engine sets a page: the one that is asked for, else a TeX that works, else the embedded.

Engines are imported when a page is wanted: a solution as text does not wait for them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from derive.engines.embedded import EmbeddedFailure
    from derive.engines.tex import TexFailure


class Wanted(Enum):
    """Which engine the user wants."""

    ANY = ""
    TEX = "tex"
    EMBEDDED = "embedded"


@dataclass(frozen=True, slots=True)
class Page:
    """What an engine made."""

    data: bytes
    engine: str
    doubt: str = ""
    """What the engine complained of that was tried before."""


@dataclass(frozen=True, slots=True)
class NoPage:
    """Why there is no page."""

    told: str
    of_the_machine: bool
    """True when the machine lacks something, so that it is the same for every document."""


Text = Callable[[], str]


def pdf(tex_text: Text, typst_text: Text, wanted: Wanted = Wanted.ANY) -> Page | NoPage:
    """Set a document, whose text the engine that is chosen asks for."""
    from derive.engines import tex

    if wanted is Wanted.EMBEDDED or (wanted is Wanted.ANY and not tex.is_there()):
        return _embedded(typst_text)
    result = tex.compile_pdf(tex_text())
    if isinstance(result, tex.Compiled):
        return Page(result.pdf, result.engine.kind.value)
    if wanted is Wanted.ANY and result.blames_the_engine:
        made = _embedded(typst_text)
        if isinstance(made, Page):
            doubt = f"{_told(result)}\n  so the embedded engine made the PDF"
            return Page(made.data, made.engine, doubt)
    return NoPage(_told(result), of_the_machine=result.engine is None)


def pictures(typst_text: str, form: Literal["png", "svg"], dpi: float) -> tuple[Page, ...] | NoPage:
    """Set a document as a picture of each page."""
    from derive.engines import embedded

    try:
        found = embedded.compile_pages(typst_text, form, dpi)
    except embedded.EmbeddedFailure as failure:
        return _no_page(failure)
    return tuple(Page(page, embedded.NAME) for page in found)


def _embedded(typst_text: Text) -> Page | NoPage:
    from derive.engines import embedded

    try:
        return Page(embedded.compile_pdf(typst_text()), embedded.NAME)
    except embedded.EmbeddedFailure as failure:
        return _no_page(failure)


def _no_page(failure: EmbeddedFailure) -> NoPage:
    from derive.engines import embedded

    told = f"the embedded engine made no page: {failure}\n  hint: {failure.hint}"
    return NoPage(told, of_the_machine=embedded.version() is None)


def _told(failure: TexFailure) -> str:
    start = "no PDF" if failure.engine is None else f"{failure.engine.kind.value} made no PDF"
    lines = [f"{start}: {failure.message}"]
    if failure.line is not None:
        lines.append(f"  line {failure.line}: {failure.source}")
    lines.append(f"  hint: {failure.hint}")
    if failure.log is not None:
        lines.append(f"  log: {failure.log}")
    return "\n".join(lines)
