"""Networks: does each exchange leave what lies outside of it as it is?

The network is built here from the circuit: all of it, or seen from two points with every emf a
wire. An exchange is accepted where the arms lie as it says and the names of what is made were
defined by its law, which is compared as an identity of rational functions.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations

from derive.algebra.term import (
    ZERO,
    Negative,
    Parallel,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    negate,
    total,
)
from derive.checker import naming
from derive.checker.evaluation import dimension
from derive.checker.ledger import Ledger, require
from derive.checker.places import begun, points_of, stations
from derive.checker.polynomial import Expansion, Refused
from derive.checker.potentials import are_equal, check_level, same_by_values
from derive.checker.seen import Carrier, Ends, Place, Record, Seen, is_emf
from derive.checker.walks import is_wire
from derive.circuit.elements import Battery, is_gap
from derive.circuit.model import Circuit
from derive.derivation.exchanges import (
    Exchange,
    LeftBetween,
    LookAtAll,
    LookBetween,
    LookFrom,
    Replace,
)


def look(circuit: Circuit, step: LookBetween | LookFrom | LookAtAll) -> Seen:
    """Return the network of a circuit. Raises Refused for points and gaps that are not there."""
    points = points_of(circuit)
    arms: dict[Symbol, Ends] = {}
    wires: list[Ends] = []
    flows: dict[Carrier, Term] = {}
    ends: Ends | None = None
    whole = isinstance(step, LookAtAll)
    shown = circuit.branches if whole else circuit.all_branches
    for k, branch in enumerate(shown):
        at = stations(circuit, k)
        if not branch.passages:
            wires.append((at[0], at[-1]))
        for n, passage in enumerate(branch.passages):
            element, before, after = passage.element, at[n], at[n + 1]
            if isinstance(step, LookFrom) and element.name == step.part:
                require(is_gap(element), f"{step.part} is no gap")
                ends = before, after
            if isinstance(element, Battery):
                # The emf and, behind it, the internal resistance.
                inner: Place = after if element.resistance is None else ("inner", k, n)
                if whole:
                    arms[element.emf] = (before, inner) if passage.along else (inner, before)
                    out = branch.current
                    flows[element.emf, 0] = out if passage.along else Negative(out)
                else:
                    wires.append((before, inner))
                before = inner
            if element.resistance is not None:
                arms[element.resistance] = before, after
                flows[element.resistance, 0] = branch.current
            elif is_wire(element):
                wires.append((before, after))
    if isinstance(step, LookBetween):
        for point in (step.one, step.other):
            require(point in points, f"there is no point {point}")
        terminals = points[step.one], points[step.other]
        seen = Seen(naming.resistance_symbol(step.one, step.other), terminals, arms)
    elif isinstance(step, LookFrom):
        if ends is None:
            raise Refused(f"there is no part {step.part}")
        seen = Seen(naming.seen_by_symbol(step.part), ends, arms)
    else:
        seen = Seen(None, (), arms)
        seen.flows = flows
    for one, other in wires:
        seen.join(one, other)
    return seen


def exchange(ledger: Ledger, step: Replace) -> Record:
    """Carry an exchange out. Raises Refused unless nothing changes outside of it."""
    seen = begun(ledger)
    require(bool(step.taken), "nothing is taken")
    require(len(set(step.taken)) == len(step.taken), "one part is taken twice")
    ends = {symbol: seen.ends(symbol) for symbol in step.taken}
    for symbol in step.made:
        require(symbol in ledger.defined, f"{symbol.name} is not defined")
        require(not seen.held(symbol), f"{symbol.name} has been there already")
    kinds = _TAKEN.get(step.exchange, (SymbolKind.RESISTANCE,))
    for symbol in step.taken:
        require(symbol.kind in kinds, f"{symbol.name} is no {kinds[0].value}")
    along: dict[Symbol, bool] = {}
    known: dict[Symbol, Term] = {}
    battery: Symbol | None = None
    places: list[Ends] = []
    moved: dict[Symbol, Ends] = {}
    match step.exchange:
        case Exchange.SERIES | Exchange.EMFS:
            along = _in_a_row(seen, step.taken)
            seen.draw_together(step.taken[0], step.taken[1:])
            places = [seen.ends(step.taken[0])]
        case Exchange.PARALLEL | Exchange.CURRENTS:
            along = _parallel(ends)
            places = [next(iter(ends.values()))]
        case Exchange.CURRENT_SOURCE:
            (tail, head), along = _battery(seen, step.taken)
            places = [(tail, head)]
            moved[step.taken[1]] = (tail, head) if along[step.taken[1]] else (head, tail)
        case Exchange.BATTERY:
            (tail, head), along = _current_source(seen, step.taken)
            middle = seen.new_place()
            places = [(tail, middle)]
            moved[step.taken[1]] = (middle, head) if along[step.taken[1]] else (head, middle)
        case Exchange.ALIKE:
            (tail, head), along = _side_by_side(seen, step)
            known = _alike(ledger, seen, step, along)
            middle = seen.new_place()
            places = [(tail, middle), (middle, head)]
        case Exchange.DELTA:
            places = _delta(seen, step.taken, ends)
        case Exchange.STAR:
            middle, places = _star(seen, step.taken, ends)
            along = {symbol: ends[symbol][1] == middle for symbol in step.taken}
        case Exchange.IDLE:
            _idle(seen, step.taken)
        case Exchange.LEVEL:
            check_level(ledger, seen, ends)
        case Exchange.ACROSS:
            battery, along = _across(seen, step.taken)
        case Exchange.WIRE:
            for symbol, (one, other) in ends.items():
                require(are_equal(ledger, seen, symbol, ZERO), f"{symbol.name} is not zero")
                seen.join(one, other)
    _check_made(ledger, step, along, known)
    if step.exchange is not Exchange.LEVEL:
        seen.levels = None
    for symbol in step.taken:
        if seen.holds(symbol):
            seen.take(symbol)
    for symbol, pair in (*zip(step.made, places, strict=True), *moved.items()):
        seen.put(symbol, pair)
    if step.exchange is Exchange.BATTERY:
        seen.change(step.taken[1])  # it lies in a row again, with the current of that
    carriers = {symbol: seen.carrier(symbol) for symbol in (*step.taken, *step.made)}
    if step.exchange in (Exchange.SERIES, Exchange.EMFS):
        seen.one_row(carriers[step.made[0]], {carriers[s]: way for s, way in along.items()})
    if battery is not None:
        # What was taken no longer burdens the battery; alone in its row it carries no current.
        seen.change(battery)
        if any(seen.degree(place) == 1 for place in seen.ends(battery)):
            seen.take(battery)
    if step.exchange is Exchange.CURRENT_SOURCE:
        seen.change(step.taken[1])  # beside the source it has another current than in the row
    made = {symbol: seen.ends(symbol) for symbol in step.made}
    record = Record(step, seen, ends, made, along, battery, carriers, known)
    if step.exchange is Exchange.BATTERY:
        seen.batteries.append(record)
    return record


_EITHER = (SymbolKind.RESISTANCE, SymbolKind.EMF)
_TAKEN = {
    Exchange.EMFS: (SymbolKind.EMF,),
    Exchange.ALIKE: _EITHER,
    Exchange.ACROSS: _EITHER,
    Exchange.IDLE: _EITHER,
    Exchange.CURRENT_SOURCE: _EITHER,
    Exchange.CURRENTS: (SymbolKind.SOURCE_CURRENT,),
    Exchange.BATTERY: (SymbolKind.RESISTANCE, SymbolKind.SOURCE_CURRENT),
}
"""What may be taken; by the others resistances alone."""
_SOURCE_MADE = {
    Exchange.EMFS: SymbolKind.EMF,
    Exchange.ALIKE: SymbolKind.EMF,
    Exchange.BATTERY: SymbolKind.EMF,
    Exchange.CURRENT_SOURCE: SymbolKind.SOURCE_CURRENT,
    Exchange.CURRENTS: SymbolKind.SOURCE_CURRENT,
}
"""What is made first; by the others resistances alone."""


def _check_made(
    ledger: Ledger, step: Replace, along: Mapping[Symbol, bool], known: Mapping[Symbol, Term]
) -> None:
    wanted = _laws(step, along)
    require(len(step.made) == len(wanted), "another number of parts is made")
    rules = {**known, **ledger.defined} if known else {}
    source = _SOURCE_MADE.get(step.exchange, SymbolKind.RESISTANCE)
    for k, (symbol, term) in enumerate(zip(step.made, wanted, strict=True)):
        kind = SymbolKind.RESISTANCE if k else source
        right = symbol.kind is kind and dimension(term) == symbol.dimension
        require(right, f"{symbol.name} is no {kind.value}")
        difference = Sum((ledger.defined[symbol], Negative(term)))
        require(Expansion(rules).is_zero(difference), f"{symbol.name} is defined in another way")


def _laws(step: Replace, along: Mapping[Symbol, bool]) -> list[Term]:
    """Return what each part that is made must be."""
    taken = step.taken
    match step.exchange:
        case Exchange.SERIES:
            return [Sum(taken)]
        case Exchange.EMFS | Exchange.CURRENTS:
            return [total(tuple(s if along[s] else Negative(s) for s in taken))]
        case Exchange.PARALLEL:
            return [Parallel(taken)]
        case Exchange.CURRENT_SOURCE:
            return [Quotient(*taken)]
        case Exchange.BATTERY:
            return [Product(taken)]
        case Exchange.ALIKE:
            return [taken[0], Parallel(tuple(s for s in taken if not is_emf(s)))]
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


def _in_a_row(seen: Seen, taken: Sequence[Symbol]) -> dict[Symbol, bool]:
    """Return how each of some arms in one row points, seen along the first."""
    row = dict(seen.row(taken[0]))
    in_line = len(taken) > 1 and all(symbol in row for symbol in taken)
    require(in_line, "they do not lie in one row, or something branches off between them")
    return {symbol: row[symbol] == row[taken[0]] for symbol in taken}


def _parallel(ends: Mapping[Symbol, Ends]) -> dict[Symbol, bool]:
    pairs = {frozenset(pair) for pair in ends.values()}
    same = len(ends) > 1 and len(pairs) == 1 and all(len(pair) == 2 for pair in pairs)
    require(same, "they do not lie between the same two places")
    first = next(iter(ends.values()))
    return {symbol: pair == first for symbol, pair in ends.items()}


def _rows(taken: Sequence[Symbol]) -> list[tuple[Symbol, ...]]:
    """Split what is taken into rows: a resistance each, perhaps an emf before it."""
    rows: list[tuple[Symbol, ...]] = []
    before: Symbol | None = None
    for symbol in taken:
        if is_emf(symbol):
            require(before is None, "two emfs lie in one row")
            before = symbol
        else:
            rows.append((symbol,) if before is None else (before, symbol))
            before = None
    require(before is None, "an emf has no resistance in its row")
    return rows


def _battery(seen: Seen, taken: Sequence[Symbol]) -> tuple[Ends, dict[Symbol, bool]]:
    """Return the ends of a row of one emf and one resistance, along the emf, and how both point."""
    right = len(taken) == 2 and is_emf(taken[0]) and not is_emf(taken[1])
    require(right, "it is no battery with one resistance")
    in_row = {symbol for symbol, _ in seen.row(taken[0])}
    require(in_row == set(taken), "there is more, or less, in the row")
    tail, head = seen.way(taken[0])
    require(tail != head, "the row is closed")
    return (tail, head), {symbol: seen.way(symbol) == (tail, head) for symbol in taken}


def _current_source(seen: Seen, taken: Sequence[Symbol]) -> tuple[Ends, dict[Symbol, bool]]:
    """Return the ends of a source with a resistance beside it, along it, and how both point."""
    kinds = [symbol.kind for symbol in taken]
    right = kinds == [SymbolKind.SOURCE_CURRENT, SymbolKind.RESISTANCE]
    require(right, "it is no current source with one resistance")
    along = _parallel({symbol: seen.ends(symbol) for symbol in taken})
    return seen.ends(taken[0]), along


def _side_by_side(seen: Seen, step: Replace) -> tuple[Ends, dict[Symbol, bool]]:
    """Return the two places that rows lie between, along the first emf, and how all parts point."""
    rows = _rows(step.taken)
    first = next((symbol for symbol in step.taken if is_emf(symbol)), None)
    if first is None:
        raise Refused("there is no emf")
    require(len(rows) > 1, "there is one row only")
    tail, head = seen.way(first)
    require(tail != head, "the row is closed")
    for row in rows:
        in_row = {symbol for symbol, _ in seen.row(row[0])}
        require(in_row == set(row), "there is more, or less, in a row")
        require(set(seen.way(row[0])) == {tail, head}, "they do not lie side by side")
    along = {symbol: seen.way(symbol)[0] == tail for symbol in step.taken}
    return (tail, head), along


def _alike(
    ledger: Ledger, seen: Seen, step: Replace, along: Mapping[Symbol, bool]
) -> dict[Symbol, Term]:
    """Return what the author says that makes cells alike. Raises Refused where they are not."""
    first, *others = _rows(step.taken)
    known: dict[Symbol, Term] = {}
    for row in (first, *others):
        require(len(row) == 2 and along[row[0]], "they are not alike")
        for one, other in zip(row, first, strict=True):
            rules = same_by_values(ledger, seen, one, other)
            if rules is None:
                raise Refused("they are not alike")
            known |= rules
    return known


def _across(seen: Seen, taken: Sequence[Symbol]) -> tuple[Symbol, dict[Symbol, bool]]:
    rows = _rows(taken)
    require(len(rows) == 1, "more than one row is taken")
    if len(taken) == 2:
        in_row = {symbol for symbol, _ in seen.row(taken[0])}
        require(in_row == set(taken), "there is more, or less, in the row")
    ways = {s: seen.ends(s) if len(taken) == 1 else seen.way(s) for s in taken}
    ends = set(ways[taken[0]])
    batteries = [
        symbol for symbol in seen.at(ways[taken[0]][0])
        if is_emf(symbol) and symbol not in taken and set(seen.ends(symbol)) == ends
    ]  # fmt: skip
    require(len(ends) == 2 and bool(batteries), "no emf without resistance lies beside it")
    battery = batteries[0]
    along = {symbol: way[0] == seen.ends(battery)[1] for symbol, way in ways.items()}
    if len(taken) == 1 and any(seen.degree(place) == 2 for place in ends):
        # A closed row of these two: one current flows in both.
        flow, arm = seen.flow(seen.carrier(battery)), seen.carrier(taken[0])
        if flow is not None and seen.flow(arm) is None:
            seen.flows[arm] = flow if along[taken[0]] else negate(flow)
    return battery, along


def _delta(seen: Seen, taken: Sequence[Symbol], ends: Mapping[Symbol, Ends]) -> list[Ends]:
    pairs = [frozenset(ends[symbol]) for symbol in taken]
    corners = frozenset().union(*pairs)
    closed = len(taken) == len(corners) == len(set(pairs)) == 3
    require(closed and all(len(pair) == 2 for pair in pairs), "they form no delta")
    middle = seen.new_place()
    return [(middle, next(iter(corners - pair))) for pair in pairs]


def _star(
    seen: Seen, taken: Sequence[Symbol], ends: Mapping[Symbol, Ends]
) -> tuple[Place, list[Ends]]:
    shared = set(ends[taken[0]]).intersection(*(set(ends[symbol]) for symbol in taken))
    shared -= set(seen.terminals)
    middles = [place for place in shared if seen.degree(place) == len(taken)]
    require(len(taken) > 2 and len(middles) == 1, "they do not meet, alone, at one place")
    far = [next(end for end in (*ends[s], middles[0]) if end != middles[0]) for s in taken]
    require(len(set(far)) == len(far), "two of them lie side by side")
    return middles[0], list(combinations(far, 2))


def _idle(seen: Seen, taken: Sequence[Symbol]) -> None:
    """No closed way with an emf leads through any of them.

    An arm that alone joins two sides carries nothing. Of the others, every connected piece must
    have no emf, and whatever it touches must fall apart without it.
    """
    gone: set[Symbol] = set()
    for symbol in taken:
        one, other = seen.ends(symbol)
        if one != other and other not in seen.reached(one, {symbol}):
            gone.add(symbol)
    left = [symbol for symbol in taken if symbol not in gone]
    for piece in _pieces(seen, left):
        driven = any(symbol.kind is not SymbolKind.RESISTANCE for symbol in piece)
        require(not driven, "a current may flow in what is left out")
        touched = {end for symbol in piece for end in seen.ends(symbol)}
        without = piece | gone
        sides = [seen.reached(at, without) for at in touched if _used(seen, at, without)]
        apart = all(len(side & touched) == 1 for side in sides)
        require(apart, "a current may flow in what is left out")


def _used(seen: Seen, place: Place, without: set[Symbol]) -> bool:
    return place in seen.terminals or any(s not in without for s in seen.at(place))


def _pieces(seen: Seen, symbols: Iterable[Symbol]) -> list[set[Symbol]]:
    """Split arms into those that hang together."""
    pieces: list[tuple[set[Symbol], set[Place]]] = []
    for symbol in symbols:
        members, places = {symbol}, set(seen.ends(symbol))
        for piece in [piece for piece in pieces if piece[1] & places]:
            members |= piece[0]
            places |= piece[1]
            pieces.remove(piece)
        pieces.append((members, places))
    return [members for members, _ in pieces]


# --- what is left --------------------------------------------------------------------------------


def left(ledger: Ledger, step: LeftBetween) -> Seen:
    """Accept what is left, and return the network it is left of. Raises Refused."""
    seen = begun(ledger)
    symbol, wanted = _seen_by_emf(seen, step) if seen.answer is None else _between(seen)
    require(step.conclusion.left == symbol, "it is about something else")
    same = Expansion().is_zero(Sum((step.conclusion.right, Negative(wanted))))
    require(same, "another resistance is left")
    ledger.named.setdefault(symbol.name, symbol)
    return seen


def _between(seen: Seen) -> tuple[Symbol, Term]:
    one, other = seen.terminals
    assert seen.answer is not None
    if one == other:
        require(not len(seen), "something is left")
        return seen.answer, ZERO
    require(len(seen) == 1, "more than one resistance is left, or none")
    (last,) = seen.arms
    require(set(seen.ends(last)) == {one, other}, "what is left lies elsewhere")
    return seen.answer, last


def _seen_by_emf(seen: Seen, step: LeftBetween) -> tuple[Symbol, Term]:
    """Return what an emf sees: the only other part of a closed row."""
    for emf in filter(is_emf, seen.arms):
        if naming.seen_by_symbol(emf.name) == step.conclusion.left:
            require(not seen.carrier(emf)[1], "something that it saw has been left out")
            ends = seen.ends(emf)
            beside = [s for s in seen.at(ends[0]) if s != emf and set(seen.ends(s)) == set(ends)]
            alone = len(beside) == 1 and any(seen.degree(place) == 2 for place in ends)
            seen_alone = alone and beside[0].kind is SymbolKind.RESISTANCE
            require(seen_alone, "it does not see one resistance alone")
            return naming.seen_by_symbol(emf.name), beside[0]
    raise Refused("no such emf is left")
