"""What values and ties prove of resistances and emfs: zero, equal, multiples of each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import Negative, Sum, Symbol, Term
from derive.algebra.term import replace as put_in
from derive.circuit.model import Battery, Circuit, Given, Valuation
from derive.circuit.solvability import letters_of
from derive.circuit.values import Values

_MOST_LETTERS = 24
"""Longer terms are not compared: that they are equal would be seen by nobody."""


class Sizes:
    """Judges resistances and emfs by what values and ties prove."""

    def __init__(self, circuit: Circuit) -> None:
        """Index the values of the circuit."""
        self._values = Values(circuit)
        in_units = in_numbers(circuit)
        self._in_units = None if in_units is None else Values(in_units)

    def is_zero(self, term: Term | None) -> bool:
        """Tell whether a resistance is none, or zero for certain."""
        return term is None or self._vanishes(term)

    def equal(self, a: Term, b: Term) -> bool:
        """Tell whether two terms are equal for certain."""
        return a == b or self._vanishes(Sum((a, Negative(b))))

    def relative(self, symbol: Symbol) -> Fraction | None:
        """Return a resistance in a unit that all share; None where letters decide."""
        return None if self._in_units is None else self._in_units.number(symbol)

    def _vanishes(self, term: Term) -> bool:
        named = letters_of([term])
        if len(named) > _MOST_LETTERS:
            return False
        known = put_in(term, {symbol: self._values.actual(symbol) for symbol in named})
        try:
            return Ring(letters_of([known])).fraction(known)[0].is_zero
        except ZeroDivisionError:  # a tie makes a resistance the negative of another
            return False


def in_numbers(circuit: Circuit) -> Circuit | None:
    """Return the circuit with numbers for letters, where these do not change equal potentials.

    When all resistances are multiples of one letter, its value makes no difference; neither does
    that of the one letter of all emfs.
    """
    values = Values(circuit)
    resistances = [r for branch in circuit.branches for r in branch.resistances]
    emfs = [part.emf for part in circuit.elements if isinstance(part, Battery)]
    letters: list[Symbol] = []
    for quantities in (resistances, emfs):
        found = letters_of([values.actual(quantity) for quantity in quantities])
        if len(found) > 1 or (found and not _are_multiples(circuit, quantities, found[0])):
            return None
        letters.extend(found)
    return _with(circuit, letters, 1) if letters else circuit


def _are_multiples(circuit: Circuit, quantities: Sequence[Symbol], letter: Symbol) -> bool:
    """Tell whether all quantities, linear in one letter, double when it doubles."""
    once, twice = (Values(_with(circuit, [letter], size)) for size in (1, 2))
    return all(twice.number(quantity) == 2 * once.number(quantity) for quantity in quantities)


def _with(circuit: Circuit, letters: Sequence[Symbol], size: int) -> Circuit:
    given = (Valuation(letter, Given(Fraction(size), letter.dimension)) for letter in letters)
    return replace(circuit, values=(*circuit.values, *given))
