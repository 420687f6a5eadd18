"""Writing a file so that it is there whole or not at all, whatever happens meanwhile."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path


def put(path: Path, data: bytes, mode: int = 0o666) -> None:
    """Write a file in one step, with the mode that the user's mask leaves. Raises OSError."""
    hidden = path.parent / f".{path.name[:100]}.{secrets.token_hex(4)}"
    try:
        if not _put_unnamed(hidden, data, mode):
            descriptor = os.open(hidden, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode)
            try:
                _write(descriptor, data)
            finally:
                os.close(descriptor)
        os.replace(hidden, path)
    except OSError as fault:
        _remove(hidden)
        raise OSError(fault.errno, fault.strerror, str(path)) from None
    except BaseException:
        _remove(hidden)
        raise


def _remove(hidden: Path) -> None:
    with suppress(OSError):
        hidden.unlink()


def _put_unnamed(place: Path, data: bytes, mode: int) -> bool:
    """Write a file that gets its name when it is whole; tell whether the system could do that.

    Then not even a process that is killed outright leaves half a file (Linux, open(2)).
    """
    opened: list[int] = []
    try:
        opened.append(os.open(place.parent, os.O_TMPFILE | os.O_WRONLY, mode))
        opened.append(os.open(place.parent, os.O_RDONLY | os.O_DIRECTORY))
        _write(opened[0], data)
        os.link(f"/proc/self/fd/{opened[0]}", place.name, dst_dir_fd=opened[1])
    except (AttributeError, NotImplementedError, OSError):
        return False
    finally:
        for descriptor in opened:
            os.close(descriptor)
    return True


def _write(descriptor: int, data: bytes) -> None:
    left = memoryview(data)
    while left:
        left = left[os.write(descriptor, left) :]
