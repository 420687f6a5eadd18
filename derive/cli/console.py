"""Messages on standard error: progress of several files, complaints, and a last line."""

from __future__ import annotations

import sys


class Console:
    """Standard error, where a line of progress may stand open."""

    def __init__(self, *, progress: bool) -> None:
        """Show progress when there are several files."""
        self._progress = progress
        self._open = False
        self._complaints: set[str] = set()

    def start(self, text: str) -> None:
        """Begin the line of a file."""
        if self._progress:
            self._write(text)
            self._open = True

    def add(self, word: str) -> None:
        """Say that one more result of the file is written."""
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
        self._write(f"{message}\n")

    def complain(self, message: str) -> None:
        """Print what is wrong with the command or its files."""
        self.say(f"loopwalk: {message}")

    def complain_once(self, message: str) -> None:
        """Print what is the same for every file only for the first."""
        if message not in self._complaints:
            self._complaints.add(message)
            self.complain(message)

    def _write(self, text: str) -> None:
        sys.stderr.write(text)
        sys.stderr.flush()
