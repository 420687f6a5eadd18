"""Several files at once, each in a process of its own; told of in the order of the command line."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.connection import wait

from derive.cli.console import Bar, Console, Notes
from derive.cli.results import Built
from derive.cli.status import ENGINE_FAILED
from derive.cli.work import Work, guarded, shown

_LOADED_ONCE = ["derive.pipeline", "derive.writers.latex"]
"""What takes long to import, and every process needs."""
_LAST_SECONDS = 5.0
"""For a process to end what it has begun when the first one is gone."""


def build_at_once(
    work: Work, names: Sequence[str], console: Console, bar: Bar, jobs: int
) -> Iterator[tuple[Notes, Built]]:
    """Yield what was said and built for each file, in order, while others are worked on."""
    with ProcessPoolExecutor(jobs, _context(), _begin) as pool:
        waiting = [pool.submit(_build, work, name) for name in names]
        for future in waiting:
            future.add_done_callback(lambda _: bar.advance())
        try:
            for name, future in zip(names, waiting, strict=True):
                notes, built = _result(name, future)
                console.tell(notes)
                yield notes, built
        finally:
            if not all(future.done() for future in waiting):  # somebody wants it to end
                pool.shutdown(wait=False, cancel_futures=True)
                for process in multiprocessing.active_children():
                    process.terminate()


def _context() -> multiprocessing.context.BaseContext:
    """Return a way to start processes that is safe beside threads and quick where it can be."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(_LOADED_ONCE)
        return context
    return multiprocessing.get_context("spawn")


def _begin() -> None:
    # Ctrl-C at the terminal goes to every process: the first one ends the others in order.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _end)
    threading.Thread(target=_end_with_the_first, daemon=True).start()


def _end(*_: object) -> None:
    if _at_work.is_set():
        sys.exit(1)  # an exception: a TeX that runs is to be ended too
    os._exit(1)


_at_work = threading.Event()
"""Set while this process works on a file."""


def _end_with_the_first() -> None:
    """Wait for the end of the first process, which may be killed outright, and end too."""
    first = multiprocessing.parent_process()
    if first is not None:
        wait([first.sentinel])
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(_LAST_SECONDS)
        os._exit(1)


def _build(work: Work, name: str) -> tuple[Notes, Built]:
    notes = Notes()
    _at_work.set()
    try:
        return notes, guarded(name, notes, work.build)
    except SystemExit:
        os._exit(1)
    finally:
        _at_work.clear()


def _result(name: str, future: Future[tuple[Notes, Built]]) -> tuple[Notes, Built]:
    try:
        return future.result()
    except BrokenProcessPool:
        notes = Notes()
        told = "its process was killed from outside; run the command again"
        notes.complain(f"{shown(name)}: {told}")
        return notes, Built(ENGINE_FAILED)
