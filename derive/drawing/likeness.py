"""Where parts stand in one figure, so that the next one of a series can be like it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from derive.circuit.model import Branch, Circuit, Hop, Loop
from derive.drawing.model import Symbol

_FAR = 2.0
"""Millimetres by which one part has to be beside or above another."""
_MOVED = 3.0
"""What two parts cost that stand the other way round to each other."""
_TURNED, _TURNED_CELL = 3.0, 15.0
"""What a part costs that has been turned, and a source."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a part stands."""

    part: str
    x: float
    y: float
    flat: bool | None = None
    """Whether it lies level; None where that says nothing."""


def spots_of(symbols: Iterable[Symbol]) -> tuple[Spot, ...]:
    """Return where symbols stand."""
    return tuple(
        Spot(s.part, s.centre.x, s.centre.y, None if s.direction.aslant else s.direction.horizontal)
        for s in symbols
    )


def unlikeness(before: Sequence[Spot], symbols: Iterable[Symbol]) -> float:
    """Return what it costs that parts stand otherwise to each other than before."""
    then = {spot.part: spot for spot in before}
    shown = list(symbols)
    pairs = [(then[now.part], now) for now in spots_of(shown) if now.part in then]
    cells = {symbol.part for symbol in shown if symbol.shape.is_source}
    cost = sum(
        _TURNED_CELL if now.part in cells else _TURNED
        for was, now in pairs
        if was.flat is not None and was.flat is not now.flat
    )
    for (was, now), (was_other, now_other) in combinations(pairs, 2):
        cost += _MOVED * _swapped(was.x - was_other.x, now.x - now_other.x)
        cost += _MOVED * _swapped(was.y - was_other.y, now.y - now_other.y)
    return cost


def _swapped(was: float, now: float) -> bool:
    return was * now < 0 and min(abs(was), abs(now)) > _FAR


def neighbours(circuit: Circuit, before: Sequence[Spot], first: str | None) -> tuple[Loop, ...]:
    """Return a loop for any two branches side by side that should be neighbours, as before.

    What stands in the branch of the part `first` is at the left.
    """
    at = {spot.part: spot.x for spot in before}
    beside: dict[frozenset[str], list[int]] = {}
    for k, branch in enumerate(circuit.branches):
        if branch.tail != branch.head:
            beside.setdefault(frozenset((branch.tail, branch.head)), []).append(k)
    loops: list[Loop] = []
    for side_by_side in beside.values():
        side_by_side.sort(key=lambda k: _x(circuit.branches[k], at, first))
        for one, other in pairwise(side_by_side):
            same = circuit.branches[one].tail == circuit.branches[other].tail
            loops.append(Loop((Hop(one, True), Hop(other, not same))))
    return tuple(loops)


def _x(branch: Branch, at: Mapping[str, float], first: str | None) -> float:
    """Return where a branch stood, by the middle of its parts."""
    names = [passage.element.name for passage in branch.passages]
    if first in names:
        return float("-inf")
    known = [at[name] for name in names if name in at]
    return sum(known) / len(known) if known else float("inf")
