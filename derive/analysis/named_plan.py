"""The plan of an elimination in letters where every sum gets a name.

Plans are compared by what has to be written, as in `derive.analysis.plan`. Only an expression that
cannot vanish while the resistances are positive may stand as a divisor, so that no line fails for
special values. In full, a divisor is a minor of the matrix of coefficients, with its pivot rows and
the unknowns removed by them, times divisors before it (Sylvester 1851); that minor is looked at.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from derive.algebra.dimension import VOLT
from derive.algebra.laplace import laplace
from derive.algebra.polynomial import Poly
from derive.algebra.term import Symbol, SymbolKind
from derive.analysis.equations import Collected
from derive.analysis.letters import Letters, letters_dimension
from derive.analysis.marks import found_weight, multiplier_weight, row_weight, source_weight
from derive.analysis.naming import Named, NamedRow, Namer, Naming, extended, in_ring, ring_of
from derive.analysis.plan import Combination, Elimination, LinearRow, eliminate

_EXACT = 3
_BEAM = 8
"""Beyond `_EXACT` unknowns only the best states of each level are kept."""


@dataclass(frozen=True, slots=True)
class Made:
    """What one elimination makes of one row."""

    number: int
    own: Combination
    raw: NamedRow
    """Before its sums got names."""
    before: tuple[NamedRow, NamedRow]
    """The row itself and the pivot row, as they were."""


@dataclass(frozen=True, slots=True)
class Move:
    """One elimination with the names that it brings."""

    choice: Elimination
    made: tuple[Made, ...]
    named: tuple[Naming, ...]
    after: tuple[NamedRow, ...]


@dataclass(frozen=True, slots=True)
class _State:
    cost: int
    rows: tuple[NamedRow, ...]
    open: tuple[int, ...]
    left: tuple[int, ...]
    names: tuple[Naming, ...]
    path: tuple[Move, ...]
    point: Mapping[Symbol, Fraction]
    """The test point: positive resistances, and the names made of them."""

    @property
    def sets(self) -> _Sets:
        return self.open, self.left


_Sets = tuple[tuple[int, ...], tuple[int, ...]]
"""The equations that are still open, and the unknowns still in them."""


@dataclass(frozen=True, slots=True)
class NamedPlan:
    """Which names, and which eliminations in which order."""

    names: tuple[Naming, ...]
    """Of sums in the collected equations."""
    rows: tuple[NamedRow, ...]
    """The collected equations with these names."""
    moves: tuple[Move, ...]


def plan_with_names(
    letters: Letters,
    collected: Collected,
    first: tuple[int, ...] = (),
    zeros: Collection[Symbol] = (),
) -> NamedPlan | None:
    """Return the plan with the least to write; None when no divisor is safe to use.

    `first` are unknowns the author wants removed, in order; `zeros` are resistances that will be
    zero when the numbers are put in.
    """
    taken = {s.name for s in (*letters.images, *collected.unknowns)}
    start = _start(collected, taken)
    best = _best(start, _Divisors(letters, collected.rows, zeros), first, taken)
    return None if best is None else NamedPlan(start.names, start.rows, best.path)


def named_plan(
    letters: Letters, collected: Collected, choices: Iterable[Elimination]
) -> NamedPlan | None:
    """Return the plan with these eliminations; None where one divides by what may vanish."""
    taken = {s.name for s in (*letters.images, *collected.unknowns)}
    start = _start(collected, taken)
    divisors = _Divisors(letters, collected.rows, ())
    state = start
    for level, choice in enumerate(choices, 1):
        if not state.rows[choice.pivot].row.coefficients[choice.unknown]:
            return None
        if not divisors.safe(state, choice):
            return None
        state = _apply(state, choice, level, taken)
    return NamedPlan(start.names, start.rows, state.path)


def _start(collected: Collected, taken: set[str]) -> _State:
    rows = tuple(NamedRow(row, VOLT) for row in collected.rows)
    everything = tuple(range(len(rows)))
    letters = [s for s in collected.rows[0].right.ring.symbols if s.kind is SymbolKind.RESISTANCE]
    point = {symbol: Fraction(2 * k + 3) for k, symbol in enumerate(letters)}
    return _named(_State(0, rows, everything, everything, (), (), point), everything, 0, taken)


def _named(state: _State, numbers: tuple[int, ...], level: int, taken: set[str]) -> _State:
    """Give a name to every sum in some rows; on level 0 short right sides stay as they are."""
    namer = Namer(level, taken, state.names, state.point)
    entries: dict[int, tuple[Poly | Named, ...]] = {}
    for number in state.open:
        named_row = state.rows[number]
        row = named_row.row
        if number in numbers:
            unit = named_row.coefficient
            left = tuple(namer.coefficient(c, unit) for c in row.coefficients)
            entries[number] = (*left, namer.source(row.right, named_row.unit))
        else:
            entries[number] = (*row.coefficients, row.right)
    ring = ring_of(entry for row in entries.values() for entry in row)
    rows = list(state.rows)
    for number, row_entries in entries.items():
        polys = tuple(in_ring(entry, ring) for entry in row_entries)
        rows[number] = NamedRow(LinearRow(polys[:-1], polys[-1]), rows[number].unit)
    return replace(
        state,
        cost=state.cost + sum(2 + source_weight(found.value) for found in namer.names),
        rows=tuple(rows),
        names=(*state.names, *namer.names),
        point=extended(state.point, namer.names),
    )


class _Divisors:
    """Tells which pivots cannot vanish."""

    def __init__(
        self, letters: Letters, rows: Sequence[LinearRow], zeros: Collection[Symbol]
    ) -> None:
        self._ring = letters.ring
        self._zeros = dict.fromkeys(zeros, 0)
        self._rows = rows
        self._known: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}

    def safe(self, state: _State, choice: Elimination) -> bool:
        """Tell whether the next pivot of a state is sure not to be zero."""
        size = range(len(self._rows))
        numbers = tuple(k for k in size if k not in state.open or k == choice.pivot)
        columns = tuple(k for k in size if k not in state.left or k == choice.unknown)
        if (numbers, columns) not in self._known:
            chosen = [[self._rows[k].coefficients[c] for c in columns] for k in numbers]
            minor = laplace(chosen, self._ring)
            self._known[numbers, columns] = _cannot_vanish(minor) and bool(minor.put(self._zeros))
        return self._known[numbers, columns]


def _cannot_vanish(poly: Poly) -> bool:
    signs = {c > 0 for c in poly.coefficients()}
    return len(signs) == 1 and all(s.kind is SymbolKind.RESISTANCE for s in poly.symbols)


def _best(
    state: _State, divisors: _Divisors, first: tuple[int, ...], taken: set[str]
) -> _State | None:
    """Search the orders of elimination level by level for the one with the least to write.

    Of the ways that remove the same unknowns by the same equations the cheapest is kept. The order
    of the file is always among those that are tried.
    """
    size = len(state.rows)
    width = 10**6 if size <= _EXACT else _BEAM if size <= 6 else 4
    level = [state]
    plain: _State | None = None if first else state
    for depth in range(size):
        wanted = first[depth] if depth < len(first) else None
        following: dict[_Sets, _State] = {}
        for old in level:
            for choice in _choices(old, wanted, divisors):
                new = _apply(old, choice, depth + 1, taken)
                known = following.get(new.sets)
                if known is None or (new.cost, _order(new)) < (known.cost, _order(known)):
                    following[new.sets] = new
        if not following:
            return None
        ranked = sorted(following.values(), key=lambda s: (s.cost, _order(s)))
        level = ranked[:width]
        if plain is not None:
            plain = _in_file_order(plain, following)
            if plain is not None and plain not in level:
                level.append(plain)
    return level[0]


def _in_file_order(state: _State, following: Mapping[_Sets, _State]) -> _State | None:
    """Return what the first unknown and the first equation that holds it lead to."""
    unknown, *left = state.left
    for pivot in state.open:
        if state.rows[pivot].row.coefficients[unknown]:
            still = tuple(k for k in state.open if k != pivot)
            return following.get((still, tuple(left)))
    return None


def _order(state: _State) -> tuple[tuple[int, int], ...]:
    """Break ties by the order of the file: the first unknowns are found last, thus kept."""
    return tuple((-move.choice.unknown, move.choice.pivot) for move in state.path)


def _choices(state: _State, wanted: int | None, divisors: _Divisors) -> Iterator[Elimination]:
    for unknown in state.left:
        if wanted is not None and wanted in state.left and unknown != wanted:
            continue
        for pivot in state.open:
            choice = Elimination(unknown, pivot)
            held = state.rows[pivot].row.coefficients[unknown]
            if held and divisors.safe(state, choice):
                yield choice


def _apply(state: _State, choice: Elimination, level: int, taken: set[str]) -> _State:
    pivot = state.rows[choice.pivot]
    cost = found_weight(pivot.row, choice.unknown)
    rows, made = list(state.rows), []
    for number in state.open:
        old = state.rows[number]
        if number == choice.pivot or not old.row.coefficients[choice.unknown]:
            continue
        own = eliminate(old.row, pivot.row, choice.unknown)
        above, below = own.own
        new = NamedRow(own.row, old.unit * letters_dimension(above) / letters_dimension(below))
        rows[number] = new
        made.append(Made(number, own, new, (old, pivot)))
        cost += multiplier_weight(own.own) + multiplier_weight(own.pivot)
    bare = replace(
        state,
        cost=state.cost + cost,
        rows=tuple(rows),
        open=tuple(k for k in state.open if k != choice.pivot),
        left=tuple(k for k in state.left if k != choice.unknown),
    )
    touched = tuple(item.number for item in made)
    named = _named(bare, touched, level, taken)
    fresh = named.names[len(state.names) :]
    rows = list(named.rows)
    for k, item in enumerate(made):
        if _starts_negative(rows[item.number].row):
            rows[item.number] = _negated(rows[item.number])
            made[k] = replace(item, own=_opposite(item.own))
    after = tuple(rows[k] for k in touched)
    cost = sum(row_weight(item.row) for item in after)
    move = Move(choice, tuple(made), fresh, after)
    path = (*state.path, move)
    return replace(named, cost=named.cost + cost, rows=tuple(rows), path=path)


def _starts_negative(row: LinearRow) -> bool:
    lead = next((c for c in row.coefficients if c), None)
    return lead is not None and lead.leading < 0


def _negated(named: NamedRow) -> NamedRow:
    row = named.row
    return replace(named, row=LinearRow(tuple(-c for c in row.coefficients), -row.right))


def _opposite(own: Combination) -> Combination:
    (mine, below), (theirs, under) = own.own, own.pivot
    return replace(own, own=(-mine, below), pivot=(-theirs, under))
