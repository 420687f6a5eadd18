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
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

from derive.engines import tex_format
from derive.engines.process import Said, run
from derive.engines.tex_log import Complaint, complaint, last_words
from derive.engines.tex_run import ENVIRONMENT, JOB, OPTIONS, folder_of_its_own, put_document

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
    blames_the_engine: bool = False
    """True when another engine may well set the same text."""


_SIGNS = {
    # The Perl script of John Collins says this; a Python package of the same name does not.
    Kind.LATEXMK: re.compile(r"Latexmk.*John Collins"),
    Kind.LUALATEX: re.compile(r"LuaHB?TeX"),
    Kind.PDFLATEX: re.compile(r"pdfTeX"),
    Kind.TECTONIC: re.compile(r"[Tt]ectonic"),
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
        name = f"{JOB}.tex"
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


def is_there() -> bool:
    """Tell whether any engine answers."""
    return next(_engines(), None) is not None


def compile_pdf(
    tex: str, engine: Engine | None = None, timeout: float = 60
) -> Compiled | TexFailure:
    """Compile a complete document in at most `timeout` seconds.

    With no engine named, one that turns out not to work gives way to the next.
    """
    end = time.monotonic() + timeout
    first: _Failed | None = None
    for candidate in _engines() if engine is None else (engine,):
        result = _attempt(tex, candidate, _left(end))
        if isinstance(result, Compiled):
            return result
        if not result.blames_the_engine:
            # What TeX says of the document tells more than what the engine before it lacked.
            first = result
            break
        first = first or result
    if first is None:
        message = "no TeX was found (" + ", ".join(kind.value for kind in Kind) + ")"
        return TexFailure(None, message, None, "", install_hint(), None, blames_the_engine=True)
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
    with folder_of_its_own() as folder:
        said = run([path, option], folder, _ANSWER_TIME, ENVIRONMENT)
    if said.status != 0 or not _SIGNS[kind].search(said.output):
        return None
    version = next(line for line in said.output.splitlines() if line.strip())
    return Engine(kind, path, version.strip())


def _attempt(tex: str, engine: Engine, timeout: float) -> Compiled | _Failed:
    end = time.monotonic() + timeout
    short = None
    if engine.kind is Kind.PDFLATEX:
        short = tex_format.shorten(tex, engine.path, engine.version, timeout)
    if short is None:
        return _set(tex, engine, _left(end))
    quick = _set(short.text, engine, _left(end), short.option)
    if isinstance(quick, Compiled) or quick.said.status is None:
        return quick
    # Whatever the fault is, it is told as it is without a format.
    plain = _set(tex, engine, _left(end))
    if isinstance(plain, Compiled):
        tex_format.give_up(short)
    return plain


def _left(end: float) -> float:
    """Return the seconds until then, but enough to start a program."""
    return max(1.0, end - time.monotonic())


def _set(tex: str, engine: Engine, timeout: float, *options: str) -> Compiled | _Failed:
    with folder_of_its_own() as folder:
        put_document(folder, tex)
        said = run(_command(engine, *options), folder, timeout, ENVIRONMENT)
        pdf, log = folder / f"{JOB}.pdf", folder / f"{JOB}.log"
        if said.status == 0 and pdf.is_file() and (data := pdf.read_bytes()).startswith(b"%PDF-"):
            return Compiled(data, engine)
        return _Failed(
            engine, said, log.read_text("utf-8", "replace") if log.is_file() else said.output
        )


def _command(engine: Engine, *options: str) -> list[str]:
    document = f"{JOB}.tex"
    match engine.kind:
        case Kind.LATEXMK:
            # No configuration file of the user or of the folder: it may run any command.
            return [engine.path, "-norc", "-pdf", *OPTIONS, document]
        case Kind.LUALATEX | Kind.PDFLATEX:
            return [engine.path, *options, *OPTIONS, document]
        case Kind.TECTONIC:
            return [engine.path, "--untrusted", "--keep-logs", document]


def _failure(failed: _Failed, tex: str) -> TexFailure:
    kept = _keep(tex, failed.log)
    if failed.said.status is None:
        hint = "the machine may be busy: try again, or set the .tex yourself"
        blamed = failed.blames_the_engine
        return TexFailure(failed.engine, failed.said.output, None, "", hint, kept, blamed)
    told = failed.complaint or Complaint(last_words(failed.said.output), None)
    source = ""
    if told.line is not None:
        source = "".join(tex.split("\n")[told.line - 1 : told.line]).strip()
    hint = _hint(failed, told.message)
    return TexFailure(
        failed.engine, told.message, told.line, source, hint, kept, failed.blames_the_engine
    )


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
        (folder / f"{JOB}.tex").write_text(tex, encoding="utf-8", newline="\n")
        place = folder / f"{JOB}.log"
        place.write_text(log, encoding="utf-8")
    except OSError:
        return None
    return place
