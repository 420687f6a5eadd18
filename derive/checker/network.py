"""Resistances seen from two points: does each exchange leave what is seen as it is?

The network is built here from the circuit, every emf a wire. An exchange is accepted where the arms
lie as it says and the names of what is made were defined by its law, which is compared as an
identity of rational functions.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import combinations

from derive.algebra.term import (
    ZERO,
    Negative,
    Parallel,
    Product,
    Quotient,
    Sum,
    Symbol,
    Term,
)
from derive.checker import laws
from derive.checker.ledger import Ledger, require
from derive.checker.polynomial import Expansion, Refused
from derive.checker.seen import Place, Seen
from derive.circuit.model import Battery, Circuit
from derive.derivation.step import Exchange, LeftBetween, LookBetween, LookFrom, Replace


def look(circuit: Circuit, step: LookBetween | LookFrom) -> Seen:
    """Return the network of a circuit. Raises Refused for points or a battery not there."""
    points: dict[str, Place] = {}
    arms: dict[Symbol, tuple[Place, Place]] = {}
    wires: list[tuple[Place, Place]] = []
    sources: dict[str, tuple[Place, Place]] = {}
    for node in circuit.nodes:
        points |= dict.fromkeys(node.points, (node.name, 0, 0))
    for k, branch in enumerate(circuit.branches):
        last = len(branch.passages)
        at: list[Place] = [(branch.tail, 0, 0), *(("", k, n) for n in range(1, last))]
        at.append((branch.head, 0, 0))
        for n, names in enumerate(branch.stations):
            for name in names:
                points.setdefault(name, at[min(n, len(at) - 1)])
        if not last:
            wires.append((at[0], at[-1]))
        for n, passage in enumerate(branch.passages):
            element, before, after = passage.element, at[n], at[n + 1]
            if isinstance(element, Battery):
                # The emf and, behind it, the internal resistance.
                inner: Place = after if element.resistance is None else ("inner", k, n)
                sources[element.name] = before, inner
                before = inner
            if element.resistance is not None:
                arms[element.resistance] = before, after
    if isinstance(step, LookFrom):
        require(set(sources) == {step.battery}, f"{step.battery} is not the only battery")
        seen = Seen(laws.seen_by_symbol(step.battery), sources[step.battery], arms)
    else:
        for point in (step.one, step.other):
            require(point in points, f"there is no point {point}")
        ends = points[step.one], points[step.other]
        seen = Seen(laws.resistance_symbol(step.one, step.other), ends, arms)
        wires += sources.values()
    for one, other in wires:
        seen.join(one, other)
    return seen


def exchange(ledger: Ledger, seen: Seen, step: Replace) -> None:
    """Carry an exchange out. Raises Refused unless it changes nothing seen from the two points."""
    require(bool(step.taken), "nothing is taken")
    require(len(set(step.taken)) == len(step.taken), "one resistance is taken twice")
    ends = {symbol: seen.ends(symbol) for symbol in step.taken}
    for symbol in step.made:
        require(symbol in ledger.defined, f"{symbol.name} is not defined")
        require(not seen.holds(symbol), f"{symbol.name} is there already")
    match step.exchange:
        case Exchange.SERIES:
            places = [_series(seen, ends)]
        case Exchange.PARALLEL:
            places = [_parallel(ends)]
        case Exchange.DELTA:
            places = _delta(seen, step.taken, ends)
        case Exchange.STAR:
            places = _star(seen, step.taken, ends)
        case Exchange.IDLE:
            _idle(seen, ends)
            places = []
        case Exchange.WIRE:
            places = []
            for symbol, (one, other) in ends.items():
                value = laws.given(ledger.circuit, symbol)
                known = None if value is None else Expansion().constant(value)
                require(known == 0, f"{symbol.name} is not zero")
                seen.join(one, other)
    wanted = _laws(step)
    require(len(step.made) == len(places) == len(wanted), "another number of them is made")
    for symbol, term in zip(step.made, wanted, strict=True):
        difference = Sum((ledger.defined[symbol], Negative(term)))
        require(Expansion().is_zero(difference), f"{symbol.name} is defined in another way")
    for symbol in step.taken:
        seen.take(symbol)
    for symbol, pair in zip(step.made, places, strict=True):
        seen.put(symbol, pair)


def _laws(step: Replace) -> list[Term]:
    """Return what each of the resistances made must be."""
    taken = step.taken
    match step.exchange:
        case Exchange.SERIES:
            return [Sum(taken)]
        case Exchange.PARALLEL:
            return [Parallel(taken)]
        case Exchange.DELTA:
            return [
                Quotient(Product(tuple(s for s in taken if s != own)), Sum(taken)) for own in taken
            ]
        case Exchange.STAR:
            return [
                Quotient(Product((one, other)), Parallel(taken))
                for one, other in combinations(taken, 2)
            ]
        case _:
            return []


def _series(seen: Seen, ends: dict[Symbol, tuple[Place, Place]]) -> tuple[Place, Place]:
    met = Counter(end for pair in ends.values() for end in pair)
    degrees, terminals = seen.degrees, seen.terminals
    inner = [place for place, count in met.items() if count == 2]
    outer = [place for place, count in met.items() if count == 1]
    in_line = len(inner) == len(ends) - 1 and len(outer) == 2
    require(in_line and all(one != other for one, other in ends.values()), "they form no chain")
    alone = all(degrees[place] == 2 and place not in terminals for place in inner)
    require(alone, "something lies between them")
    return outer[0], outer[1]


def _parallel(ends: dict[Symbol, tuple[Place, Place]]) -> tuple[Place, Place]:
    pairs = {frozenset(pair) for pair in ends.values()}
    same = len(ends) > 1 and len(pairs) == 1 and all(len(pair) == 2 for pair in pairs)
    require(same, "they do not lie between the same two places")
    return next(iter(ends.values()))


def _delta(
    seen: Seen, taken: Sequence[Symbol], ends: dict[Symbol, tuple[Place, Place]]
) -> list[tuple[Place, Place]]:
    pairs = [frozenset(ends[symbol]) for symbol in taken]
    corners = frozenset().union(*pairs)
    closed = len(taken) == len(corners) == len(set(pairs)) == 3
    require(closed and all(len(pair) == 2 for pair in pairs), "they form no delta")
    middle = seen.new_place()
    return [(middle, next(iter(corners - pair))) for pair in pairs]


def _star(
    seen: Seen, taken: Sequence[Symbol], ends: dict[Symbol, tuple[Place, Place]]
) -> list[tuple[Place, Place]]:
    shared = set(ends[taken[0]]).intersection(*(set(ends[symbol]) for symbol in taken))
    shared -= set(seen.terminals)
    degrees = seen.degrees
    middles = [place for place in shared if degrees[place] == len(taken)]
    require(len(taken) > 2 and len(middles) == 1, "they do not meet, alone, at one place")
    far = [next(end for end in (*ends[s], middles[0]) if end != middles[0]) for s in taken]
    require(len(set(far)) == len(far), "two of them lie side by side")
    return list(combinations(far, 2))


def _idle(seen: Seen, ends: dict[Symbol, tuple[Place, Place]]) -> None:
    """Every piece of what is left out must hang on the rest by one place at most."""
    rest = {end for symbol in seen.arms if symbol not in ends for end in seen.ends(symbol)}
    rest |= set(seen.terminals)
    for piece in _pieces(ends.values()):
        require(len(piece & rest) <= 1, "a current may flow in what is left out")


def _pieces(pairs: Iterable[tuple[Place, Place]]) -> list[set[Place]]:
    pieces: list[set[Place]] = []
    for pair in pairs:
        joined = set(pair)
        for piece in [piece for piece in pieces if piece & joined]:
            joined |= piece
            pieces.remove(piece)
        pieces.append(joined)
    return pieces


def left(ledger: Ledger, seen: Seen | None, step: LeftBetween) -> Symbol:
    """Return the symbol of the resistance between the points. Raises Refused."""
    if seen is None:
        raise Refused("no network has been begun")
    symbol = seen.answer
    require(step.conclusion.left == symbol, "it is about something else")
    one, other = seen.terminals
    if one == other:
        wanted: Term = ZERO
        require(not len(seen), "something is left")
    else:
        require(len(seen) == 1, "more than one resistance is left, or none")
        (last,) = seen.arms
        require(set(seen.ends(last)) == {one, other}, "what is left lies elsewhere")
        wanted = last
    same = Expansion().is_zero(Sum((step.conclusion.right, Negative(wanted))))
    require(same, "another resistance is left")
    ledger.named.setdefault(symbol.name, symbol)
    return symbol
