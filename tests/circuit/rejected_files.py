"""Expected diagnostics written inside the files of ``tests/rejected``.

``# Error: 4-9 unknown-point: message`` stands before the line it speaks of, with the columns of
the fault, both included; without columns it speaks of the whole file and stands on top.
``# Hint: …`` follows it. Run as a program, this rewrites the annotations from what the code says
now; look at the difference before keeping it.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from pathlib import Path

from derive.circuit.elaborate import load
from derive.diagnostic import Diagnostic, Rejected
from derive.source import Source

FOLDER = Path(__file__).resolve().parent.parent / "rejected"
_ANNOTATION = re.compile(r"# (Error|Warning|Hint): ")


def diagnostics(source: Source) -> tuple[Diagnostic, ...]:
    """Return what a file is rejected with."""
    try:
        elaborated = load(source)
    except Rejected as rejected:
        return rejected.diagnostics
    return elaborated.warnings


def bare(text: str) -> str:
    """Return a text without its annotations."""
    return "".join(line for line in text.splitlines(keepends=True) if not _ANNOTATION.match(line))


def annotated(source: Source, found: Sequence[Diagnostic]) -> str:
    """Return a bare text with the diagnostics found in it written in."""
    notes: dict[int, list[str]] = {}
    for diagnostic in found:
        line, columns = 1, ""
        if diagnostic.span is not None:
            line, column = source.position(diagnostic.span.start)
            length = max(1, diagnostic.span.end - diagnostic.span.start)
            end = min(column + length - 1, max(column, len(source.line(line))))
            columns = f"{column}-{end} "
        severity = diagnostic.severity.value.capitalize()
        notes.setdefault(line, []).append(
            f"# {severity}: {columns}{diagnostic.code}: {diagnostic.message}"
        )
        notes[line] += [f"# Hint: {hint}" for hint in diagnostic.hints]
    lines = source.text.splitlines()
    return "".join(
        "".join(f"{note}\n" for note in notes.get(number, ())) + line + "\n"
        for number, line in enumerate(lines, start=1)
    )


def main() -> None:
    """Rewrite the annotations of all files."""
    for path in sorted(FOLDER.glob("*.circuit")):
        source = Source(path.name, bare(path.read_text(encoding="utf-8")))
        path.write_text(annotated(source, diagnostics(source)), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
