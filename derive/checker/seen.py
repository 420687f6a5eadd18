"""What is left of a network of resistances, and the two points from which it is seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from derive.algebra.term import Symbol
from derive.checker.polynomial import Refused

Place = tuple[str, int, int]
"""A node, or a station within a branch: ``("A", 0, 0)`` or ``("", branch, station)``."""


class Seen:
    """What is left of a network, and the two points from which it is seen."""

    def __init__(
        self,
        answer: Symbol,
        ends_seen: tuple[Place, Place],
        arms: Mapping[Symbol, tuple[Place, Place]],
    ) -> None:
        """Begin a network; `answer` is what the resistance between the two is called."""
        self.answer = answer
        self.degrees: Counter[Place] = Counter()
        """How many ends of arms are at each place."""
        self._arms: dict[Symbol, tuple[Place, Place]] = {}
        self._same: dict[Place, Place] = {}
        self._ends_seen = ends_seen
        self._made = 0
        for symbol, ends in arms.items():
            self.put(symbol, ends)

    def __len__(self) -> int:
        """Return how many arms are left."""
        return len(self._arms)

    @property
    def arms(self) -> tuple[Symbol, ...]:
        """The arms that are left."""
        return tuple(self._arms)

    def holds(self, symbol: Symbol) -> bool:
        """Tell whether an arm is left."""
        return symbol in self._arms

    def put(self, symbol: Symbol, ends: tuple[Place, Place]) -> None:
        """Add an arm."""
        self._arms[symbol] = self._place(ends[0]), self._place(ends[1])
        self.degrees.update(self._arms[symbol])

    def take(self, symbol: Symbol) -> None:
        """Remove an arm."""
        self.degrees.subtract(self._arms.pop(symbol))

    def join(self, one: Place, other: Place) -> None:
        """Let two places be one."""
        one, other = self._place(one), self._place(other)
        if one != other:
            self._same[other] = one
            arms, self._arms, self.degrees = self._arms, {}, Counter()
            for symbol, ends in arms.items():
                self.put(symbol, ends)

    def ends(self, symbol: Symbol) -> tuple[Place, Place]:
        """Return where an arm ends. Raises Refused where there is no such arm."""
        if symbol not in self._arms:
            raise Refused(f"there is no {symbol.name} in what is left")
        return self._arms[symbol]

    @property
    def terminals(self) -> tuple[Place, Place]:
        """The two places from which the network is seen."""
        one, other = self._ends_seen
        return self._place(one), self._place(other)

    def new_place(self) -> Place:
        """Return a place where nothing ends yet."""
        self._made += 1
        return ("made", -1, self._made)

    def _place(self, at: Place) -> Place:
        while at in self._same:
            at = self._same[at]
        return at
