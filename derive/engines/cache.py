"""A folder of the user's for what can be made again: formats of TeX, what was made of what."""

from __future__ import annotations

import os
import stat
import time
from contextlib import suppress
from pathlib import Path

from derive.engines.disk import put

_KEPT = 60 * 24 * 3600.0
"""Seconds after which what nobody has used is thrown away."""


def folder(name: str) -> Path | None:
    """Return a folder of the cache, made if need be; None where there can be none.

    It belongs to the user and nobody else may write in it, so that what lies there can be trusted.
    """
    from platformdirs import user_cache_path

    try:
        place = user_cache_path("loopwalk", appauthor=False) / name
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = place.stat()
    except (OSError, RuntimeError):
        return None
    if hasattr(os, "getuid"):
        others = stat.S_IWGRP | stat.S_IWOTH
        if found.st_uid != os.getuid() or found.st_mode & others:
            return None
    return place


def keep(place: Path, data: bytes) -> None:
    """Write a file of the cache in one step; where that cannot be done, nothing happens."""
    with suppress(OSError):
        put(place, data, 0o600)


def clear(place: Path) -> None:
    """Throw away files of a folder of the cache that have not been used for long."""
    before = time.time() - _KEPT
    with suppress(OSError):
        for file in place.iterdir():
            with suppress(OSError):
                if file.stat().st_mtime < before:
                    file.unlink()
