"""The resistances of a circuit as arms between places, seen from two of these."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from itertools import combinations

from derive.algebra.term import Symbol
from derive.circuit.model import Circuit
from derive.circuit.topology import Edge, Graph, blocks
from derive.derivation.step import Exchange, LookBetween, LookFrom, Replace

Ends = tuple[int, int]


class Net:
    """Arms between numbered places, each known by the symbol of its resistance; it is changed."""

    def __init__(self, arms: Iterable[tuple[Symbol, Ends]], one: int, other: int) -> None:
        """Take arms in the order of the file, and the two places from which they are seen."""
        self.arms: dict[Symbol, Ends] = {}
        self.one, self.other = one, other
        self._at: dict[int, dict[Symbol, None]] = {one: {}, other: {}}
        self._ages: dict[Symbol, int] = {}
        for symbol, ends in arms:
            self.put(symbol, ends)
        self._fresh = max(self._at) + 1

    @property
    def places(self) -> list[int]:
        """Every place where an arm ends, in order."""
        return sorted(place for place, arms in self._at.items() if arms)

    def at(self, place: int) -> list[Symbol]:
        """Return the arms that end at a place, the older ones first."""
        return list(self._at.get(place, ()))

    def inner(self, place: int) -> bool:
        """Tell whether a place is neither of the two from which the net is seen."""
        return place not in (self.one, self.other)

    def far(self, symbol: Symbol, place: int) -> int:
        """Return the other end of an arm."""
        a, b = self.arms[symbol]
        return b if place == a else a

    def put(self, symbol: Symbol, ends: Ends) -> None:
        """Add an arm."""
        self.arms[symbol] = ends
        self._ages[symbol] = len(self._ages)
        for place in ends:
            self._at.setdefault(place, {})[symbol] = None

    def replace(self, step: Replace) -> None:
        """Carry an exchange out; a WIRE has been joined when the net was made."""
        made = self._ends_of_made(step)
        for symbol in step.taken:
            self.take(symbol)
        for symbol, ends in zip(step.made, made, strict=True):
            self.put(symbol, ends)

    def _ends_of_made(self, step: Replace) -> list[Ends]:
        ends = [self.arms[symbol] for symbol in step.taken]
        match step.exchange:
            case Exchange.SERIES:
                met = Counter(place for pair in ends for place in pair)
                first, last = (next(p for p in ends[k] if met[p] == 1) for k in (0, -1))
                return [(first, last)]
            case Exchange.PARALLEL:
                return [ends[0]]
            case Exchange.DELTA:
                corners, middle = {place for pair in ends for place in pair}, self.new_place()
                return [(middle, corner) for pair in ends for corner in corners - set(pair)]
            case Exchange.STAR:
                (shared,) = set(ends[0]).intersection(*ends)
                far = [self.far(symbol, shared) for symbol in step.taken]
                return list(combinations(far, 2))
            case Exchange.IDLE | Exchange.WIRE:
                return []

    def age(self, symbol: Symbol) -> int:
        """Return a number that is smaller for arms that were there before."""
        return self._ages[symbol]

    def take(self, symbol: Symbol) -> None:
        """Remove an arm."""
        for place in set(self.arms.pop(symbol)):
            del self._at[place][symbol]

    def new_place(self) -> int:
        """Return a place where nothing ends yet."""
        self._fresh += 1
        return self._fresh - 1

    def idle(self) -> tuple[Symbol, ...]:
        """Return the arms that lie on no way from one of the two places to the other."""
        symbols = list(self.arms)
        edges = [Edge(k, *self.arms[symbol]) for k, symbol in enumerate(symbols)]
        edges.append(Edge(len(symbols), self.one, self.other))
        found = blocks(Graph(self._fresh, tuple(edges)))
        live = next((set(block) for block in found if len(symbols) in block), set())
        return tuple(symbol for k, symbol in enumerate(symbols) if k not in live)


def net_of(circuit: Circuit, seen_from: LookBetween | LookFrom, wires: Collection[Symbol]) -> Net:
    """Return the net of a circuit seen from two points, or by its only emf.

    Other emfs, and `wires`, are taken for wires.
    """
    place = _Places(circuit)
    battery = seen_from.battery if isinstance(seen_from, LookFrom) else None
    arms: list[tuple[Symbol, Ends]] = []
    gap: Ends | None = None
    for k, branch in enumerate(circuit.branches):
        for n, passage in enumerate(branch.passages):
            before, after = place.number((k, n)), place.number((k, n + 1))
            symbol = passage.element.resistance
            resists = symbol is not None and symbol not in wires
            if passage.element.name == battery:
                # The emf comes first, then its internal resistance.
                gap = before, place.new() if resists else after
                before = gap[1]
            if symbol is not None and resists:
                arms.append((symbol, (before, after)))
            elif passage.element.name != battery:
                place.join(before, after)
        if not branch.passages:
            place.join(place.number((k, 0)), place.number((k, -1)))
    if isinstance(seen_from, LookBetween):
        gap = place.of_point(seen_from.one), place.of_point(seen_from.other)
    assert gap is not None, "the circuit has this battery"
    joined = [(symbol, (place.root(a), place.root(b))) for symbol, (a, b) in arms]
    return Net(joined, place.root(gap[0]), place.root(gap[1]))


class _Places:
    """Numbers the nodes, then the places between parts; joins those with wire between them."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._nodes = {node.name: k for k, node in enumerate(circuit.nodes)}
        self._numbers: dict[tuple[int, int], int] = {}
        self._parent = list(range(len(circuit.nodes)))

    def number(self, at: tuple[int, int]) -> int:
        """Return the number of a station of a branch: (branch, station)."""
        k, n = at
        branch = self._circuit.branches[k]
        if n == 0:
            return self._nodes[branch.tail]
        if n in (len(branch.passages), -1):
            return self._nodes[branch.head]
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
        for k, branch in enumerate(self._circuit.branches):
            for n, names in enumerate(branch.stations):
                if name in names:
                    return self.root(self.number((k, n)))
        raise KeyError(name)
