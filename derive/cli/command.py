"""The command ``loopwalk``: arguments, files, messages, exit status.

What takes long to import (the language, the algebra, the writers) is imported when it is needed,
so that ``--help`` and ``--version`` answer at once.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli.arguments import COMMANDS, parser
from derive.cli.status import BAD_USAGE, DONE, ENGINE_FAILED, INTERRUPTED
from derive.diagnostic import printable

if TYPE_CHECKING:
    from derive.cli.draw import Request as DrawRequest
    from derive.cli.solve import Request as SolveRequest
    from derive.options import Options


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status."""
    _say_what_the_terminal_can()
    try:
        with _stopped_in_order():
            return _command(sys.argv[1:] if argv is None else argv)
    except KeyboardInterrupt:
        _say("loopwalk: stopped")
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever reads our output has had enough; the interpreter must not complain at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as fault:
        if os.environ.get("LOOPWALK_TRACEBACK"):
            raise
        _say(f"loopwalk: {_broken(fault)}")
        return ENGINE_FAILED


def _say(message: str) -> None:
    """Tell the last words; they may be about a standard error that takes none."""
    with suppress(OSError):
        print(message, file=sys.stderr, flush=True)


def _broken(fault: Exception) -> str:
    """Say what keeps the program itself from running."""
    if isinstance(fault, ModuleNotFoundError) and not (fault.name or "").startswith("derive"):
        hint = "install Loopwalk with all it needs: python3 -m pip install -e . (in its folder)"
        return f"the Python package {fault.name} is missing\n  hint: {hint}"
    if isinstance(fault, OSError):
        return f"what is to be told cannot be written: {fault.strerror or fault}"
    hint = "this is a fault of Loopwalk; please report what you did"
    return f"the program failed ({type(fault).__name__}: {fault})\n  hint: {hint}"


