"""One choice for each of several things so that the whole costs least.

A thing has choices with a cost each, and two choices of different things may cost something more
when they are taken together. The least cost is found by branch and bound; only pairs that cost
something in the solution at hand are looked at, because a solution that is the cheapest for these
and free of all others is the cheapest of all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

_MOST_STEPS = 2500
"""Choices tried in one group before the best found so far is taken."""

Together = Callable[[int, int, int, int], float]
"""Cost of taking choice `a` of thing `i` together with choice `b` of thing `j`."""


def assign(
    costs: Sequence[Sequence[float]], near: Sequence[tuple[int, int]], together: Together
) -> list[int]:
    """Return the number of the choice for each thing.

    `near` are the pairs of things, lower number first, of which choices may cost something
    together; no such cost is negative.
    """
    chosen = [min(range(len(own)), key=own.__getitem__) for own in costs]
    pairs: dict[tuple[int, int], list[list[float]]] = {}
    while True:
        found = [
            (i, j)
            for i, j in near
            if (i, j) not in pairs and together(i, chosen[i], j, chosen[j]) > 0
        ]
        if not found:
            return chosen
        for i, j in found:
            pairs[i, j] = [
                [together(i, a, j, b) for b in range(len(costs[j]))] for a in range(len(costs[i]))
            ]
        touched = {i for pair in found for i in pair}
        for group in _groups(pairs, len(costs)):
            if touched.intersection(group):
                _Search(costs, pairs, group).run(chosen)


def _groups(pairs: Mapping[tuple[int, int], object], count: int) -> list[list[int]]:
    """Return the things that hang together by pairs, each group in order."""
    parent = list(range(count))

    def find(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for i, j in pairs:
        one, other = sorted((find(i), find(j)))
        parent[other] = one
    groups: dict[int, list[int]] = {}
    for i in range(count):
        groups.setdefault(find(i), []).append(i)
    return [group for group in groups.values() if len(group) > 1]


@dataclass
class _Search:
    """Goes through the choices of one group, the most pressing thing first."""

    costs: Sequence[Sequence[float]]
    pairs: Mapping[tuple[int, int], list[list[float]]]
    group: list[int]
    best: dict[int, int] = field(default_factory=dict)
    least: float = float("inf")
    steps: int = 0
    beside: dict[int, list[int]] = field(default_factory=dict)

    def run(self, chosen: list[int]) -> None:
        """Write the best choices found into `chosen`."""
        members = set(self.group)
        for i, j in self.pairs:
            if i in members:
                self.beside.setdefault(i, []).append(j)
                self.beside.setdefault(j, []).append(i)
        self._deepen({}, 0.0, {i: list(self.costs[i]) for i in self.group})
        for i, choice in self.best.items():
            chosen[i] = choice

    def _deepen(self, taken: dict[int, int], cost: float, left: dict[int, list[float]]) -> None:
        """Choose for one more thing; `left` holds what the choices of the others cost by now."""
        if not left:
            if cost < self.least - 1e-9:
                self.least, self.best = cost, dict(taken)
            return
        bound = cost + sum(map(min, left.values()))
        thing = max(left, key=lambda i: (_regret(left[i]), -i))
        own = left[thing]
        floor = min(own)
        for choice in sorted(range(len(own)), key=own.__getitem__):
            if bound - floor + own[choice] >= self.least - 1e-9:
                return
            self.steps += 1
            if self.steps > _MOST_STEPS and self.best:
                return
            rest = {i: values for i, values in left.items() if i != thing}
            for other in self.beside[thing]:
                if other in rest:
                    more = self._row(thing, choice, other)
                    rest[other] = [a + b for a, b in zip(rest[other], more, strict=True)]
            taken[thing] = choice
            self._deepen(taken, cost + own[choice], rest)
            del taken[thing]

    def _row(self, thing: int, choice: int, other: int) -> list[float]:
        """Return what each choice of another thing costs beside a choice."""
        if thing < other:
            return self.pairs[thing, other][choice]
        return [row[choice] for row in self.pairs[other, thing]]


def _regret(costs: Sequence[float]) -> float:
    """Return how much more the second best choice costs than the best."""
    if len(costs) == 1:
        return float("inf")
    first, second = sorted(costs)[:2]
    return second - first
