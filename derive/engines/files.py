"""Files in and out: circuit files read with care, results written in one step.

An output replaces an older file only when that file is one of ours that nobody has edited, so that
a slip of the hand on the command line cannot destroy anybody's work.
"""

from __future__ import annotations

import sys
from pathlib import Path

from derive.engines.disk import put
from derive.engines.ours import Ending, is_edited, is_ours, signed
from derive.source import Source

LONGEST = 1 << 20
"""Bytes of the longest circuit file that is read."""
LARGEST = 1 << 28
"""Bytes of a file that may be one of ours: another is not read into memory to find out."""


class Unreadable(Exception):  # noqa: N818  (a verdict, told to the user)
    """A circuit file cannot be read; the message says why."""

    def __init__(self, reason: str, hint: str = "") -> None:
        """Keep the reason, and what would help."""
        super().__init__(reason)
        self.hint = hint


class Refused(Exception):  # noqa: N818  (a verdict, told to the user)
    """A file will not be overwritten; the message says why."""


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
    put(path, signed(data, ending))


def remove(path: Path, ending: Ending) -> bool:
    """Remove a result of ours that nobody has edited; tell whether there was one."""
    try:
        permit(path, ending, "-")
        path.unlink()
    except (Refused, OSError):
        return False
    return True


def permit(path: Path, ending: Ending, source: str) -> None:
    """Raise Refused unless there is no such file yet, or it is a result of ours.

    `source` is the name of the circuit file, which is never overwritten.
    """
    lost = next((p for p in path.parents if p.is_symlink() and not p.exists()), None)
    if lost is not None:
        raise Refused(f"{lost} is a symbolic link that leads nowhere; nothing can be written in it")
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
    if path.stat().st_size > LARGEST:
        raise Refused(f"{path} is larger than what Loopwalk makes; it is not overwritten")
    data = path.read_bytes()
    if not is_ours(data, ending):
        raise Refused(f"{path} was not made by Loopwalk; it is not overwritten")
    if is_edited(data, ending):
        raise Refused(f"{path} was edited since Loopwalk made it; it is not overwritten")


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
