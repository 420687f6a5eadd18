"""The command line: commands, options, and how they are read."""

from __future__ import annotations

import argparse
from typing import NoReturn

from derive.bounds import FIGURES, TERMS, WIDTHS
from derive.cli.teaching import (
    COMPLETE,
    DRAW,
    DRAW_EXAMPLES,
    ENGINES,
    FORMULA,
    SOLVE,
    SOLVE_EXAMPLES,
    SUMMARY,
    TEACHING,
)
from derive.diagnostic import printable
from derive.writers.mark import VERSION

FORMATS = (
    "tex", "fragment", "pdf", "typst", "html", "markdown", "text", "json", "proof", "png", "svg",
)  # fmt: skip
FIGURE_FORMATS = ("svg", "pdf", "tikz")
SUBJECTS = ("circuit", "loops", "potentials", "powers")
"""The figures of a circuit: itself, every loop walked, a walk's potential, the power of parts."""
COMMANDS = ("solve", "draw", "formula", "engines", "complete")
SHELLS = ("bash", "zsh", "tcsh")


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in words that cannot drive a terminal."""

    def error(self, message: str) -> NoReturn:
        """Print how the command is used and what is wrong, and end."""
        super().error(printable(message))


def parser() -> argparse.ArgumentParser:
    """Return what reads the command line."""
    whole = _Parser(
        prog="loopwalk",
        description=SUMMARY,
        epilog=TEACHING,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    whole.add_argument("--version", action="version", version=f"loopwalk {VERSION}")
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    solve = _subcommand(
        commands, "solve", "write the worked solution of circuits", SOLVE, SOLVE_EXAMPLES
    )
    _add_results(solve, FORMATS, "tex,pdf")
    _add_building(solve)
    _add_wording(solve)
    _add_formulas(
        solve,
        "; beyond it the numbers go in first (else 300), or, where letters are left, nothing is "
        "written (else 2000)",
    )
    draw = _subcommand(commands, "draw", "write the figure of circuits", DRAW, DRAW_EXAMPLES)
    _add_results(draw, FIGURE_FORMATS, "svg")
    _add_building(draw)
    draw.add_argument(
        "--show",
        metavar="LIST",
        type=_list_of(SUBJECTS, "figure"),
        default=("circuit",),
        help=f"which figures, with commas between: {', '.join(SUBJECTS)} (else circuit)",
    )
    _add_looks(draw)
    draw.set_defaults(to=("svg",))
    formula = _subcommand(commands, "formula", "print the formula of every current", FORMULA, "")
    _add_formulas(formula, " (else 2000)")
    _bare_subcommand(commands, "engines", "tell what can set a PDF here", ENGINES)
    complete = _bare_subcommand(
        commands, "complete", "print what lets a shell complete the command", COMPLETE
    )
    complete.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))
    return whole


def _subcommand(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    summary: str,
    description: str,
    examples: str,
) -> argparse.ArgumentParser:
    parser = _bare_subcommand(commands, name, summary, description, examples)
    parser.add_argument("files", nargs="+", metavar="FILE", help="circuit file")
    return parser


def _bare_subcommand(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    summary: str,
    description: str,
    examples: str = "",
) -> argparse.ArgumentParser:
    return commands.add_parser(
        name,
        help=summary,
        description=description,
        epilog=examples,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )


def _add_results(parser: argparse.ArgumentParser, formats: tuple[str, ...], default: str) -> None:
    parser.add_argument(
        "--to",
        metavar="LIST",
        type=_list_of(formats),
        help=f"what to write, with commas between: {', '.join(formats)} (else {default})",
    )
    parser.add_argument(
        "--out",
        metavar="DIR",
        default="build",
        help="folder for the results (else build); - sends one result to standard output",
    )


def _add_building(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--engine",
        choices=("tex", "embedded"),
        help="what sets a PDF (else a TeX that works, else the embedded engine)",
    )
    parser.add_argument(
        "--rebuild", action="store_true", help="write results again that are unchanged"
    )
    parser.add_argument(
        "--watch", action="store_true", help="work on each file again whenever it is saved"
    )
    parser.add_argument(
        "--jobs",
        type=_from_to(1, 1000),
        metavar="N",
        help="files that are worked on at once (else by the processors of the machine)",
    )


def _add_looks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--values", action="store_true", help="write given values under the names of parts"
    )
    parser.add_argument(
        "--no-arrows", dest="arrows", action="store_false", help="leave the currents out"
    )
    parser.add_argument(
        "--no-points", dest="points", action="store_false", help="leave the names of points out"
    )
    parser.add_argument(
        "--resistors",
        choices=("box", "zigzag"),
        help="how resistors are drawn (else as the file says, else box)",
    )
    parser.add_argument(
        "--batteries",
        choices=("cell", "cells"),
        help="one pair of plates, or two with dashes between (else as the file says, else cell)",
    )
    parser.add_argument(
        "--bridge",
        choices=("rectangle", "diamond"),
        help="how a bridge is drawn (else as the file says, else rectangle)",
    )
    parser.add_argument(
        "--width",
        type=_from_to(*WIDTHS),
        metavar="MM",
        help=f"width in millimetres, {WIDTHS[0]} to {WIDTHS[1]}: wires are made longer; where that "
        "does not do, the type is scaled as well (else as wide as the type needs)",
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
        type=_from_to(*FIGURES),
        metavar="N",
        help=f"significant figures of results, {FIGURES[0]} to {FIGURES[1]} (else by the data)",
    )


def _add_formulas(parser: argparse.ArgumentParser, beyond: str) -> None:
    parser.add_argument(
        "--group",
        choices=("battery", "loop"),
        default="battery",
        help="order formulas by what each battery, or each loop, contributes (else battery)",
    )
    parser.add_argument(
        "--expanded",
        action="store_true",
        help="write a formula as one fraction also where a reduction leaves it nested",
    )
    parser.add_argument(
        "--terms",
        type=_from_to(*TERMS),
        metavar="N",
        help=f"longest denominator, in products, that is worked out in letters{beyond}",
    )


class _list_of:  # noqa: N801  (used like a function)
    """Read names of formats, or of other things, with commas between them."""

    def __init__(self, formats: tuple[str, ...], kind: str = "format") -> None:
        self.formats = formats
        self.kind = kind

    def __call__(self, text: str) -> tuple[str, ...]:
        chosen: list[str] = []
        for name in (part.strip() for part in text.split(",")):
            if name not in self.formats:
                raise argparse.ArgumentTypeError(self._complaint(name))
            if name not in chosen:
                chosen.append(name)
        return tuple(chosen)

    def _complaint(self, name: str) -> str:
        known = f"the {self.kind}s are {', '.join(self.formats)}"
        if self.kind == "format" and name in (*FORMATS, *FIGURE_FORMATS):
            other = "solve" if name in FORMATS else "draw"
            return f"{name} is written by loopwalk {other}; {known}"
        return f"there is no {self.kind} {name!r}; {known}"


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
