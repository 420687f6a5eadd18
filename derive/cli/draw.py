"""``loopwalk draw``: the figure alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli import setting
from derive.cli.console import Voice
from derive.cli.results import Built, Made, Target, to_folder, to_standard_output
from derive.cli.work import with_circuit
from derive.diagnostic import render
from derive.engines.ours import Ending
from derive.engines.pages import Wanted
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
    engine: Wanted

    @property
    def endings(self) -> Mapping[str, Ending]:
        """The endings of the results, by format."""
        return {form: _ENDINGS[form] for form in self.formats}

    @property
    def asked(self) -> str:
        """What is asked for, as a text that tells it from everything else."""
        return repr(replace(self, files=()))

    def build(self, name: str, voice: Voice) -> Built:
        """Draw one file and write its figures."""
        from derive.pictures import illustrate

        def work(source: Source) -> Built:
            pictures = illustrate(source, self.subjects, self.view, self.appearance)
            for warning in pictures[0].warnings if pictures else ():
                voice.say(render(warning, source))
            results = {
                f"{picture.name} {form}".lstrip(): (picture, form)
                for picture in pictures
                for form in self.formats
            }

            def data(result: str) -> Made | int:
                return self._made(*results[result], voice)

            if self.out is None:
                return Built(to_standard_output(data(next(iter(results)))))
            targets = {
                result: Target(_ENDINGS[form], picture.name)
                for result, (picture, form) in results.items()
            }
            status, written = to_folder(name, self.out, targets, data, voice)
            return Built(status, tuple(written))

        return with_circuit(name, voice, work)

    def _made(self, picture: Picture, form: str, voice: Voice) -> Made | int:
        """Return a result, or the exit status when there is none."""
        p, width_mm = picture, self.view.width
        match form:
            case "svg":
                from derive.writers import svg
                from derive.writers.mark import MARK

                element = svg.write(p.drawing, p.style, p.short, p.long, width_mm)
                return Made(f"<!-- {MARK} -->\n{element}".encode())
            case "pdf":
                return setting.pdf(
                    lambda: self._tex_page(p), lambda: self._typst_page(p), self.engine, voice
                )
            case _:
                from derive.writers import figure_tex

                text = figure_tex.picture(p.drawing, p.style, p.short, p.title, p.digest, width_mm)
                return Made(text.encode())

    def _tex_page(self, p: Picture) -> str:
        from derive.writers import figure_tex

        return figure_tex.page(p.drawing, p.style, p.short, p.title, self.view.width)

    def _typst_page(self, p: Picture) -> str:
        from derive.writers import figure_typst

        return figure_typst.page(p.drawing, p.style, p.short, p.long, p.title, self.view.width)
