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
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from derive.cli.status import BAD_USAGE, DONE, ENGINE_FAILED, INTERRUPTED
from derive.cli.teaching import FORMULA, SOLVE, SOLVE_EXAMPLES, SUMMARY, TEACHING
from derive.writers.mark import VERSION

if TYPE_CHECKING:
    from derive.pipeline import Options

FORMATS = ("tex", "fragment", "pdf", "text", "json")
NOT_YET = ("html",)
COMMANDS = ("solve", "formula")
MOST_FIGURES = 12
"""As in a circuit file."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status."""
    _say_what_the_terminal_can()
    try:
        with _stopped_in_order():
            return _command(sys.argv[1:] if argv is None else argv)
    except KeyboardInterrupt:
        print("loopwalk: stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever reads our output has had enough; the interpreter must not complain at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as fault:
        if os.environ.get("LOOPWALK_TRACEBACK"):
            raise
        print(f"loopwalk: {_broken(fault)}", file=sys.stderr)
        return ENGINE_FAILED


def _broken(fault: Exception) -> str:
    """Say what keeps the program itself from running."""
    if isinstance(fault, ModuleNotFoundError) and not (fault.name or "").startswith("derive"):
        hint = "install Loopwalk with all it needs: python3 -m pip install -e . (in its folder)"
        return f"the Python package {fault.name} is missing\n  hint: {hint}"
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
    parser = _parser()
    try:
        arguments = parser.parse_args(argv)
    except SystemExit as end:  # argparse has printed its help, or what is wrong
        return end.code if isinstance(end.code, int) else BAD_USAGE
    if arguments.command is None:
        parser.print_help()
        return BAD_USAGE
    from derive.cli import work

    if arguments.command == "formula":
        status = work.formula(tuple(arguments.files), _options(arguments))
    else:
        complaint = _wrong_combination(arguments)
        if complaint:
            print(f"loopwalk: {complaint}", file=sys.stderr)
            return BAD_USAGE
        request = work.Request(
            files=tuple(arguments.files),
            formats=arguments.to or ("tex", "pdf"),
            chosen=arguments.to is not None,
            out=None if arguments.out == "-" else Path(arguments.out),
            options=_options(arguments),
        )
        status = work.solve(request)
    sys.stdout.flush()
    return status


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
    hint = f"loopwalk solve {word}" if Path(word).is_file() else "loopwalk --help"
    return f"loopwalk: there is no command {word!r}; try: {hint}"


def _wrong_combination(arguments: argparse.Namespace) -> str | None:
    if arguments.out != "-":
        return None
    if arguments.to is None or len(arguments.to) != 1:
        return "--out - needs exactly one format, such as --to text"
    if len(arguments.files) != 1:
        return "--out - takes exactly one file"
    if arguments.to == ("pdf",) and sys.stdout.isatty():
        return "a PDF is not for the terminal; send it on: loopwalk solve … --out - > FILE.pdf"
    return None


def _options(arguments: argparse.Namespace) -> Options:
    from derive.pipeline import Detail, Group, Options

    common = Options(group=Group(arguments.group), terms=arguments.terms)
    if arguments.command == "formula":
        return common
    return replace(
        common,
        numbers_first=arguments.numbers_first,
        detail=Detail(arguments.detail),
        figures=arguments.figures,
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="loopwalk",
        description=SUMMARY,
        epilog=TEACHING,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"loopwalk {VERSION}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    solve = _subcommand(
        commands, "solve", "write the worked solution of circuits", SOLVE, SOLVE_EXAMPLES
    )
    _add_results(solve)
    _add_wording(solve)
    _add_formulas(
        solve,
        "; beyond it the numbers go in first (else 300), or, where letters are left, nothing is "
        "written (else 2000)",
    )
    formula = _subcommand(commands, "formula", "print the formula of every current", FORMULA, "")
    _add_formulas(formula, " (else 2000)")
    return parser


def _subcommand(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    summary: str,
    description: str,
    examples: str,
) -> argparse.ArgumentParser:
    parser = commands.add_parser(
        name,
        help=summary,
        description=description,
        epilog=examples,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("files", nargs="+", metavar="FILE", help="circuit file")
    return parser


def _add_results(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--to",
        metavar="LIST",
        type=_formats,
        help=f"what to write, with commas between: {', '.join(FORMATS)} (else tex,pdf)",
    )
    parser.add_argument(
        "--out",
        metavar="DIR",
        default="build",
        help="folder for the results (else build); - sends one result to standard output",
    )


def _add_wording(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--numbers-first", action="store_true", help="put the values in before solving"
    )
    parser.add_argument(
        "--detail",
        choices=("full", "brief", "answers"),
        default="full",
        help="every step, only the equations, or only the answers (else full)",
    )
    parser.add_argument(
        "--figures",
        type=_from_to(1, MOST_FIGURES),
        metavar="N",
        help=f"significant figures of results, 1 to {MOST_FIGURES} (else by the data)",
    )


def _add_formulas(parser: argparse.ArgumentParser, beyond: str) -> None:
    parser.add_argument(
        "--group",
        choices=("battery", "loop"),
        default="battery",
        help="order formulas by what each battery, or each loop, contributes (else battery)",
    )
    parser.add_argument(
        "--terms",
        type=_from_to(1, 1_000_000),
        metavar="N",
        help=f"longest denominator, in products, that is worked out in letters{beyond}",
    )


def _formats(text: str) -> tuple[str, ...]:
    chosen: list[str] = []
    for name in (part.strip() for part in text.split(",")):
        if name in NOT_YET:
            raise argparse.ArgumentTypeError(f"{name} is not made yet; {_known()}")
        if name not in FORMATS:
            raise argparse.ArgumentTypeError(f"there is no format {name!r}; {_known()}")
        if name not in chosen:
            chosen.append(name)
    return tuple(chosen)


def _known() -> str:
    return f"the formats are {', '.join(FORMATS)}"


class _from_to:  # noqa: N801  (used like a function)
    """Read a whole number within bounds."""

    def __init__(self, least: int, most: int) -> None:
        self.least, self.most = least, most

    def __call__(self, text: str) -> int:
        if text.isascii() and text.isdigit() and self.least <= int(text[:9]) <= self.most:
            return int(text)
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a whole number from {self.least} to {self.most}"
        )
