"""What values and ties prove of resistances and emfs, and of the potentials between them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from derive.algebra.linear import solve
from derive.algebra.polynomial import Ring
from derive.algebra.term import Negative, Sum, Term
from derive.algebra.term import replace as put_in
from derive.circuit.model import Circuit
from derive.circuit.solvability import letters_of
from derive.circuit.values import Values

_MOST_LETTERS = 24
"""Longer terms are not compared: that they are equal would be seen by nobody."""


class Sizes:
    """Judges resistances and emfs by what values and ties prove."""

    def __init__(self, circuit: Circuit) -> None:
        """Index the values of the circuit."""
        self._values = Values(circuit)

    def is_zero(self, term: Term | None) -> bool:
        """Tell whether a resistance is none, or zero for certain."""
        return term is None or self._vanishes(term)

    def equal(self, a: Term, b: Term) -> bool:
        """Tell whether two terms are equal for certain."""
        return a == b or self._vanishes(Sum((a, Negative(b))))

    def in_one_unit(self, terms: Sequence[Term]) -> list[Fraction] | None:
        """Return resistances in a unit that all share; None where letters decide how they compare.

        When all are multiples of one letter, its value makes no difference.
        """
        known = [self._put_in(term) for term in terms]
        letters = letters_of(known)
        if len(letters) > 1 or any(_is_long(term) for term in terms):
            return None
        ring = Ring(letters)
        found = []
        for term in known:
            above, below = ring.fraction(term)
            once = dict.fromkeys(letters, 1)
            size = above.evaluate(once) / below.evaluate(once)
            unit = ring.symbol(letters[0]) if letters else ring.one
            if above != unit * below * size:
                return None
            found.append(size)
        return found

    def _put_in(self, term: Term) -> Term:
        return put_in(term, {symbol: self._values.actual(symbol) for symbol in letters_of([term])})

    def _vanishes(self, term: Term) -> bool:
        if _is_long(term):
            return False
        known = self._put_in(term)
        try:
            return Ring(letters_of([known])).fraction(known)[0].is_zero
        except ZeroDivisionError:  # a tie makes a resistance the negative of another
            return False


def _is_long(term: Term) -> bool:
    return len(letters_of([term])) > _MOST_LETTERS


def node_levels(
    edges: Sequence[tuple[int, int, Fraction]], ends: tuple[int, int]
) -> dict[int, Fraction] | None:
    """Return the potentials of the nodes of a net of resistances: 1 at one end, 0 at the other.

    An edge is two nodes and the resistance between them. None where negative resistances leave the
    potentials open.
    """
    nodes = sorted({node for a, b, _ in edges for node in (a, b)} | set(ends))
    index = {node: k for k, node in enumerate(n for n in nodes if n not in ends)}
    matrix = [[Fraction(0)] * len(index) for _ in index]
    right = [Fraction(0)] * len(index)
    for a, b, size in edges:
        for here, there in ((a, b), (b, a)):
            if here not in index or here == there:
                continue
            matrix[index[here]][index[here]] += 1 / size
            if there in index:
                matrix[index[here]][index[there]] -= 1 / size
            elif there == ends[0]:
                right[index[here]] += 1 / size
    try:
        found = solve(matrix, right)
    except ZeroDivisionError:
        return None
    return {ends[0]: Fraction(1), ends[1]: Fraction(0)} | dict(zip(index, found, strict=True))
