"""What a command does with one file, whatever happens to the file."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Protocol

from derive.cli.console import Voice
from derive.cli.results import Built
from derive.cli.status import BAD_CIRCUIT, BAD_USAGE, ENGINE_FAILED
from derive.diagnostic import Rejected, printable, render
from derive.engines import files
from derive.engines.files import Refused, Unreadable
from derive.engines.ours import Ending
from derive.source import Source


class Work(Protocol):
    """What a command does with each of its files; it can be sent to other processes."""

    @property
    def files(self) -> tuple[str, ...]:
        """The files, in the order of the command line."""

    @property
    def endings(self) -> Mapping[str, Ending]:
        """The endings of the results of one file, by format."""

    @property
    def out(self) -> Path | None:
        """The folder for the results; None for standard output."""

    @property
    def asked(self) -> str:
        """What is asked for, as a text that tells it from everything else."""

    def build(self, name: str, voice: Voice) -> Built:
        """Work on one file."""


def with_circuit(name: str, voice: Voice, work: Callable[[Source], Built]) -> Built:
    """Read a file and work on it; show what is wrong with the circuit if that is how it ends."""
    source = files.read(name)
    try:
        return work(source)
    except Rejected as verdict:
        for diagnostic in verdict.diagnostics:
            voice.say(render(diagnostic, source))
        return Built(BAD_CIRCUIT)


def shown(name: str) -> str:
    """Return the name of a file as it can be told from the words around it."""
    return "standard input" if name == "-" else printable(name) or "''"


def guarded(name: str, voice: Voice, work: Callable[[str, Voice], Built]) -> Built:
    """Work on one file; whatever happens, the other files get their turn."""
    try:
        return work(name, voice)
    except Unreadable as fault:
        hint = f"\n  hint: {fault.hint}" if fault.hint else ""
        voice.complain(f"{shown(name)} {fault}{hint}")
        return Built(BAD_USAGE)
    except Refused as fault:
        hint = "choose a folder with --out, or move the file away"
        voice.complain(f"{printable(str(fault))}\n  hint: {hint}")
        return Built(BAD_USAGE)
    except BrokenPipeError:
        raise
    except OSError as fault:
        place = f"{printable(str(fault.filename))}: " if fault.filename else ""
        voice.complain(f"{shown(name)}: the result cannot be written: {place}{fault.strerror}")
        return Built(ENGINE_FAILED)
    except Exception as fault:
        if os.environ.get("LOOPWALK_TRACEBACK"):
            raise
        told = printable(f"{type(fault).__name__}: {fault}")
        voice.complain(
            f"{shown(name)}: the program failed ({told})\n"
            "  hint: this is a fault of Loopwalk, not of the circuit; please report the file"
        )
        return Built(ENGINE_FAILED)
