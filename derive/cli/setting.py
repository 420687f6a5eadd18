"""Pages for the command: what an engine made, or the exit status when it made nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from derive.cli.console import Voice
from derive.cli.results import Made
from derive.cli.status import ENGINE_FAILED
from derive.engines import pages
from derive.engines.pages import NoPage, Wanted


def pdf(
    tex_text: Callable[[], str], typst_text: Callable[[], str], wanted: Wanted, voice: Voice
) -> Made | int:
    """Set a document."""
    page = pages.pdf(tex_text, typst_text, wanted)
    if isinstance(page, NoPage):
        return _complain(page, voice)
    if page.doubt:
        voice.complain_once(page.doubt)
    return Made(page.data, page.engine)


def pictures(
    typst_text: str, form: Literal["png", "svg"], dpi: float, voice: Voice
) -> tuple[Made, ...] | int:
    """Set a document as a picture of each page."""
    found = pages.pictures(typst_text, form, dpi)
    if isinstance(found, NoPage):
        return _complain(found, voice)
    return tuple(Made(page.data, page.engine) for page in found)


def _complain(none: NoPage, voice: Voice) -> int:
    (voice.complain_once if none.of_the_machine else voice.complain)(none.told)
    return ENGINE_FAILED
