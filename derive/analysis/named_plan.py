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
from itertools import islice

from derive.algebra.dimension import AMPERE, VOLT, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.name import natural_key, unused_name
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    Symbol,
    SymbolKind,
    auxiliary,
)
from derive.analysis.equations import Collected
from derive.analysis.letters import Letters, letters_dimension
from derive.analysis.plan import Combination, Elimination, LinearRow, eliminate, row_weight, weight

_EXACT = 3
_BEAM = 30
"""Beyond `_EXACT` unknowns only the best states of each level are kept."""

_COEFFICIENTS = "abcdfghk"
_SOURCES = "euvwxyz"
"""First letters of the names for coefficients and for right sides, by level."""


@dataclass(frozen=True, slots=True)
class NamedRow:
    """Σ coefficient · unknown = right, in letters and names."""

    row: LinearRow
    unit: Dimension
    """Dimension of the right side."""

    @property
    def coefficient(self) -> Dimension:
        """Dimension of the coefficients."""
        return self.unit / AMPERE


@dataclass(frozen=True, slots=True)
class Naming:
    """A name and what it stands for."""

    symbol: Symbol
    value: Poly
    """In the letters and names that came before."""

    @property
    def is_bare(self) -> bool:
        """Whether it stands for a sum of letters alone; such sums may be written out again."""
        return all(s.kind is not SymbolKind.AUXILIARY for s in self.value.symbols)


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


def _start(collected: Collected, taken: set[str]) -> _State:
    rows = tuple(NamedRow(row, VOLT) for row in collected.rows)
    everything = tuple(range(len(rows)))
    letters = [s for s in collected.rows[0].right.ring.symbols if s.kind is SymbolKind.RESISTANCE]
    point = {symbol: Fraction(2 * k + 3) for k, symbol in enumerate(letters)}
    return _named(_State(0, rows, everything, everything, (), (), point), everything, 0, taken)


class _Namer:
    """Gives each sum of one level a name, the same sum the same name."""

    def __init__(
        self,
        level: int,
        taken: set[str],
        known: Iterable[Naming],
        point: Mapping[Symbol, Fraction],
    ) -> None:
        self.level = level
        self.point = point
        self.taken = taken
        self.sums = {n.symbol: n.value for n in known if n.is_bare}
        self.made: dict[Poly, Symbol] = {}
        self.names: list[Naming] = []

    def coefficient(self, poly: Poly, unit: Dimension) -> Poly | _Named:
        return poly if len(poly) < 2 else self._name(poly, unit, _COEFFICIENTS)

    def source(self, poly: Poly, unit: Dimension) -> Poly | _Named:
        # E1 − E2 on the right of a loop equation is short enough.
        least = 2 if self.level else 3
        return poly if len(poly) < least else self._name(poly, unit, _SOURCES)

    def _name(self, poly: Poly, unit: Dimension, stock: str) -> _Named:
        bare = self._expanded(poly)
        size = -bare if self._is_negative(bare) else bare
        if size not in self.made:
            letter = stock[self.level]
            count = 1 + sum(naming.symbol.name.startswith(letter) for naming in self.names)
            symbol = auxiliary(unused_name(f"{letter}{count}", self.taken), unit)
            self.made[size] = symbol
            self.names.append(Naming(symbol, size))
        return _Named(self.made[size], size != bare)

    def _is_negative(self, poly: Poly) -> bool:
        """Tell the sign: that of all terms, or else that of a coefficient at the test point."""
        signs = {c > 0 for c in poly.coefficients()}
        if len(signs) == 1:
            return signs == {False}
        if not self.point.keys() >= set(poly.symbols):
            return False  # it holds emfs, whose signs are not known
        return poly.evaluate(self.point) < 0

    def _expanded(self, poly: Poly) -> Poly:
        """Return R6 for R5 + R6 − R5: with sums of letters written out, where that gets shorter."""
        if len({c > 0 for c in poly.coefficients()}) == 1:
            return poly
        letters = {s for s in poly.symbols if s not in self.sums}
        letters.update(s for n in poly.symbols if n in self.sums for s in self.sums[n].symbols)
        ring = Ring(sorted(letters, key=_written_order))
        images = {
            s: self.sums[s].compose({}, ring) if s in self.sums else ring.symbol(s)
            for s in poly.symbols
        }
        bare = poly.compose(images, ring)
        return bare if bare and len(bare) <= len(poly) else poly


@dataclass(frozen=True, slots=True)
class _Named:
    """A name in place of a sum, perhaps with the opposite sign."""

    symbol: Symbol
    opposite: bool


