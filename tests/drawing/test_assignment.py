"""The search for the cheapest choices against trying them all."""

import random
from itertools import product

import pytest

from derive.drawing.assignment import assign


def _case(seed: int) -> tuple[list[list[float]], dict[tuple[int, int, int, int], float]]:
    rng = random.Random(seed)
    costs = [
        [rng.choice((0.0, 0.5, 1.0, 2.0, 60.0)) for _ in range(rng.randint(1, 4))]
        for _ in range(rng.randint(1, 6))
    ]
    together = {
        (i, a, j, b): rng.choice((0.3, 1.0, 100.0))
        for j in range(len(costs))
        for i in range(j)
        for a in range(len(costs[i]))
        for b in range(len(costs[j]))
        if rng.random() < 0.4
    }
    return costs, together


@pytest.mark.parametrize("seed", range(60))
def test_the_cheapest_of_all_is_found(seed: int) -> None:
    costs, together = _case(seed)
    pairs = [(i, j) for j in range(len(costs)) for i in range(j)]

    def total(chosen: tuple[int, ...]) -> float:
        own = sum(costs[i][a] for i, a in enumerate(chosen))
        return own + sum(together.get((i, chosen[i], j, chosen[j]), 0.0) for i, j in pairs)

    found = assign(costs, pairs, lambda *key: together.get(key, 0.0))
    least = min(map(total, product(*(range(len(own)) for own in costs))))
    assert total(tuple(found)) == pytest.approx(least)


def test_a_search_without_end_is_given_up() -> None:
    # Pigeons and holes: every two of twelve things quarrel over ten equal places.
    costs = [[0.0] * 10 for _ in range(12)]
    pairs = [(i, j) for j in range(12) for i in range(j)]
    found = assign(costs, pairs, lambda i, a, j, b: 1.0 if a == b else 0.0)  # noqa: ARG005
    assert sorted(set(found)) == list(range(10))
