"""What the command does with its files: read, solve, write, and tell how it went."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli.console import Console
from derive.cli.status import BAD_CIRCUIT, BAD_USAGE, DONE, ENGINE_FAILED
from derive.diagnostic import Rejected, render
from derive.engines import files
from derive.engines.files import Ending, Refused, Unreadable
from derive.source import Source

if TYPE_CHECKING:
    from derive.engines.tex import TexFailure
    from derive.pipeline import Options, Solution

_GRAVEST = (BAD_USAGE, BAD_CIRCUIT, ENGINE_FAILED, DONE)
"""With several files the command ends with the first of these that occurred."""

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


def solve(request: Request) -> int:
    """Solve every file, the ones after a bad one too, and return the exit status."""
    many = len(request.files) > 1
    console = Console(progress=many)
    twins = _same_target(request)
    if twins:
        one, other = twins
        console.complain(
            f"{one} and {other} would be written to the same files\n"
            "  hint: rename one of them, or give each a folder of its own with --out"
        )
        return BAD_USAGE
    statuses = []
    for number, name in enumerate(request.files, 1):
        console.start(f"[{number}/{len(request.files)}] {name} …")
        statuses.append(_guarded(name, console, lambda n: _solve_one(n, request, console)))
        console.end()
    if many:
        failed = len(statuses) - statuses.count(DONE)
        console.say(f"{statuses.count(DONE)} of {len(statuses)} done, {failed} failed")
    return _gravest(statuses)


def formula(names: tuple[str, ...], options: Options) -> int:
    """Print the formulas of every file and return the exit status."""
    console = Console(progress=False)
    statuses = []
    for name in names:
        if len(names) > 1:
            print(f"# {name}")
        statuses.append(_guarded(name, console, lambda n: _formula_one(n, options, console)))
    return _gravest(statuses)


def _formula_one(name: str, options: Options, console: Console) -> int:
    from derive import pipeline

    def work(source: Source) -> int:
        for line in pipeline.formula(source, _announced(name, options, console)):
            print(line)
        return DONE

    return _with_circuit(name, console, work)


def _solve_one(name: str, request: Request, console: Console) -> int:
    from derive import pipeline

    def work(source: Source) -> int:
        solution = pipeline.solve(source, _announced(name, request.options, console))
        for warning in solution.warnings:
            console.say(render(warning, source))
        if request.out is None:
            return _to_standard_output(solution, request.formats[0], name, console)
        return _to_folder(solution, request, name, request.out, console)

    return _with_circuit(name, console, work)


def _announced(name: str, options: Options, console: Console) -> Options:
    """Return options that tell the reader beforehand of a long formula."""
    return replace(options, announce=lambda words: console.say(f"{name}: {words}"))


def _with_circuit(name: str, console: Console, work: Callable[[Source], int]) -> int:
    """Read a file and work on it; show what is wrong with the circuit if that is how it ends."""
    source = files.read(name)
    try:
        return work(source)
    except Rejected as verdict:
        for diagnostic in verdict.diagnostics:
            console.say(render(diagnostic, source))
        return BAD_CIRCUIT


def _guarded(name: str, console: Console, work: Callable[[str], int]) -> int:
    """Work on one file; whatever happens, the other files get their turn."""
    try:
        return work(name)
    except Unreadable as fault:
        hint = f"\n  hint: {fault.hint}" if fault.hint else ""
        console.complain(f"{'standard input' if name == '-' else name} {fault}{hint}")
        return BAD_USAGE
    except Refused as fault:
        console.complain(f"{fault}\n  hint: choose a folder with --out, or move the file away")
        return BAD_USAGE
    except BrokenPipeError:
        raise
    except OSError as fault:
        place = f"{fault.filename}: " if fault.filename else ""
        console.complain(f"{name}: the result cannot be written: {place}{fault.strerror}")
        return ENGINE_FAILED
    except Exception as fault:
        if os.environ.get("LOOPWALK_TRACEBACK"):
            raise
        console.complain(
            f"{name}: the program failed ({type(fault).__name__}: {fault})\n"
            "  hint: this is a fault of Loopwalk, not of the circuit; please report the file"
        )
        return ENGINE_FAILED


def _to_folder(solution: Solution, request: Request, name: str, out: Path, console: Console) -> int:
    status = DONE
    written: list[str] = []
    targets = {form: out / _target(name, form) for form in request.formats}
    for form, path in targets.items():
        files.permit(path, _ENDINGS[form], name)  # either all of them are written or none
    # The PDF comes last, so that a TeX that fails takes nothing else with it.
    for form, path in sorted(targets.items(), key=lambda target: target[0] == "pdf"):
        data = _data(solution, form, name, console, chosen=request.chosen)
        if isinstance(data, int):
            status = data
            continue
        files.write(path, data, _ENDINGS[form], name)
        written.append(str(path))
        console.add(form)
    if len(request.files) == 1:
        _print_answers(solution)
        if written:
            console.say("wrote " + ", ".join(written))
    return status


def _to_standard_output(solution: Solution, form: str, name: str, console: Console) -> int:
    data = _data(solution, form, name, console, chosen=True)
    if isinstance(data, int):
        return data
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
    return DONE


def _data(
    solution: Solution, form: str, name: str, console: Console, *, chosen: bool
) -> bytes | int:
    """Return a result, or the exit status when there is none."""
    if form == "pdf":
        return _pdf(solution, console, chosen=chosen)
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
        return latex.fragment(solution.document, _stem(name))
    return latex.write(solution.document)


def _pdf(solution: Solution, console: Console, *, chosen: bool) -> bytes | int:
    from derive.engines import tex

    result = tex.compile_pdf(_text(solution, "tex", ""))
    if isinstance(result, tex.Compiled):
        return result.pdf
    if result.engine is None:
        console.complain_once(_told(result))
        return ENGINE_FAILED if chosen else DONE
    console.complain(_told(result))
    return ENGINE_FAILED


def _told(failure: TexFailure) -> str:
    start = "no PDF" if failure.engine is None else f"{failure.engine.kind.value} made no PDF"
    lines = [f"{start}: {failure.message}"]
    if failure.line is not None:
        lines.append(f"  line {failure.line}: {failure.source}")
    lines.append(f"  hint: {failure.hint}")
    if failure.log is not None:
        lines.append(f"  log: {failure.log}")
    return "\n".join(lines)


def _print_answers(solution: Solution) -> None:
    from derive.writers.text_math import inline
    from derive.writers.text_wrap import unglue

    for chain in solution.summary:
        print(unglue(inline(chain, solution.document.style)))


def _stem(name: str) -> str:
    return "circuit" if name == "-" else Path(name).stem


def _target(name: str, form: str) -> str:
    return _stem(name) + _ENDINGS[form].value


def _same_target(request: Request) -> tuple[str, str] | None:
    seen: dict[str, str] = {}
    for name in request.files:
        # Some file systems do not tell capitals from small letters.
        for target in {_target(name, form).casefold(): None for form in request.formats}:
            if target in seen:
                return seen[target], name
            seen[target] = name
    return None


def _gravest(statuses: list[int]) -> int:
    return next(status for status in _GRAVEST if status in statuses)
