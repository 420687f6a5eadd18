"""``--watch``: a file is worked on again whenever it is saved, until somebody presses Ctrl-C."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence

from derive.cli.console import Console
from derive.cli.status import BAD_USAGE, DONE
from derive.diagnostic import printable

_PAUSE = 0.15
"""Seconds between two looks at the files; editors need longer to save one."""

State = tuple[int, int, int]


def watch(names: Sequence[str], console: Console, build: Callable[[tuple[str, ...]], int]) -> int:
    """Work on files now, and on each again when it has been saved; return the exit status.

    Wrong usage ends it at once.
    """
    states = {name: _state(name) for name in names}
    if _timed(tuple(names), console, build) == BAD_USAGE:
        return BAD_USAGE
    console.say(f"watching {_told(names)}; Ctrl-C ends it")
    try:
        while True:
            time.sleep(_PAUSE)
            saved = tuple(name for name in names if _is_saved(name, states))
            if saved:
                _timed(saved, console, build)
    except KeyboardInterrupt:
        console.say("no longer watching")
        return DONE


def _timed(
    names: tuple[str, ...], console: Console, build: Callable[[tuple[str, ...]], int]
) -> int:
    begun = time.monotonic()
    status = build(names)
    console.say(f"{_told(names)} took {time.monotonic() - begun:.2f} s")
    return status


def _is_saved(name: str, states: dict[str, State | None]) -> bool:
    state = _state(name)
    # An editor may take a file away for a moment while it saves it.
    if state is None or state == states[name]:
        return False
    states[name] = state
    return True


def _state(name: str) -> State | None:
    try:
        found = os.stat(name)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _told(names: Sequence[str]) -> str:
    return printable(names[0]) if len(names) == 1 else f"{len(names)} files"
