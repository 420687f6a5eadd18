"""The results of one file: what they are called, and how they are written."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from derive.cli.console import Voice
from derive.cli.status import DONE
from derive.diagnostic import printable
from derive.engines import files
from derive.engines.ours import Ending

_SET_BY_ENGINE = (Ending.PDF, Ending.FIGURE_PDF, Ending.PAGE_PNG, Ending.PAGE_SVG)


@dataclass(frozen=True, slots=True)
class Made:
    """The bytes of a result."""

    data: bytes
    engine: str = ""
    """What set it, where an engine did."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where a result of a file goes: what it is, and which of several it is."""

    ending: Ending
    part: str = ""

    def file(self, name: str) -> str:
        """Return the name of the file, for a circuit file."""
        part = f".{self.part}" if self.part else ""
        return stem(name) + part + self.ending.value


@dataclass(frozen=True, slots=True)
class Written:
    """A result that is on the disk."""

    path: str
    engine: str = ""

    def __str__(self) -> str:
        """Return the path, and what set it."""
        path = printable(self.path)
        return f"{path} (by {self.engine})" if self.engine else path


@dataclass(frozen=True, slots=True)
class Built:
    """What became of one file."""

    status: int
    written: tuple[Written, ...] = ()
    answers: tuple[str, ...] = ()
    """For the terminal."""
    unchanged: bool = False
    """True when the results were there already."""


def stem(name: str) -> str:
    """Return what the results of a file are called."""
    return "circuit" if name == "-" else Path(name).stem


def to_folder(
    name: str,
    out: Path,
    targets: Mapping[str, Target],
    data: Callable[[str], Made | int],
    voice: Voice,
) -> tuple[int, list[Written]]:
    """Write the results of one file; return the exit status and what was written.

    `data` gives a result by the name it has in `targets`, or the exit status when there is none.
    """
    status = DONE
    written: list[Written] = []
    paths = {result: out / target.file(name) for result, target in targets.items()}
    for result, path in paths.items():
        files.permit(path, targets[result].ending, name)  # either all of them are written or none
    # What an engine sets comes last, so that an engine that fails takes nothing else with it.
    for result in sorted(paths, key=lambda result: targets[result].ending in _SET_BY_ENGINE):
        made = data(result)
        if isinstance(made, int):
            status = made
            continue
        files.write(paths[result], made.data, targets[result].ending, name)
        written.append(Written(str(paths[result]), made.engine))
        voice.add(result)
    return status, written


def to_standard_output(made: Made | int) -> int:
    """Send a result to standard output, unless it is the exit status that tells why not."""
    if isinstance(made, int):
        return made
    sys.stdout.flush()
    sys.stdout.buffer.write(made.data)
    sys.stdout.buffer.flush()
    return DONE
