"""What became of texts that were read: counts, the slowest, failures; it can be put in a file."""

from __future__ import annotations

import json
import random
import resource
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

LIMIT = 20.0
"""Seconds of the processor that a text may take to be read, or to be solved and written."""
MEMORY = 1 << 30
"""Bytes that a process may take."""
_MOST_FAILURES = 20
_SLOWEST = 5
_EVERY = 500
"""Texts after which the report is written."""


class TooLong(BaseException):
    """A text took too long; no `except Exception` may take this for something else."""


@contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Raise TooLong when this process has worked for so long."""

    def stop(*_: object) -> None:
        raise TooLong(f"more than {seconds} s of the processor")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@dataclass
class Tally:
    """Reads texts, and counts."""

    report: Path | None = None
    choose: random.Random = field(default_factory=lambda: random.Random(0))
    solved: float = 0.0
    """Share of the circuits that are solved and written."""
    inputs: int = 0
    memory: int = 0
    """Bytes, of the largest process."""
    results: Counter[str] = field(default_factory=Counter)
    codes: Counter[str] = field(default_factory=Counter)
    slowest_read: list[tuple[float, str]] = field(default_factory=list)
    slowest_solved: list[tuple[float, str]] = field(default_factory=list)
    failures: list[tuple[str, str]] = field(default_factory=list)
    """Texts, and what happened."""
    seen: set[str] = field(default_factory=set)
    """Where failures were raised: each place is told once."""

    def take(self, text: str) -> None:
        """Read a text, and solve it if it is a circuit and its turn."""
        self.inputs += 1
        if self._in_time(text, self.slowest_read, self._read):
            self.results["circuit"] += 1
            if self.choose.random() < self.solved:
                self._in_time(text, self.slowest_solved, self._solve)
        if self.inputs % _EVERY == 0:
            self.write()

    def _in_time(self, text: str, slowest: list[tuple[float, str]], work) -> bool:  # type: ignore[no-untyped-def]
        begin = time.process_time()
        try:
            with limited(LIMIT):
                return work(text)
        except (KeyboardInterrupt, SystemExit):
            raise
        except BaseException as fault:
            place = traceback.extract_tb(fault.__traceback__)[-1]
            where = f"{type(fault).__name__} {place.filename} {place.lineno}"
            if where not in self.seen and len(self.failures) < _MOST_FAILURES:
                self.failures.append((text, traceback.format_exc(limit=-6)))
            self.seen.add(where)
            self.results["failed"] += 1
            return False
        finally:
            slowest.append((time.process_time() - begin, text))
            slowest.sort(reverse=True)
            del slowest[_SLOWEST:]

    def _read(self, text: str) -> bool:
        from derive.diagnostic import Severity
        from tests.language.text_strategies import read_or_refused

        refused = read_or_refused(text)
        if refused is None:
            return True
        first = next(d for d in refused.diagnostics if d.severity is Severity.ERROR)
        self.results["refused"] += 1
        self.codes[first.code] += 1
        return False

    def _solve(self, text: str) -> bool:
        from derive.diagnostic import Rejected, render
        from derive.document.narrate import Detail
        from derive.options import Group, Options
        from derive.pipeline import solve
        from derive.source import Source
        from derive.writers import text as plain

        source = Source("fuzz.circuit", text)
        options = Options(
            numbers_first=self.choose.random() < 0.3,
            detail=self.choose.choice(list(Detail)),
            group=self.choose.choice(list(Group)),
            expanded=self.choose.random() < 0.2,
        )
        try:
            assert plain.write(solve(source, options).document)
        except Rejected as refused:
            for diagnostic in refused.diagnostics:
                render(diagnostic, source)
            self.results["not solved"] += 1
            return False
        self.results["solved"] += 1
        return True

    def write(self) -> None:
        """Put what is known into the report."""
        if self.report is None:
            return
        self.memory = 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        fields = {
            name: getattr(self, name)
            for name in (
                "inputs", "memory", "results", "codes", "slowest_read", "slowest_solved", "failures",
            )
        }  # fmt: skip
        self.report.write_text(json.dumps(fields), "utf-8")

    @staticmethod
    def read(report: Path) -> Tally:
        """Return what a report holds; nothing if there is none."""
        tally = Tally()
        if report.exists():
            fields = json.loads(report.read_text("utf-8"))
            tally.inputs, tally.memory = fields["inputs"], fields["memory"]
            tally.results, tally.codes = Counter(fields["results"]), Counter(fields["codes"])
            tally.slowest_read = [tuple(pair) for pair in fields["slowest_read"]]
            tally.slowest_solved = [tuple(pair) for pair in fields["slowest_solved"]]
            tally.failures = [tuple(pair) for pair in fields["failures"]]
        return tally

    def add(self, other: Tally) -> None:
        """Add what another has counted."""
        self.inputs += other.inputs
        self.memory = max(self.memory, other.memory)
        self.results.update(other.results)
        self.codes.update(other.codes)
        self.slowest_read += other.slowest_read
        self.slowest_solved += other.slowest_solved
        known = {fault.strip().rsplit("\n", 2)[-2:][0] for _, fault in self.failures}
        for text, fault in other.failures:
            if fault.strip().rsplit("\n", 2)[-2:][0] not in known:
                self.failures.append((text, fault))
