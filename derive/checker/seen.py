"""What is left of a network, and from where it is seen."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from derive.algebra.term import Negative, Symbol, SymbolKind, Term, negate
from derive.checker.polynomial import Refused
from derive.derivation.exchanges import Replace
from derive.derivation.step_id import StepId

Place = tuple[str, int, int]
"""A node, or a station within a branch: ``("A", 0, 0)`` or ``("", branch, station)``."""
Ends = tuple[Place, Place]
"""A resistance points along the arrow of its branch, an emf from − to +, a source current as it
flows."""
Carrier = tuple[Symbol, int]
"""An arm, and how often its current has changed before."""
Row = tuple[tuple[Symbol, bool], ...]
"""Arms one after the other, and whether each points the way the row goes."""


def is_emf(symbol: Symbol) -> bool:
    """Tell an emf from the rest."""
    return symbol.kind is SymbolKind.EMF


@dataclass(frozen=True, slots=True)
class Record:
    """An exchange that was carried out, for the way back."""

    step: Replace
    network: Seen
    taken: Mapping[Symbol, Ends]
    made: Mapping[Symbol, Ends]
    along: Mapping[Symbol, bool]
    """Whether what was taken points the way of the first, or away from the + of `battery`."""
    battery: Symbol | None
    carriers: Mapping[Symbol, Carrier]
    """What was taken and made, as it was then."""
    known: Mapping[Symbol, Term]
    """What the author says that the exchange rests on."""

    def flow(self, symbol: Symbol) -> Term | None:
        """Return the current along an arm that was taken or made; None where it has no name."""
        return self.network.flow(self.carriers[symbol])

    def name(self, symbol: Symbol, current: Symbol) -> None:
        """Give the current along an arm a name."""
        self.network.flows[self.carriers[symbol]] = current


class Seen:
    """What is left of a network, and the two places from which it is seen, if not all is."""

    def __init__(
        self, answer: Symbol | None, terminals: tuple[Place, ...], arms: Mapping[Symbol, Ends]
    ) -> None:
        """Begin a network; `answer` is what the resistance between the two places is called."""
        self.answer = answer
        self.flows: dict[Carrier, Term] = {}
        """The currents in arms that have a name: a symbol or its negative."""
        self.levels: dict[Place, Term] | None = None
        """Potentials that have been proved."""
        self.rests_on: frozenset[StepId] = frozenset()
        """The `GivenValue` steps without which some exchange would not hold."""
        self._arms: dict[Symbol, Ends] = {}
        self._at: dict[Place, dict[Symbol, None]] = {}
        self._same: dict[Place, Place] = {}
        self._terminals = terminals
        self._rows: dict[Carrier, tuple[Carrier, bool]] = {}
        self._changed: dict[Symbol, int] = {}
        self.batteries: list[Record] = []
        """The exchanges of a current source by a battery."""
        self._made = 0
        self._ever: set[Symbol] = set()
        for symbol, ends in arms.items():
            self.put(symbol, ends)

    def __len__(self) -> int:
        """Return how many arms are left."""
        return len(self._arms)

    @property
    def arms(self) -> tuple[Symbol, ...]:
        """The arms that are left."""
        return tuple(self._arms)

    @property
    def terminals(self) -> tuple[Place, ...]:
        """The two places from which the network is seen; none where all is."""
        return tuple(map(self.place, self._terminals))

    def holds(self, symbol: Symbol) -> bool:
        """Tell whether an arm is left."""
        return symbol in self._arms

    def held(self, symbol: Symbol) -> bool:
        """Tell whether an arm is left or has been there."""
        return symbol in self._ever

    def put(self, symbol: Symbol, ends: Ends) -> None:
        """Add an arm."""
        self._arms[symbol] = ends
        self._ever.add(symbol)
        for place in ends:
            self._at.setdefault(self.place(place), {})[symbol] = None

    def take(self, symbol: Symbol) -> None:
        """Remove an arm."""
        for place in set(self.ends(symbol)):
            del self._at[place][symbol]
        del self._arms[symbol]

    def join(self, one: Place, other: Place) -> None:
        """Let two places be one."""
        one, other = self.place(one), self.place(other)
        if one != other:
            kept, gone = self._at.setdefault(one, {}), self._at.pop(other, {})
            if len(gone) > len(kept):
                one, other, kept, gone = other, one, gone, kept
                self._at.pop(other, None)
                self._at[one] = kept
            kept.update(gone)
            self._same[other] = one

    def ends(self, symbol: Symbol) -> Ends:
        """Return where an arm ends. Raises Refused where there is no such arm."""
        if symbol not in self._arms:
            raise Refused(f"there is no {symbol.name} in what is left")
        one, other = self._arms[symbol]
        return self.place(one), self.place(other)

    def at(self, place: Place) -> tuple[Symbol, ...]:
        """Return the arms that end at a place."""
        return tuple(self._at.get(place, ()))

    def degree(self, place: Place) -> int:
        """Return how many ends of arms are at a place."""
        return sum(self.ends(symbol).count(place) for symbol in self._at.get(place, ()))

    def new_place(self) -> Place:
        """Return a place where nothing ends yet."""
        self._made += 1
        return ("made", -1, self._made)

    def place(self, at: Place) -> Place:
        """Return the place that stands for all that are one with some place."""
        root = at
        while root in self._same:
            root = self._same[root]
        while at != root:
            self._same[at], at = root, self._same[at]
        return root

    def reached(self, start: Place, without: Collection[Symbol]) -> set[Place]:
        """Return the places to which ways lead without some arms.

        What drives the terminals is a way from one to the other.
        """
        found, waiting = {start}, [start]
        while waiting:
            here = waiting.pop()
            there = [end for s in self.at(here) if s not in without for end in self.ends(s)]
            if here in self.terminals:
                there += self.terminals
            for end in there:
                if end not in found:
                    found.add(end)
                    waiting.append(end)
        return found

    def row(self, symbol: Symbol) -> Row:
        """Return the arms one after the other with nothing that branches off, one of them given."""
        before = self._onwards(symbol, self.ends(symbol)[0])
        after = self._onwards(symbol, self.ends(symbol)[1])
        if after and after[-1][0] == symbol:  # closed
            return ((symbol, True), *after[:-1])
        return (*((s, not along) for s, along in reversed(before)), (symbol, True), *after)

    def _onwards(self, start: Symbol, place: Place) -> Row:
        found: list[tuple[Symbol, bool]] = []
        last = start
        while place not in self.terminals and self.degree(place) == 2:
            others = [symbol for symbol in self._at[place] if symbol != last]
            if len(others) != 1:
                break
            (last,) = others
            tail, head = self.ends(last)
            found.append((last, tail == place))
            if last == start:
                break
            place = head if tail == place else tail
        return tuple(found)

    def draw_together(self, kept: Symbol, gone: Collection[Symbol]) -> None:
        """Take some arms out of the row of another; what is left of the row lies in a new one.

        The places within the row are not the old ones: no point is there any more.
        """
        row = self.row(kept)
        (first, along), (last, onwards) = row[0], row[-1]
        place, end = self.ends(first)[0 if along else 1], self.ends(last)[1 if onwards else 0]
        for symbol, _ in row:
            self.take(symbol)
        left = [(symbol, way) for symbol, way in row if symbol not in gone]
        for k, (symbol, way) in enumerate(left):
            onto = end if k == len(left) - 1 else self.new_place()
            self.put(symbol, (place, onto) if way else (onto, place))
            place = onto

    def way(self, symbol: Symbol) -> Ends:
        """Return where the row of an arm begins and ends, going the way the arm points."""
        row = self.row(symbol)
        (first, along), (last, onwards) = row[0], row[-1]
        tail, head = self.ends(first)[0 if along else 1], self.ends(last)[1 if onwards else 0]
        return (tail, head) if dict(row)[symbol] else (head, tail)

    # --- currents -------------------------------------------------------------------------------

    def carrier(self, symbol: Symbol) -> Carrier:
        """Return an arm with the current that it has now."""
        return symbol, self._changed.get(symbol, 0)

    def change(self, symbol: Symbol) -> None:
        """Note that an arm has another current from now on."""
        self._changed[symbol] = self._changed.get(symbol, 0) + 1

    def one_row(self, made: Carrier, taken: Mapping[Carrier, bool]) -> None:
        """Note that one current flows in some arms and in what is made of them."""
        for arm, along in taken.items():
            flow = self.flows.get(arm)
            if flow is None:
                self._rows[arm] = made, along
            else:
                self.flows.setdefault(made, flow if along else negate(flow))

    def flow(self, arm: Carrier) -> Term | None:
        """Return the current along an arm; None where it has no name yet."""
        found = self.flows.get(arm)
        if found is None and arm in self._rows:
            made, along = self._rows[arm]
            flow = self.flow(made)
            found = flow if flow is None or along else negate(flow)
        return found


def named_by(flow: Term) -> tuple[Symbol, bool]:
    """Return the symbol of a current, and whether the current is counted that way."""
    inner = flow.term if isinstance(flow, Negative) else flow
    assert isinstance(inner, Symbol)
    return inner, flow is inner
