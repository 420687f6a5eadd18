"""Given values in columns: emfs in one, resistances in the next, as few rows as look good."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, combinations

from derive.algebra.term import Symbol, SymbolKind
from derive.document.model import Chain

_GAP = 2.0
"""Space between two columns, in the unit of the widths."""
_ROWS = 4
"""Rows that are filled before a kind of quantity goes on in another column."""

Grid = list[list[Chain | None]]


def value_grid(chains: Sequence[Chain], widths: Sequence[float], width: float) -> Grid:
    """Return rows of cells; a column holds quantities of one kind, read downwards."""
    measured = dict(zip(chains, widths, strict=True))
    for columns in _candidates(chains):
        needed = sum(max(measured[c] for c in column) for column in columns)
        if needed + _GAP * (len(columns) - 1) <= width:
            break
    height = max(map(len, columns), default=0)
    return [[c[row] if row < len(c) else None for c in columns] for row in range(height)]


def _candidates(chains: Sequence[Chain]) -> Iterator[list[list[Chain]]]:
    """Yield ways to fill columns, the best first and one column last."""
    kinds: dict[SymbolKind | None, list[Chain]] = {}
    for item in chains:
        kinds.setdefault(_kind(item), []).append(item)
    groups = list(kinds.values())
    for rows in range(_ROWS, max(_ROWS, len(chains)) + 1):
        yield [group[k : k + rows] for group in groups for k in range(0, len(group), rows)]
    # Where the kinds are too many to stand side by side, some stand one below the other.
    ends = [cuts for n in range(len(groups)) for cuts in combinations(range(1, len(groups)), n)]
    stacked = [
        [list(chain(*groups[a:b])) for a, b in zip((0, *cuts), (*cuts, None), strict=True)]
        for cuts in ends
    ]
    yield from sorted(stacked, key=lambda columns: (max(map(len, columns)), len(columns)))


def _kind(chain: Chain) -> SymbolKind | None:
    first = chain.sides[0]
    return first.kind if isinstance(first, Symbol) else None
