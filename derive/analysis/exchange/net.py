"""The parts of a circuit as arms between places, some of which are put for others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from derive.algebra.term import Symbol, SymbolKind
from derive.circuit.elements import Battery, CurrentSource, is_gap
from derive.circuit.model import Circuit
from derive.circuit.topology import Edge, Graph, blocks
from derive.derivation.exchanges import Exchange, LookAtAll, LookBetween, LookFrom, Replace

Ends = tuple[int, int]
Row = list[tuple[Symbol, bool]]
"""Arms one after the other, and whether each points the way the row goes."""


def is_emf(symbol: Symbol) -> bool:
    """Tell an emf from the rest."""
    return symbol.kind is SymbolKind.EMF


def is_source(symbol: Symbol) -> bool:
    """Tell an emf or a source current from a resistance."""
    return symbol.kind is not SymbolKind.RESISTANCE


@dataclass(frozen=True, slots=True)
class Exchanged:
    """An exchange, and how the arms lay before and after it."""

    step: Replace
    taken: Mapping[Symbol, Ends]
    """Where those taken ended."""
    made: Mapping[Symbol, Ends]
    """Where those made end."""
    along: Mapping[Symbol, bool]
    """For what lies in a row or side by side: does it point the way of what is made, or, straight
    across a battery, from its + to its −?"""
    battery: Symbol | None = None
    """What ACROSS lies across."""
    ring: bool = False
    """Whether that is all: one current flows in the emf and in the resistance."""


class Net:
    """Arms between numbered places, each known by its symbol; it is changed.

    A resistance points along the arrow of its branch, an emf from − to +; a source current flows
    the way it points.
    """

    def __init__(self, arms: Iterable[tuple[Symbol, Ends]], terminals: tuple[int, ...]) -> None:
        """Take arms in the order of the file, and the two places from which they are seen.

        There are none where the net is a whole circuit.
        """
        self.arms: dict[Symbol, Ends] = {}
        self.terminals = terminals
        self.names: dict[int, str] = {}
        """A point at each place that is a node."""
        self._at: dict[int, dict[Symbol, None]] = {place: {} for place in terminals}
        self._degrees: Counter[int] = Counter()
        self._ages: dict[Symbol, int] = {}
        for symbol, ends in arms:
            self.put(symbol, ends)
        self._fresh = max(self._at, default=0) + 1

    @property
    def places(self) -> list[int]:
        """Every place where an arm ends, in order."""
        return sorted(place for place, arms in self._at.items() if arms)

    def at(self, place: int) -> list[Symbol]:
        """Return the arms that end at a place, the older ones first."""
        return list(self._at.get(place, ()))

    def degree(self, place: int) -> int:
        """Return how many ends of arms are at a place."""
        return self._degrees[place]

    def passes(self, place: int) -> bool:
        """Tell whether a row goes through a place: two arms end there and nothing else."""
        return self._degrees[place] == 2 and place not in self.terminals

    def far(self, symbol: Symbol, place: int) -> int:
        """Return the other end of an arm."""
        a, b = self.arms[symbol]
        return b if place == a else a

    def age(self, symbol: Symbol) -> int:
        """Return a number that is smaller for arms that were there before."""
        return self._ages[symbol]

    def put(self, symbol: Symbol, ends: Ends) -> None:
        """Add an arm."""
        self.arms[symbol] = ends
        self._ages[symbol] = len(self._ages)
        for place in ends:
            self._at.setdefault(place, {})[symbol] = None
            self._degrees[place] += 1

    def take(self, symbol: Symbol) -> None:
        """Remove an arm."""
        ends = self.arms.pop(symbol)
        for place in set(ends):
            del self._at[place][symbol]
        for place in ends:
            self._degrees[place] -= 1

    def new_place(self) -> int:
        """Return a place where nothing ends yet."""
        self._fresh += 1
        return self._fresh - 1

    def join(self, one: int, other: int) -> None:
        """Let two places be one: a terminal or else the older one stays."""
        kept, gone = sorted((one, other), key=lambda place: (place not in self.terminals, place))
        self._merge(gone, kept)

    def _merge(self, gone: int, kept: int) -> None:
        if kept == gone:
            return
        for symbol in self._at.pop(gone, {}):
            a, b = self.arms[symbol]
            self.arms[symbol] = (kept if a == gone else a), (kept if b == gone else b)
            self._at.setdefault(kept, {})[symbol] = None
        self._degrees[kept] += self._degrees.pop(gone, 0)
        self.terminals = tuple(kept if place == gone else place for place in self.terminals)

    def row(self, symbol: Symbol) -> Row:
        """Return the row an arm lies in; a closed one begins with the arm."""
        ahead = self._onwards(symbol, self.arms[symbol][1])
        if len(ahead) > 1 and ahead[-1][0] == symbol:
            return [(symbol, True), *ahead[:-1]]
        back = self._onwards(symbol, self.arms[symbol][0])
        return [*((s, not along) for s, along in reversed(back)), (symbol, True), *ahead]

    def _onwards(self, symbol: Symbol, place: int) -> Row:
        """Return what follows an arm beyond one of its ends, up to itself in a closed row."""
        found: Row = []
        last = symbol
        while self.passes(place):
            following = next((s for s in self._at[place] if s != last), None)
            if following is None:
                break
            last = following
            found.append((last, self.arms[last][0] == place))
            if last == symbol:
                break
            place = self.far(last, place)
        return found

    def rows(self) -> Iterator[Row]:
        """Yield every row once, the oldest arm first; each begins with the older of its ends."""
        done: set[Symbol] = set()
        for symbol in list(self.arms):
            if symbol in done or symbol not in self.arms:
                continue
            row = self.row(symbol)
            if self.age(row[0][0]) > self.age(row[-1][0]):
                row = [(s, not along) for s, along in reversed(row)]
            done.update(s for s, _ in row)
            yield row

    def row_ends(self, row: Row) -> Ends:
        """Return where a row begins and ends."""
        (first, along), (last, onwards) = row[0], row[-1]
        return self.arms[first][0 if along else 1], self.arms[last][1 if onwards else 0]

    def replace(self, step: Replace) -> Exchanged:
        """Carry an exchange out; a WIRE has been joined when the net was made."""
        ends = {symbol: self.arms[symbol] for symbol in step.taken if symbol in self.arms}
        along: dict[Symbol, bool] = {}
        battery: Symbol | None = None
        ring = False
        made: list[Ends] = []
        moved: dict[Symbol, Ends] = {}
        match step.exchange:
            case Exchange.SERIES | Exchange.EMFS:
                along = self._directions(step.taken)
                made = [self._drawn_together(step.taken)]
            case Exchange.PARALLEL | Exchange.CURRENTS:
                along = {s: self.arms[s][0] == ends[step.taken[0]][0] for s in step.taken}
                made = [ends[step.taken[0]]]
            case Exchange.CURRENT_SOURCE | Exchange.BATTERY:
                source, resistance = step.taken
                tail, head = self.way(source)
                along = {s: self.way(s)[0] == tail for s in step.taken}
                inner = tail if step.exchange is Exchange.CURRENT_SOURCE else self.new_place()
                made = [(tail, head if inner == tail else inner)]
                moved = {resistance: (inner, head) if along[resistance] else (head, inner)}
            case Exchange.ALIKE:
                tail, head = self.way(next(s for s in step.taken if is_emf(s)))
                along = {s: self.way(s)[0] == tail for s in step.taken}
                middle = self.new_place()
                made = [(tail, middle), (middle, head)]
            case Exchange.ACROSS:
                battery, along = self._across(step.taken)
                ring = any(self.degree(place) == 2 for place in self.arms[battery])
            case Exchange.DELTA:
                corners, middle = {p for pair in ends.values() for p in pair}, self.new_place()
                made = [(middle, c) for pair in ends.values() for c in corners - set(pair)]
            case Exchange.STAR:
                (shared,) = set(ends[step.taken[0]]).intersection(*ends.values())
                made = list(combinations([self.far(s, shared) for s in step.taken], 2))
                along = {s: ends[s][1] == shared for s in step.taken}
            case Exchange.IDLE | Exchange.LEVEL | Exchange.WIRE:
                pass
        # A battery that is left alone in its row carries no current any more.
        for symbol in (*ends, *([battery] if ring and battery is not None else [])):
            if symbol in self.arms:
                self.take(symbol)
        for symbol, pair in (*zip(step.made, made, strict=True), *moved.items()):
            self.put(symbol, pair)
        there = {symbol: self.arms[symbol] for symbol in step.made}
        return Exchanged(step, ends, there, along, battery, ring)

    def _directions(self, taken: Collection[Symbol]) -> dict[Symbol, bool]:
        first, *_ = taken
        row = dict(self.row(first))
        return {s: row[s] == row[first] for s in taken}

    def _drawn_together(self, taken: tuple[Symbol, ...]) -> Ends:
        """Draw all but the first of some arms in a row together, and return where that one ends."""
        for symbol in taken[1:]:
            ends = self.arms[symbol]
            self.take(symbol)
            # The places within a row go; its ends stay.
            gone = max(p for p in ends if p not in self.terminals and self.degree(p) == 1)
            self._merge(gone, next((p for p in ends if p != gone), gone))
        return self.arms[taken[0]]

    def way(self, symbol: Symbol) -> Ends:
        """Return where the row of an arm begins and ends, going the way the arm points."""
        row = self.row(symbol)
        tail, head = self.row_ends(row)
        return (tail, head) if dict(row)[symbol] else (head, tail)

    def _across(self, taken: tuple[Symbol, ...]) -> tuple[Symbol, dict[Symbol, bool]]:
        # In a closed row of an emf and one resistance, the row is more than what is taken.
        ways = {s: self.arms[s] if len(taken) == 1 else self.way(s) for s in taken}
        ends = set(ways[taken[0]])
        battery = next(
            s for s, pair in self.arms.items()
            if is_emf(s) and s not in taken and set(pair) == ends
        )  # fmt: skip
        return battery, {s: way[0] == self.arms[battery][1] for s, way in ways.items()}

    def idle(self) -> tuple[Symbol, ...]:
        """Return the arms that lie on no closed way with an emf.

        Seen from two places: on no way from one to the other.
        """
        symbols = list(self.arms)
        edges = [Edge(k, *self.arms[symbol]) for k, symbol in enumerate(symbols)]
        sources = {k for k, symbol in enumerate(symbols) if is_emf(symbol)}
        if self.terminals:
            sources.add(len(symbols))
            edges.append(Edge(len(symbols), *self.terminals))
        live: set[int] = set()
        for block in blocks(Graph(self._fresh, tuple(edges))):
            closed = len(block) > 1 or edges[block[0]].tail == edges[block[0]].head
            if closed and not sources.isdisjoint(block):
                live.update(block)
        return tuple(symbol for k, symbol in enumerate(symbols) if k not in live)

    def joined(self, ends: Collection[int], without: Collection[Symbol]) -> bool:
        """Tell whether a way leads from one of two places to the other without some arms."""
        start, goal = ends
        found, waiting = {start}, [start]
        while waiting:
            place = waiting.pop()
            for symbol in self._at.get(place, ()):
                far = self.far(symbol, place)
                if symbol not in without and far not in found:
                    found.add(far)
                    waiting.append(far)
        return goal in found

    def lone_emf(self) -> Symbol | None:
        """Return the only emf; None where there are more, or none."""
        emfs = [s for s in self.arms if is_emf(s)]
        return emfs[0] if len(emfs) == 1 else None


Begun = LookBetween | LookFrom | LookAtAll


def net_of(circuit: Circuit, begun: Begun, wires: Collection[Symbol]) -> Net:
    """Return the net of a circuit seen from two places, its emfs taken for wires, or of all of it.

    The resistances called `wires` are taken for wires.
    """
    place = _Places(circuit)
    arms: list[tuple[Symbol, Ends]] = []
    everything = circuit.all_branches
    shown = circuit.branches if isinstance(begun, LookAtAll) else everything
    for k, branch in enumerate(shown):
        for n, passage in enumerate(branch.passages):
            if is_gap(passage.element) or isinstance(passage.element, CurrentSource):
                continue  # nothing leads through
            before, after = place.number((k, n)), place.number((k, n + 1))
            symbol = passage.element.resistance
            resists = symbol is not None and symbol not in wires
            if isinstance(passage.element, Battery) and isinstance(begun, LookAtAll):
                # The emf comes first, then its internal resistance.
                inner = place.new() if resists else after
                ends = (before, inner) if passage.along else (inner, before)
                arms.append((passage.element.emf, ends))
                before = inner
            if symbol is not None and resists:
                arms.append((symbol, (before, after)))
            elif before != after:
                place.join(before, after)
        if not branch.passages:
            place.join(place.number((k, 0)), place.number((k, -1)))
    terminals: tuple[int, ...] = ()
    if isinstance(begun, LookBetween):
        terminals = place.of_point(begun.one), place.of_point(begun.other)
    elif isinstance(begun, LookFrom):
        k, n = circuit.find_branch(begun.part)
        terminals = place.root(place.number((k, n))), place.root(place.number((k, n + 1)))
    joined = [(symbol, (place.root(a), place.root(b))) for symbol, (a, b) in arms]
    net = Net(joined, terminals)
    for k, node in enumerate(circuit.nodes):
        net.names.setdefault(place.root(k), node.name)
    return net


class _Places:
    """Numbers the nodes, then the places between parts; joins those with wire between them."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._nodes = {node.name: k for k, node in enumerate(circuit.nodes)}
        self._numbers: dict[tuple[int, int], int] = {}
        self._loose: dict[str, int] = {}
        self._parent = list(range(len(circuit.nodes)))

    def number(self, at: tuple[int, int]) -> int:
        """Return the number of a station of a branch: (branch, station)."""
        k, n = at
        branches = self._circuit.branches
        branch = (*branches, *self._circuit.idle)[k]
        end = branch.tail if n == 0 else branch.head if n in (len(branch.passages), -1) else None
        if end is not None:
            return self._nodes[end] if k < len(branches) else self.of_point(end)
        if at not in self._numbers:
            self._numbers[at] = self.new()
        return self._numbers[at]

    def new(self) -> int:
        self._parent.append(len(self._parent))
        return len(self._parent) - 1

    def root(self, number: int) -> int:
        while self._parent[number] != number:
            self._parent[number] = self._parent[self._parent[number]]
            number = self._parent[number]
        return number

    def join(self, a: int, b: int) -> None:
        kept, gone = sorted((self.root(a), self.root(b)))
        self._parent[gone] = kept

    def of_point(self, name: str) -> int:
        for node in self._circuit.nodes:
            if name in node.points:
                return self.root(self._nodes[node.name])
        count = len(self._circuit.branches)
        for k, branch in enumerate(self._circuit.all_branches):
            last = len(branch.stations) - 1
            for n, names in enumerate(branch.stations):
                if name in names and (k < count or n not in (0, last)):
                    return self.root(self.number((k, n)))
        # Where walks without current alone meet.
        for branch in self._circuit.idle:
            for names in (branch.stations[0], branch.stations[-1]):
                if name in names:
                    if names[0] not in self._loose:
                        self._loose[names[0]] = self.new()
                    return self.root(self._loose[names[0]])
        raise KeyError(name)
