"""The stages of a network as circuits that can be drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from derive.algebra.term import Symbol, current
from derive.analysis.exchange.net import Begun, Ends, is_source, net_of
from derive.circuit.appearance import Looks
from derive.circuit.elements import Battery, Capacitor, Resistor
from derive.circuit.model import Branch, Circuit, Node, Passage
from derive.circuit.terminals import OPEN_TERMINALS
from derive.derivation.exchanges import Exchange, Join, LookAtAll, LookBetween, Replace
from derive.drawing.likeness import Spot


@dataclass(frozen=True, slots=True)
class Stage:
    """What a network looks like before a move."""

    arms: Mapping[Symbol, Ends]
    terminals: tuple[int, ...]
    """The places of the two points from which it is seen."""
    names: Mapping[int, str]
    """A point at each place that is a node."""
    move: Replace | Join | None
    """None for what is left in the end."""

    def pieces(self, marked: Collection[Symbol]) -> Iterator[Stage]:
        """Yield what hangs together with some arms, one piece after the other.

        What was left out may have split the rest. The terminals hang together.
        """
        at: dict[int, list[Symbol]] = {}
        for symbol, pair in self.arms.items():
            for place in pair:
                at.setdefault(place, []).append(symbol)
        seen: set[Symbol] = set()
        for start in (s for s in self.arms if not marked or s in marked):
            if start in seen:
                continue
            piece, waiting = {start}, [start]
            while waiting:
                ends = set(self.arms[waiting.pop()])
                if not ends.isdisjoint(self.terminals):
                    ends.update(self.terminals)
                new = {s for place in ends for s in at.get(place, ()) if s not in piece}
                piece |= new
                waiting += new
            seen |= piece
            yield replace(self, arms={s: pair for s, pair in self.arms.items() if s in piece})

    def chains(self) -> Iterator[tuple[list[tuple[Symbol, bool]], int, int]]:
        """Yield the arms in rows from node to node, and whether each points that way."""
        met = Counter(place for pair in self.arms.values() for place in pair)
        nodes = {place for place in met if met[place] != 2 or place in self.terminals}
        at: dict[int, list[Symbol]] = {}
        for symbol, pair in self.arms.items():
            for place in dict.fromkeys(pair):
                at.setdefault(place, []).append(symbol)
        done: set[Symbol] = set()
        starts = [(s, place) for s, pair in self.arms.items() for place in pair if place in nodes]
        # What is left are closed rows without a node: each begins at its first part.
        starts += [(s, pair[0]) for s, pair in self.arms.items()]
        for symbol, tail in starts:
            if symbol in done:
                continue
            chain, place = [], tail
            here: Symbol | None = symbol
            while here is not None:
                done.add(here)
                one, other = self.arms[here]
                chain.append((here, place == one))
                place = other if place == one else one
                if place in nodes or place == tail:
                    break
                here = next((s for s in at[place] if s not in done), None)
            yield chain, tail, place


def wires_of(moves: Sequence[Replace | Join]) -> list[Symbol]:
    """Return the resistances that are wires."""
    return [
        symbol
        for move in moves
        if isinstance(move, Replace) and move.exchange is Exchange.WIRE
        for symbol in move.taken
    ]


def stages(circuit: Circuit, begun: Begun, moves: Sequence[Replace | Join]) -> Iterator[Stage]:
    """Yield the network before each move of a derivation but the wires, and what is left."""
    net = net_of(circuit, begun, wires_of(moves))
    order = dict.fromkeys(net.arms)

    def stage(move: Replace | Join | None) -> Stage:
        arms = {symbol: net.arms[symbol] for symbol in order if symbol in net.arms}
        return Stage(arms, net.terminals, net.names, move)

    for move in moves:
        if isinstance(move, Replace) and move.exchange is Exchange.WIRE:
            continue
        yield stage(move)
        if isinstance(move, Replace):
            net.replace(move)
            order = _in_place(order, move)
        else:
            places = {name: place for place, name in net.names.items()}
            for point in move.points[1:]:
                net.join(places[move.points[0]], places[point])
    yield stage(None)


def _in_place(order: Iterable[Symbol], move: Replace) -> dict[Symbol, None]:
    """Put what is made where the first of what was taken stood, so that figures look alike."""
    found: dict[Symbol, None] = {}
    for symbol in order:
        if symbol == move.taken[0]:
            found |= dict.fromkeys(move.made)
        found[symbol] = None
    return found


def spots_of_made(spots: Mapping[str, Spot], move: Replace) -> Iterator[Spot]:
    """Yield where what a move makes should stand, by where what it takes stood.

    One part stands where the leftmost of its kind stood, and an arm of a wye or of a mesh between
    the two that it is in the middle of.
    """
    taken = [symbol for symbol in move.taken if symbol.name in spots]
    pairs = list(combinations(move.taken, 2))
    if move.exchange is Exchange.DELTA:
        # Each arm stands opposite to the one taken.
        pairs.reverse()
    for k, symbol in enumerate(move.made):
        if move.exchange in (Exchange.DELTA, Exchange.STAR):
            stood = [spots[s.name] for s in pairs[k] if s in taken]
            if stood:
                x, y = (sum(s.x for s in stood), sum(s.y for s in stood))
                yield Spot(symbol.name, x / len(stood), y / len(stood))
        elif taken:
            alike = [s for s in taken if s.kind is symbol.kind] or taken
            first = min((spots[s.name] for s in alike), key=lambda spot: spot.x)
            yield Spot(symbol.name, first.x, first.y)


def stage_circuit(circuit: Circuit, begun: Begun, stage: Stage) -> Circuit:
    """Return a stage as a circuit.

    Seen from two points, a battery called `OPEN_TERMINALS` stands between these; seen from a
    capacitor, that is drawn. A battery stands for every current source, too.
    """
    names = {place: f"place {place}" for pair in stage.arms.values() for place in pair}
    names |= stage.names
    if isinstance(begun, LookBetween):
        names |= dict(zip(stage.terminals, (begun.one, begun.other), strict=True))
    lamps = {
        p.element.name for b in circuit.branches for p in b.passages
        if isinstance(p.element, Resistor) and p.element.lamp
    }  # fmt: skip
    branches: list[Branch] = []
    if not isinstance(begun, LookAtAll):
        one, other = (names.setdefault(p, f"place {p}") for p in stage.terminals)
        gap = Battery(OPEN_TERMINALS)
        between = gap if isinstance(begun, LookBetween) else Capacitor(begun.part)
        branches.append(_branch(0, one, other, (Passage(between),), ((one,), (other,))))
    for chain, tail, head in stage.chains():
        passages = tuple(
            Passage(Battery(s.name), along)
            if is_source(s)
            else Passage(Resistor(s.name, s.name in lamps))
            for s, along in chain
        )
        stations = ((names[tail],), *(() for _ in chain[1:]), (names[head],))
        branches.append(_branch(len(branches), names[tail], names[head], passages, stations))
    degrees = Counter(end for b in branches for end in (b.tail, b.head))
    # In the order of the file, so that all figures have the same node below.
    order = [name for name in dict.fromkeys((*stage.names.values(), *degrees)) if degrees[name]]
    looks = Looks(
        emf=circuit.looks.emf, resistor=circuit.looks.resistor, battery=circuit.looks.battery
    )
    return Circuit(
        title="",
        statement="",
        nodes=tuple(Node(name, (name,), degrees[name]) for name in order),
        branches=tuple(branches),
        walks=(),
        values=(),
        questions=(),
        looks=looks,
    )


def _branch(
    number: int,
    tail: str,
    head: str,
    passages: tuple[Passage, ...],
    stations: tuple[tuple[str, ...], ...],
) -> Branch:
    return Branch(current(f"I{number}"), tail, head, passages, stations)
