"""How a written file says where it comes from; the command line overwrites only what says so."""

from __future__ import annotations

VERSION = "0.1.0"
NAME = "Made by Loopwalk"
"""Stands on the first line of TeX, on the last line of plain text, and as a PDF's creator."""
MARK = f"{NAME} {VERSION}"
