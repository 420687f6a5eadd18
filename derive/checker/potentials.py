"""Equal potentials, and equal values: do they follow from what the author says?"""

from __future__ import annotations

from collections.abc import Mapping

from derive.algebra.dimension import NUMBER
from derive.algebra.term import ZERO, Negative, Quotient, Sum, Symbol, SymbolKind, Term
from derive.checker import laws
from derive.checker.evaluation import dimension, occurring, residue
from derive.checker.ledger import Ledger, check_symbols, is_closed, require
from derive.checker.places import begun, points_of
from derive.checker.polynomial import Expansion, Refused
from derive.checker.seen import Ends, Place, Seen, is_emf
from derive.derivation.exchanges import Join, Levels
from derive.derivation.laws import GivenValue


def same_by_values(ledger: Ledger, seen: Seen, one: Term, other: Term) -> dict[Symbol, Term] | None:
    """Return what the author says that makes two terms equal: ties, else values; None if nothing.

    The network is noted to rest on that.
    """
    difference = Sum((one, Negative(other)))
    if residue(difference, ledger.point) != 0:
        return None
    every = laws.all_given(ledger.circuit)
    ties = {symbol: term for symbol, term in every.items() if occurring(term)}
    zeros = {s: t for s, t in every.items() if not occurring(t) and Expansion().is_zero(t)}
    for known in ({}, ties, ties | zeros, every):
        if Expansion(known | ledger.defined).is_zero(difference):
            earlier = enumerate(ledger.steps[: ledger.here])
            stated = {s.symbol: k for k, s in earlier if isinstance(s, GivenValue)}
            require(known.keys() <= stated.keys(), "a value that is needed has not been stated")
            seen.rests_on |= {stated[symbol] for symbol in known}
            return known
    return None


def levels(ledger: Ledger, step: Levels) -> None:
    """Accept potentials that fulfil the junction rule wherever no current is driven in."""
    seen = begun(ledger)
    points = points_of(ledger.circuit)
    found: dict[Place, Term] = {}
    for entry in step.levels:
        require(len(entry) == 2, "a potential is told of no point")
        point, term = entry
        require(point in points, f"there is no point {point}")
        symbols = check_symbols(ledger, term)
        require(is_closed(ledger, symbols), "a potential is unknown")
        require(dimension(term) in (NUMBER, None), "a potential is told by a pure number here")
        place = seen.place(points[point])
        require(place not in found, f"the potential at {point} is said twice")
        found[place] = term
    driven, ends = _driver(seen)
    arms = [symbol for symbol in seen.arms if symbol not in driven]
    alone = all(symbol.kind is SymbolKind.RESISTANCE for symbol in arms)
    require(alone, "there is another source")
    touched = {end for symbol in arms for end in seen.ends(symbol)} | set(ends)
    require(touched <= found.keys(), "a potential is missing")
    require(found.keys() <= touched, "a potential is told where nothing can be known of it")
    hung = touched <= seen.reached(ends[0], driven) | seen.reached(ends[1], driven)
    require(hung, "a potential is told of what hangs on the rest no more")
    for place in touched - set(ends):
        flows: list[Term] = []
        for symbol in seen.at(place):
            one, other = seen.ends(symbol)
            there = other if one == place else one
            flows.append(Quotient(Sum((found[place], Negative(found[there]))), symbol))
        balanced = are_equal(ledger, seen, Sum(tuple(flows)), ZERO)
        require(balanced, "the junction rule fails with these potentials")
    difference = Sum((found[ends[0]], Negative(found[ends[1]])))
    require(residue(difference, ledger.point) != 0, "the two ends are at one potential")
    seen.levels = found


def _driver(seen: Seen) -> tuple[set[Symbol], tuple[Place, Place]]:
    """Return the row that drives the current, and its two ends."""
    if seen.terminals:
        one, other = seen.terminals
        require(one != other, "the two points are one")
        return set(), (one, other)
    emfs = [symbol for symbol in seen.arms if is_emf(symbol)]
    require(len(emfs) == 1, "there is not one emf alone")
    tail, head = seen.way(emfs[0])
    require(tail != head, "the emf lies in a closed row")
    return {symbol for symbol, _ in seen.row(emfs[0])}, (tail, head)


def check_level(ledger: Ledger, seen: Seen, ends: Mapping[Symbol, Ends]) -> None:
    """Accept arms whose two ends are known to be level. Raises Refused."""
    for one, other in ends.values():
        require(_are_level(ledger, seen, one, other), "its ends are not known to be level")


def _are_level(ledger: Ledger, seen: Seen, one: Place, other: Place) -> bool:
    if seen.levels is None or one not in seen.levels or other not in seen.levels:
        return False
    return are_equal(ledger, seen, seen.levels[one], seen.levels[other])


def are_equal(ledger: Ledger, seen: Seen, one: Term, other: Term) -> bool:
    """Tell whether the author makes two terms equal; the network is noted to rest on that."""
    return same_by_values(ledger, seen, one, other) is not None


def join(ledger: Ledger, step: Join) -> None:
    """Join points that are known to be level."""
    seen = begun(ledger)
    if seen.levels is None:
        raise Refused("no potentials are known")
    points = points_of(ledger.circuit)
    require(all(point in points for point in step.points), "there is no such point")
    first, *others = [seen.place(points[point]) for point in step.points] or [("", 0, 0)]
    require(bool(others) and len({first, *others}) == len(step.points), "nothing is joined")
    for other in others:
        require(_are_level(ledger, seen, first, other), "the points are not known to be level")
        level = seen.levels[first]
        seen.join(first, other)
        seen.levels[seen.place(first)] = level
