r"""What all documents of a kind begin with, read once by TeX and kept for the next document.

A format is the memory of TeX, written to a file by ``\dump``. Ours holds what pdfTeX knows at the
line `ALIKE_SO_FAR` of a document, with all packages loaded, which is half of the work of a short
one. It lies in the user's cache. Whatever goes wrong with it, the document is set without it.

Its name tells what it was made from: the lines, the engine, the settings of TeX. At its end stand
the files that were read, so that a new version of a package is noticed, and a checksum.
"""

from __future__ import annotations

import gzip
import json
import os
import stat
import time
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from derive.engines import cache
from derive.engines.process import run
from derive.engines.tex_run import ENVIRONMENT, JOB, OPTIONS, folder_of_its_own, put_document
from derive.writers.tex_macros import ALIKE_SO_FAR

_LAYOUT = 1
"""Counts up when what is written to a file changes."""
_ROOM = 100_000_000
"""Bytes that all formats may take together; one of ours takes 20 million."""
_MAKING_TIME = 30.0
"""Seconds it may take to make one."""
_FORGET_AFTER = 3600.0
"""Seconds after which what did not work is tried again."""
_TAIL = 24
"""Characters of the two numbers that end a file."""

# xcolor sets the colour black as it is loaded. That stands on the page, which is in no format.
_AGAIN = r"\ifcsname set@color\endcsname\csname set@color\endcsname\fi%"


@dataclass(frozen=True, slots=True)
class Shortened:
    """A document without the lines that a format has already read."""

    text: str
    """Every line has the number it had."""
    format: Path

    @property
    def option(self) -> str:
        """How the engine is told of the format."""
        return f"-fmt={self.format.with_suffix('')}"


def shorten(tex: str, engine: str, version: str, timeout: float) -> Shortened | None:
    """Return what is left of a document, with the format for it; None if there can be none.

    A format that is not there yet is made, in at most `timeout` seconds.
    """
    lines = tex.split("\n")
    end = next((k for k, line in enumerate(lines) if line.startswith(ALIKE_SO_FAR)), None)
    folder = None if end is None else cache.folder("tex-formats")
    if end is None or folder is None or not _is_safe(folder):
        return None
    start = next(k for k, line in enumerate(lines) if k == end or not line.startswith("%"))
    beginning = "\n".join(lines[start:end])
    place = folder / f"{_name(beginning, engine, version)}.fmt"
    if not (_is_good(place) or _make(place, beginning, engine, min(timeout, _MAKING_TIME))):
        return None
    text = "\n".join([_AGAIN, *["%"] * end, *lines[end + 1 :]])
    return Shortened(text, place)


def give_up(shortened: Shortened) -> None:
    """Note that a document was set without its format, but not with it."""
    if _note(shortened.format):
        with suppress(OSError):
            shortened.format.unlink()


def _name(beginning: str, engine: str, version: str) -> str:
    settings = sorted(
        (name, value)
        for name, value in os.environ.items()
        if name.startswith("TEX") or name in ("HOME", "USERPROFILE")
    )
    parts = [_LAYOUT, beginning, engine, version, _look(os.path.realpath(engine)), settings]
    return sha256(json.dumps(parts).encode()).hexdigest()


def _look(name: str) -> list[int] | None:
    """Return what changes when a file does."""
    try:
        found = os.stat(name)
    except OSError:
        return None
    return [found.st_size, found.st_mtime_ns]


def _is_safe(folder: Path) -> bool:
    """Tell whether nobody else can put another folder in the place of this one."""
    with suppress(OSError):
        above = {*folder.parents, *folder.resolve().parents}
        return not any(map(_is_open_to_all, above))
    return False


def _is_open_to_all(folder: Path) -> bool:
    # In a folder with the sticky bit, such as /tmp, only the owner of a file can rename it.
    mode = folder.stat().st_mode
    return hasattr(os, "getuid") and bool(mode & stat.S_IWOTH) and not mode & stat.S_ISVTX


