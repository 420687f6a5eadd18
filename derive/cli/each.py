"""What all commands do with their files: each in turn, told of, none lost for another's sake."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from derive.cli.console import Bar, Console, Heard, Notes, print_answers
from derive.cli.record import Record
from derive.cli.results import Built, Target
from derive.cli.status import BAD_CIRCUIT, BAD_USAGE, DONE, ENGINE_FAILED
from derive.cli.work import Work, guarded, shown
from derive.engines.ours import Ending

_GRAVEST = (BAD_USAGE, BAD_CIRCUIT, ENGINE_FAILED, DONE)
"""With several files the command ends with the first of these that occurred."""

_MOST_NAMED = 20
"""Failed files that are listed in the end."""

_WORTH_A_PROCESS = 3
"""Files for which another process is started."""


def run_all(work: Work, console: Console, jobs: int | None = None, *, rebuild: bool = False) -> int:
    """Work on every file, the ones after a bad one too, and return the exit status.

    Of several files as many as `jobs` are worked on at once, by default as many as the machine has
    processors for. Results that are there already are made again only to `rebuild` them.
    """
    twins = _same_target(work.files, work.endings)
    if twins:
        console.complain(_told_of_twins(*twins))
        return BAD_USAGE
    begun = time.monotonic()
    built: list[Built] = []
    owners: dict[str, str] = {}
    try:
        found_all = _in_turn(work, console, jobs, rebuild=rebuild)
        for name, found in zip(work.files, found_all, strict=True):
            built.append(_once(name, found, owners, console))
            if len(work.files) == 1:
                tell(found, console)
    finally:
        console.end()
    if len(work.files) > 1:
        console.say(_summary(work.files, built, time.monotonic() - begun))
    return gravest([found.status for found in built])


def _once(name: str, found: Built, owners: dict[str, str], console: Console) -> Built:
    """Complain of a result that another file of this run was written to; it is known only now."""
    for written in found.written:
        owner = owners.setdefault(written.path, name)
        if owner != name:
            console.complain(
                f"{shown(owner)} and {shown(name)} were both written to {shown(written.path)}\n"
                "  hint: rename one of them, or give each a folder of its own with --out"
            )
            return replace(found, status=BAD_USAGE)
    return found


def _in_turn(work: Work, console: Console, jobs: int | None, *, rebuild: bool) -> Iterator[Built]:
    """Yield what became of each file, in the order of the command line."""
    records: dict[str, Record] = {}
    if work.out is not None:
        records = {name: Record(name, work.asked, work.out) for name in work.files}
    there = {} if rebuild else {name: record.find() for name, record in records.items()}
    left = [name for name in work.files if there.get(name) is None]
    count = len(work.files)
    with console.progress(count) as bar:
        made = _made(work, left, console, bar, _at_once(jobs, len(left)))
        for number, name in enumerate(work.files, 1):
            console.start(f"[{number}/{count}] {shown(name)} …")
            found = there.get(name)
            if found is not None:
                bar.advance()
                console.add("unchanged")
                notes, built = found
                console.tell(notes)
            else:
                notes, built = next(made)
                if name in records:
                    records[name].keep(notes, built)
            console.end()
            yield built


def _at_once(jobs: int | None, files: int) -> int:
    if jobs is not None:
        return min(jobs, files)
    # For a few files more processes take longer to start than they save.
    return min(os.cpu_count() or 1, files // _WORTH_A_PROCESS)


def _made(
    work: Work, names: Sequence[str], console: Console, bar: Bar, jobs: int
) -> Iterator[tuple[Notes, Built]]:
    if jobs > 1:
        from derive.cli.pool import build_at_once

        yield from build_at_once(work, names, console, bar, jobs)
        return
    for name in names:
        notes = Heard(console)
        yield notes, guarded(name, notes, work.build)
        bar.advance()


def tell(found: Built, console: Console) -> None:
    """Print the answers of one file, and what was written."""
    print_answers(found.answers)
    if found.written:
        verb = "unchanged" if found.unchanged else "wrote"
        console.say(f"{verb} " + ", ".join(map(str, found.written)))


def _summary(names: Sequence[str], built: Sequence[Built], seconds: float) -> str:
    done = sum(found.status == DONE for found in built)
    failed = [name for name, found in zip(names, built, strict=True) if found.status != DONE]
    unchanged = sum(found.unchanged for found in built)
    engines = {written.engine for found in built for written in found.written if written.engine}
    words = f"{done} of {len(built)} done, {len(failed)} failed"
    if unchanged:
        words += f", {unchanged} unchanged"
    words += f", in {seconds:.1f} s"
    if engines:
        words += f"; pages by {' and '.join(sorted(engines))}"
    lines = [words, *(f"  failed: {shown(name)}" for name in failed[:_MOST_NAMED])]
    if len(failed) > _MOST_NAMED:
        lines.append(f"  failed: {len(failed) - _MOST_NAMED} more")
    return "\n".join(lines)


def gravest(statuses: list[int]) -> int:
    """Return the status with which a command ends."""
    return next(status for status in _GRAVEST if status in statuses)


def _told_of_twins(one: str, other: str) -> str:
    same = one == other or (one != "-" and os.path.realpath(one) == os.path.realpath(other))
    one, other = shown(one), shown(other)
    if same:
        return f"{other} is named twice; both would be written to the same files"
    return (
        f"{one} and {other} would be written to the same files\n"
        "  hint: rename one of them, or give each a folder of its own with --out"
    )


def _same_target(names: tuple[str, ...], endings: Mapping[str, Ending]) -> tuple[str, str] | None:
    seen: dict[str, str] = {}
    for name in names:
        # Some file systems do not tell capitals from small letters.
        for target in {Target(e).file(name).casefold(): None for e in endings.values()}:
            if target in seen:
                return seen[target], name
            seen[target] = name
    return None
