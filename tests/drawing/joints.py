"""Follows the wires of a figure: what they join, and what lies ahead of an arrow and behind it.

Two wires are joined where both end, or where a dot stands upon both; wires that merely cross are
not joined. A wire with an arrow and no part on the way is a branch of its own, so what is before
the arrow and what is behind it are two nodes although a wire joins them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from math import dist

from tests.drawing.seeing import Head, Seen
from tests.drawing.strokes import TOUCH, Misdrawn, Spot, Type, gap, nearness

PartEnd = tuple[int, int]
"""Which part, and 0 or 1 for its end."""


@dataclass(frozen=True)
class Met:
    """What a wire comes to: the end of a part, or else a joint."""

    joint: int
    part: PartEnd | None = None


@dataclass
class Joints:
    """The places where wires end or turn, and the pieces of wire between them."""

    seen: Seen
    spots: list[Spot] = field(default_factory=list)
    pieces: list[tuple[int, int]] = field(default_factory=list)
    at: dict[int, list[int]] = field(default_factory=dict)
    """Pieces at each place."""
    part_at: dict[int, PartEnd] = field(default_factory=dict)
    dotted: set[int] = field(default_factory=set)
    open_ends: set[int] = field(default_factory=set)
    earthed: set[int] = field(default_factory=set)
    nets: list[int] = field(default_factory=list)
    """For each place a number, the same where wire joins them."""
    bare: dict[int, Head] = field(default_factory=dict)
    """Pieces on which the arrow of a branch without parts stands."""

    def __post_init__(self) -> None:
        for dot in self.seen.dots:
            self.dotted.add(self._place(dot.centre))
        for wire in self.seen.wires:
            for one, other in pairwise(wire.points):
                self._piece(one, other)
        for k, piece in enumerate(self.pieces):
            for place in piece:
                self.at.setdefault(place, []).append(k)
        self._ends()
        self._joined_rightly()
        for head in self.seen.heads:
            if self.ahead(head).part is None and self.behind(head).part is None:
                self.bare[self.carrier(head)[0]] = head
        self.nets = self._nets()

    def _place(self, spot: Spot) -> int:
        for k, known in enumerate(self.spots):
            if abs(known[0] - spot[0]) < TOUCH and abs(known[1] - spot[1]) < TOUCH:
                return k
        self.spots.append(spot)
        return len(self.spots) - 1

    def _piece(self, one: Spot, other: Spot) -> None:
        """Add a straight piece, cut where dots stand on it."""
        dots = [d.centre for d in self.seen.dots if nearness(d.centre, one, other) < TOUCH]
        line = [one, *sorted(dots, key=lambda d: dist(d, one)), other]
        places = [self._place(spot) for spot in line]
        self.pieces += [(a, b) for a, b in pairwise(places) if a != b]

    def _ends(self) -> None:
        """Find which wire ends at a part, at an open terminal or in an earth."""
        for k, part in enumerate(self.seen.parts):
            for which, end in enumerate(part.ends):
                place = self._place(end)
                if len(self.at.get(place, ())) != 1 or place in self.part_at:
                    raise Misdrawn(f"no wire, or more than one, at an end of a part at {end}")
                self.part_at[place] = k, which
        for circle in self.seen.terminals:
            rim = [
                place
                for place in self.at
                if abs(dist(self.spots[place], circle.centre) - circle.radius) < TOUCH
            ]
            if len(rim) != 1:
                raise Misdrawn(f"an open terminal without a wire at {circle.centre}")
            self.open_ends.add(rim[0])
        self.earthed = {self._place(end) for end in self.seen.earths}

    def _joined_rightly(self) -> None:
        for place in self.dotted:
            if place not in self.at:
                raise Misdrawn(f"a dot on no wire at {self.spots[place]}")
        for place, met in self.at.items():
            known = place in self.part_at or place in self.open_ends or place in self.earthed
            if len(met) == 1 and not known and place not in self.dotted:
                raise Misdrawn(f"a wire ends in nothing at {self.spots[place]}")
            if len(met) > 2 and place not in self.dotted:
                raise Misdrawn(f"wires meet without a dot at {self.spots[place]}")
            for a, b in self.pieces:
                if place not in (a, b) and self._on(place, a, b):
                    raise Misdrawn(f"a wire touches another without a dot at {self.spots[place]}")

    def _on(self, place: int, a: int, b: int) -> bool:
        return nearness(self.spots[place], self.spots[a], self.spots[b]) < TOUCH

    def carrier(self, head: Head) -> tuple[int, int, int]:
        """Return the piece an arrow stands on, the place behind it and the one ahead."""
        for k, (a, b) in enumerate(self.pieces):
            one, other = self.spots[a], self.spots[b]
            if all(nearness(spot, one, other) < TOUCH for spot in (head.tip, head.back)):
                forward = dist(head.tip, other) < dist(head.back, other)
                return (k, a, b) if forward else (k, b, a)
        raise Misdrawn(f"the arrow at {head.tip} is not on a straight piece of wire")

    def ahead(self, head: Head) -> Met:
        k, _, place = self.carrier(head)
        return self._follow(k, place)

    def behind(self, head: Head) -> Met:
        k, place, _ = self.carrier(head)
        return self._follow(k, place)

    def _follow(self, piece: int, place: int) -> Met:
        """Go on along a wire, round corners and through named places, till something is met."""
        passed = {piece}
        while True:
            onward = [k for k in self.at[place] if k not in passed and not self._stub(k)]
            if place in self.part_at:
                return Met(place, self.part_at[place])
            if len(onward) != 1 or place in self.open_ends:
                return Met(place)
            passed.add(onward[0])
            a, b = self.pieces[onward[0]]
            place = b if a == place else a

    def _stub(self, piece: int) -> bool:
        return any(place in self.earthed for place in self.pieces[piece])

    def _nets(self) -> list[int]:
        net = list(range(len(self.spots)))
        changed = True
        while changed:
            changed = False
            for k, (a, b) in enumerate(self.pieces):
                if k not in self.bare and net[a] != net[b]:
                    net[a] = net[b] = min(net[a], net[b])
                    changed = True
        return net

    def nearest_net(self, type_: Type) -> tuple[int, float]:
        """Return the net a letter stands at, and how much further the next one is."""
        found: dict[int, float] = {}
        for net, one, other in self._stretches():
            off = gap(type_, one, other)
            found[net] = min(off, found.get(net, off))
        for place in self.dotted:
            off = gap(type_, self.spots[place], self.spots[place])
            found[self.nets[place]] = min(off, found.get(self.nets[place], off))
        (least, net), *rest = sorted((off, net) for net, off in found.items())
        return net, (rest[0][0] - least if rest else 99.0)

    def _stretches(self) -> Iterator[tuple[int, Spot, Spot]]:
        """Yield straight pieces with their nets; the arrow of a bare branch divides its piece."""
        for k, (a, b) in enumerate(self.pieces):
            if self._stub(k):
                continue
            if k in self.bare:
                head = self.bare[k]
                _, back, front = self.carrier(head)
                yield self.nets[back], self.spots[back], head.back
                yield self.nets[front], head.tip, self.spots[front]
            else:
                yield self.nets[a], self.spots[a], self.spots[b]

    def turns(self) -> int:
        """Count the right angles between two pieces of wire where nothing else meets."""
        count = 0
        for place, met in self.at.items():
            if len(met) == 2 and not any(self._stub(k) for k in met):
                (x, y) = self.spots[place]
                ways = []
                for k in met:
                    a, b = self.pieces[k]
                    u, v = self.spots[b if a == place else a]
                    ways.append((u - x, v - y))
                (x1, y1), (x2, y2) = ways
                count += abs(x1 * y2 - y1 * x2) > 0.1
        return count
