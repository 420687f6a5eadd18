"""The elimination plan: which unknown to remove next, and with which equation.

What is left of a linear system after some unknowns X have been removed with some pivot equations P
depends on the sets X and P alone, up to a factor (it is a Schur complement), and rows are kept free
of common factors. So plans are paths through the pairs (X, P), and the cheapest one is found
by the shortest-path method of Dijkstra (1959). The cost of a step is what a person has to write for
it. Beyond `_EXACT` unknowns only the best states of each level are kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from derive.algebra.polynomial import Poly, common_divisor

_EXACT = 4
_BEAM = 12
_MEDIUM = 10
"""Beyond so many unknowns the cheapest next step is taken: nobody follows such a plan by eye."""


@dataclass(frozen=True, slots=True)
class LinearRow:
    """Σ coefficient · unknown = right."""

    coefficients: tuple[Poly, ...]
    right: Poly


@dataclass(frozen=True, slots=True)
class Elimination:
    """Remove one unknown from every other open equation by means of one of them."""

    unknown: int
    pivot: int


@dataclass(frozen=True, slots=True)
class Combination:
    """The row got from two rows, and what each of them is multiplied by."""

    row: LinearRow
    own: tuple[Poly, Poly]
    """Multiplier of the row itself, as numerator and denominator."""
    pivot: tuple[Poly, Poly]
    """Multiplier of the pivot row."""


def weight(poly: Poly) -> int:
    """Return how much there is to write: letters, digits of coefficients, fractions.

    >>> from derive.algebra.polynomial import Ring
    >>> from derive.algebra.term import resistance
    >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
    >>> weight(a + b), weight(a * b - 12 * a), weight(a - a)
    (2, 5, 0)
    """
    cost = 0
    for exponents, coefficient in poly.terms():
        letters = sum(exponents)
        cost += letters
        if abs(coefficient) != 1 or not letters:
            cost += len(str(abs(coefficient.numerator)))
        if coefficient.denominator != 1:
            cost += 2 + len(str(coefficient.denominator))
    return cost


def row_weight(row: LinearRow) -> int:
    """Return how much there is to write for an equation."""
    unknowns = sum(1 + weight(c) for c in row.coefficients if c)
    return unknowns + max(1, weight(row.right))


def eliminate(row: LinearRow, pivot: LinearRow, unknown: int) -> Combination:
    """Return the combination of two rows that is free of an unknown, without common factors.

    Both rows must hold the unknown. The first coefficient that is left comes out positive.
    """
    ours, theirs = row.coefficients[unknown], pivot.coefficients[unknown]
    shared = common_divisor(ours, theirs)
    own, other = theirs / shared, -(ours / shared)
    pairs = zip(row.coefficients, pivot.coefficients, strict=True)
    raw = LinearRow(
        tuple(own * a + other * b for a, b in pairs), own * row.right + other * pivot.right
    )
    factor = _common_factor(raw)
    clean = LinearRow(tuple(c / factor for c in raw.coefficients), raw.right / factor)
    return Combination(clean, _lowest(own, factor), _lowest(other, factor))


def _common_factor(row: LinearRow) -> Poly:
    """Return what divides every coefficient and the right side, signed for a positive lead."""
    entries = [c for c in (*row.coefficients, row.right) if c]
    if not entries:
        return row.right.ring.one
    factor = entries[0]
    for entry in entries[1:]:
        factor = common_divisor(factor, entry)
        if factor.is_constant:
            factor = factor.ring.one
            break
    if len(entries) == 1 and entries[0] == row.right:
        return row.right.ring.one
    rest = [entry / factor for entry in entries]
    content = _content(rest)
    lead = next((c / factor for c in row.coefficients if c), row.right.ring.one)
    return factor * (content if lead.leading > 0 else -content)


def _content(polys: list[Poly]) -> Fraction:
    """Return the positive rational that leaves whole coefficients without a common divisor."""
    contents = [poly.content() for poly in polys]
    above = gcd(*(c.numerator for c in contents))
    below = lcm(*(c.denominator for c in contents))
    return Fraction(above, below)


def _lowest(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    shared = common_divisor(numerator, denominator)
    numerator, denominator = numerator / shared, denominator / shared
    if denominator.is_constant:
        return numerator * (1 / denominator.constant_value), numerator.ring.one
    return numerator, denominator


@dataclass(frozen=True, slots=True)
class _State:
    cost: int
    rows: tuple[LinearRow, ...]
    open: tuple[int, ...]
    """Numbers of the rows not yet used as pivots."""
    left: tuple[int, ...]
    """Numbers of the unknowns still in the open rows."""
    path: tuple[Elimination, ...]


class Singular(Exception):  # noqa: N818  (a finding about the circuit)
    """The equations do not fix every unknown."""


def best_plan(rows: tuple[LinearRow, ...], first: tuple[int, ...] = ()) -> tuple[Elimination, ...]:
    """Return the eliminations that leave least to write; the last one has no row to change.

    `first` are unknowns the author wants removed, in order. Raises Singular.
    """
    everything = tuple(range(len(rows)))
    level = {(everything, everything): _State(0, rows, everything, everything, ())}
    for depth in range(len(rows)):
        following: dict[tuple[tuple[int, ...], tuple[int, ...]], _State] = {}
        wanted = first[depth] if depth < len(first) else None
        for state in level.values():
            for successor in _successors(state, wanted):
                key = (successor.open, successor.left)
                if key not in following or successor.cost < following[key].cost:
                    following[key] = successor
        if not following:
            raise Singular
        ranked = sorted(following.values(), key=lambda state: (state.cost, _order(state)))
        if len(rows) > _EXACT:
            ranked = ranked[: _BEAM if len(rows) <= _MEDIUM else 1]
        level = {(state.open, state.left): state for state in ranked}
    return next(iter(level.values())).path


def _order(state: _State) -> tuple[tuple[int, int], ...]:
    """Break ties by the order of the file: the first unknowns are found last, thus kept."""
    return tuple((-move.unknown, move.pivot) for move in state.path)


def _successors(state: _State, wanted: int | None) -> Iterator[_State]:
    for unknown in state.left:
        if wanted is not None and wanted in state.left and unknown != wanted:
            continue
        for pivot in state.open:
            if state.rows[pivot].coefficients[unknown]:
                yield _apply(state, Elimination(unknown, pivot))


def _apply(state: _State, move: Elimination) -> _State:
    """Carry out one elimination and count what it makes a person write."""
    rows = list(state.rows)
    pivot = rows[move.pivot]
    # The pivot row is written once more, solved for its unknown; a coefficient makes a fraction.
    lead = pivot.coefficients[move.unknown]
    cost = row_weight(pivot) + (0 if lead in (1, -1) else 2 * weight(lead))
    for number in state.open:
        row = rows[number]
        if number != move.pivot and row.coefficients[move.unknown]:
            made = eliminate(row, pivot, move.unknown)
            rows[number] = made.row
            cost += row_weight(made.row) + sum(
                weight(m) for m in (made.own[0], made.pivot[0]) if m not in (1, -1)
            )
    return _State(
        state.cost + cost,
        tuple(rows),
        tuple(k for k in state.open if k != move.pivot),
        tuple(k for k in state.left if k != move.unknown),
        (*state.path, move),
    )
