"""The command ``loopwalk``: arguments, files, messages, exit status.

What takes long to import (the language, the algebra, the writers) is imported when it is needed,
so that ``--help`` and ``--version`` answer at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from derive import __version__
from derive.cli.status import BAD_USAGE, DONE, INTERRUPTED
from derive.cli.teaching import FORMULA, SOLVE, SUMMARY, TEACHING

if TYPE_CHECKING:
    from derive.pipeline import Options

FORMATS = ("tex", "fragment", "pdf", "text", "json")
NOT_YET = ("html",)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status."""
    _say_what_the_terminal_can()
    try:
        return _command(argv)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever reads our output has had enough; the interpreter must not complain at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _command(argv: Sequence[str] | None) -> int:
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
    """Print a question mark for a sign the terminal lacks, instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


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

    return Options(
        numbers_first=arguments.numbers_first,
        detail=Detail(arguments.detail),
        group=Group(arguments.group),
        figures=arguments.figures,
        terms=arguments.terms,
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="loopwalk",
        description=SUMMARY,
        epilog=TEACHING,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"loopwalk {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    solve = _subcommand(commands, "solve", "write the worked solution of circuits", SOLVE)
    solve.add_argument(
        "--to",
        metavar="LIST",
        type=_formats,
        help=f"what to write, with commas between: {', '.join(FORMATS)} (else tex,pdf)",
    )
    solve.add_argument(
        "--out",
        metavar="DIR",
        default="build",
        help="folder for the results (else build); - sends one result to standard output",
    )
    _subcommand(commands, "formula", "print the formula of every current", FORMULA)
    return parser


def _subcommand(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    summary: str,
    description: str,
) -> argparse.ArgumentParser:
    parser = commands.add_parser(
        name,
        help=summary,
        description=description,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("files", nargs="+", metavar="FILE", help="circuit file; - reads one here")
    parser.add_argument(
        "--numbers-first", action="store_true", help="put the values in before solving"
    )
    parser.add_argument(
        "--detail",
        choices=("full", "brief", "answers"),
        default="full",
        help="every step; only the equations; only the answers (else full)",
    )
    parser.add_argument(
        "--group",
        choices=("battery", "loop"),
        default="battery",
        help="order formulas by what each battery, or each loop, contributes (else battery)",
    )
    parser.add_argument(
        "--figures",
        type=_from_to(1, 15),
        metavar="N",
        help="significant figures of results (else by the data)",
    )
    parser.add_argument(
        "--terms",
        type=_from_to(1, 1_000_000),
        default=2000,
        metavar="N",
        help="longest formula, in terms, that is written out (else 2000)",
    )
    return parser


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
