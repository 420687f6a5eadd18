"""``loopwalk engines``: what sets pages on this machine, and how to get what is missing."""

from __future__ import annotations

import sys
from dataclasses import dataclass

from derive.cli.console import rich_console
from derive.cli.status import DONE
from derive.engines import embedded, tex

_HEADER = ("engine", "state", "version", "where")


@dataclass(frozen=True, slots=True)
class _Found:
    name: str
    state: str
    version: str
    where: str

    @property
    def cells(self) -> tuple[str, str, str, str]:
        return self.name, self.state, self.version, self.where


def engines() -> int:
    """Print what was found and what is missing."""
    found = {engine.kind: engine for engine in tex.find()}
    version = embedded.version()
    rows = [
        _Found("embedded", "missing", "", "")
        if version is None
        else _Found("embedded", "ready", f"{embedded.NAME} {version}", "a Python package")
    ]
    for kind in tex.Kind:
        engine = found.get(kind)
        if engine is None:
            rows.append(_Found(kind.value, "missing", "", ""))
        else:
            version_told = engine.version.removeprefix("This is ")
            rows.append(_Found(kind.value, "ready", version_told, engine.path))
    _print(rows)
    print()
    for line in _advice(next(iter(found), None), version):
        print(line)
    return DONE


def _advice(first: tex.Kind | None, version: str | None) -> list[str]:
    lines = []
    if first is not None:
        other = "" if version is None else "; --engine embedded chooses the embedded one"
        lines.append(f"A PDF is set by {first.value}{other}.")
    elif version is not None:
        lines.append("A PDF is set by the embedded engine. For one by TeX, install a TeX:")
        lines.append(f"  {tex.install_hint()}")
    else:
        lines.append("No engine can set a PDF. Install one of the two:")
        lines.append(f"  {tex.install_hint()}")
    if version is None:
        lines.append(f"For the embedded engine: {embedded.INSTALL_HINT}")
    return lines


def _print(rows: list[_Found]) -> None:
    console = rich_console(sys.stdout)
    if console is None:
        cells = [_HEADER, *(row.cells for row in rows)]
        widths = [max(len(row[k]) for row in cells) for k in range(len(_HEADER))]
        for row in cells:
            line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            print(line.rstrip())
        return
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in _HEADER:
        table.add_column(name, overflow="fold")  # nothing is cut at a narrow terminal
    for found in rows:
        table.add_row(*found.cells, style=None if found.state == "ready" else "dim")
    console.print(table)
