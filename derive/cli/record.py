"""What was made of what, so that nothing is made twice.

Results are taken for unchanged only if the circuit file, the options, the engines of the machine
and Loopwalk itself are the same, and every result lies where it was written, byte for byte.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from pathlib import Path

import derive
from derive.cli.console import Notes
from derive.cli.results import Built, Written
from derive.cli.status import DONE
from derive.engines import cache as users
from derive.engines.files import LARGEST, Unreadable, read

_FOLDER = "made"
_ENGINES = ("pdflatex", "lualatex", "latexmk", "tectonic")


class Record:
    """What was made of one circuit file with some options."""

    def __init__(self, name: str, asked: str, out: Path) -> None:
        """Look nothing up yet. `asked` is a text that says what is to be made."""
        self._name, self._asked = name, asked
        place = f"{Path(name).absolute()}\n{out.absolute()}\n{asked}"
        folder = users.folder(_FOLDER)
        self._file = None if folder is None else folder / sha256(os.fsencode(place)).hexdigest()
        self._key = _key(name, asked)

    def find(self) -> tuple[Notes, Built] | None:
        """Return what was said and built, if it is all still there."""
        if self._file is None or self._key is None:
            return None
        try:
            kept = json.loads(self._file.read_bytes())
            if kept["key"] != self._key:
                return None
            written = tuple(Written(w["path"], w["engine"]) for w in kept["written"])
            if [w["sha256"] for w in kept["written"]] != [_digest(w.path) for w in written]:
                return None
            notes = Notes()
            notes.kept = [(manner, message) for manner, message in kept["said"]]
            answers = tuple(map(str, kept["answers"]))
            os.utime(self._file)
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return notes, Built(DONE, written, answers, unchanged=True)

    def keep(self, notes: Notes, built: Built) -> None:
        """Keep what was said and built, if all went well."""
        if self._file is None or self._key is None or built.status != DONE or not built.written:
            return
        if _key(self._name, self._asked) != self._key:
            return  # the circuit was edited meanwhile: who knows what was read
        try:
            written = [
                {"path": w.path, "engine": w.engine, "sha256": _digest(w.path)}
                for w in built.written
            ]
        except OSError:
            return
        said = [(manner, message) for manner, message in notes.kept if manner != "add"]
        fields = {"key": self._key, "written": written, "said": said, "answers": built.answers}
        users.keep(self._file, json.dumps(fields).encode())
        users.clear(self._file.parent)


def _digest(path: str) -> str | None:
    """Return what tells a file from others; None for one that is none of ours."""
    if os.stat(path).st_size > LARGEST:
        return None  # somebody put something else there
    return sha256(Path(path).read_bytes()).hexdigest()


def _key(name: str, asked: str) -> str | None:
    """Return what is the same only if the same would be made; None for what cannot be read."""
    if not os.path.isfile(name):
        return None  # a pipe can be read once only
    try:
        text = read(name).text
    except Unreadable:
        return None
    parts: Sequence[str] = (name, text, asked, _program(), _engines(), os.getcwd())
    return sha256(os.fsencode("\0".join(parts))).hexdigest()


@cache
def _program() -> str:
    """Return what changes whenever a file of Loopwalk does."""
    root = Path(derive.__file__).parent
    found = []
    for folder in (root, root.parent / "grammar"):
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".py", ".lark", ".js", ".css"):
                state = path.stat()
                found.append(f"{path} {state.st_size} {state.st_mtime_ns}")
    return sha256("\n".join(found).encode()).hexdigest()


@cache
def _engines() -> str:
    """Return what changes when an engine comes or goes."""
    wheel = importlib.util.find_spec("typst")
    built_in = "" if wheel is None or wheel.origin is None else os.stat(wheel.origin).st_mtime_ns
    return "\n".join([*(f"{name} {shutil.which(name)}" for name in _ENGINES), f"typst {built_in}"])
