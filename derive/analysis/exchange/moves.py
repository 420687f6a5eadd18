"""Which parts of a network may be put for which others, until nothing more can be done.

Series and parallel first, as many at once as can be. Then equal cells, what lies straight across a
battery, batteries side by side (by source transformations, E. L. Norton, Bell Laboratories
memorandum, 1926; the result is that of J. Millman, Proc. IRE 28, 1940) and points at equal
potentials.
Where none is left, a delta by a wye that sets two parts in series (A. E. Kennelly, Electrical World
and Engineer 34, 1899), or else all that meet at the place with the fewest by a mesh, which always
leads on (A. Rosen, J. IEE 62, 1924). All sources from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Protocol

from derive.algebra.name import natural_key
from derive.algebra.term import Symbol, Term
from derive.analysis.exchange.levels import equal_levels
from derive.analysis.exchange.net import Exchanged, Net, is_emf
from derive.analysis.sizes import Sizes
from derive.derivation.exchanges import Exchange, Join, Levels, Replace

Move = Exchanged | Levels | Join


class Making(Protocol):
    """Gives names to what is made, and keeps what it stands for."""

    def made(self, exchange: Exchange, taken: Sequence[Symbol]) -> tuple[Symbol, ...]:
        """Return new symbols for what an exchange makes of some arms."""

    def term(self, symbol: Symbol) -> Term:
        """Return what an arm stands for in the letters of the circuit."""


@dataclass(frozen=True, slots=True)
class Means:
    """Which exchanges are made besides series, parallel and equal cells."""

    levels: bool = False
    """Points at equal potentials are joined, and what lies between them is left out."""
    sources: bool = False
    """Batteries side by side are put together, though their currents differ."""
    meshes: bool = False
    """Deltas and stars."""


@dataclass
class Moves:
    """Carries exchanges out on a net, one after the other."""

    net: Net
    making: Making
    sizes: Sizes
    means: Means
    _meshed: bool = field(default=False, init=False)

    def run(self) -> Iterator[Move]:
        """Carry out exchanges until none is left, and yield them.

        Nothing is left of a net whose two terminals are not joined, or joined by wire.
        """
        net = self.net
        idle = net.idle()
        if len(set(net.terminals)) == 1:
            idle = tuple(net.arms)
        if idle:
            yield self._out(Exchange.IDLE, idle)
        found = True
        while found and not all(map(is_emf, net.arms)):
            found = False
            for way in self._ways():
                for move in way():
                    found = True
                    yield move
                if found:
                    break

    def _ways(self) -> tuple[Callable[[], Iterator[Move]], ...]:
        ways: list[Callable[[], Iterator[Move]]] = [
            self._parallel, self._series_beside, self._series, self._emfs, self._alike,
            self._across,
        ]  # fmt: skip
        if self.means.sources:
            ways.append(self._sources)
        if self.means.levels:
            ways.append(self._levels)
        if self.means.meshes:
            ways.append(self._mesh)
        return tuple(ways)

    def _out(self, exchange: Exchange, taken: Sequence[Symbol]) -> Exchanged:
        made = self.making.made(exchange, taken)
        return self.net.replace(Replace(exchange=exchange, taken=tuple(taken), made=made))

    # --- rows -----------------------------------------------------------------------------------

    def _series_beside(self) -> Iterator[Exchanged]:
        """Add up rows that can be merged in parallel then; others may still grow longer."""
        rows = list(self.net.rows())
        beside = Counter(frozenset(self.net.row_ends(row)) for row in rows)
        for row in rows:
            taken = [symbol for symbol, _ in row]
            alone = beside[frozenset(self.net.row_ends(row))] == 1
            if len(row) > 1 and not alone and not any(map(is_emf, taken)):
                yield self._out(Exchange.SERIES, taken)

    def _series(self) -> Iterator[Exchanged]:
        yield from self._in_rows(Exchange.SERIES, emfs=False)

    def _emfs(self) -> Iterator[Exchanged]:
        yield from self._in_rows(Exchange.EMFS, emfs=True)

    def _in_rows(self, exchange: Exchange, *, emfs: bool) -> Iterator[Exchanged]:
        for row in list(self.net.rows()):
            taken = [symbol for symbol, _ in row if is_emf(symbol) == emfs]
            if len(taken) > 1:
                yield self._out(exchange, taken)

    def _parallel(self) -> Iterator[Exchanged]:
        groups: dict[frozenset[int], list[Symbol]] = {}
        for symbol, ends in self.net.arms.items():
            if not is_emf(symbol) and ends[0] != ends[1]:
                groups.setdefault(frozenset(ends), []).append(symbol)
        for places, group in groups.items():
            if len(group) > 1 and not self._apart(places, len(group)):
                yield self._out(Exchange.PARALLEL, group)

    def _apart(self, ends: frozenset[int], count: int) -> bool:
        """Tell whether each of some arms has its current from a battery straight across them all.

        Where nothing else is there, they are merged into what the battery sees.
        """
        one, other = ends
        straight = any(is_emf(s) and self.net.far(s, one) == other for s in self.net.at(one))
        return straight and all(self.net.degree(place) > count + 1 for place in ends)

    # --- batteries ------------------------------------------------------------------------------

    def _side_by_side(self) -> list[tuple[frozenset[int], list[list[Symbol]]]]:
        """Return rows between the same two places: a resistance each, perhaps an emf before it."""
        groups: dict[frozenset[int], list[list[Symbol]]] = {}
        for row in self.net.rows():
            ends = frozenset(self.net.row_ends(row))
            taken = sorted((symbol for symbol, _ in row), key=lambda s: not is_emf(s))
            if len(ends) == 2 and [is_emf(s) for s in taken] in ([False], [True, False]):
                groups.setdefault(ends, []).append(taken)
        return list(groups.items())

    def _alike(self) -> Iterator[Exchanged]:
        for _, rows in self._side_by_side():
            groups: list[list[list[Symbol]]] = []
            for row in rows:
                if len(row) == 1:
                    continue
                group = next((g for g in groups if self._are_alike(g[0], row)), None)
                if group is None:
                    groups.append([row])
                else:
                    group.append(row)
            for group in groups:
                if len(group) > 1:
                    yield self._out(Exchange.ALIKE, [s for row in group for s in row])

    def _are_alike(self, one: Sequence[Symbol], other: Sequence[Symbol]) -> bool:
        if self.net.way(one[0]) != self.net.way(other[0]):
            return False
        terms = self.making.term
        return all(self.sizes.equal(terms(a), terms(b)) for a, b in zip(one, other, strict=True))

    def _across(self) -> Iterator[Exchanged]:
        """Leave out what lies straight across a battery without resistance."""
        for battery, ends in self.net.arms.items():
            if not is_emf(battery):
                continue
            for symbol, pair in self.net.arms.items():
                if not is_emf(symbol) and set(pair) == set(ends):
                    yield self._out(Exchange.ACROSS, [symbol])
                    return
            for places, rows in self._side_by_side():
                if places == set(ends):
                    yield self._out(Exchange.ACROSS, rows[0])
                    return

    def _sources(self) -> Iterator[Exchanged]:
        for ends, rows in self._side_by_side():
            if not self.net.joined(ends, without={s for row in rows for s in row}):
                # Of rows that are all there is, one must be left for the current to come back.
                rows.remove(next((row for row in rows if len(row) == 1), rows[0]))
            if len(rows) > 1 and any(len(row) == 2 for row in rows):
                yield from self._transformed(rows)
                return

    def _transformed(self, rows: Sequence[Sequence[Symbol]]) -> Iterator[Exchanged]:
        """Put rows side by side together as current sources, and turn these back to a battery."""
        currents: list[Symbol] = []
        for row in rows:
            if len(row) == 2:
                move = self._out(Exchange.CURRENT_SOURCE, row)
                yield move
                currents += move.step.made
        if len(currents) > 1:
            move = self._out(Exchange.CURRENTS, currents)
            yield move
            currents = list(move.step.made)
        beside = self._out(Exchange.PARALLEL, [row[-1] for row in rows])
        yield beside
        yield self._out(Exchange.BATTERY, [*currents, *beside.step.made])

    # --- bridges --------------------------------------------------------------------------------

    def _levels(self) -> Iterator[Move]:
        """Use equal potentials: leave out what lies between them, else join the points."""
        if self._meshed:  # what is made of deltas has no levels that are simple to tell
            return
        found = equal_levels(self.net, self.making.term, self.sizes)
        if found is None:
            return
        yield found.levels
        if found.between:
            yield self._out(Exchange.LEVEL, found.between)
            return
        for places in found.groups:
            names = tuple(self.net.names[place] for place in places)
            for place in places[1:]:
                self.net.join(places[0], place)
            yield Join(points=names)

    def _mesh(self) -> Iterator[Exchanged]:
        self._meshed = True
        move = self._delta() or self._star()
        if move is not None:
            yield move

    def _delta(self) -> Exchanged | None:
        """Exchange a delta two of whose corners have just one more arm each."""
        net = self.net
        for p, q in combinations(net.places, 2):
            if not (self._corner(p) and self._corner(q)):
                continue
            side = next((s for s in net.at(p) if net.far(s, p) == q and not is_emf(s)), None)
            if side is None:
                continue
            for other in net.at(p):
                third = net.far(other, p)
                last = next((s for s in net.at(q) if s != side and net.far(s, q) == third), None)
                if other == side or last is None or is_emf(other) or is_emf(last):
                    continue
                if not (self._resists(p, (side, other)) and self._resists(q, (side, last))):
                    continue  # it would set nothing in series
                taken = sorted((side, other, last), key=_by_name)
                return self._out(Exchange.DELTA, taken)
        return None

    def _resists(self, place: int, delta: Sequence[Symbol]) -> bool:
        """Tell whether the row that leads away from a corner has a resistance."""
        third = next(s for s in self.net.at(place) if s not in delta)
        return not all(is_emf(symbol) for symbol, _ in self.net.row(third))

    def _corner(self, place: int) -> bool:
        return place not in self.net.terminals and self.net.degree(place) == 3

    def _star(self) -> Exchanged | None:
        """Exchange all arms at the inner place with the fewest."""
        net = self.net
        middles = [
            p for p in net.places
            if p not in net.terminals and net.degree(p) > 2 and not any(map(is_emf, net.at(p)))
        ]  # fmt: skip
        if not middles:
            return None
        place = min(middles, key=net.degree)
        return self._out(Exchange.STAR, sorted(net.at(place), key=_by_name))


def _by_name(symbol: Symbol) -> tuple[tuple[int, int, str], ...]:
    return natural_key(symbol.name)
