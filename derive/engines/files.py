"""Files in and out: circuit files read with care, results written in one step.

An output replaces an older file only when that file is one of ours, so that a slip of the hand on
the command line cannot destroy anybody's work. TeX and SVG are made to be edited: there the last
line is a seal, and what was edited is its author's from then on.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from contextlib import suppress
from enum import Enum
from hashlib import sha256
from pathlib import Path

from derive.source import Source
from derive.writers.mark import NAME

LONGEST = 1 << 20
"""Bytes of the longest circuit file that is read."""


_SEAL = b"Nobody has edited this file if the lines above have the SHA-256 "


class Unreadable(Exception):  # noqa: N818  (a verdict, told to the user)
    """A circuit file cannot be read; the message says why."""

    def __init__(self, reason: str, hint: str = "") -> None:
        """Keep the reason, and what would help."""
        super().__init__(reason)
        self.hint = hint


class Refused(Exception):  # noqa: N818  (a verdict, told to the user)
    """A file will not be overwritten; the message says why."""


class Ending(Enum):
    """What a result is, by the ending of its file."""

    TEX = ".tex"
    FRAGMENT = ".fragment.tex"
    PDF = ".pdf"
    TEXT = ".txt"
    JSON = ".json"
    FIGURE_SVG = ".figure.svg"
    FIGURE_PDF = ".figure.pdf"
    FIGURE_TEX = ".figure.tex"


_COMMENT = {
    Ending.TEX: (b"% ", b"\n"),
    Ending.FRAGMENT: (b"% ", b"\n"),
    Ending.FIGURE_TEX: (b"% ", b"\n"),
    Ending.FIGURE_SVG: (b"<!-- ", b" -->\n"),
}
"""Begin and end of a comment in what is made to be edited."""


def read(name: str) -> Source:
    """Read a circuit file; ``-`` is standard input. Raises Unreadable."""
    try:
        if name == "-":
            if sys.stdin is None:
                raise Unreadable("cannot be read: standard input is closed")
            data = sys.stdin.buffer.read(LONGEST + 1)
        else:
            with open(name, "rb") as file:
                data = file.read(LONGEST + 1)
    except (OSError, ValueError) as fault:
        raise Unreadable(f"cannot be read: {_reason(fault)}") from None
    if len(data) > LONGEST:
        raise Unreadable("is too long for a circuit file (more than a megabyte)")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise _not_utf8(fault) from None
    shown = "standard input" if name == "-" else name
    return Source(shown, text.replace("\r\n", "\n"))


def write(path: Path, data: bytes, ending: Ending, source: str) -> None:
    """Write a result in one step. Raises Refused, or OSError when the disk says no."""
    permit(path, ending, source)
    path.parent.mkdir(parents=True, exist_ok=True)
    if ending in _COMMENT:
        data += _seal(data, ending)
    elif ending in (Ending.PDF, Ending.FIGURE_PDF) and NAME.encode() not in data:
        # Some engines compress the creator's name; a comment after the end is allowed in a PDF.
        data += f"\n%{NAME}\n".encode()
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
        os.chmod(temporary, 0o666 & ~_mask())
        os.replace(temporary, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(temporary)
        raise


def permit(path: Path, ending: Ending, source: str) -> None:
    """Raise Refused unless there is no such file yet, or it is a result of ours.

    `source` is the name of the circuit file, which is never overwritten.
    """
    blocked = next((place for place in path.parents if place.exists()), Path())
    if not blocked.is_dir():
        raise Refused(f"{blocked} is a file, not a folder; nothing can be written in it")
    if path.is_symlink():
        raise Refused(f"{path} is a symbolic link; it is not overwritten")
    if not path.exists():
        return
    if source != "-" and path.samefile(source):
        raise Refused(f"{path} is the circuit file itself; it is not overwritten")
    if not path.is_file():
        raise Refused(f"{path} is not a regular file; it is not overwritten")
    data = path.read_bytes()
    if not _is_ours(data, ending):
        raise Refused(f"{path} was not made by Loopwalk; it is not overwritten")
    if ending in _COMMENT and not _is_sealed(data, ending):
        raise Refused(f"{path} was edited since Loopwalk made it; it is not overwritten")


def _seal(data: bytes, ending: Ending) -> bytes:
    before, after = _COMMENT[ending]
    return before + _SEAL + sha256(data).hexdigest().encode() + after


def _is_sealed(data: bytes, ending: Ending) -> bool:
    end = data.rfind(_COMMENT[ending][0] + _SEAL)
    return end >= 0 and data[end:] == _seal(data[:end], ending)


def _is_ours(data: bytes, ending: Ending) -> bool:
    match ending:
        case Ending.JSON:
            return _is_contract(data)
        case Ending.PDF | Ending.FIGURE_PDF:
            return data.startswith(b"%PDF-") and NAME.encode() in data
        case Ending.TEX | Ending.FRAGMENT | Ending.FIGURE_TEX | Ending.FIGURE_SVG:
            return data.startswith(_COMMENT[ending][0] + NAME.encode())
        case Ending.TEXT:
            return data.rstrip().rsplit(b"\n", 1)[-1].startswith(NAME.encode())


def _is_contract(data: bytes) -> bool:
    try:
        fields = json.loads(data)
    except (ValueError, RecursionError):
        return False
    return isinstance(fields, dict) and {"schema", "circuit", "checked"} <= fields.keys()


def _mask() -> int:
    """Return the file mode mask of the process, which can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _not_utf8(fault: UnicodeDecodeError) -> Unreadable:
    before = fault.object[: fault.start]
    line = before.count(b"\n") + 1
    column = len(before[before.rfind(b"\n") + 1 :].decode()) + 1
    other = "UTF-16" if fault.object.startswith((b"\xff\xfe", b"\xfe\xff")) else ""
    return Unreadable(
        f"is not UTF-8 text: line {line}, column {column} holds other bytes"
        + (f"; it looks like {other}" if other else ""),
        "save it again with the encoding UTF-8, which an editor offers under Save As, or convert "
        f"it: iconv -f {other or 'ISO-8859-1'} -t UTF-8 OLD > NEW",
    )


def _reason(fault: OSError | ValueError) -> str:
    if isinstance(fault, FileNotFoundError):
        return "there is no such file"
    if isinstance(fault, IsADirectoryError):
        return "it is a folder"
    if isinstance(fault, PermissionError):
        return "you have no permission to read it"
    if isinstance(fault, OSError):
        return fault.strerror or "the system refused"
    return "that is no file name"
