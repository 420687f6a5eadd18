"""How any TeX is run: in a folder of its own, allowed nothing outside it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

JOB = "solution"
"""What the document is called in its folder; its file ends in ``.tex``."""

OPTIONS = ("-interaction=nonstopmode", "-halt-on-error", "-file-line-error", "-no-shell-escape")

ENVIRONMENT: Mapping[str, str] = {
    "openin_any": "p",  # nothing outside the folder and the installation is read …
    "openout_any": "p",  # … or written
    "shell_escape": "f",
    "SOURCE_DATE_EPOCH": "0",  # the same text gives the same bytes
    "FORCE_SOURCE_DATE": "1",
    "max_print_line": "1000",  # messages are not cut in the middle of a word
    "TEXINPUTS": "",
}


@contextmanager
def folder_of_its_own() -> Iterator[Path]:
    """Give a temporary folder; it goes when the work is done."""
    with tempfile.TemporaryDirectory(prefix="loopwalk-", ignore_cleanup_errors=True) as name:
        yield Path(name)


def put_document(folder: Path, tex: str) -> None:
    """Write the text that is to be set."""
    (folder / f"{JOB}.tex").write_text(tex, encoding="utf-8", newline="\n")
