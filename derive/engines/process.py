"""Run a foreign program in a folder, with a time limit and with nothing to ask from."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

_LAST_WORDS_TIME = 2.0
"""Seconds to wait for the output of a program that has been killed."""


@dataclass(frozen=True, slots=True)
class Said:
    """How a program ended, and what it printed."""

    status: int | None
    """None when it ran out of time or could not be started."""
    output: str
    """What it printed; if there is no status, why."""
    started: bool = True


def run(
    command: Sequence[str], folder: Path, timeout: float, environment: Mapping[str, str]
) -> Said:
    """Run a program to its end, or to the end of its time."""
    try:
        process = subprocess.Popen(
            command,
            cwd=folder,
            env={**os.environ, **environment},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    except OSError as fault:
        return Said(None, f"{command[0]} could not be started: {fault.strerror}", started=False)
    try:
        output, _ = process.communicate(timeout=timeout)
    except subprocess.TimeoutExpired:
        _stop(process)
        return Said(None, f"it was stopped after {round(timeout, 1):g} s")
    except BaseException:
        _stop(process)
        raise
    return Said(process.returncode, output.decode("utf-8", "replace"))


def _stop(process: subprocess.Popen[bytes]) -> None:
    """Stop a program and what it started: latexmk runs TeX as a child."""
    if sys.platform == "win32":
        process.kill()
    else:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    with suppress(subprocess.TimeoutExpired):
        process.communicate(timeout=_LAST_WORDS_TIME)
