"""``loopwalk draw``: the figure alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli.console import Console
from derive.cli.each import (
    Target,
    pdf,
    to_folder,
    to_standard_output,
    with_circuit,
    write_each,
)
from derive.diagnostic import render
from derive.engines.files import Ending
from derive.source import Source

if TYPE_CHECKING:
    from derive.drawing.view import View
    from derive.pictures import Appearance, Picture, Subject

_ENDINGS = {"svg": Ending.FIGURE_SVG, "pdf": Ending.FIGURE_PDF, "tikz": Ending.FIGURE_TEX}


@dataclass(frozen=True, slots=True)
class Request:
    """What ``loopwalk draw`` was asked for."""

    files: tuple[str, ...]
    formats: tuple[str, ...]
    subjects: tuple[Subject, ...]
    out: Path | None
    """None for standard output."""
    view: View
    appearance: Appearance

    @property
    def endings(self) -> dict[str, Ending]:
        """The endings of the results, by format."""
        return {form: _ENDINGS[form] for form in self.formats}


def draw(request: Request) -> int:
    """Draw every file, the ones after a bad one too, and return the exit status."""
    console = Console(progress=len(request.files) > 1)
    return write_each(
        request.files, request.endings, console, lambda name: _draw_one(name, request, console)
    )


def _draw_one(name: str, request: Request, console: Console) -> int:
    from derive.pictures import illustrate

    def work(source: Source) -> int:
        pictures = illustrate(source, request.subjects, request.view, request.appearance)
        for warning in pictures[0].warnings if pictures else ():
            console.say(render(warning, source))
        results = {
            f"{picture.name} {form}".lstrip(): (picture, form)
            for picture in pictures
            for form in request.formats
        }

        def data(result: str) -> bytes | int:
            return _data(*results[result], request.view.width, console)

        if request.out is None:
            return to_standard_output(data(next(iter(results))))
        targets = {
            result: Target(_ENDINGS[form], picture.name)
            for result, (picture, form) in results.items()
        }
        status, written = to_folder(name, request.out, targets, data, console)
        if len(request.files) == 1 and written:
            console.say("wrote " + ", ".join(written))
        return status

    return with_circuit(name, console, work)


def _data(picture: Picture, form: str, width_mm: float | None, console: Console) -> bytes | int:
    """Return a result, or the exit status when there is none."""
    p = picture
    if form == "svg":
        from derive.writers import svg
        from derive.writers.mark import MARK

        element = svg.write(p.drawing, p.style, p.short, p.long, width_mm)
        return f"<!-- {MARK} -->\n{element}".encode()
    from derive.writers import figure_tex

    if form == "pdf":
        page = figure_tex.page(p.drawing, p.style, p.short, p.title, width_mm)
        return pdf(page, console, wanted=True)
    return figure_tex.picture(p.drawing, p.style, p.short, p.title, p.digest, width_mm).encode()
