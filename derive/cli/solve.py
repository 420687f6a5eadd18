"""``loopwalk solve``: read, solve, write, and tell how it went."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli import setting
from derive.cli.console import Voice
from derive.cli.results import (
    Built,
    Made,
    Target,
    stem,
    to_folder,
    to_standard_output,
)
from derive.cli.status import BAD_USAGE
from derive.cli.work import shown, with_circuit
from derive.diagnostic import render
from derive.engines import files
from derive.engines.ours import Ending
from derive.engines.pages import Wanted
from derive.source import Source

if TYPE_CHECKING:
    from derive.options import Options
    from derive.pipeline import Solution

_ENDINGS = {
    "tex": Ending.TEX,
    "fragment": Ending.FRAGMENT,
    "pdf": Ending.PDF,
    "typst": Ending.TYPST,
    "html": Ending.HTML,
    "markdown": Ending.MARKDOWN,
    "text": Ending.TEXT,
    "json": Ending.JSON,
    "proof": Ending.PROOF,
    "png": Ending.PAGE_PNG,
    "svg": Ending.PAGE_SVG,
}
_OF_PAGES = ("png", "svg")
_DPI = 150.0
"""Of the pictures of pages."""


@dataclass(frozen=True, slots=True)
class Request:
    """What ``loopwalk solve`` was asked for."""

    files: tuple[str, ...]
    formats: tuple[str, ...]
    out: Path | None
    """None for standard output."""
    options: Options
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
        """Solve one file and write its results."""
        from derive import pipeline

        def work(source: Source) -> Built:
            options = replace(
                self.options, announce=lambda words: voice.say(f"{shown(name)}: {words}")
            )
            solution = pipeline.solve(source, options)
            for warning in solution.warnings:
                voice.say(render(warning, source))
            results = _Results(solution, source, name, self.engine, voice)
            if self.out is None:
                return Built(_one(results, self.formats[0], voice))
            return results.written(self.formats, self.out)

        return with_circuit(name, voice, work)


def _one(results: _Results, form: str, voice: Voice) -> int:
    if form in _OF_PAGES:
        pages = results.pages(form)
        if not isinstance(pages, int) and len(pages) > 1:
            voice.complain(f"there are {len(pages)} pages; write them to a folder with --out")
            return BAD_USAGE
        return to_standard_output(pages if isinstance(pages, int) else pages[0])
    return to_standard_output(results.made(form))


@dataclass(frozen=True, slots=True)
class _Results:
    """The results of one solution."""

    solution: Solution
    source: Source
    name: str
    engine: Wanted
    voice: Voice
    texts: dict[str, str] = field(default_factory=dict)
    """What has been written already: a page and its text are often both wanted."""

    def written(self, formats: tuple[str, ...], out: Path) -> Built:
        """Write all results to a folder."""
        results: dict[str, tuple[str, int | None]] = {}
        targets: dict[str, Target] = {}
        paged: dict[str, tuple[Made, ...] | int] = {}
        for form in formats:
            if form not in _OF_PAGES:
                targets[form] = Target(_ENDINGS[form])
                continue
            found = paged[form] = self.pages(form)
            count = 1 if isinstance(found, int) else len(found)
            for page in range(count):
                targets[f"{form} {page + 1}"] = Target(_ENDINGS[form], f"page-{page + 1}")
                results[f"{form} {page + 1}"] = form, page

        def data(result: str) -> Made | int:
            form, page = results.get(result, (result, None))
            if page is None:
                return self.made(form)
            found = paged[form]
            return found if isinstance(found, int) else found[page]

        status, written = to_folder(self.name, out, targets, data, self.voice)
        for form, pages in paged.items():
            if not isinstance(pages, int):
                self._remove_after(len(pages), _ENDINGS[form], out)
        return Built(status, tuple(written), self._answers())

    def _remove_after(self, last: int, ending: Ending, out: Path) -> None:
        """Remove pages of ours that the solution had before."""
        page = last + 1
        while files.remove(out / Target(ending, f"page-{page}").file(self.name), ending):
            page += 1

    def made(self, form: str) -> Made | int:
        """Return a result that is one file."""
        if form == "pdf":
            return setting.pdf(
                lambda: self._text("tex"), lambda: self._text("typst"), self.engine, self.voice
            )
        return Made(self._text(form).encode())

    def pages(self, form: str) -> tuple[Made, ...] | int:
        """Return a picture of every page."""
        text = self._text("typst")
        return setting.pictures(text, "png" if form == "png" else "svg", _DPI, self.voice)

    def _text(self, form: str) -> str:
        if form not in self.texts:
            self.texts[form] = self._spelled(form)
        return self.texts[form]

    def _spelled(self, form: str) -> str:
        # Each writer is imported when it is asked for: pylatex alone takes some 40 ms.
        solution = self.solution
        match form:
            case "json":
                from derive.writers import answers_json

                return answers_json.write(solution.contract)
            case "proof":
                from derive import proof

                return proof.write(solution, self.source)
            case "text":
                from derive.writers import text

                return text.write(solution.document)
            case "typst":
                from derive.writers import typst

                return typst.write(solution.document)
            case "html":
                from derive.writers import html

                return html.write(solution.document, solution.live())
            case "markdown":
                from derive.writers import markdown

                return markdown.write(solution.document)
            case "fragment":
                from derive.writers import latex

                return latex.fragment(solution.document, stem(self.name))
            case _:
                from derive.writers import latex

                return latex.write(solution.document)

    def _answers(self) -> tuple[str, ...]:
        from derive.writers.text_math import inline
        from derive.writers.text_wrap import unglue

        solution, style = self.solution, self.solution.document.style
        if solution.switching is None:
            return tuple(unglue(inline(chain, style)) for chain in solution.summary)
        before, after = (
            {chain.sides[0]: unglue(inline(chain, style)) for chain in chains}
            for chains in (solution.summary_before, solution.summary)
        )
        return tuple(_both(before.get(s), after.get(s)) for s in dict.fromkeys((*after, *before)))


def _both(before: str | None, after: str | None) -> str:
    """Put ``I1 = …`` of two states in one line."""
    if before is None or after is None:
        return f"{before} before" if after is None else f"{after} after"
    name = re.split(r" [=≈]", after, maxsplit=1)[0]
    return f"{before} before, {after.removeprefix(name).lstrip()} after"