def _is_good(place: Path) -> bool:
    """Tell whether a format is there, is ours, is whole, and what it was made from is the same."""
    try:
        found = place.lstat()
        if not stat.S_ISREG(found.st_mode) or not _is_own(found):
            return False
        if not _is_valid(memoryview(place.read_bytes())):
            return False
    except (OSError, ValueError):
        return False
    with suppress(OSError):
        os.utime(place)  # the ones that are used stay longest
    return True


def _is_own(found: os.stat_result) -> bool:
    if not hasattr(os, "getuid"):
        return True
    return found.st_uid == os.getuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _is_valid(data: memoryview) -> bool:
    if len(data) < _TAIL:
        return False
    body, tail = data[:-_TAIL], bytes(data[-_TAIL:])
    length, checksum = int(tail[:16], 16), int(tail[16:], 16)
    if zlib.crc32(body) != checksum:
        return False
    inputs = json.loads(bytes(body[len(body) - length :]))
    return all(_look(name) == look for name, look in inputs)


def _make(place: Path, beginning: str, engine: str, timeout: float) -> bool:
    """Make a format; tell whether it is there now.

    A note lies beside it meanwhile, so that others do not try as well; where no format can be made
    it stays.
    """
    if not _note(place):
        return False
    try:
        made = _is_written(place, _dump(beginning, engine, timeout))
    except OSError:
        return False
    except BaseException:
        _forget(place)  # the program was stopped; that says nothing against the format
        raise
    if made:
        _forget(place)
    return made


def _is_written(place: Path, data: bytes | None) -> bool:
    if data is None:
        return False
    cache.keep(place, data)
    _make_room(place)
    return place.stat().st_size == len(data)


def _noted(place: Path) -> Path:
    return place.with_suffix(".note")


def _note(place: Path) -> bool:
    """Put a note beside a format; tell whether it could be put and is not there already."""
    note = _noted(place)
    try:
        with suppress(FileNotFoundError):
            if time.time() - note.stat().st_mtime < _FORGET_AFTER:
                return False
            note.unlink(missing_ok=True)
        os.close(os.open(note, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except OSError:
        return False
    return True


def _forget(place: Path) -> None:
    with suppress(OSError):
        _noted(place).unlink()


def _dump(beginning: str, engine: str, timeout: float) -> bytes | None:
    with folder_of_its_own() as folder:
        put_document(folder, f"{beginning}\n\\dump\n")
        command = [engine, "-ini", "-recorder", *OPTIONS, "&pdflatex", f"{JOB}.tex"]
        if run(command, folder, timeout, ENVIRONMENT).status != 0:
            return None
        memory = (folder / f"{JOB}.fmt").read_bytes()
        record = (folder / f"{JOB}.fls").read_text("utf-8", "surrogateescape")
    inputs = list(_inputs(record))
    # Unpacking takes a tenth of the time that it takes to set a page.
    with suppress(OSError, EOFError, zlib.error):
        memory = gzip.decompress(memory)
    return _sealed(memory, inputs) if inputs else None


def _inputs(record: str) -> Iterator[tuple[str, list[int] | None]]:
    """Yield the files that were read; those of the folder itself have names of one part."""
    names = (line.removeprefix("INPUT ") for line in record.splitlines() if line[:6] == "INPUT ")
    for name in dict.fromkeys(names):
        if os.path.isabs(name):
            yield name, _look(name)


def _sealed(memory: bytes, inputs: list[tuple[str, list[int] | None]]) -> bytes:
    """Put the list and the checksum behind a format, where TeX does not look any more."""
    names = json.dumps(inputs).encode()
    body = memory + names
    return body + f"{len(names):016x}{zlib.crc32(body):08x}".encode()


def _make_room(newest: Path) -> None:
    """Throw away the formats that have not been used for longest."""
    cache.clear(newest.parent)
    left = _ROOM
    for file in sorted(newest.parent.iterdir(), key=_last_used, reverse=True):
        with suppress(OSError):
            left -= file.stat().st_size
            if left < 0 and file != newest:
                file.unlink()


def _last_used(file: Path) -> float:
    try:
        return file.stat().st_mtime
    except OSError:
        return 0.0
