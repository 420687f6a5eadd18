"""Positions on one axis under constraints "j at least so far after i"."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Tag = TypeVar("Tag", bound=Hashable)

State = tuple[list[int], list["Constraint[Tag]"], list[int]]


@dataclass(frozen=True, slots=True)
class Constraint(Generic[Tag]):
    """One thing stands after another; the tag tells later how far."""

    before: int
    after: int
    tag: Tag


class Tracks(Generic[Tag]):
    """Things in a partial order, some of them made equal; never a cycle."""

    def __init__(self, count: int) -> None:
        """Start with things 0 … count − 1, free of each other."""
        self._same = list(range(count))
        self._constraints: list[Constraint[Tag]] = []
        # For each thing the set, as bits, of all that must stand after it.
        self._later = [0] * count

    def place(self, thing: int) -> int:
        """Return the one that stands for all things made equal to this one."""
        while self._same[thing] != thing:
            thing = self._same[thing]
        return thing

    def order(self, before: int, after: int, tag: Tag) -> None:
        """Add a constraint that is known to agree with the others."""
        self._constraints.append(Constraint(before, after, tag))
        self._link(self.place(before), self.place(after))

    def try_order(self, wanted: Sequence[Constraint[Tag]]) -> bool:
        """Add constraints; add none and return False when they would contradict the others."""
        count, later = len(self._constraints), list(self._later)
        for item in wanted:
            before, after = self.place(item.before), self.place(item.after)
            if before == after or self._later[after] >> before & 1:
                del self._constraints[count:]
                self._later = later
                return False
            self._constraints.append(item)
            self._link(before, after)
        return True

    def try_equal(self, one: int, other: int, dropping: Tag | None = None) -> bool:
        """Make two things equal, perhaps without one constraint between them."""
        one, other = self.place(one), self.place(other)
        if one == other:
            return True
        saved = self._constraints, self._later
        kept = [c for c in self._constraints if dropping is None or c.tag != dropping]
        if len(kept) < len(self._constraints):
            self._constraints = kept
            self._relink()
        if self._later[one] >> other & 1 or self._later[other] >> one & 1:
            self._constraints, self._later = saved
            return False
        self._same[other] = one
        self._relink()
        return True

    def mark(self) -> State[Tag]:
        """Remember the present state."""
        return list(self._same), list(self._constraints), list(self._later)

    def restore(self, state: State[Tag]) -> None:
        """Go back to a remembered state."""
        same, constraints, later = state
        self._same, self._constraints, self._later = list(same), list(constraints), list(later)

    def solve(self, distance: Callable[[Tag], float]) -> list[float]:
        """Return positions midway between the earliest and the latest that are possible.

        Both extremes satisfy the constraints, so what lies midway does.
        """
        arcs: dict[tuple[int, int], float] = {}
        for item in self._constraints:
            key = (self.place(item.before), self.place(item.after))
            arcs[key] = max(arcs.get(key, 0.0), distance(item.tag))
        count = len(self._same)
        after: list[list[tuple[int, float]]] = [[] for _ in range(count)]
        waiting = [0] * count
        for (i, j), length in arcs.items():
            after[i].append((j, length))
            waiting[j] += 1
        line = [k for k in range(count) if waiting[k] == 0]
        earliest = [0.0] * count
        for i in line:
            for j, length in after[i]:
                earliest[j] = max(earliest[j], earliest[i] + length)
                waiting[j] -= 1
                if waiting[j] == 0:
                    line.append(j)
        end = max(earliest)
        latest = [end] * count
        for i in reversed(line):
            for j, length in after[i]:
                latest[i] = min(latest[i], latest[j] - length)
        return [(earliest[self.place(k)] + latest[self.place(k)]) / 2 for k in range(count)]

    def _link(self, before: int, after: int) -> None:
        later = self._later
        if later[before] >> after & 1:
            return
        more = later[after] | 1 << after
        for thing, beyond in enumerate(later):
            if thing == before or beyond >> before & 1:
                later[thing] = beyond | more

    def _relink(self) -> None:
        """Work out anew what must stand after what, from the last things to the first."""
        near: dict[int, set[int]] = {}
        waiting = [0] * len(self._same)
        behind: dict[int, list[int]] = {}
        for item in self._constraints:
            before, after = self.place(item.before), self.place(item.after)
            if after not in near.setdefault(before, set()):
                near[before].add(after)
                behind.setdefault(after, []).append(before)
                waiting[before] += 1
        self._later = [0] * len(self._same)
        line = [k for k, count in enumerate(waiting) if count == 0]
        for thing in line:
            for before in behind.get(thing, ()):
                self._later[before] |= self._later[thing] | 1 << thing
                waiting[before] -= 1
                if waiting[before] == 0:
                    line.append(before)
