"""What is said while files are worked on: at a terminal with colours, else as plain lines."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from derive.diagnostic import printable

if TYPE_CHECKING:
    from rich.console import Console as RichConsole
    from rich.progress import Progress, TaskID

_LOOKS = (
    (r"^(?:[^\n:]+:)?(?:\d+:\d+:)? ?error:", "bold red"),
    (r"^(?:[^\n:]+:)?(?:\d+:\d+:)? ?warning:", "bold yellow"),
    (r"^loopwalk:", "bold red"),
    (r"^ *\| +\^+$", "bold red"),
    (r"^ *\d* \|", "dim"),
    (r"^ +hint:", "bold cyan"),
)
"""What stands out in a message, as regular expressions; colour never carries a meaning alone."""


class Voice:
    """What may be said of a file while it is worked on."""

    def __init__(self) -> None:
        """Begin with nothing said."""
        self._complaints: set[str] = set()

    def say(self, message: str) -> None:
        """Tell a message on lines of its own."""
        raise NotImplementedError

    def add(self, word: str) -> None:
        """Say that one more result of the file is written."""
        raise NotImplementedError

    def complain(self, message: str) -> None:
        """Say what is wrong with the command or its files."""
        self.say(f"loopwalk: {message}")

    def complain_once(self, message: str) -> None:
        """Say what is the same for every file only for the first."""
        if message not in self._complaints:
            self._complaints.add(message)
            self.complain(message)


class Notes(Voice):
    """Keeps what is said in another process, until it can be told."""

    def __init__(self) -> None:
        """Begin with no notes."""
        super().__init__()
        self.kept: list[tuple[str, str]] = []
        """How each was said, by the name of the method of `Voice`, and what."""

    def say(self, message: str) -> None:
        """Keep a message."""
        self.kept.append(("say", message))

    def add(self, word: str) -> None:
        """Keep the name of a result."""
        self.kept.append(("add", word))

    def complain_once(self, message: str) -> None:
        """Keep a complaint; whether others made it too is found out when it is told."""
        self.kept.append(("complain_once", message))


class Heard(Notes):
    """Says at once what is said, and keeps it."""

    def __init__(self, voice: Voice) -> None:
        """Say it with a voice."""
        super().__init__()
        self._voice = voice

    def say(self, message: str) -> None:
        """Say and keep a message."""
        super().say(message)
        self._voice.say(message)

    def add(self, word: str) -> None:
        """Say and keep the name of a result."""
        super().add(word)
        self._voice.add(word)

    def complain_once(self, message: str) -> None:
        """Make and keep a complaint."""
        super().complain_once(message)
        self._voice.complain_once(message)


class Console(Voice):
    """Standard error: a bar of progress at a terminal, else a line for each of several files."""

    def __init__(self, *, progress: bool) -> None:
        """Show progress when there are several files."""
        super().__init__()
        self._open = False
        self._rich = rich_console(sys.stderr)
        self._progress = progress and self._rich is None

    def start(self, text: str) -> None:
        """Begin the line of a file."""
        if self._progress:
            self._write(printable(text))
            self._open = True

    def add(self, word: str) -> None:
        """Say on the open line that one more result of the file is written."""
        if self._progress:
            self._write(f" {word}" if self._open else f"  … {word}")
            self._open = True

    def end(self) -> None:
        """Close the line of a file."""
        if self._open:
            self._write("\n")
            self._open = False

    def say(self, message: str) -> None:
        """Print a message on lines of its own."""
        self.end()
        message = "\n".join(map(printable, message.split("\n")))
        if self._rich is None:
            self._write(f"{message}\n")
        else:
            from rich.text import Text

            text = Text(message)
            for pattern, look in _LOOKS:
                text.highlight_regex(re.compile(pattern, re.MULTILINE), look)
            self._rich.print(text, soft_wrap=True)

    @contextmanager
    def progress(self, count: int) -> Iterator[Bar]:
        """Draw a bar for several files while they are worked on, at a terminal only."""
        if self._rich is None or count == 1:
            yield Bar()
            return
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeElapsedColumn

        columns = (BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        with Progress(*columns, console=self._rich, transient=True) as progress:
            yield Bar(progress, progress.add_task("", total=count))

    def tell(self, notes: Notes) -> None:
        """Say what was kept in another process."""
        for manner, message in notes.kept:
            getattr(self, manner)(message)

    def _write(self, text: str) -> None:
        sys.stderr.write(text)
        sys.stderr.flush()


@dataclass(frozen=True, slots=True)
class Bar:
    """How many of several files are done."""

    progress: Progress | None = None
    """None where nothing is drawn."""
    task: TaskID | None = None

    def advance(self) -> None:
        """Count one more."""
        if self.progress is not None and self.task is not None:
            self.progress.advance(self.task)


def print_answers(answers: Sequence[str]) -> None:
    """Print answers on standard output, at a terminal as a table with the names set off."""
    console = rich_console(sys.stdout) if answers else None
    if console is None:
        for answer in answers:
            print(answer, flush=True)
        return
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 1))
    for answer in answers:
        name, *rest = re.split(r" ([=≈]) ", answer, maxsplit=1)
        table.add_row(Text(name, style="bold", justify="right"), *map(Text, rest))
    console.print(table)


def rich_console(stream: TextIO) -> RichConsole | None:
    """Return what writes with colours, where a terminal wants them; importing it takes a while.

    The terminal is asked, and the variables NO_COLOR (no-color.org) and TERM.
    """
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    if plain or not stream.isatty():
        return None
    from rich.console import Console as RichConsole

    return RichConsole(file=stream, highlight=False, emoji=False, markup=False)
