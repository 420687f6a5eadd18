"""What all commands do with their files: each in turn, told of, none lost for another's sake."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
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

_SET_BY_TEX = (Ending.PDF, Ending.FIGURE_PDF)
_GRAVEST = (BAD_USAGE, BAD_CIRCUIT, ENGINE_FAILED, DONE)
"""With several files the command ends with the first of these that occurred."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where a result of a file goes: what it is, and which of several it is."""

    ending: Ending
    part: str = ""

    def file(self, name: str) -> str:
        """Return the name of the file, for a circuit file."""
        part = f".{self.part}" if self.part else ""
        return stem(name) + part + self.ending.value


def write_each(
    names: tuple[str, ...],
    endings: Mapping[str, Ending],
    console: Console,
    work: Callable[[str], int],
) -> int:
    """Work on every file, the ones after a bad one too, and return the exit status.

    `endings` are those of the results of one file, by format.
    """
    twins = _same_target(names, endings)
    if twins:
        one, other = twins
        console.complain(
            f"{one} and {other} would be written to the same files\n"
            "  hint: rename one of them, or give each a folder of its own with --out"
        )
        return BAD_USAGE
    statuses = []
    for number, name in enumerate(names, 1):
        console.start(f"[{number}/{len(names)}] {name} …")
        statuses.append(guarded(name, console, work))
        console.end()
    if len(names) > 1:
        failed = len(statuses) - statuses.count(DONE)
        console.say(f"{statuses.count(DONE)} of {len(statuses)} done, {failed} failed")
    return gravest(statuses)


def with_circuit(name: str, console: Console, work: Callable[[Source], int]) -> int:
    """Read a file and work on it; show what is wrong with the circuit if that is how it ends."""
    source = files.read(name)
    try:
        return work(source)
    except Rejected as verdict:
        for diagnostic in verdict.diagnostics:
            console.say(render(diagnostic, source))
        return BAD_CIRCUIT


def guarded(name: str, console: Console, work: Callable[[str], int]) -> int:
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


def to_folder(
    name: str,
    out: Path,
    targets: Mapping[str, Target],
    data: Callable[[str], bytes | int],
    console: Console,
) -> tuple[int, list[str]]:
    """Write the results of one file; return the exit status and the paths of what was written.

    `data` gives a result by the name it has in `targets`, or the exit status when there is none.
    """
    status = DONE
    written: list[str] = []
    paths = {result: out / target.file(name) for result, target in targets.items()}
    for result, path in paths.items():
        files.permit(path, targets[result].ending, name)  # either all of them are written or none
    # PDFs come last, so that a TeX that fails takes nothing else with it.
    for result in sorted(paths, key=lambda result: targets[result].ending in _SET_BY_TEX):
        made = data(result)
        if isinstance(made, int):
            status = made
            continue
        files.write(paths[result], made, targets[result].ending, name)
        written.append(str(paths[result]))
        console.add(result)
    return status, written


def to_standard_output(data: bytes | int) -> int:
    """Send a result to standard output, unless it is the exit status that tells why not."""
    if isinstance(data, int):
        return data
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
    return DONE


def pdf(tex_text: str, console: Console, *, wanted: bool) -> bytes | int:
    """Set a document, or return the exit status; without `wanted` a missing TeX is no failure."""
    from derive.engines import tex

    result = tex.compile_pdf(tex_text)
    if isinstance(result, tex.Compiled):
        return result.pdf
    if result.engine is None:
        console.complain_once(_told(result))
        return ENGINE_FAILED if wanted else DONE
    console.complain(_told(result))
    return ENGINE_FAILED


def stem(name: str) -> str:
    """Return what the results of a file are called."""
    return "circuit" if name == "-" else Path(name).stem


def gravest(statuses: list[int]) -> int:
    """Return the status with which a command ends."""
    return next(status for status in _GRAVEST if status in statuses)


def _told(failure: TexFailure) -> str:
    start = "no PDF" if failure.engine is None else f"{failure.engine.kind.value} made no PDF"
    lines = [f"{start}: {failure.message}"]
    if failure.line is not None:
        lines.append(f"  line {failure.line}: {failure.source}")
    lines.append(f"  hint: {failure.hint}")
    if failure.log is not None:
        lines.append(f"  log: {failure.log}")
    return "\n".join(lines)


def _same_target(names: tuple[str, ...], endings: Mapping[str, Ending]) -> tuple[str, str] | None:
    seen: dict[str, str] = {}
    for name in names:
        # Some file systems do not tell capitals from small letters.
        for target in {Target(e).file(name).casefold(): None for e in endings.values()}:
            if target in seen:
                return seen[target], name
            seen[target] = name
    return None
