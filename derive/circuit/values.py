"""What the quantities of a circuit stand for: ties followed, values put in or kept as letters."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import prod
from typing import assert_never

from derive.algebra.term import (
    Exponential,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    replace,
    symbols,
)
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie


class MissingValue(ValueError):  # noqa: N818  (a finding about the circuit)
    """A quantity that is a letter stands where a number is needed."""

    def __init__(self, symbol: Symbol) -> None:
        """Keep the letter."""
        super().__init__(f"{symbol.name} has no value")
        self.symbol = symbol


class UnfitTie(ValueError):  # noqa: N818  (a finding about the circuit)
    """A tie goes round in a circle, or to a quantity that is neither a resistance nor an emf."""

    def __init__(self, symbol: Symbol) -> None:
        """Keep the tied quantity."""
        super().__init__(f"the tie of {symbol.name} cannot be followed")
        self.symbol = symbol


_FIT = (
    SymbolKind.RESISTANCE, SymbolKind.EMF, SymbolKind.SOURCE_CURRENT, SymbolKind.CAPACITANCE,
)  # fmt: skip


class Values:
    """Looks quantities up in a circuit, each tie followed once."""

    def __init__(self, circuit: Circuit) -> None:
        """Index the values of the circuit."""
        # What a dependent source amounts to is found with the currents: it stays a letter here.
        dependent = set(circuit.dependent)
        self._known = {v.symbol: v.value for v in circuit.values if v.symbol not in dependent}
        self._letters: dict[Symbol, Term] = {}
        self._nonzero: dict[Symbol, Term] = {}
        self._actual: dict[Symbol, Term] = {}
        self._numbers: dict[Symbol, Fraction] = {}

    def letters(self, symbol: Symbol) -> Term:
        """Return a quantity with ties put in and every other letter kept."""
        return self._follow(symbol, self._letters, lambda _: False)

    def letters_but_zeros(self, symbol: Symbol) -> Term:
        """Return a quantity with ties and given zeros put in and every other letter kept."""
        return self._follow(symbol, self._nonzero, lambda given: given.value == 0)

    def actual(self, symbol: Symbol) -> Term:
        """Return a quantity with ties and given values put in; other letters are kept."""
        return self._follow(symbol, self._actual, lambda _: True)

    def number(self, symbol: Symbol) -> Fraction:
        """Return the value of a quantity. Raises MissingValue."""
        if symbol not in self._numbers:
            self._numbers[symbol] = evaluate(self.actual(symbol))
        return self._numbers[symbol]

    def _follow(
        self, symbol: Symbol, done: dict[Symbol, Term], put_in: Callable[[Given], bool]
    ) -> Term:
        """Put in what is known, with a stack of our own: a long chain of ties is no fault."""
        waiting = [symbol]
        open_ties: set[Symbol] = set()
        while waiting:
            top = waiting[-1]
            if top in done:
                waiting.pop()
                continue
            known = self._known.get(top)
            if isinstance(known, Tie):
                inner = tuple(dict.fromkeys(symbols(known.term)))
                self._fit(top, inner)
                missing = [s for s in inner if s not in done]
                if missing:
                    if top in open_ties:
                        raise UnfitTie(top)
                    open_ties.add(top)
                    waiting.extend(missing)
                    continue
                done[top] = replace(known.term, {s: done[s] for s in inner})
            elif isinstance(known, Given) and put_in(known):
                done[top] = constant(known.value, known.dimension)
            else:
                done[top] = top
            waiting.pop()
        return done[symbol]

    @staticmethod
    def _fit(tied: Symbol, inner: tuple[Symbol, ...]) -> None:
        if any(s.kind not in _FIT for s in inner):
            raise UnfitTie(tied)


def evaluate(term: Term) -> Fraction:
    """Return the exact value of a term in SI base units.

    Raises MissingValue for a letter, ZeroDivisionError.
    """
    match term:
        case Number(value) | Quantity(value, _):
            return value
        case Symbol():
            raise MissingValue(term)
        case Negative(inner):
            return -evaluate(inner)
        case Sum(terms):
            return sum(map(evaluate, terms), Fraction(0))
        case Product(factors):
            return prod(map(evaluate, factors), start=Fraction(1))
        case Quotient(numerator, denominator):
            return evaluate(numerator) / evaluate(denominator)
        case Power(base, exponent):
            return evaluate(base) ** exponent
        case Parallel(terms):
            values = [evaluate(item) for item in terms]
            return Fraction(0) if 0 in values else 1 / sum((1 / v for v in values), Fraction(0))
        case Exponential():
            raise ValueError("an exponential has no exact value")
        case _:
            assert_never(term)


def letters_without_value(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the emfs, source currents and resistances that stay letters, in file order.

    Neither dependent sources nor what is sought: their values are found.
    """
    known = Values(circuit)
    dependent = {*circuit.dependent, *circuit.sought}
    found: dict[Symbol, None] = {}
    for branch in circuit.branches:
        for passage in branch.passages:
            element = passage.element
            own = [element.emf] if isinstance(element, Battery) else []
            own += [element.source] if isinstance(element, CurrentSource) else []
            own += [element.resistance] if element.resistance is not None else []
            for symbol in own:
                letters = symbols(known.actual(symbol))
                found.update(dict.fromkeys(s for s in letters if s not in dependent))
    return tuple(found)
