"""Unknowns found one after another, each from an equation that holds no other new one.

That is how a value that is sought comes out when what is known goes in first. Where no equation
with one new unknown is left, the others are found from the equations that remain (Cramer 1750),
and what was found before stays in them by its letter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from derive.algebra.dimension import NUMBER, VOLT, Dimension
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    Term,
    number,
    product,
    quotient,
    symbols,
    total,
)
from derive.analysis.cofactors import MOST_WORK, adjugate, factored, multiplier_of
from derive.analysis.equations import Collected
from derive.analysis.expressions import by_battery, scaled
from derive.analysis.letters import letters_dimension
from derive.analysis.plan import LinearRow, Singular
from derive.derivation.algebra import BackSubstitute, Combine, Isolate, Scaled
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId


class InTurn:
    """Writes the steps for one system of collected equations."""

    def __init__(
        self, collected: Collected, ring: Ring, builder: Builder, names: tuple[StepId, ...]
    ) -> None:
        """Keep the system; `names` are the steps that name denominators."""
        self._collected = collected
        self._ring = ring
        self._builder = builder
        self._names = names

    def find(self, written: Callable[[Symbol], Term]) -> dict[Symbol, StepId]:
        """Return the step that concludes each unknown; nothing unless a value is sought.

        `written` gives the fraction in letters that an unknown is worth. Raises Singular.
        """
        collected = self._collected
        order = _turns(collected.rows) if collected.forms.sought else []
        if not order:
            return {}
        found: dict[Symbol, StepId] = {}
        self._builder.begin(Goal.IN_TURN)
        for row, column in order:
            symbol = collected.unknowns[column]
            isolated = self._isolated(row, column)
            met = set(symbols(self._builder.equation(isolated).right))
            before = {s: step for s, step in found.items() if s in met}
            found[symbol] = self._put_in(isolated, before, written(symbol)) if before else isolated
        self._builder.begin(Goal.FRACTIONS)
        return found | self._left_over(order, found, written)

    def _put_in(self, isolated: StepId, before: Mapping[Symbol, StepId], form: Term) -> StepId:
        left = self._builder.equation(isolated).left
        return self._builder.add(
            BackSubstitute(
                premise=isolated,
                definitions=tuple(before.values()),
                rewriting=self._names,
                conclusion=Equation(left, form),
            )
        )

    def _isolated(self, row: int, column: int) -> StepId:
        """Solve an equation for an unknown, the others being left as they are."""
        collected, line = self._collected, self._collected.rows[row]
        symbol, lead = collected.unknowns[column], line.coefficients[column]
        known = self._builder.equation(collected.steps[row])
        if known.left == symbol and symbol not in set(symbols(known.right)):
            return collected.steps[row]
        sign = -1 if all(c < 0 for c in lead.coefficients()) else 1
        lead = lead * sign
        terms: list[Term] = []
        if line.right:
            right = by_battery(line.right * sign, VOLT)
            terms += right.terms if isinstance(right, Sum) else (right,)
        for k, other in enumerate(collected.unknowns):
            if k != column and line.coefficients[k]:
                poly = line.coefficients[k] * -sign
                terms.append(scaled(poly, other, VOLT / other.dimension))
        terms.sort(key=lambda term: isinstance(term, Negative))
        above = total(tuple(terms))
        below = self._ring.term(lead, VOLT / symbol.dimension)
        return self._builder.add(
            Isolate(
                premise=collected.steps[row],
                symbol=symbol,
                factor=number(sign) if below == ONE else Quotient(number(sign), below),
                conclusion=Equation(symbol, _over(above, below)),
            )
        )

    def _left_over(
        self,
        order: Sequence[tuple[int, int]],
        found: Mapping[Symbol, StepId],
        written: Callable[[Symbol], Term],
    ) -> dict[Symbol, StepId]:
        """Find what was not found in turn, by the equations that are left and what was found."""
        collected = self._collected
        size = len(collected.rows)
        rows = [k for k in range(size) if all(k != row for row, _ in order)]
        columns = [k for k in range(size) if all(k != column for _, column in order)]
        left = _Left(self._ring, collected, rows, columns)
        steps: dict[Symbol, StepId] = {}
        for place, column in enumerate(columns):
            symbol = collected.unknowns[column]
            combination = left.combination(place)
            below = factored(combination.below, combination.unit)
            top = by_battery(combination.above, symbol.dimension * combination.unit)
            combined = self._builder.add(
                Combine(
                    parts=combination.parts,
                    eliminated=combination.eliminated,
                    conclusion=Equation(product(below, symbol), top),
                )
            )
            isolated = self._builder.add(
                Isolate(
                    premise=combined,
                    symbol=symbol,
                    factor=Quotient(ONE, below),
                    conclusion=Equation(symbol, _over(top, below)),
                )
            )
            met = set(symbols(top))
            before = {s: step for s, step in found.items() if s in met}
            steps[symbol] = self._put_in(isolated, before, written(symbol))
        return steps


def _over(above: Term, below: Term) -> Term:
    return above if below == ONE or above == ZERO else quotient(above, below)


@dataclass(frozen=True, slots=True)
class _Combination:
    """An equation ``below · unknown = above`` and where it comes from."""

    below: Poly
    above: Poly
    """In the letters and in what was found before."""
    unit: Dimension
    """Dimension of what is below."""
    parts: tuple[Scaled, ...]
    eliminated: tuple[Symbol, ...]


class _Left:
    """Some rows of a system in some of its unknowns; the other unknowns count as letters."""

    def __init__(
        self, ring: Ring, collected: Collected, rows: Sequence[int], columns: Sequence[int]
    ) -> None:
        self._ring = ring
        self._collected = collected
        self._rows = rows
        self._columns = columns
        others = [k for k in range(len(collected.unknowns)) if k not in columns]
        self._known = {k: collected.unknowns[k] for k in others}
        self._wide = Ring((*ring.symbols, *self._known.values()))
        self._letters = {symbol: self._wide.symbol(symbol) for symbol in ring.symbols}
        lines = [[collected.rows[r].coefficients[c] for c in columns] for r in rows]
        self._cofactors = adjugate(lines, ring)

    def combination(self, place: int) -> _Combination:
        """Return the equation for the unknown of a column. Raises Singular."""
        collected, column = self._collected, self._columns[place]
        symbol = collected.unknowns[column]
        used = [(f, r) for f, r in zip(self._cofactors[place], self._rows, strict=True) if f]
        determinant, above = self._ring.zero, self._wide.zero
        for factor, row in used:
            determinant = determinant + factor * collected.rows[row].coefficients[column]
            above = above + factor.compose(self._letters, self._wide) * self._right(row)
        if determinant.is_zero:
            raise Singular
        below, divisor = self._lowest(above, determinant)
        unit = NUMBER
        for k in self._columns:
            unit = unit * (VOLT / collected.unknowns[k].dimension)
        parts = (
            Scaled(
                multiplier=multiplier_of(factor, divisor, unit * symbol.dimension / VOLT),
                premise=collected.steps[row],
            )
            for factor, row in used
        )
        gone = (
            collected.unknowns[k]
            for k in self._columns
            if k != column and any(collected.rows[row].coefficients[k] for _, row in used)
        )
        return _Combination(
            below,
            above / divisor.compose(self._letters, self._wide),
            unit / letters_dimension(divisor),
            tuple(parts),
            tuple(gone),
        )

    def _right(self, row: int) -> Poly:
        """Return the right side of a row with what was found before moved there."""
        line = self._collected.rows[row]
        right = line.right.compose(self._letters, self._wide)
        for k, symbol in self._known.items():
            share = line.coefficients[k].compose(self._letters, self._wide)
            right = right - share * self._wide.symbol(symbol)
        return right

    def _lowest(self, above: Poly, determinant: Poly) -> tuple[Poly, Poly]:
        """Return the denominator in lowest terms, and what was cancelled."""
        below = determinant.compose(self._letters, self._wide)
        if above and len(above) * len(below) <= MOST_WORK:
            _, below = cancel(above, below)
        images = dict.fromkeys(self._known.values(), self._ring.zero)
        images |= {symbol: self._ring.symbol(symbol) for symbol in self._letters}
        lowest = below.compose(images, self._ring)
        if all(c < 0 for c in lowest.coefficients()):
            lowest = -lowest
        return lowest, determinant / lowest


def _turns(rows: Sequence[LinearRow]) -> list[tuple[int, int]]:
    """Return (row, column) so that each row holds no unknown but those before it and its own.

    Rows for which there is no such turn are left out.
    """
    waiting = list(range(len(rows)))
    known: set[int] = set()
    order: list[tuple[int, int]] = []
    while waiting:
        for row in waiting:
            new = [k for k, c in enumerate(rows[row].coefficients) if c and k not in known]
            if len(new) == 1:
                order.append((row, new[0]))
                known.add(new[0])
                waiting.remove(row)
                break
        else:
            break
    return order
