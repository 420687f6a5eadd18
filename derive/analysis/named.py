"""Elimination in letters, with a name for every sum that comes up.

A person who eliminates with letters does not carry the sums along: each gets a name as soon as it
arises, so every line stays short however large the circuit is. Plans are compared by what has to be
written, as in `derive.analysis.plan`. Only an expression that cannot vanish while the resistances
are positive may stand as a divisor, so that no line fails for special values. In full, a divisor is
a minor of the matrix of coefficients, with its pivot rows and the unknowns removed by them, times
divisors before it (Sylvester 1851); that minor is looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from derive.algebra.dimension import AMPERE, NUMBER, VOLT, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.name import natural_key, unused_name
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    ONE,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    total,
)
from derive.analysis.equations import (
    Collected,
    Letters,
    by_battery,
    minus,
    row_equation,
    scaled,
)
from derive.analysis.plan import Combination, Elimination, LinearRow, eliminate, row_weight, weight
from derive.derivation.builder import Builder
from derive.derivation.step import Combine, Define, Goal, Isolate, Scaled, StepId

_EXACT = 3
_BEAM = 30
"""Beyond `_EXACT` unknowns only the best states of each level are kept."""

_COEFFICIENTS = "abcdfghkmnpqs"
_SOURCES = "uvwxyz"


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


@dataclass(frozen=True, slots=True)
class _Made:
    """What one elimination makes of one row."""

    number: int
    own: Combination
    raw: NamedRow
    """Before its sums got names."""
    before: tuple[NamedRow, NamedRow]
    """The row itself and the pivot row, as they were."""


@dataclass(frozen=True, slots=True)
class _Move:
    choice: Elimination
    made: tuple[_Made, ...]
    named: tuple[Naming, ...]
    after: tuple[NamedRow, ...]


@dataclass(frozen=True, slots=True)
class _State:
    cost: int
    rows: tuple[NamedRow, ...]
    open: tuple[int, ...]
    left: tuple[int, ...]
    names: tuple[Naming, ...]
    path: tuple[_Move, ...]


@dataclass(frozen=True, slots=True)
class NamedElimination:
    """The steps of an elimination with names."""

    definitions: Mapping[Symbol, StepId]
    """Name → its `Define` step, in order."""
    isolated: Mapping[Symbol, StepId]
    """Unknown → step ``I = expression in names and unknowns before it``, in order of finding."""


MOST_UNKNOWNS = 7
"""More unknowns would need more names than a reader can keep apart."""


def names_fit(letters: Letters, collected: Collected) -> bool:
    """Tell whether an elimination with names is worth writing.

    Numbers with units among the letters would leave the units of the names open.
    """
    pure = all(sum(m) == 1 for p in letters.images.values() for m in p.monomials())
    return pure and 3 <= len(collected.unknowns) <= MOST_UNKNOWNS


def eliminate_with_names(
    letters: Letters, collected: Collected, builder: Builder, first: tuple[int, ...] = ()
) -> NamedElimination | None:
    """Write the elimination as steps; None when no divisor is safe to use.

    `first` are unknowns the author wants removed, in order.
    """
    taken = {s.name for s in (*letters.images, *collected.unknowns)}
    taken.update(letters.ring.symbols[k].name for k in range(len(letters.ring.symbols)))
    state = _start(collected, taken)
    best = _best(state, _Divisors(letters, collected.rows), first, taken)
    if best is None:
        return None
    return _write(best, state, collected, builder)


def _start(collected: Collected, taken: set[str]) -> _State:
    rows = tuple(NamedRow(row, VOLT) for row in collected.rows)
    everything = tuple(range(len(rows)))
    return _named(_State(0, rows, everything, everything, (), ()), everything, 0, taken)


def _named(state: _State, numbers: tuple[int, ...], level: int, taken: set[str]) -> _State:
    """Give a name to every sum in some rows; on level 0 the right sides stay as they are."""
    made: dict[Poly, Symbol] = {}
    names: list[Naming] = []
    counts = {True: 0, False: 0}

    def name(poly: Poly, unit: Dimension, *, source: bool) -> tuple[Poly, Symbol | None]:
        if len(poly) < 2:
            return poly, None
        size = -poly if all(c < 0 for c in poly.coefficients()) else poly
        if size not in made:
            counts[source] += 1
            stock = _SOURCES if source else _COEFFICIENTS
            wish = f"{stock[min(level - source, len(stock) - 1)]}{counts[source]}"
            symbol = auxiliary(unused_name(wish, taken), unit)
            made[size] = symbol
            names.append(Naming(symbol, size))
        return size, made[size]

    plans: dict[int, list[tuple[Poly, Symbol | None, bool]]] = {}
    for number in numbers:
        named_row = state.rows[number]
        plan = []
        entries = [(c, named_row.coefficient, False) for c in named_row.row.coefficients]
        for poly, unit, source in [*entries, (named_row.row.right, named_row.unit, True)]:
            size, symbol = (poly, None) if source and not level else name(poly, unit, source=source)
            plan.append((poly, symbol, size != poly))
        plans[number] = plan
    ring = _ring(state, plans, made)
    rows = []
    for number, named_row in enumerate(state.rows):
        if number in plans:
            entries_ = [
                p.compose({}, ring) if s is None else ring.symbol(s) * (-1 if opposite else 1)
                for p, s, opposite in plans[number]
            ]
            rows.append(NamedRow(LinearRow(tuple(entries_[:-1]), entries_[-1]), named_row.unit))
        elif number in state.open:
            row = named_row.row
            kept = LinearRow(
                tuple(c.compose({}, ring) for c in row.coefficients), row.right.compose({}, ring)
            )
            rows.append(NamedRow(kept, named_row.unit))
        else:
            rows.append(named_row)
    cost = sum(2 + weight(found.value) for found in names)
    return replace(
        state,
        cost=state.cost + cost,
        rows=tuple(rows),
        names=(*state.names, *names),
    )


def _ring(
    state: _State,
    plans: Mapping[int, list[tuple[Poly, Symbol | None, bool]]],
    made: Mapping[Poly, Symbol],
) -> Ring:
    """Return a ring for the open rows: the letters and names that they hold."""
    held: dict[Symbol, None] = {}
    for number in state.open:
        row = state.rows[number].row
        if number in plans:
            for poly, symbol, _ in plans[number]:
                held.update(dict.fromkeys(poly.symbols if symbol is None else ()))
        else:
            for poly in (*row.coefficients, row.right):
                held.update(dict.fromkeys(poly.symbols))
    held.update(dict.fromkeys(made.values()))
    plain = [s for s in held if s.kind is not SymbolKind.AUXILIARY]
    names = [s for s in held if s.kind is SymbolKind.AUXILIARY]
    key = lambda symbol: natural_key(symbol.name)  # noqa: E731  (used twice, here only)
    return Ring((*sorted(plain, key=key), *sorted(names, key=key)))


class _Divisors:
    """Tells which pivots cannot vanish."""

    def __init__(self, letters: Letters, rows: Sequence[LinearRow]) -> None:
        self._ring = letters.ring
        self._rows = rows
        self._known: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}

    def safe(self, state: _State) -> bool:
        """Tell whether the last pivot of a state is sure not to be zero."""
        numbers = tuple(sorted(set(range(len(self._rows))) - set(state.open)))
        columns = tuple(sorted(set(range(len(self._rows))) - set(state.left)))
        if (numbers, columns) not in self._known:
            chosen = [[self._rows[k].coefficients[c] for c in columns] for k in numbers]
            minor = laplace(chosen, self._ring)
            self._known[numbers, columns] = _cannot_vanish(minor)
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
        new = NamedRow(own.row, old.unit * _of(above) / _of(below))
        rows[number] = new
        made.append(_Made(number, own, new, (old, pivot)))
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
    after = tuple(named.rows[k] for k in touched)
    cost = sum(row_weight(item.row) for item in after)
    move = _Move(choice, tuple(made), fresh, after)
    return replace(named, cost=named.cost + cost, path=(*state.path, move))


def _of(poly: Poly) -> Dimension:
    """Return the dimension of the letters in a polynomial; numbers count as pure."""
    found = NUMBER
    exponents = max(poly.monomials(), key=sum)
    for symbol, exponent in zip(poly.ring.symbols, exponents, strict=True):
        found = found * symbol.dimension ** int(exponent)
    return found


def _write(best: _State, start: _State, collected: Collected, builder: Builder) -> NamedElimination:
    unknowns = collected.unknowns
    definitions: dict[Symbol, StepId] = {}
    units = {naming.symbol: naming.symbol.dimension for naming in best.names}

    def define(naming: Naming) -> None:
        term = by_battery(naming.value, units[naming.symbol])
        equation = Equation(naming.symbol, term)
        definitions[naming.symbol] = builder.add(Define(symbol=naming.symbol, conclusion=equation))

    builder.begin(Goal.NAME)
    for naming in start.names:
        define(naming)
    steps = list(collected.steps)
    rows = list(start.rows)
    raw = [True] * len(rows)  # the collected rows hold the sums themselves
    isolated: dict[Symbol, StepId] = {}
    first_names = tuple(naming.symbol for naming in start.names)

    def rules(used: tuple[Symbol, ...], *numbers: int) -> tuple[StepId, ...]:
        named = (*first_names, *used) if any(raw[k] for k in numbers) else used
        return tuple(definitions[s] for s in named)

    for move in best.path:
        builder.begin(Goal.ELIMINATE)
        for naming in move.named:
            define(naming)
        fresh = tuple(naming.symbol for naming in move.named)
        pivot = move.choice.pivot
        for item, after in zip(move.made, move.after, strict=True):
            old, theirs = item.before
            own_unit = item.raw.unit / old.unit
            parts = (
                Scaled(multiplier=_term(item.own.own, own_unit), premise=steps[item.number]),
                Scaled(
                    multiplier=_term(item.own.pivot, item.raw.unit / theirs.unit),
                    premise=steps[pivot],
                ),
            )
            rule = rules(fresh, item.number, pivot)
            rows[item.number] = after
            steps[item.number] = builder.add(
                Combine(
                    parts=parts,
                    eliminated=(unknowns[move.choice.unknown],),
                    rewriting=rule,
                    conclusion=row_equation(after.row, unknowns, after.coefficient, after.unit),
                )
            )
            raw[item.number] = False
    builder.begin(Goal.GO_BACK)
    for move in reversed(best.path):
        number, unknown = move.choice.pivot, move.choice.unknown
        isolated[unknowns[unknown]] = builder.add(
            _isolate(rows[number], unknowns, unknown, steps[number], rules((), number))
        )
    return NamedElimination(definitions, isolated)


def _term(fraction: tuple[Poly, Poly], unit: Dimension) -> Term:
    above, below = fraction
    if below == 1:
        return above.ring.term(above, unit)
    under = _of(below)
    return Quotient(above.ring.term(above, unit * under), below.ring.term(below, under))


def _isolate(
    named: NamedRow,
    unknowns: tuple[Symbol, ...],
    unknown: int,
    premise: StepId,
    rewriting: tuple[StepId, ...],
) -> Isolate:
    """Solve a row for one unknown, its coefficient made positive."""
    symbol, row = unknowns[unknown], named.row
    lead = row.coefficients[unknown]
    sign = -1 if lead.leading < 0 else 1
    terms: list[Term] = []
    right = row.right * sign
    if right:
        found = by_battery(right, named.unit)
        terms.append(found)
    for poly, other in zip(row.coefficients, unknowns, strict=True):
        if poly and other != symbol:
            terms.append(minus(scaled(poly * sign, other, named.coefficient)))
    below = lead.ring.term(lead * sign, named.coefficient)
    flat = sorted(_flat(terms), key=lambda term: isinstance(term, Negative))
    above = total(tuple(flat))
    factor = Quotient(ONE, below)
    return Isolate(
        premise=premise,
        symbol=symbol,
        factor=minus(factor) if sign < 0 else factor,
        rewriting=rewriting,
        conclusion=Equation(symbol, Quotient(above, below) if terms else above),
    )


def _flat(terms: list[Term]) -> tuple[Term, ...]:
    flat: list[Term] = []
    for term in terms:
        flat.extend(term.terms if isinstance(term, Sum) else (term,))
    return tuple(flat)
