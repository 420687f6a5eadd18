"""``loopwalk solve`` and ``loopwalk formula``: read, solve, write, and tell how it went."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli.console import Console
from derive.cli.each import (
    Target,
    gravest,
    guarded,
    pdf,
    stem,
    to_folder,
    to_standard_output,
    with_circuit,
    write_each,
)
from derive.cli.status import DONE
from derive.diagnostic import render
from derive.engines.files import Ending
from derive.source import Source

if TYPE_CHECKING:
    from derive.pipeline import Options, Solution

_ENDINGS = {
    "tex": Ending.TEX,
    "fragment": Ending.FRAGMENT,
    "pdf": Ending.PDF,
    "text": Ending.TEXT,
    "json": Ending.JSON,
}


@dataclass(frozen=True, slots=True)
class Request:
    """What ``loopwalk solve`` was asked for."""

    files: tuple[str, ...]
    formats: tuple[str, ...]
    chosen: bool
    """True when the user named the formats, so that a missing TeX is a failure."""
    out: Path | None
    """None for standard output."""
    options: Options

    @property
    def endings(self) -> dict[str, Ending]:
        """The endings of the results, by format."""
        return {form: _ENDINGS[form] for form in self.formats}


def solve(request: Request) -> int:
    """Solve every file, the ones after a bad one too, and return the exit status."""
    console = Console(progress=len(request.files) > 1)
    return write_each(
        request.files, request.endings, console, lambda name: _solve_one(name, request, console)
    )


def formula(names: tuple[str, ...], options: Options) -> int:
    """Print the formulas of every file and return the exit status."""
    console = Console(progress=False)
    statuses = []
    for name in names:
        if len(names) > 1:
            print(f"# {name}")
        statuses.append(guarded(name, console, lambda n: _formula_one(n, options, console)))
    return gravest(statuses)


def _formula_one(name: str, options: Options, console: Console) -> int:
    from derive import pipeline

    def work(source: Source) -> int:
        for line in pipeline.formula(source, _announced(name, options, console)):
            print(line)
        return DONE

    return with_circuit(name, console, work)


def _solve_one(name: str, request: Request, console: Console) -> int:
    from derive import pipeline

    def work(source: Source) -> int:
        solution = pipeline.solve(source, _announced(name, request.options, console))
        for warning in solution.warnings:
            console.say(render(warning, source))
        if request.out is None:
            form = request.formats[0]
            return to_standard_output(_data(solution, form, name, console, chosen=True))
        return _to_folder(solution, request, name, request.out, console)

    return with_circuit(name, console, work)


def _announced(name: str, options: Options, console: Console) -> Options:
    """Return options that tell the reader beforehand of a long formula."""
    return replace(options, announce=lambda words: console.say(f"{name}: {words}"))


def _to_folder(solution: Solution, request: Request, name: str, out: Path, console: Console) -> int:
    status, written = to_folder(
        name,
        out,
        {form: Target(ending) for form, ending in request.endings.items()},
        lambda form: _data(solution, form, name, console, chosen=request.chosen),
        console,
    )
    if len(request.files) == 1:
        _print_answers(solution)
        if written:
            console.say("wrote " + ", ".join(written))
    return status


def _data(
    solution: Solution, form: str, name: str, console: Console, *, chosen: bool
) -> bytes | int:
    """Return a result, or the exit status when there is none."""
    if form == "pdf":
        return pdf(_text(solution, "tex", ""), console, wanted=chosen)
    return _text(solution, form, name).encode()


def _text(solution: Solution, form: str, name: str) -> str:
    # Each writer is imported when it is asked for: pylatex alone takes some 40 ms.
    if form == "json":
        from derive.writers import answers_json

        return answers_json.write(solution.contract)
    if form == "text":
        from derive.writers import text

        return text.write(solution.document)
    from derive.writers import latex

    if form == "fragment":
        return latex.fragment(solution.document, stem(name))
    return latex.write(solution.document)


def _print_answers(solution: Solution) -> None:
    from derive.writers.text_math import inline
    from derive.writers.text_wrap import unglue

    for chain in solution.summary:
        print(unglue(inline(chain, solution.document.style)))
