"""PDF by a TeX that is found on the machine.

TeX runs in a folder of its own, without shell escape, reads and writes nothing outside it but its
own installation, and has a time limit. What it made is moved out by the caller in one step.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

_JOB = "solution"
_ANSWER_TIME = 10.0
"""Seconds an engine may take to say its version."""
_SHOWN_LINES = 6
"""Lines of TeX's complaint that are passed on."""


class Kind(Enum):
    """The engines we know how to run, the preferred one first.

    Our documents hold no cross-references, so that one run of TeX is enough; latexmk takes twice
    as long to find that out.
    """

    PDFLATEX = "pdflatex"
    LUALATEX = "lualatex"
    LATEXMK = "latexmk"
    TECTONIC = "tectonic"


@dataclass(frozen=True, slots=True)
class Engine:
    """A TeX on this machine that has answered."""

    kind: Kind
    path: str
    version: str
    """The first line it says of itself."""


@dataclass(frozen=True, slots=True)
class Compiled:
    """A PDF."""

    pdf: bytes
    engine: Engine


@dataclass(frozen=True, slots=True)
class TexFailure:
    """Why there is no PDF."""

    message: str
    """What TeX said, or what happened to it."""
    line: int | None
    """Line of the TeX text, counted from 1."""
    source: str
    """That line; empty when no line is known."""
    hint: str
    log: Path | None
    """Where the log is kept; the TeX text lies beside it."""


_SIGNS = {
    # The Perl script of John Collins says this; a Python package of the same name does not.
    Kind.LATEXMK: re.compile(r"Latexmk.*John Collins"),
    Kind.LUALATEX: re.compile(r"LuaHB?TeX"),
    Kind.PDFLATEX: re.compile(r"pdfTeX"),
    Kind.TECTONIC: re.compile(r"[Tt]ectonic"),
}


def find() -> tuple[Engine, ...]:
    """Return the engines that are installed and work, the preferred one first."""
    return tuple(engine for kind in Kind if (engine := _try(kind)) is not None)


def preferred() -> Engine | None:
    """Return the first engine that works; None when there is none."""
    return next((engine for kind in Kind if (engine := _try(kind)) is not None), None)


def compile_pdf(
    tex: str, engine: Engine | None = None, timeout: float = 60
) -> Compiled | TexFailure:
    """Compile a complete document."""
    if engine is None:
        engine = preferred()
    if engine is None:
        return TexFailure("no TeX was found on this machine", None, "", install_hint(), None)
    with _folder() as folder:
        (folder / f"{_JOB}.tex").write_text(tex, encoding="utf-8", newline="\n")
        said = _run(_command(engine), folder, timeout)
        pdf = folder / f"{_JOB}.pdf"
        if said.status == 0 and pdf.is_file():
            return Compiled(pdf.read_bytes(), engine)
        return _failure(said, tex, folder)


def install_hint() -> str:
    """Say how to install a TeX on this kind of machine."""
    if sys.platform == "darwin":
        return "install MacTeX (https://tug.org/mactex), or: brew install --cask mactex-no-gui"
    if sys.platform == "win32":
        return "install MiKTeX (https://miktex.org) or TeX Live (https://tug.org/texlive)"
    if shutil.which("apt-get"):
        return (
            "sudo apt-get install texlive-latex-base texlive-latex-recommended "
            "texlive-latex-extra texlive-pictures latexmk lmodern"
        )
    if shutil.which("dnf"):
        return "sudo dnf install texlive-scheme-medium texlive-needspace texlive-titlesec latexmk"
    if shutil.which("pacman"):
        return "sudo pacman -S texlive-latexextra texlive-pictures texlive-binextra"
    return "install TeX Live: https://tug.org/texlive"


@cache
def _try(kind: Kind) -> Engine | None:
    path = shutil.which(kind.value)
    if path is None:
        return None
    option = "--version" if kind is Kind.TECTONIC else "-version"
    with tempfile.TemporaryDirectory(prefix="loopwalk-") as folder:
        said = _run([path, option], Path(folder), _ANSWER_TIME)
    if said.status != 0 or not _SIGNS[kind].search(said.output):
        return None
    version = next(line for line in said.output.splitlines() if line.strip())
    return Engine(kind, path, version.strip())


def _command(engine: Engine) -> list[str]:
    safe = ["-interaction=nonstopmode", "-halt-on-error", "-file-line-error", "-no-shell-escape"]
    match engine.kind:
        case Kind.LATEXMK:
            # No configuration file of the user or of the folder: it may run any command.
            return [engine.path, "-norc", "-pdf", *safe, f"{_JOB}.tex"]
        case Kind.LUALATEX | Kind.PDFLATEX:
            return [engine.path, *safe, f"{_JOB}.tex"]
        case Kind.TECTONIC:
            return [engine.path, "--untrusted", "--keep-logs", f"{_JOB}.tex"]


