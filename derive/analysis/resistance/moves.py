"""Which resistances may be put for which others, until one is left between two points.

Series and parallel first, as many at once as can be; where neither is left, a delta by a wye that
sets two parts in series (A. E. Kennelly, Electrical World and Engineer 34, 1899), or else all that
meet at the place with the fewest by a mesh, which always leads on (A. Rosen, J. IEE 62, 1924; both
from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from derive.algebra.name import natural_key
from derive.algebra.term import Symbol
from derive.analysis.resistance.net import Net
from derive.derivation.step import Exchange, Replace

Namer = Callable[[Exchange, Sequence[Symbol]], tuple[Symbol, ...]]
"""Gives names to what is made of some resistances."""


def moves(net: Net, name: Namer, *, only_simple: bool = False) -> Iterator[Replace]:
    """Carry out exchanges until at most one arm is left, and yield them.

    With `only_simple` no other exchanges are made than series and parallel, which may leave more.
    Nothing is left of a net whose two places are not joined, or joined by wire.
    """
    idle = net.idle()
    if net.one == net.other:
        idle = tuple(net.arms)
    if idle:
        yield _carried_out(net, Exchange.IDLE, idle)
    while len(net.arms) > 1:
        found = False
        for move in _series(net, name):
            found = True
            yield move
        for move in _parallel(net, name):
            found = True
            yield move
        if not found and only_simple:
            return
        if not found:
            yield _delta(net, name) or _star(net, name)


def _series(net: Net, name: Namer) -> Iterator[Replace]:
    for place in net.places:
        if not net.inner(place) or len(net.at(place)) != 2:
            continue
        chain, ends = _chain(net, place)
        if ends[0] == ends[1]:
            continue  # a ring seen from two of its own places: parallel first
        yield _carried_out(net, Exchange.SERIES, chain, name)


def _chain(net: Net, place: int) -> tuple[list[Symbol], tuple[int, int]]:
    """Return the arms one after the other on both sides of a place, and where they end."""
    sides = []
    for symbol in net.at(place):
        arms, at = [symbol], net.far(symbol, place)
        while net.inner(at) and len(net.at(at)) == 2 and at != place:
            symbol = next(s for s in net.at(at) if s != arms[-1])
            arms.append(symbol)
            at = net.far(symbol, at)
        sides.append((arms, at))
    (back, tail), (forth, head) = sides
    chain = [*reversed(back), *forth]
    if net.age(chain[0]) > net.age(chain[-1]):
        return chain[::-1], (head, tail)
    return chain, (tail, head)


def _parallel(net: Net, name: Namer) -> Iterator[Replace]:
    groups: dict[frozenset[int], list[Symbol]] = {}
    for symbol, ends in net.arms.items():
        groups.setdefault(frozenset(ends), []).append(symbol)
    for group in groups.values():
        if len(group) > 1:
            yield _carried_out(net, Exchange.PARALLEL, group, name)


def _carried_out(
    net: Net, exchange: Exchange, taken: Sequence[Symbol], name: Namer | None = None
) -> Replace:
    made = () if name is None else name(exchange, taken)
    step = Replace(exchange=exchange, taken=tuple(taken), made=made)
    net.replace(step)
    return step


def _delta(net: Net, name: Namer) -> Replace | None:
    """Exchange a delta two of whose corners have just one more arm each."""
    for p, q in combinations(net.places, 2):
        if not (_corner(net, p) and _corner(net, q)):
            continue
        side = next((s for s in net.at(p) if net.far(s, p) == q), None)
        if side is None:
            continue
        for other in net.at(p):
            third = net.far(other, p)
            last = next((s for s in net.at(q) if s != side and net.far(s, q) == third), None)
            if other == side or last is None:
                continue
            taken = sorted((side, other, last), key=_by_name)
            return _carried_out(net, Exchange.DELTA, taken, name)
    return None


def _by_name(symbol: Symbol) -> tuple[tuple[int, int, str], ...]:
    return natural_key(symbol.name)


def _corner(net: Net, place: int) -> bool:
    return net.inner(place) and len(net.at(place)) == 3


def _star(net: Net, name: Namer) -> Replace:
    """Exchange all arms at the inner place with the fewest."""
    place = min((p for p in net.places if net.inner(p)), key=lambda p: len(net.at(p)))
    return _carried_out(net, Exchange.STAR, sorted(net.at(place), key=_by_name), name)
