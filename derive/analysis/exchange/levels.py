"""Which points of a network are at equal potentials for certain, and the proof of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from derive.algebra.term import ONE, ZERO, Quotient, Sum, Symbol, Term, number
from derive.analysis.exchange.net import Net, is_emf
from derive.analysis.sizes import Sizes, node_levels
from derive.derivation.exchanges import Levels

_MOST_PLACES = 60
"""Larger networks are not searched."""


@dataclass(frozen=True, slots=True)
class EqualLevels:
    """Equal potentials that were found."""

    levels: Levels
    between: tuple[Symbol, ...]
    """Resistances whose two ends are at one potential."""
    groups: tuple[tuple[int, ...], ...]
    """Places at one potential, two or more."""


def equal_levels(net: Net, term: Callable[[Symbol], Term], sizes: Sizes) -> EqualLevels | None:
    """Find points at equal potentials in a net seen from two places, or with one emf.

    `term` is what a resistance is in the letters of the circuit. None where there are no such
    points, or where it cannot be known.
    """
    ends, arms = _two_ends(net)
    if ends is None:
        return None
    places = sorted({place for symbol in arms for place in net.arms[symbol]} | set(ends))
    if len(places) > _MOST_PLACES or not all(place in net.names for place in places):
        return None
    known = sizes.in_one_unit([term(symbol) for symbol in arms])
    levels: dict[int, Term] | None = None
    if known is None:
        levels = _balanced(net, arms, places, ends, term, sizes)
    elif all(known):
        edges = [(*net.arms[s], size) for s, size in zip(arms, known, strict=True)]
        found = node_levels(edges, ends)
        levels = None if found is None else {place: number(found[place]) for place in places}
    if levels is None:
        return None
    groups: dict[Term, list[int]] = {}
    for place in places:
        groups.setdefault(levels[place], []).append(place)
    between = tuple(s for s in arms if levels[net.arms[s][0]] == levels[net.arms[s][1]])
    joined = tuple(tuple(group) for group in groups.values() if len(group) > 1)
    if not joined or len(groups) < 2:
        return None
    told = tuple((net.names[place], levels[place]) for place in places)
    return EqualLevels(Levels(levels=told), between, joined)


def _two_ends(net: Net) -> tuple[tuple[int, int] | None, list[Symbol]]:
    """Return the two ends between which a current is driven, from + to −, and the arms outside."""
    arms = [symbol for symbol in net.arms if not is_emf(symbol)]
    if net.terminals:
        one, other = net.terminals
        return (None if one == other else (one, other)), arms
    emf = net.lone_emf()
    if emf is None:
        return None, []
    row = net.row(emf)
    driver = {symbol for symbol, _ in row}
    tail, head = net.row_ends(row)
    rest = [symbol for symbol in arms if symbol not in driver]
    return (None if tail == head else (head, tail)), rest


def _balanced(
    net: Net,
    arms: list[Symbol],
    places: list[int],
    ends: tuple[int, int],
    term: Callable[[Symbol], Term],
    sizes: Sizes,
) -> dict[int, Term] | None:
    """Return the potentials of a bridge of five arms whose balance is known in letters."""
    inner = [place for place in places if place not in ends]
    between = {frozenset(net.arms[symbol]): symbol for symbol in arms}
    if len(arms) != 5 or len(between) != 5 or len(inner) != 2 or frozenset(inner) not in between:
        return None
    levels: dict[int, Term] = {ends[0]: ONE, ends[1]: ZERO}
    sides: list[tuple[Symbol, Symbol]] = []
    for place in inner:
        pair = [between.get(frozenset((place, end))) for end in ends]
        if pair[0] is None or pair[1] is None:
            return None
        sides.append((pair[0], pair[1]))
    (a, b), (c, d) = sides
    products = [Quotient(term(a), term(b)), Quotient(term(c), term(d))]
    if not sizes.equal(*products):
        return None
    # Both are at this potential, written by the arms beside the first.
    levels |= dict.fromkeys(inner, Quotient(b, Sum((a, b))))
    return levels