def _environment() -> Mapping[str, str]:
    return {
        **os.environ,
        "openin_any": "p",  # nothing outside the folder and the installation is read …
        "openout_any": "p",  # … or written
        "shell_escape": "f",
        "SOURCE_DATE_EPOCH": "0",  # the same text gives the same bytes
        "FORCE_SOURCE_DATE": "1",
        "max_print_line": "1000",  # messages are not cut in the middle of a word
        "TEXINPUTS": "",
    }


@dataclass(frozen=True, slots=True)
class _Said:
    status: int | None
    """None when it ran out of time or could not be started."""
    output: str


def _run(command: list[str], folder: Path, timeout: float) -> _Said:
    try:
        process = subprocess.Popen(
            command,
            cwd=folder,
            env=_environment(),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    except OSError as fault:
        return _Said(None, f"{command[0]} could not be started: {fault.strerror}")
    try:
        output, _ = process.communicate(timeout=timeout)
    except subprocess.TimeoutExpired:
        _stop(process)
        return _Said(None, f"it was stopped after {timeout:g} s")
    except BaseException:
        _stop(process)
        raise
    return _Said(process.returncode, output.decode("utf-8", "replace"))


def _stop(process: subprocess.Popen[bytes]) -> None:
    """Stop an engine and what it started: latexmk runs TeX as a child."""
    if sys.platform == "win32":
        process.kill()
    else:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


@contextmanager
def _folder() -> Iterator[Path]:
    """Give a temporary folder; it goes when the work is done."""
    with tempfile.TemporaryDirectory(prefix="loopwalk-", ignore_cleanup_errors=True) as name:
        yield Path(name)


def _failure(said: _Said, tex: str, folder: Path) -> TexFailure:
    log_file = folder / f"{_JOB}.log"
    log = log_file.read_text("utf-8", "replace") if log_file.is_file() else said.output
    kept = _keep(tex, log)
    if said.status is None:
        hint = "the document is large or the machine busy: try again, or compile the .tex yourself"
        return TexFailure(f"TeX gave no PDF: {said.output}", None, "", hint, kept)
    message, line = _complaint(log) or _complaint(said.output) or (_last_words(said.output), None)
    lines = tex.split("\n")
    source = lines[line - 1].strip() if line is not None and 0 < line <= len(lines) else ""
    return TexFailure(message, line, source, _hint(message), kept)


def _complaint(log: str) -> tuple[str, int | None] | None:
    """Return the first error of a log with the lines after it, and its line number."""
    lines = log.splitlines()
    for place, text in enumerate(lines):
        located = re.match(r"(?:\./)?[^:\s]+\.\w+:([0-9]+): (.*)", text)
        if located is None and not text.startswith("! "):
            continue
        block = [located.group(2) if located else text[2:]]
        for more in lines[place + 1 : place + _SHOWN_LINES]:
            if not more.strip() or more.startswith("Here is how much"):
                break
            block.append(more.rstrip())
        number = int(located.group(1)) if located else _line_number(lines[place:])
        return "\n".join(block), number
    return None


def _line_number(lines: list[str]) -> int | None:
    for text in lines[:12]:
        found = re.match(r"l\.([0-9]+) ", text)
        if found:
            return int(found.group(1))
    return None


def _last_words(output: str) -> str:
    lines = [line for line in output.splitlines() if line.strip()]
    return "\n".join(lines[-_SHOWN_LINES:]) or "TeX ended without a PDF and without a word"


def _hint(message: str) -> str:
    missing = re.search(r"File [`']([^'/]+\.(?:sty|cls|tex))' not found", message)
    if missing:
        return f"the TeX on this machine lacks {missing.group(1)}; {install_hint()}"
    if "font" in message.lower():
        return f"a font is missing; {install_hint()}"
    return "this is a fault of the program; please report it with the log"


def _keep(tex: str, log: str) -> Path | None:
    """Keep log and text in a folder that stays, and return the log's place."""
    try:
        folder = Path(tempfile.mkdtemp(prefix="loopwalk-failed-"))
        (folder / f"{_JOB}.tex").write_text(tex, encoding="utf-8", newline="\n")
        place = folder / f"{_JOB}.log"
        place.write_text(log, encoding="utf-8")
    except OSError:
        return None
    return place
