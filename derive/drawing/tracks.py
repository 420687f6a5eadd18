"""Positions on one axis under constraints "j at least so far after i"."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Tag = TypeVar("Tag", bound=Hashable)


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

    def place(self, thing: int) -> int:
        """Return the one that stands for all things made equal to this one."""
        while self._same[thing] != thing:
            thing = self._same[thing]
        return thing

    def order(self, before: int, after: int, tag: Tag) -> None:
        """Add a constraint that is known to agree with the others."""
        self._constraints.append(Constraint(before, after, tag))

    def try_order(self, wanted: Sequence[Constraint[Tag]]) -> bool:
        """Add constraints; add none and return False when they would contradict the others."""
        count = len(self._constraints)
        for item in wanted:
            if self._reaches(item.after, item.before):
                del self._constraints[count:]
                return False
            self._constraints.append(item)
        return True

    def try_equal(self, one: int, other: int, dropping: Tag | None = None) -> bool:
        """Make two things equal, perhaps without one constraint between them."""
        one, other = self.place(one), self.place(other)
        if one == other:
            return True
        kept = [c for c in self._constraints if dropping is None or c.tag != dropping]
        saved, self._constraints = self._constraints, kept
        if self._reaches(one, other) or self._reaches(other, one):
            self._constraints = saved
            return False
        self._same[other] = one
        return True

    def mark(self) -> tuple[list[int], list[Constraint[Tag]]]:
        """Remember the present state."""
        return list(self._same), list(self._constraints)

    def restore(self, state: tuple[list[int], list[Constraint[Tag]]]) -> None:
        """Go back to a remembered state."""
        self._same, self._constraints = list(state[0]), list(state[1])

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

    def _reaches(self, start: int, goal: int) -> bool:
        start, goal = self.place(start), self.place(goal)
        near: dict[int, list[int]] = {}
        for item in self._constraints:
            near.setdefault(self.place(item.before), []).append(self.place(item.after))
        seen, queue = {start}, [start]
        for thing in queue:
            if thing == goal:
                return True
            for other in near.get(thing, ()):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return False
