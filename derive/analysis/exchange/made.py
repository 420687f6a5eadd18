"""What exchanges make: its names, its definitions, its values.

Everything that is made gets a name and is defined by what it stands for; where all parts have
values, each is reckoned out at once, as one does by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, count, product
from string import ascii_lowercase

from derive.algebra.dimension import VOLT
from derive.algebra.name import TakenNames
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    Equation,
    Symbol,
    SymbolKind,
    Term,
    constant,
    current,
    emf,
    replace,
    resistance,
    source_current,
    symbols,
)
from derive.analysis.exchange.defined import definitions, flat, products_of
from derive.analysis.exchange.moves import Move
from derive.analysis.exchange.net import Exchanged, is_emf
from derive.analysis.put_in import fraction_term
from derive.analysis.rounding import rounded
from derive.circuit.solvability import letters_of
from derive.derivation.algebra import BackSubstitute, Define, PutInValues
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Exchange
from derive.derivation.step_id import StepId

_LONGEST_NESTED = 12
"""Letters in a nested formula; a longer one is left to the names of its parts."""
_LONGEST_EXPANDED = 200
"""Letters in a nested formula that is still written as one fraction, if the author wants that."""
_MOST_PRODUCTS = 2000
"""Products that multiplying it out may take."""
_LONGEST_COMPARED = 24
"""Letters in what an arm stands for; a longer one is not looked at."""
_MOST_TIED = 3
"""Letters of what ties lead to, so that it is told."""
_LONGEST_NUMBER = 3
"""Digits in a name made of those of its parts."""
_SOURCE = "I_s"
"""What the names of source currents begin with."""


class Workings:
    """Turns moves into steps."""

    def __init__(
        self,
        given: Mapping[Symbol, StepId],
        builder: Builder,
        taken: TakenNames,
        digits: int = 3,
    ) -> None:
        """Take the steps that state values, and the names that have a meaning.

        The names of what is made are added to these. `digits` is how many are kept of a value that
        has too many to be told.
        """
        self.builder = builder
        self.definitions: dict[Symbol, StepId] = {}
        """The steps that define what has been made."""
        self._given = given
        self._taken = taken
        self._digits = digits
        self._values: dict[Symbol, StepId] = {}
        self._tied: dict[Symbol, StepId] = {}
        self._numbers: dict[Symbol, Term] = {}
        self._terms: dict[Symbol, Term] = {}
        self._letters = {letter: _words() for letter in ("R", "E", "I", "V", _SOURCE)}

    # --- names ----------------------------------------------------------------------------------

    def made(self, exchange: Exchange, taken: Sequence[Symbol]) -> tuple[Symbol, ...]:
        """Return new symbols for what an exchange makes: ``R23`` for R2 and R3, else ``R_a``."""
        resistances = [s for s in taken if not is_emf(s)]
        match exchange:
            case Exchange.SERIES | Exchange.PARALLEL:
                return (resistance(self._name("R", taken)),)
            case Exchange.EMFS:
                return (emf(self._name("E", taken)),)
            case Exchange.ALIKE:
                source = emf(self._name("E", [s for s in taken if is_emf(s)]))
                return source, resistance(self._name("R", resistances))
            case Exchange.CURRENT_SOURCE:
                return (source_current(self._source(taken[0])),)
            case Exchange.CURRENTS:
                return (source_current(self._total()),)
            case Exchange.BATTERY:
                return (emf(self._like("E", taken[1])),)
            case Exchange.DELTA | Exchange.STAR:
                pairs = combinations(taken, 2)
                return tuple(resistance(self._name("R", ())) for _ in pairs)
            case Exchange.IDLE | Exchange.LEVEL | Exchange.ACROSS | Exchange.WIRE:
                return ()

    def current_in(self, arm: Symbol) -> Symbol:
        """Return a new name for the current in an arm."""
        return current(self._like("I", arm))

    def voltage_across(self, arm: Symbol) -> Symbol:
        """Return a new name for the voltage across an arm."""
        return Symbol(self._like("V", arm), SymbolKind.VOLTAGE, VOLT)

    def _source(self, battery: Symbol) -> str:
        """Name the current source that a battery becomes: ``I_s1`` for E1."""
        wish = _SOURCE + battery.name[1:]
        if re.fullmatch(r"E\d+", battery.name) and self._taken.free(wish):
            self._taken.take(wish)
            return wish
        return self._name(_SOURCE, ())

    def _total(self) -> str:
        """Name the sum of current sources: ``I_s``."""
        if self._taken.free(_SOURCE):
            self._taken.take(_SOURCE)
            return _SOURCE
        return self._name(_SOURCE, ())

    def _like(self, letter: str, arm: Symbol) -> str:
        wish = letter + arm.name[1:]
        if self._taken.free(wish):
            self._taken.take(wish)
            return wish
        return self._name(letter, ())

    def _name(self, letter: str, parts: Sequence[Symbol]) -> str:
        numbered = bool(parts) and all(re.fullmatch(rf"{letter}\d+", s.name) for s in parts)
        wish = "".join(s.name.removeprefix(letter) for s in parts)
        if all(len(s.name) == len(letter) + 1 or s in self.definitions for s in parts):
            wish = "".join(sorted(wish))  # of one digit each, or made of such
        if numbered and len(wish) <= _LONGEST_NUMBER and self._taken.free(letter + wish):
            self._taken.take(letter + wish)
            return letter + wish
        for words in self._letters[letter]:
            wish = f"{letter}{'' if '_' in letter else '_'}{words}"
            if self._taken.free(wish):
                self._taken.take(wish)
                return wish
        raise AssertionError("there is no end of letters")

    # --- steps ----------------------------------------------------------------------------------

    def add(self, move: Move) -> StepId:
        """Define what a move makes, carry it out, and reckon out what it makes."""
        if not isinstance(move, Exchanged):
            return self.builder.add(move)
        defined = list(definitions(move))
        for symbol, term in defined:
            self.define(symbol, term)
        step = self.builder.add(move.step)
        for symbol, _ in defined:
            self.reckon(symbol, self.definitions[symbol])
        return step

    def define(self, symbol: Symbol, term: Term) -> StepId:
        """Give a term a name."""
        step = self.builder.add(Define(symbol=symbol, conclusion=Equation(symbol, term)))
        self.definitions[symbol] = step
        return step

    def reckon(self, symbol: Symbol, step: StepId, *, shown: bool = False) -> StepId | None:
        """Put the values into an equation for a symbol, round the result, and keep it."""
        found = self.value(step, shown=shown)
        if found is not None:
            self._values[symbol] = found
            self.builder.add(rounded(self.builder, found, self._digits))
        else:
            self._by_ties(symbol, step)
        return found

    def _by_ties(self, symbol: Symbol, step: StepId) -> None:
        """Tell a quantity as a multiple of a letter where ties make it one: ``R12 = 2 R1/3``."""
        right = self.builder.equation(step).right
        held = list(dict.fromkeys(symbols(right)))
        known = {s: self._given[s] for s in held if s in self._given} | {
            s: self._tied[s] for s in held if s in self._tied
        }
        if not known:
            return
        term = replace(right, {s: self.builder.equation(k).right for s, k in known.items()})
        above, below = Ring(letters_of([term])).fraction(term)
        if not above:
            return
        if len(above) * len(below) > 2 or len(letters_of([term])) > _MOST_TIED:
            return
        tied = fraction_term(above, below, symbol.dimension)
        self._tied[symbol] = self.builder.add(
            PutInValues(
                premise=step, values=tuple(known.values()), conclusion=Equation(symbol, tied)
            )
        )

    def value(self, step: StepId, *, shown: bool = False) -> StepId | None:
        """Put the values of all quantities into an equation; None where one has none.

        If it is to be shown, the numbers are first put in as they are, then reckoned out.
        """
        equation = self.builder.equation(step)
        held = list(dict.fromkeys(symbols(equation.right)))
        if not all(self._known(symbol) for symbol in held):
            return None
        assert isinstance(equation.left, Symbol)
        value = Ring(()).poly(replace(equation.right, self._numbers)).constant_value
        right = constant(value, equation.left.dimension)
        if right == equation.right:
            return step
        cited = tuple(dict.fromkeys(k for s in held for k in self._cited(s)))
        as_it_is = replace(equation.right, self._numbers)
        if shown and as_it_is not in (right, equation.right):
            put_in = Equation(equation.left, as_it_is)
            step = self.builder.add(PutInValues(premise=step, values=cited, conclusion=put_in))
            cited = ()
        exact = Equation(equation.left, right)
        return self.builder.add(PutInValues(premise=step, values=cited, conclusion=exact))

    def put_in(self, step: StepId) -> StepId | None:
        """Put the values that are known into an equation; None where there are none.

        What has been made is told by the letters of the circuit, as one fraction where that would
        be long otherwise.
        """
        equation = self.builder.equation(step)
        assert isinstance(equation.left, Symbol)
        right, used = equation.right, dict[StepId, None]()
        while inner := [s for s in dict.fromkeys(symbols(right)) if s in self.definitions]:
            used |= dict.fromkeys(self.definitions[s] for s in inner)
            right = flat(
                replace(right, {s: self.builder.equation(self.definitions[s]).right for s in inner})
            )
        held = [s for s in dict.fromkeys(symbols(right)) if self._known(s)]
        if not held:
            return None
        cited = dict.fromkeys(k for s in held for k in self._cited(s))
        right = replace(right, {s: self._numbers[s] for s in held})
        if _length(right) > _LONGEST_NESTED:
            ring = Ring(letters_of([right]))
            right = fraction_term(*ring.fraction(right), equation.left.dimension)
        return self.builder.add(
            PutInValues(
                premise=step, values=(*used, *cited), conclusion=Equation(equation.left, right)
            )
        )

    def _known(self, symbol: Symbol) -> bool:
        """Find out the number of a quantity, by its value or the ties that lead to one."""
        if symbol in self._numbers:
            return True
        step = self._values.get(symbol, self._given.get(symbol))
        if step is None:
            return False
        right = self.builder.equation(step).right
        if not all(self._known(s) for s in dict.fromkeys(symbols(right))):
            return False
        value = Ring(()).poly(replace(right, self._numbers)).constant_value
        self._numbers[symbol] = constant(value, symbol.dimension)
        return True

    def _cited(self, symbol: Symbol) -> list[StepId]:
        step = self._values.get(symbol, self._given.get(symbol))
        assert step is not None
        right = self.builder.equation(step).right
        return [step, *(k for s in dict.fromkeys(symbols(right)) for k in self._cited(s))]

    # --- in the letters of the circuit ------------------------------------------------------------

    def term(self, symbol: Symbol) -> Term:
        """Return what an arm stands for, nested; itself where that is long."""
        if symbol not in self.definitions:
            return symbol
        if symbol not in self._terms:
            right = self.builder.equation(self.definitions[symbol]).right
            inner = {s: self.term(s) for s in dict.fromkeys(symbols(right))}
            term = flat(replace(right, inner))
            self._terms[symbol] = term if _length(term) <= _LONGEST_COMPARED else symbol
        return self._terms[symbol]

    def formula(self, step: StepId) -> StepId:
        """Put all definitions into each other where that stays short."""
        equation = self.builder.equation(step)
        right, used = equation.right, []
        while True:
            inner = [s for s in dict.fromkeys(symbols(right)) if s in self.definitions]
            if not inner:
                break
            rights = {s: self.builder.equation(self.definitions[s]).right for s in inner}
            right = flat(replace(right, rights))
            used += [self.definitions[s] for s in inner]
            if _length(right) > _LONGEST_NESTED:
                return step
        if not used:
            return step
        return self.builder.add(
            BackSubstitute(
                premise=step,
                definitions=(used[0],),
                rewriting=tuple(dict.fromkeys(used[1:])),
                conclusion=Equation(equation.left, right),
            )
        )

    def by_ties(self, symbol: Symbol) -> StepId | None:
        """Return where a quantity that was reckoned out is told as a multiple of a letter."""
        return self._tied.get(symbol)

    def _is_tie(self, given: StepId) -> bool:
        return any(True for _ in symbols(self.builder.equation(given).right))

    def expanded(self, step: StepId, most: int | None = None) -> StepId:
        """Write the right side of an equation as one fraction where that stays short.

        `most` products may stand in it, if that is given.
        """
        equation = self.builder.equation(step)
        assert isinstance(equation.left, Symbol)
        right, used = equation.right, dict[StepId, None]()
        while inner := [s for s in dict.fromkeys(symbols(right)) if s in self.definitions]:
            rights = {s: self.builder.equation(self.definitions[s]).right for s in inner}
            used |= dict.fromkeys(self.definitions[s] for s in inner)
            right = replace(right, rights)
            if _length(right) > _LONGEST_EXPANDED:
                return step
        if sum(products_of(right)) > _MOST_PRODUCTS:
            return step
        ties = {s: k for s, k in self._given.items() if self._is_tie(k)}
        for _ in ties:  # a tie may lead to another
            right = replace(right, {s: self.builder.equation(k).right for s, k in ties.items()})
        ring = Ring(letters_of([right]))
        above, below = ring.fraction(right)
        if most is not None and len(above) + len(below) > most:
            return step
        fraction = fraction_term(above, below, equation.left.dimension)
        return self.builder.add(
            BackSubstitute(
                premise=step,
                definitions=(),
                rewriting=(*used, *ties.values()),
                conclusion=Equation(equation.left, fraction),
            )
        )


def _length(term: Term) -> int:
    return sum(1 for _ in symbols(term))


def _words() -> Iterator[str]:
    """Yield a, b, …, z, aa, ab, … without those that look like a number."""
    letters = [letter for letter in ascii_lowercase if letter not in "ilo"]
    for length in count(1):
        yield from map("".join, product(letters, repeat=length))
