"""A circuit at every corner of its tolerances, by equations of its own.

The currents, and the voltages that laws of parts and paths give, are the unknowns of one linear
system. A determinant is linear in each of its columns; so a value that stands in one column only,
and there to the first power, is in Cramer's fractions to the first power at most. A value that
stands in more columns is sampled at more points, by which the polynomials in it are known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import product
from math import prod

from derive.algebra.term import Equation, Negative, Sum, Symbol, Term
from derive.bounds import MOST_CORNERS, MOST_TOLERANCES
from derive.checker import laws
from derive.checker.dual import NOUGHT, Dual, solve
from derive.checker.polynomial import Expansion, Refused
from derive.checker.system import equations
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.derivation.spread import Unbounded

Monomials = Mapping[tuple[tuple[Symbol, int], ...], Fraction]
Point = tuple[Fraction, ...]


class Unstated(Exception):  # noqa: N818  (a finding about the circuit)
    """No range can be stated; the reason says why."""

    def __init__(self, reason: Unbounded) -> None:
        """Keep the reason."""
        super().__init__(reason.value)
        self.reason = reason


@dataclass(frozen=True)
class Box:
    """All values of a circuit within their tolerances."""

    letters: tuple[Symbol, ...]
    """The quantities whose values have a tolerance, in file order."""
    nominal: Mapping[Symbol, Fraction]
    reach: Mapping[Symbol, Fraction]
    """How far a value may be off."""
    expansion: Expansion
    """In the letters that move; all others are numbers."""
    unknowns: tuple[Symbol, ...]
    rows: tuple[Mapping[int, Monomials], ...]
    """The coefficients of the unknowns by their places; the last place is the right side."""
    solved: dict[Point, tuple[Fraction, list[Dual]]] = field(default_factory=dict)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Where each letter is sampled, from its least to its greatest value. Raises Unstated."""
        found = []
        for letter in self.letters:
            degree = sum(self._degree(letter, place) for place in range(len(self.unknowns) + 1))
            pieces = max(degree, 1)
            low, reach = self.nominal[letter] - self.reach[letter], self.reach[letter]
            found.append(tuple(low + 2 * reach * k / pieces for k in range(pieces + 1)))
        if len(found) > MOST_TOLERANCES or prod(map(len, found)) > MOST_CORNERS:
            raise Unstated(Unbounded.MANY)
        return tuple(found)

    def _degree(self, letter: Symbol, place: int) -> int:
        entries = (row[place] for row in self.rows if place in row)
        return max((degree(entry, letter) for entry in entries), default=0)

    def at(self, point: Point) -> tuple[Fraction, list[Dual]]:
        """Return the determinant and the unknowns at a point. Raises Unstated."""
        if point not in self.solved:
            known = {s: Dual(v) for s, v in zip(self.letters, point, strict=True)}
            determinant, found = solve(self._matrix(known))
            if not determinant:
                raise Unstated(Unbounded.OPEN)
            self.solved[point] = determinant, found
        return self.solved[point]

    def along(self, letter: Symbol) -> dict[Symbol, Dual]:
        """Return letters and unknowns at the nominal values, with their slopes in one letter."""
        known = {s: Dual(v, Fraction(s == letter)) for s, v in self.nominal.items()}
        determinant, found = solve(self._matrix(known))
        if not determinant:
            raise Refused("the currents are not fixed at the nominal values")
        return known | dict(zip(self.unknowns, found, strict=True))

    def _matrix(self, known: Mapping[Symbol, Dual]) -> list[list[Dual]]:
        size = len(self.unknowns) + 1
        return [
            [worth(row[k], known) if k in row else NOUGHT for k in range(size)] for row in self.rows
        ]

    def grid(self, letters: Iterable[Symbol]) -> Iterator[dict[Symbol, Fraction]]:
        """Yield all sampled values of some letters, least ones first."""
        chosen = [(s, p) for s, p in zip(self.letters, self.points, strict=True) if s in letters]
        for values in product(*(points for _, points in chosen)):
            yield {s: v for (s, _), v in zip(chosen, values, strict=True)}


def degree(entry: Monomials, letter: Symbol) -> int:
    """Return the highest power of a letter."""
    return max((power for m in entry for s, power in m if s == letter), default=0)


def worth(entry: Monomials, known: Mapping[Symbol, Dual]) -> Dual:
    """Return the value of a polynomial."""
    found = NOUGHT
    for monomial, coefficient in entry.items():
        one = Dual(coefficient)
        for symbol, power in monomial:
            for _ in range(power):
                one = one * known[symbol]
        found = found + one
    return found


def box_of(circuit: Circuit, further: Mapping[Symbol, Term]) -> Box:
    """Return the box of a circuit, with some voltages by their laws. Raises Unstated."""
    if circuit.dependent:
        raise Unstated(Unbounded.DEPENDENT)
    if any(len(branch.sources) > 1 for branch in circuit.branches):
        raise Unstated(Unbounded.OPEN)
    moving = {
        v.symbol: v.value
        for v in circuit.values
        if isinstance(v.value, Given) and v.value.tolerance and v.value.value
    }
    given = laws.all_given(circuit)
    expansion = Expansion({s: t for s, t in given.items() if s not in moving})
    stated = [equation for _, equation in equations(circuit)]
    if circuit.branches:
        # What flows into all nodes together flows out of all: the first of these says no more.
        stated = stated[1:]
    stated += [Equation(symbol, term) for symbol, term in further.items()]
    stated = [e for e in stated if e.left != e.right]
    currents = [b.current for b in circuit.all_branches]
    currents += [walk.current for walk in circuit.walks]
    unknowns = tuple(dict.fromkeys((*currents, *further)))
    if len(stated) != len(unknowns):
        raise Refused("the rules are not as many as the unknowns")
    places = {symbol: place for place, symbol in enumerate(unknowns)}
    return Box(
        tuple(moving),
        {s: v.value for s, v in moving.items()},
        {s: abs(v.value) * (v.tolerance or 0) for s, v in moving.items()},
        expansion,
        unknowns,
        tuple(_row(expansion, equation, places, tuple(moving)) for equation in stated),
    )


def _row(
    expansion: Expansion,
    equation: Equation,
    places: Mapping[Symbol, int],
    moving: tuple[Symbol, ...],
) -> Mapping[int, Monomials]:
    """Take an equation that is linear in the unknowns apart."""
    row: dict[int, dict[tuple[tuple[Symbol, int], ...], Fraction]] = {}
    difference = Sum((equation.left, Negative(equation.right)))
    known = (*places, *moving)
    for monomial, coefficient in monomials(expansion, difference, known).items():
        held = [(symbol, power) for symbol, power in monomial if symbol in places]
        if len(held) > 1 or any(power > 1 for _, power in held):
            raise Refused("a rule is not linear in the currents")
        place = places[held[0][0]] if held else len(places)
        rest = tuple(pair for pair in monomial if pair not in held)
        row.setdefault(place, {})[rest] = coefficient if held else -coefficient
    return row


def monomials(expansion: Expansion, term: Term, known: tuple[Symbol, ...]) -> Monomials:
    """Return a term as a polynomial in known symbols.

    Raises Unstated where one of them stands below a line, Refused for any other letter.
    """
    found = expansion.monomials(term)
    if found is None:
        raise Unstated(Unbounded.BENDS)
    for symbol in {symbol for monomial in found for symbol, _ in monomial}:
        if symbol not in known:
            raise Refused(f"{symbol.name} has no value")
    return found
