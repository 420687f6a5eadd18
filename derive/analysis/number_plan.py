"""The elimination plan with the numbers put in: which unknown to remove next, by which equation.

What is left of a linear system after some unknowns X have been removed with some pivot equations P
depends on the sets X and P alone, up to a factor (it is a Schur complement), and rows are kept free
of common factors. So plans are paths through the pairs (X, P), and the cheapest one is found
by the shortest-path method of Dijkstra (1959). The cost of a step is what a person has to write for
it: the equations that it makes, what stands in the margin, and the line that finds the unknown in
the end. Beyond `_EXACT` unknowns only the best states of each level are kept, and with them what
Gauss's elimination in the order of the file leads to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from derive.analysis.plan import Elimination, LinearRow, Singular

_EXACT = 5
_BEAM = 12
_MEDIUM = 10
"""Beyond so many unknowns the cheapest next step is taken: nobody follows such a plan by eye."""

_Sets = tuple[tuple[int, ...], tuple[int, ...]]
"""The equations that are still open, and the unknowns still in them."""


def best_plan(rows: tuple[LinearRow, ...], first: tuple[int, ...] = ()) -> tuple[Elimination, ...]:
    """Return the eliminations that leave least to write; the last one has no row to change.

    All coefficients and right sides are numbers. `first` are unknowns the author wants removed, in
    order. Raises Singular.
    """
    start = tuple(_row(row) for row in rows)
    search = _Search(_solution(start), first)
    everything = tuple(range(len(rows)))
    plain = _State(0, start, everything, everything, ())
    level = {(everything, everything): plain}
    for _ in rows:
        following: dict[_Sets, _State] = {}
        for state in level.values():
            for successor in search.successors(state):
                key = (successor.open, successor.left)
                if key not in following or successor.rank < following[key].rank:
                    following[key] = successor
        if not following:
            raise Singular
        ranked = sorted(following.values(), key=lambda state: state.rank)
        if len(rows) > _EXACT:
            ranked = ranked[: _BEAM if len(rows) <= _MEDIUM else 1]
        level = {(state.open, state.left): state for state in ranked}
        if not first:
            plain = _in_file_order(plain, following)
            level.setdefault((plain.open, plain.left), plain)
    return next(iter(level.values())).path


def _in_file_order(state: _State, following: Mapping[_Sets, _State]) -> _State:
    """Return what the first unknown and the first equation that holds it lead to."""
    unknown, *left = state.left
    pivot = next(k for k in state.open if state.rows[k].entries[unknown])
    still = tuple(k for k in state.open if k != pivot)
    return following[still, tuple(left)]


def written(value: Fraction | int) -> int:
    """Return how many digits there are to write, a fraction bar counted as one.

    >>> written(-12), written(Fraction(5, 3)), written(0)
    (2, 3, 1)
    """
    if isinstance(value, int):
        return len(str(abs(value)))
    below = 0 if value.denominator == 1 else 1 + len(str(value.denominator))
    return len(str(abs(value.numerator))) + below


@dataclass(frozen=True, slots=True)
class _Row:
    """Whole numbers without a common divisor, the right side last; `unit` times them is shown."""

    entries: tuple[int, ...]
    unit: Fraction | int
    cost: int
    """What there is to write for it."""


@dataclass(frozen=True, slots=True)
class _State:
    cost: int
    rows: tuple[_Row, ...]
    open: tuple[int, ...]
    left: tuple[int, ...]
    path: tuple[Elimination, ...]

    @property
    def rank(self) -> tuple[int, tuple[tuple[int, int], ...]]:
        """Break ties by the order of the file: the first unknowns are found last, thus kept."""
        return self.cost, tuple((-move.unknown, move.pivot) for move in self.path)


def _row(row: LinearRow) -> _Row:
    values = [c.constant_value for c in (*row.coefficients, row.right)]
    below = lcm(*(value.denominator for value in values))
    whole = [int(value * below) for value in values]
    above = gcd(*whole) or 1
    unit = above if below == 1 else Fraction(above, below)
    return _made(tuple(entry // above for entry in whole), unit)


def _made(entries: tuple[int, ...], unit: Fraction | int = 1) -> _Row:
    *shown, right = entries if unit == 1 else [entry * unit for entry in entries]
    cost = written(right) + (right < 0)
    for value in shown:
        if value:
            # A sign before it, or the sign of equality after the last one, and its letter.
            cost += 2 + (0 if value in (1, -1) else written(value))
    return _Row(entries, unit, cost)


def _solution(rows: Sequence[_Row]) -> tuple[Fraction, ...]:
    """Return the values of the unknowns. Raises Singular."""
    table = [[Fraction(entry) for entry in row.entries] for row in rows]
    size = len(table)
    for column in range(size):
        pivot = next((k for k in range(column, size) if table[k][column]), None)
        if pivot is None:
            raise Singular
        table[column], table[pivot] = table[pivot], table[column]
        lead = table[column][column]
        table[column] = [value / lead for value in table[column]]
        for k, line in enumerate(table):
            if k != column and line[column]:
                pairs = zip(line, table[column], strict=True)
                table[k] = [a - line[column] * b for a, b in pairs]
    return tuple(line[-1] for line in table)


class _Search:
    """Carries eliminations out and counts what they make a person write."""

    def __init__(self, values: tuple[Fraction, ...], first: tuple[int, ...]) -> None:
        self._values = [written(value) + (value < 0) for value in values]
        self._first = first
        self._reduced: dict[tuple[int, tuple[int, ...], tuple[int, ...]], _Row] = {}

    def successors(self, state: _State) -> Iterator[_State]:
        depth = len(state.path)
        wanted = self._first[depth] if depth < len(self._first) else None
        for unknown in state.left:
            if wanted is not None and wanted in state.left and unknown != wanted:
                continue
            for pivot in state.open:
                if state.rows[pivot].entries[unknown]:
                    yield self._apply(state, Elimination(unknown, pivot))

    def _apply(self, state: _State, move: Elimination) -> _State:
        rows = list(state.rows)
        pivot = rows[move.pivot]
        cost = state.cost + self._found(pivot, move.unknown)
        still = tuple(k for k in state.open if k != move.pivot)
        left = tuple(k for k in state.left if k != move.unknown)
        for number in still:
            row = rows[number]
            ours = row.entries[move.unknown]
            if ours:
                theirs = pivot.entries[move.unknown]
                shared = gcd(ours, theirs)
                own, other = theirs // shared, -ours // shared
                raw = [own * a + other * b for a, b in zip(row.entries, pivot.entries, strict=True)]
                factor = _signed_divisor(raw)
                key = (number, still, left)
                made = self._reduced.get(key)
                if made is None:
                    made = self._reduced[key] = _made(tuple(a // factor for a in raw))
                rows[number] = made
                cost += made.cost + _margin(own, factor, row) + _margin(other, factor, pivot)
        return _State(cost, tuple(rows), still, left, (*state.path, move))

    def _found(self, row: _Row, unknown: int) -> int:
        """Return what there is to write for I1 = (12 − 3 I2)/7 = (12 − 3 · 5)/7 = −3/7."""
        shown: Sequence[Fraction | int] = row.entries
        if row.unit != 1:
            shown = [entry * row.unit for entry in row.entries]
        *entries, right = shown
        cost = 2 + self._values[unknown]
        others = [k for k, entry in enumerate(entries) if entry and k != unknown]
        if not others:
            return cost
        lead = entries[unknown]
        # Signs of equality, signs between the terms, and one in front where the first is negative.
        shared = len(others) + (right * lead < 0 if right else (entries[others[0]] * lead > 0) - 1)
        if lead not in (1, -1):
            shared += 1 + written(lead)
        if right:
            shared += written(right)
        letters = numbers = 1 + shared
        for k in others:
            digits = 0 if entries[k] in (1, -1) else written(entries[k])
            letters += 1 + digits
            numbers += digits + (digits > 0) + self._values[k]
        if letters == 2:
            return cost + letters  # I1 = I2 = 5 A
        return cost + letters + numbers


def _signed_divisor(raw: Sequence[int]) -> int:
    """Return what leaves whole numbers without a common divisor, the first one positive."""
    shared = gcd(*raw) or 1
    lead = next((entry for entry in raw[:-1] if entry), 1)
    return shared if lead > 0 else -shared


def _margin(above: int, below: int, row: _Row) -> int:
    """Return what there is to write for ``3 · (7)`` beside an equation."""
    if row.unit != 1:
        size = abs(Fraction(above, below) / row.unit)
        return 2 + (0 if size == 1 else written(size))
    shared = gcd(above, below)
    above, below = abs(above) // shared, abs(below) // shared
    if below == 1:
        return 2 + (0 if above == 1 else len(str(above)))
    return 3 + len(str(above)) + len(str(below))