@contextmanager
def _stopped_in_order() -> Iterator[None]:
    """Take the end of a session like Ctrl-C, so that TeX ends too and temporary files go."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    # Who ignores a signal, as nohup does, means it.
    numbers = [signal.Signals[name] for name in names]
    taken = [n for n in numbers if signal.getsignal(n) == signal.SIG_DFL]
    for number in taken:
        signal.signal(number, signal.default_int_handler)
    try:
        yield
    finally:
        for number in taken:
            signal.signal(number, signal.SIG_DFL)


def _command(argv: Sequence[str]) -> int:
    if argv and not argv[0].startswith("-") and argv[0] not in COMMANDS:
        print(_unknown_command(argv[0]), file=sys.stderr)
        return BAD_USAGE
    known = parser()
    try:
        arguments = known.parse_args(argv)
    except SystemExit as end:  # argparse has printed its help, or what is wrong
        file = next((a for a in argv if a.startswith("-") and Path(a).is_file()), None)
        if end.code and file is not None:
            print(f"  hint: for the file of this name write ./{printable(file)}", file=sys.stderr)
        return end.code if isinstance(end.code, int) else BAD_USAGE
    if arguments.command is None:
        known.print_help()
        return BAD_USAGE
    complaint = _wrong_combination(arguments)
    if complaint:
        print(f"loopwalk: {complaint}", file=sys.stderr)
        return BAD_USAGE
    status = _RUN[arguments.command](arguments)
    sys.stdout.flush()
    return status


def _solve(arguments: argparse.Namespace) -> int:
    from derive.cli.solve import Request
    from derive.engines.pages import Wanted

    request = Request(
        files=tuple(arguments.files),
        formats=arguments.to or ("tex", "pdf"),
        out=_folder(arguments),
        options=_options(arguments),
        engine=Wanted(arguments.engine or ""),
    )
    return _run(request, arguments)


def _draw(arguments: argparse.Namespace) -> int:
    from derive.circuit.appearance import BatterySymbol, BridgeShape, ResistorSymbol
    from derive.cli.draw import Request
    from derive.drawing.view import View
    from derive.engines.pages import Wanted
    from derive.pictures import Appearance, Subject

    request = Request(
        files=tuple(arguments.files),
        formats=arguments.to,
        out=_folder(arguments),
        subjects=tuple(map(Subject, arguments.show)),
        view=View(
            values=arguments.values,
            currents=arguments.arrows,
            points=arguments.points,
            width=arguments.width,
        ),
        appearance=Appearance(
            resistor=ResistorSymbol(arguments.resistors) if arguments.resistors else None,
            battery=BatterySymbol(arguments.batteries) if arguments.batteries else None,
            bridge=BridgeShape(arguments.bridge) if arguments.bridge else None,
        ),
        engine=Wanted(arguments.engine or ""),
    )
    return _run(request, arguments)


def _run(request: SolveRequest | DrawRequest, arguments: argparse.Namespace) -> int:
    from derive.cli.console import Console
    from derive.cli.each import run_all

    def build(names: tuple[str, ...]) -> int:
        console = Console(progress=len(names) > 1)
        named = replace(request, files=names)
        return run_all(named, console, arguments.jobs, rebuild=arguments.rebuild)

    if not arguments.watch:
        return build(request.files)
    from derive.cli.watching import watch

    return watch(request.files, Console(progress=False), build)


def _formula(arguments: argparse.Namespace) -> int:
    from derive.cli.formula import Request, formula

    return formula(Request(tuple(arguments.files), _options(arguments)))


def _engines(_: argparse.Namespace) -> int:
    from derive.cli.engines import engines

    return engines()


def _complete(arguments: argparse.Namespace) -> int:
    from derive.cli.complete import complete

    return complete(arguments.shell)


_RUN = {
    "solve": _solve,
    "draw": _draw,
    "formula": _formula,
    "engines": _engines,
    "complete": _complete,
}


def _folder(arguments: argparse.Namespace) -> Path | None:
    return None if arguments.out == "-" else Path(arguments.out)


def _say_what_the_terminal_can() -> None:
    """Print a question mark for a sign the terminal lacks, and nothing where nobody listens."""
    if sys.stdout is None:  # closed by the caller
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _unknown_command(word: str) -> str:
    # argparse would list the commands and leave the commonest slip, no command at all, unsaid.
    hint = f"loopwalk solve {printable(word)}" if Path(word).is_file() else "loopwalk --help"
    return f"loopwalk: there is no command {word!r}; try: {hint}"


def _wrong_combination(arguments: argparse.Namespace) -> str | None:
    if arguments.command not in ("solve", "draw"):
        return None
    if not arguments.out:
        return "--out needs the name of a folder; . is the one you are in"
    if arguments.watch and (arguments.out == "-" or "-" in arguments.files):
        return "--watch is for files and a folder, not for standard input or output"
    if arguments.out != "-":
        return None
    if arguments.to is None or len(arguments.to) != 1:
        example = "svg" if arguments.command == "draw" else "text"
        return f"--out - needs exactly one format, such as --to {example}"
    if len(arguments.files) != 1:
        return "--out - takes exactly one file"
    if arguments.command == "draw" and (len(arguments.show) != 1 or "loops" in arguments.show):
        return "--out - takes one figure only; loops and lists of figures need a folder"
    (form,) = arguments.to
    if form in ("pdf", "png") and sys.stdout.isatty():
        call = f"loopwalk {arguments.command} … --out - > FILE.{form}"
        return f"a {form.upper()} is not for the terminal; send it on: {call}"
    return None


def _options(arguments: argparse.Namespace) -> Options:
    from derive.document.narrate import Detail
    from derive.options import Group, Options

    common = Options(
        group=Group(arguments.group), expanded=arguments.expanded, terms=arguments.terms
    )
    if arguments.command == "formula":
        return common
    return replace(
        common,
        numbers_first=arguments.numbers_first,
        detail=Detail(arguments.detail),
        figures=arguments.figures,
    )
