"""The way back: does the current in what an exchange took follow from those in what it made?"""

from __future__ import annotations

from itertools import combinations

from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    negate,
    total,
)
from derive.checker.evaluation import occurring, residue
from derive.checker.ledger import Ledger, is_closed, made_of, require
from derive.checker.polynomial import Expansion, Refused
from derive.checker.seen import Place, Record, is_emf, named_by
from derive.derivation.exchanges import Exchange, PutBack


def put_back(ledger: Ledger, step: PutBack) -> None:
    """Compare a current with its law. Raises Refused."""
    record = ledger.exchanged.get(step.replaced)
    if record is None:
        raise Refused(f"step {step.replaced} exchanges nothing")
    require(step.arm in record.step.taken, f"{step.arm.name} was not taken there")
    require(record.network.answer is None, "no current is driven in this network")
    symbol, right = step.conclusion.left, step.conclusion.right
    if not isinstance(symbol, Symbol):
        raise Refused("a current needs one symbol")
    wanted = _law(record, step.arm)
    flow = record.flow(step.arm)
    if flow is None:
        dead = record.step.exchange in (Exchange.IDLE, Exchange.LEVEL)
        require(not dead, f"nothing is known of the current in {step.arm.name}")
        fresh = symbol.name not in ledger.named and "(" not in symbol.name
        require(fresh and symbol.kind is SymbolKind.CURRENT, "the current needs a name of its own")
        ledger.named[symbol.name] = symbol
        record.name(step.arm, symbol)
        ledger.defined[symbol] = right
    else:
        named, along = named_by(flow)
        require(symbol == named, f"the current in {step.arm.name} is {named.name}")
        wanted = wanted if along else negate(wanted)
    # A voltage may have been given a name; that cells are alike is known by their values.
    rules = dict(ledger.voltages)
    if record.step.exchange is Exchange.ALIKE:
        rules |= {**record.known, **ledger.defined}
    same = Expansion(rules).is_zero(Sum((right, Negative(wanted))))
    require(same, "another current follows from what was made")
    ledger.laws.setdefault(symbol, right)


def enter(ledger: Ledger, law: Equation) -> None:
    """Keep a current that is known in letters, so that later formulas may use it."""
    symbol, right = law.left, law.right
    held = occurring(right)
    if isinstance(symbol, Symbol) and symbol not in ledger.made_of and is_closed(ledger, held):
        ledger.made_of[symbol] = made_of(ledger, held)
        ledger.point[symbol] = residue(right, ledger.point)


def _law(record: Record, arm: Symbol) -> Term:
    """Return the current along an arm that was taken."""
    made = record.step.made
    match record.step.exchange:
        case Exchange.SERIES | Exchange.EMFS:
            return _signed(_flow(record, made[0]), record.along[arm])
        case Exchange.PARALLEL if record.flow(made[0]) is None:
            return Quotient(_drop(record, *record.taken[arm]), arm)
        case Exchange.PARALLEL:
            drop = Product((made[0], _flow(record, made[0])))
            return _signed(Quotient(drop, arm), record.along[arm])
        case Exchange.CURRENT_SOURCE:
            source, resistance = record.step.taken
            driven = Sum((source, _drop(record, *record.made[made[0]])))
            return _signed(Quotient(driven, resistance), record.along[arm])
        case Exchange.BATTERY | Exchange.CURRENTS:
            raise Refused("the current of a current source is its own")
        case Exchange.ALIKE:
            source, inner = made
            voltage = Sum((Product((inner, _flow(record, inner))), Negative(source)))
            return _signed(_in_row(record, arm, voltage), record.along[arm])
        case Exchange.ACROSS:
            assert record.battery is not None
            return _signed(_in_row(record, arm, record.battery), record.along[arm])
        case Exchange.DELTA:
            return _side(record, arm)
        case Exchange.STAR:
            return _towards_middle(record, arm)
        case Exchange.IDLE | Exchange.LEVEL:
            return ZERO
        case Exchange.WIRE:
            raise Refused("the current in a wire follows from nothing but the junction rule")


def _signed(term: Term, along: bool) -> Term:
    return term if along else negate(term)


def _flow(record: Record, arm: Symbol) -> Term:
    found = record.flow(arm)
    if found is None:
        raise Refused(f"the current in {arm.name} is not known")
    return found


def _drop(record: Record, one: Place, other: Place) -> Term:
    """Return the voltage from one place down to another, where a battery stood for sources.

    No exchange changes the voltage between two places that it leaves, and what hangs together no
    more is never joined again, so that it may be any such battery.
    """
    network = record.network
    wanted = network.place(one), network.place(other)
    for battery in network.batteries:
        current_source, resistance = battery.step.taken
        tail, head = map(network.place, battery.taken[current_source])
        if wanted not in ((tail, head), (head, tail)) or tail == head:
            continue
        if battery.flow(resistance) is None:
            continue
        flow = _signed(_flow(battery, resistance), battery.along[resistance])
        drop = Sum((Product((resistance, flow)), Negative(battery.step.made[0])))
        return _signed(drop, wanted == (tail, head))
    raise Refused("the voltage between these places is not known")


def _in_row(record: Record, arm: Symbol, voltage: Term) -> Term:
    """Return the current that a voltage drives through a row, with the emf in it."""
    taken = record.step.taken
    k = taken.index(arm)
    resistance = taken[k + 1] if is_emf(arm) else arm
    k = taken.index(resistance)
    emf = taken[k - 1] if k and is_emf(taken[k - 1]) else None
    driven = [voltage] if emf is None else [voltage, _signed(emf, record.along[emf])]
    return Quotient(total(tuple(driven)), resistance)


def _side(record: Record, arm: Symbol) -> Term:
    """The voltage along a side of a delta, by way of the middle of the wye."""
    legs = {ends[1]: symbol for symbol, ends in record.made.items()}
    tail, head = (legs[end] for end in record.taken[arm])
    drops = [Product((leg, _flow(record, leg))) for leg in (head, tail)]
    return Quotient(Sum((drops[0], Negative(drops[1]))), arm)


def _towards_middle(record: Record, arm: Symbol) -> Term:
    """What flows towards the middle of a star is what the sides of the mesh carry away."""
    pairs = zip(record.step.made, combinations(record.step.taken, 2), strict=True)
    flows = [
        _signed(_flow(record, side), arm == first)
        for side, (first, second) in pairs
        if arm in (first, second)
    ]
    return _signed(total(tuple(flows)), record.along[arm])
