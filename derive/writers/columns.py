"""Given values in columns: emfs in one, resistances in the next, as few rows as look good."""

from __future__ import annotations

from collections.abc import Sequence

from derive.algebra.term import Symbol, SymbolKind
from derive.document.model import Chain

_GAP = 2.0
"""Space between two columns, in the unit of the widths."""
_ROWS = 4
"""Rows that are filled before a kind of quantity goes on in another column."""

Grid = list[list[Chain | None]]


def value_grid(chains: Sequence[Chain], widths: Sequence[float], width: float) -> Grid:
    """Return rows of cells; a column holds quantities of one kind, read downwards."""
    for rows in range(_ROWS, max(_ROWS, len(chains)) + 1):
        columns = _columns(chains, rows)
        measured = dict(zip(chains, widths, strict=True))
        needed = sum(max(measured[c] for c in column) for column in columns)
        if needed + _GAP * (len(columns) - 1) <= width:
            break
    else:
        columns = [list(chains)] if chains else []
    height = max(map(len, columns), default=0)
    return [[c[row] if row < len(c) else None for c in columns] for row in range(height)]


def _columns(chains: Sequence[Chain], rows: int) -> list[list[Chain]]:
    kinds: dict[SymbolKind | None, list[Chain]] = {}
    for chain in chains:
        kinds.setdefault(_kind(chain), []).append(chain)
    return [
        group[start : start + rows]
        for group in kinds.values()
        for start in range(0, len(group), rows)
    ]


def _kind(chain: Chain) -> SymbolKind | None:
    first = chain.sides[0]
    return first.kind if isinstance(first, Symbol) else None
