"""PDF by a TeX that is found on the machine.

TeX runs in a folder of its own, without shell escape, reads and writes nothing outside it but its
own installation, and has a time limit. What it made is moved out by the caller in one step.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

from derive.engines.process import Said, run
from derive.engines.tex_log import Complaint, complaint, last_words

_JOB = "solution"
_ANSWER_TIME = 10.0
"""Seconds an engine may take to say its version."""


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

    engine: Engine | None
    """None when the machine has no TeX that answers."""
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

_ENVIRONMENT: Mapping[str, str] = {
    "openin_any": "p",  # nothing outside the folder and the installation is read …
    "openout_any": "p",  # … or written
    "shell_escape": "f",
    "SOURCE_DATE_EPOCH": "0",  # the same text gives the same bytes
    "FORCE_SOURCE_DATE": "1",
    "max_print_line": "1000",  # messages are not cut in the middle of a word
    "TEXINPUTS": "",
}


@dataclass(frozen=True, slots=True)
class _Failed:
    """A run that gave no PDF."""

    engine: Engine
    said: Said
    log: str

    @property
    def complaint(self) -> Complaint | None:
        if self.said.status is None:
            return None
        name = f"{_JOB}.tex"
        return complaint(self.log, name) or complaint(self.said.output, name)

    @property
    def blames_the_engine(self) -> bool:
        """True if another engine may do better: this one lacks a file, or did not get going."""
        if self.said.status is None:
            return not self.said.started
        told = self.complaint
        return told is None or _missing_file(told.message) is not None


def find() -> tuple[Engine, ...]:
    """Return the engines that are installed and answer, the preferred one first."""
    return tuple(_engines())


def compile_pdf(
    tex: str, engine: Engine | None = None, timeout: float = 60
) -> Compiled | TexFailure:
    """Compile a complete document in at most `timeout` seconds.

    With no engine named, one that turns out not to work gives way to the next.
    """
    end = time.monotonic() + timeout
    first: _Failed | None = None
    for candidate in _engines() if engine is None else (engine,):
        result = _attempt(tex, candidate, max(1.0, end - time.monotonic()))
        if isinstance(result, Compiled):
            return result
        if not result.blames_the_engine:
            # What TeX says of the document tells more than what the engine before it lacked.
            first = result
            break
        first = first or result
    if first is None:
        message = "no TeX was found (" + ", ".join(kind.value for kind in Kind) + ")"
        return TexFailure(None, message, None, "", install_hint(), None)
    return _failure(first, tex)


def install_hint() -> str:
    """Say how to install a TeX on this kind of machine."""
    if sys.platform == "darwin":
        return "install MacTeX (https://tug.org/mactex), or: brew install --cask mactex-no-gui"
    if sys.platform == "win32":
        return "install MiKTeX (https://miktex.org) or TeX Live (https://tug.org/texlive)"
    if shutil.which("apt-get"):
        return (
            "as root: apt-get install texlive-latex-base texlive-latex-recommended "
            "texlive-latex-extra texlive-pictures texlive-science latexmk lmodern"
        )
    if shutil.which("dnf"):
        return "sudo dnf install texlive-scheme-medium texlive-needspace texlive-titlesec latexmk"
    if shutil.which("pacman"):
        return "sudo pacman -S texlive-latexextra texlive-pictures texlive-binextra"
    return "install TeX Live: https://tug.org/texlive"


def _engines() -> Iterator[Engine]:
    """Yield the engines that answer; each is asked only when it is its turn."""
    for kind in Kind:
        path = shutil.which(kind.value)
        if path is not None:
            engine = _ask(kind, str(Path(path).absolute()))
            if engine is not None:
                yield engine


@cache
def _ask(kind: Kind, path: str) -> Engine | None:
    option = "--version" if kind is Kind.TECTONIC else "-version"
    with _folder() as folder:
        said = run([path, option], folder, _ANSWER_TIME, _ENVIRONMENT)
    if said.status != 0 or not _SIGNS[kind].search(said.output):
        return None
    version = next(line for line in said.output.splitlines() if line.strip())
    return Engine(kind, path, version.strip())


def _attempt(tex: str, engine: Engine, timeout: float) -> Compiled | _Failed:
    with _folder() as folder:
        (folder / f"{_JOB}.tex").write_text(tex, encoding="utf-8", newline="\n")
        said = run(_command(engine), folder, timeout, _ENVIRONMENT)
        pdf, log = folder / f"{_JOB}.pdf", folder / f"{_JOB}.log"
        if said.status == 0 and pdf.is_file() and (data := pdf.read_bytes()).startswith(b"%PDF-"):
            return Compiled(data, engine)
        return _Failed(
            engine, said, log.read_text("utf-8", "replace") if log.is_file() else said.output
        )


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


@contextmanager
def _folder() -> Iterator[Path]:
    """Give a temporary folder; it goes when the work is done."""
    with tempfile.TemporaryDirectory(prefix="loopwalk-", ignore_cleanup_errors=True) as name:
        yield Path(name)


def _failure(failed: _Failed, tex: str) -> TexFailure:
    kept = _keep(tex, failed.log)
    if failed.said.status is None:
        hint = "the machine may be busy: try again, or set the .tex yourself"
        return TexFailure(failed.engine, failed.said.output, None, "", hint, kept)
    told = failed.complaint or Complaint(last_words(failed.said.output), None)
    source = ""
    if told.line is not None:
        source = "".join(tex.split("\n")[told.line - 1 : told.line]).strip()
    hint = _hint(failed, told.message)
    return TexFailure(failed.engine, told.message, told.line, source, hint, kept)


def _hint(failed: _Failed, message: str) -> str:
    missing = _missing_file(message)
    if missing is not None:
        return f"the TeX on this machine lacks {missing}; {install_hint()}"
    if "font" in message.lower():
        return f"a font is missing; {install_hint()}"
    if failed.complaint is None:
        return f"{failed.engine.path} does not seem to work; {install_hint()}"
    return "this is a fault of Loopwalk; please report it with the log"


def _missing_file(message: str) -> str | None:
    found = re.search(r"File [`']([^'/]+\.(?:sty|cls|tex|def|ldf|fd))' not found", message)
    return found[1] if found else None


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