def _named(state: _State, numbers: tuple[int, ...], level: int, taken: set[str]) -> _State:
    """Give a name to every sum in some rows; on level 0 short right sides stay as they are."""
    namer = _Namer(level, taken, state.names, state.point)
    entries: dict[int, tuple[Poly | _Named, ...]] = {}
    for number in state.open:
        named_row = state.rows[number]
        row = named_row.row
        if number in numbers:
            unit = named_row.coefficient
            left = tuple(namer.coefficient(c, unit) for c in row.coefficients)
            entries[number] = (*left, namer.source(row.right, named_row.unit))
        else:
            entries[number] = (*row.coefficients, row.right)
    ring = _ring(entry for row in entries.values() for entry in row)
    rows = list(state.rows)
    for number, row_entries in entries.items():
        polys = tuple(_in_ring(entry, ring) for entry in row_entries)
        rows[number] = NamedRow(LinearRow(polys[:-1], polys[-1]), rows[number].unit)
    return replace(
        state,
        cost=state.cost + sum(2 + weight(found.value) for found in namer.names),
        rows=tuple(rows),
        names=(*state.names, *namer.names),
        point=_extended(state.point, namer.names),
    )


def _extended(
    point: Mapping[Symbol, Fraction], names: Iterable[Naming]
) -> Mapping[Symbol, Fraction]:
    found = dict(point)
    for naming in names:
        if found.keys() >= set(naming.value.symbols):
            found[naming.symbol] = naming.value.evaluate(found)
    return found


def _in_ring(entry: Poly | _Named, ring: Ring) -> Poly:
    if isinstance(entry, Poly):
        return entry.compose({}, ring)
    return -ring.symbol(entry.symbol) if entry.opposite else ring.symbol(entry.symbol)


def _ring(entries: Iterable[Poly | _Named]) -> Ring:
    """Return a ring for the letters and names that are held, the letters first."""
    held: dict[Symbol, None] = {}
    for entry in entries:
        held.update(dict.fromkeys(entry.symbols if isinstance(entry, Poly) else (entry.symbol,)))
    return Ring(sorted(held, key=_written_order))


def _written_order(symbol: Symbol) -> tuple[bool, tuple[tuple[int, int, str], ...]]:
    return (symbol.kind is SymbolKind.AUXILIARY, natural_key(symbol.name))


class _Divisors:
    """Tells which pivots cannot vanish."""

    def __init__(
        self, letters: Letters, rows: Sequence[LinearRow], zeros: Collection[Symbol]
    ) -> None:
        self._ring = letters.ring
        self._zeros = dict.fromkeys(zeros, 0)
        self._rows = rows
        self._known: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}

    def safe(self, state: _State) -> bool:
        """Tell whether the last pivot of a state is sure not to be zero."""
        numbers = tuple(sorted(set(range(len(self._rows))) - set(state.open)))
        columns = tuple(sorted(set(range(len(self._rows))) - set(state.left)))
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
    """Search the orders of elimination level by level for the one with the least to write."""
    size = len(state.rows)
    width = 10**6 if size <= _EXACT else _BEAM if size <= 6 else 4
    level = [state]
    for depth in range(size):
        wanted = first[depth] if depth < len(first) else None
        following = [s for old in level for s in _successors(old, wanted, depth + 1, taken)]
        following.sort(key=lambda s: (s.cost, _order(s)))
        level = list(islice(filter(divisors.safe, following), width))
        if not level:
            return None
    return level[0]


def _order(state: _State) -> tuple[tuple[int, int], ...]:
    """Break ties by the order of the file: the first unknowns are found last, thus kept."""
    return tuple((-move.choice.unknown, move.choice.pivot) for move in state.path)


def _successors(state: _State, wanted: int | None, level: int, taken: set[str]) -> Iterator[_State]:
    for unknown in state.left:
        if wanted is not None and wanted in state.left and unknown != wanted:
            continue
        for pivot in state.open:
            if state.rows[pivot].row.coefficients[unknown]:
                yield _apply(state, Elimination(unknown, pivot), level, taken)


def _apply(state: _State, choice: Elimination, level: int, taken: set[str]) -> _State:
    pivot = state.rows[choice.pivot]
    lead = pivot.row.coefficients[choice.unknown]
    cost = row_weight(pivot.row) + (0 if lead in (1, -1) else 2 * weight(lead))
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
        cost += sum(weight(m) for m in (own.own[0], own.pivot[0]) if m not in (1, -1))
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
