"""The resistance between two points, derived by exchanging resistances for others.

Every resistance that is made gets a name and is defined by those it stands for; where all have
values, each is reckoned out at once, as one does by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, count, product
from string import ascii_lowercase

from derive.algebra.dimension import OHM
from derive.algebra.name import TakenNames
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    ZERO,
    Equation,
    Parallel,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    replace,
    resistance,
    symbols,
)
from derive.analysis.resistance.moves import moves
from derive.analysis.resistance.net import Net, net_of
from derive.analysis.rounding import rounded
from derive.circuit.model import AskResistance, Circuit, Given
from derive.derivation.builder import Builder
from derive.derivation.step import (
    BackSubstitute,
    Conclude,
    Define,
    Exchange,
    LeftBetween,
    LookBetween,
    LookFrom,
    PutInValues,
    Replace,
    StepId,
)

_LONGEST_NESTED = 12
"""Letters in a nested formula; a longer one is left to the names of its parts."""
_LONGEST_NUMBER = 3
"""Digits in a name made of those of its parts."""


def resistance_symbol(question: AskResistance) -> Symbol:
    """Return the symbol that answers a question."""
    return Symbol(f"R({question.one},{question.other})", SymbolKind.RESISTANCE, OHM)


def derive_resistance(
    circuit: Circuit,
    question: AskResistance,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    taken: TakenNames,
) -> None:
    """Add the steps that answer a question.

    `given` are the steps that state values; `taken` the names that have a meaning, to which those
    of the resistances made are added.
    """
    symbol = resistance_symbol(question)
    work = _Work(given, builder, taken)
    net = _begun(circuit, LookBetween(one=question.one, other=question.other), builder)
    for move in moves(net, work.name):
        work.add(move)
    end = builder.add(LeftBetween(conclusion=Equation(symbol, _left(net))))
    formula, value = work.formula(end), work.value(end)
    builder.add(
        Conclude(
            question=question,
            symbol=symbol,
            formula=formula,
            value=value,
            rounded=None if value is None else builder.add(rounded(builder, value, digits)),
        )
    )


def derive_reduction(
    circuit: Circuit,
    battery: str,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    taken: TakenNames,
) -> None:
    """Add the steps that leave one resistance on the only battery of a circuit, or a bridge.

    Only series and parallel steps are taken.
    """
    work = _Work(given, builder, taken)
    net = _begun(circuit, LookFrom(battery=battery), builder)
    for move in moves(net, work.name, only_simple=True):
        work.add(move)
    if len(net.arms) <= 1:
        symbol = Symbol(f"R({battery})", SymbolKind.RESISTANCE, OHM)
        end = builder.add(LeftBetween(conclusion=Equation(symbol, _left(net))))
        work.formula(end)
        work.value(end)


def _begun(circuit: Circuit, begun: LookBetween | LookFrom, builder: Builder) -> Net:
    """Begin a network, resistances of zero being wires."""
    wires = [s for b in circuit.branches for s in b.resistances if _is_zero(circuit, s)]
    builder.add(begun)
    if wires:
        builder.add(Replace(exchange=Exchange.WIRE, taken=tuple(wires), made=()))
    return net_of(circuit, begun, wires)


def _left(net: Net) -> Term:
    # A circuit hangs together, so that something is left unless wire joins the points.
    return next(iter(net.arms)) if net.one != net.other else ZERO


def _is_zero(circuit: Circuit, symbol: Symbol) -> bool:
    known = circuit.valuation(symbol)
    return isinstance(known, Given) and not known.value


class _Work:
    """Turns moves into steps."""

    def __init__(self, given: Mapping[Symbol, StepId], builder: Builder, taken: TakenNames) -> None:
        self._given = given
        self._builder = builder
        self._taken = taken
        self._definitions: dict[Symbol, StepId] = {}
        self._values: dict[Symbol, StepId] = {}
        self._numbers: dict[Symbol, Term] = {}
        self._letters = _words()

    def name(self, exchange: Exchange, taken: Sequence[Symbol]) -> tuple[Symbol, ...]:
        """Return new names: ``R23`` for R2 and R3 where that is short and free, else a letter."""
        if exchange in (Exchange.SERIES, Exchange.PARALLEL):
            number = 1
        else:
            number = len(list(combinations(taken, 2)))
        wish = "".join(s.name.removeprefix("R") for s in taken)
        short = number == 1 and all(map(_numbered, taken)) and len(wish) <= _LONGEST_NUMBER
        if short and self._taken.free(f"R{wish}"):
            self._taken.take(f"R{wish}")
            return (resistance(f"R{wish}"),)
        return tuple(resistance(self._letter()) for _ in range(number))

    def _letter(self) -> str:
        for letters in self._letters:
            wish = f"R_{letters}"
            if self._taken.free(wish):
                self._taken.take(wish)
                return wish
        raise AssertionError("there is no end of letters")

    def add(self, move: Replace) -> None:
        """Define what is made, put it in the place of what is taken, and reckon it out."""
        for symbol, term in zip(move.made, _made(move), strict=True):
            step = Define(symbol=symbol, conclusion=Equation(symbol, term))
            self._definitions[symbol] = self._builder.add(step)
        self._builder.add(move)
        for symbol in move.made:
            step_id = self.value(self._definitions[symbol])
            if step_id is not None:
                self._values[symbol] = step_id

    def value(self, step: StepId) -> StepId | None:
        """Put the values of all parts into an equation; None where one has none."""
        equation = self._builder.equation(step)
        held = list(dict.fromkeys(symbols(equation.right)))
        if not all(self._known(symbol) for symbol in held):
            return None
        number = Ring(()).poly(replace(equation.right, self._numbers)).constant_value
        right = constant(number, OHM)
        if right == equation.right:
            return step
        return self._builder.add(
            PutInValues(
                premise=step,
                values=tuple(dict.fromkeys(k for s in held for k in self._cited(s))),
                conclusion=Equation(equation.left, right),
            )
        )

    def _known(self, symbol: Symbol) -> bool:
        """Find out the number of a resistance, by its value or the ties that lead to one."""
        if symbol in self._numbers:
            return True
        step = self._values.get(symbol, self._given.get(symbol))
        if step is None:
            return False
        right = self._builder.equation(step).right
        if not all(self._known(s) for s in dict.fromkeys(symbols(right))):
            return False
        number = Ring(()).poly(replace(right, self._numbers)).constant_value
        self._numbers[symbol] = constant(number, symbol.dimension)
        return True

    def _cited(self, symbol: Symbol) -> list[StepId]:
        step = self._values.get(symbol, self._given.get(symbol))
        assert step is not None
        right = self._builder.equation(step).right
        return [step, *(k for s in dict.fromkeys(symbols(right)) for k in self._cited(s))]

    def formula(self, step: StepId) -> StepId:
        """Put all definitions into each other where that stays short."""
        equation = self._builder.equation(step)
        right, used = equation.right, []
        while True:
            inner = [s for s in dict.fromkeys(symbols(right)) if s in self._definitions]
            if not inner:
                break
            rights = {s: self._builder.equation(self._definitions[s]).right for s in inner}
            right = _flat(replace(right, rights))
            used += [self._definitions[s] for s in inner]
            if sum(1 for _ in symbols(right)) > _LONGEST_NESTED:
                return step
        if not used:
            return step
        return self._builder.add(
            BackSubstitute(
                premise=step,
                definitions=(used[0],),
                rewriting=tuple(used[1:]),
                conclusion=Equation(equation.left, right),
            )
        )


def _numbered(symbol: Symbol) -> bool:
    return re.fullmatch(r"R\d+", symbol.name) is not None


def _words() -> Iterator[str]:
    """Yield a, b, …, z, aa, ab, …"""
    for length in count(1):
        yield from map("".join, product(ascii_lowercase, repeat=length))


def _made(move: Replace) -> tuple[Term, ...]:
    """Return the terms of what a move makes."""
    taken = move.taken
    match move.exchange:
        case Exchange.SERIES:
            return (Sum(taken),)
        case Exchange.PARALLEL:
            return (Parallel(taken),)
        case Exchange.DELTA:
            others = [tuple(s for s in taken if s != own) for own in taken]
            return tuple(Quotient(Product(pair), Sum(taken)) for pair in others)
        case Exchange.STAR if len(taken) == 3:
            pairs = list(combinations(taken, 2))
            products = Sum(tuple(map(Product, pairs)))
            opposite = [next(s for s in taken if s not in pair) for pair in pairs]
            return tuple(Quotient(products, own) for own in opposite)
        case Exchange.STAR:
            whole = Parallel(taken)
            return tuple(Quotient(Product(pair), whole) for pair in combinations(taken, 2))
        case Exchange.IDLE | Exchange.WIRE:
            return ()


def _flat(term: Term) -> Term:
    """Write sums within sums, and parallels within parallels, as one."""
    match term:
        case Sum(terms) | Parallel(terms):
            kind = type(term)
            found: list[Term] = []
            for item in map(_flat, terms):
                found += item.terms if isinstance(item, kind) else (item,)
            return kind(tuple(found))
        case Product(factors):
            return Product(tuple(map(_flat, factors)))
        case Quotient(numerator, denominator):
            return Quotient(_flat(numerator), _flat(denominator))
        case _:
            return term
