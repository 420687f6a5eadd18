"""Edges that follow each other through places where just two ends meet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from derive.circuit.wiring import Edge


@dataclass(frozen=True, slots=True)
class Chain:
    """A maximal chain of edges, directed like the first of them in the file."""

    first: int
    """The first edge in the file."""
    steps: tuple[tuple[int, bool], ...]
    """Edges from tail to head, each with True when passed from its own tail to its head."""
    tail: str
    head: str
    """Equal to the tail for a closed chain."""


def chains(
    edges: Sequence[Edge], degree: Mapping[str, int], chosen: Sequence[int]
) -> tuple[Chain, ...]:
    """Return the chains of the chosen edges in the order of their first ones.

    `degree` tells how many ends of chosen edges meet at a place.
    """
    ends: dict[str, list[tuple[int, bool]]] = {}
    for index in chosen:
        ends.setdefault(edges[index].tail, []).append((index, True))
        ends.setdefault(edges[index].head, []).append((index, False))
    used: set[int] = set()
    found = []
    for first in chosen:
        if first in used:
            continue
        onward = _follow(first, True, edges, degree, ends)
        used.update(index for index, _ in onward)
        head = _end(edges, *onward[-1])
        if head == edges[first].tail:
            # Closed, on a junction or all by itself: it begins where its first walk does.
            found.append(Chain(first, tuple(onward), head, head))
            continue
        back = _follow(first, False, edges, degree, ends)
        used.update(index for index, _ in back)
        steps = [(index, not along) for index, along in reversed(back[1:])] + onward
        found.append(Chain(first, tuple(steps), _end(edges, *back[-1]), head))
    return tuple(found)


def _follow(
    first: int,
    along: bool,
    edges: Sequence[Edge],
    degree: Mapping[str, int],
    ends: Mapping[str, list[tuple[int, bool]]],
) -> list[tuple[int, bool]]:
    """Go on from one edge until more or fewer than two ends meet, or the start is reached."""
    steps = [(first, along)]
    start = edges[first].tail if along else edges[first].head
    while True:
        index, along = steps[-1]
        here = _end(edges, index, along)
        if degree[here] != 2 or here == start:
            return steps
        # The end by which it came is not the one by which it leaves.
        came = (index, not along)
        steps.append(next(end for end in ends[here] if end != came))


def _end(edges: Sequence[Edge], index: int, along: bool) -> str:
    return edges[index].head if along else edges[index].tail
