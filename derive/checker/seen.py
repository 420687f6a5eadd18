"""What is left of a network of resistances, and the two points from which it is seen."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from derive.algebra.term import Symbol
from derive.checker.polynomial import Refused

Place = tuple[str, int, int]
"""A node, or a station within a branch: ``("A", 0, 0)`` or ``("", branch, station)``."""


@dataclass(slots=True)
class Seen:
    """What is left of a network, and the two points from which it is seen."""

    answer: Symbol
    """What the resistance between the two is called."""
    ends_seen: tuple[Place, Place]
    arms: dict[Symbol, tuple[Place, Place]]
    same: dict[Place, Place] = field(default_factory=dict)
    """Places that wire joins to others; see `place`."""
    made: int = 0
    """How many places have been made."""

    def place(self, at: Place) -> Place:
        """Return the one that stands for all places joined to this one."""
        while at in self.same:
            at = self.same[at]
        return at

    def join(self, one: Place, other: Place) -> None:
        """Let two places be one."""
        one, other = self.place(one), self.place(other)
        if one != other:
            self.same[other] = one

    def ends(self, symbol: Symbol) -> tuple[Place, Place]:
        """Return where an arm ends. Raises Refused where there is no such arm."""
        if symbol not in self.arms:
            raise Refused(f"there is no {symbol.name} in what is left")
        one, other = self.arms[symbol]
        return self.place(one), self.place(other)

    @property
    def terminals(self) -> tuple[Place, Place]:
        """The two places from which the network is seen."""
        one, other = self.ends_seen
        return self.place(one), self.place(other)

    def degrees(self) -> Counter[Place]:
        """Count the ends of arms at each place."""
        return Counter(end for symbol in self.arms for end in self.ends(symbol))
