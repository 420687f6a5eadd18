"""The known name that is nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable

_FARTHEST = 2
"""More slips of the pen than this make another word."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that is fewest slips away; the first of equals; None when all are far.

    A slip is a letter wrong, missing, added, or changed with its neighbour (Damerau 1964, optimal
    string alignment). A wrong case counts as half a slip. Short words must be nearer: a word of
    one letter has no neighbour but its other case.
    """
    best: tuple[float, str] | None = None
    allowed = min(_FARTHEST, max(0.5, (len(word) - 1) / 1.5))
    for candidate in known:
        distance = _distance(word, candidate)
        if distance <= allowed and (best is None or distance < best[0]):
            best = (distance, candidate)
    return None if best is None else best[1]


def _distance(left: str, right: str) -> float:
    if abs(len(left) - len(right)) > _FARTHEST:
        return _FARTHEST + 1.0
    before: list[float] = []
    row = [float(column) for column in range(len(right) + 1)]
    for i, a in enumerate(left, start=1):
        earlier, before, row = before, row, [float(i)]
        for j, b in enumerate(right, start=1):
            change = 0.0 if a == b else 0.5 if a.lower() == b.lower() else 1.0
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + change)
            if i > 1 and j > 1 and a == right[j - 2] and left[i - 2] == b:
                cost = min(cost, earlier[j - 2] + 1)
            row.append(cost)
        if min(row) > _FARTHEST:
            return _FARTHEST + 1.0
    return row[-1]
