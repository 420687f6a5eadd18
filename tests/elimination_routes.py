"""What a solution makes a person write, measured alike for several routes to the unknowns.

A mark is a letter, a digit, a sign (+, −, ·, =), a fraction bar, a pair of brackets or a reference to
an equation; units are left out. The planner's own way of counting is not used.

The routes besides the planner's are those of textbooks: Gauss's elimination in the order of the
file, the first equation that holds the unknown being the pivot, and Cramer's rule (G. Cramer,
"Introduction à l'analyse des lignes courbes algébriques", 1750, from memory) with determinants
expanded along the first row (P. S. Laplace, 1772, from memory), nothing being written for a zero.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import permutations
from typing import Any

from derive.algebra.dimension import VOLT
from derive.algebra.polynomial import Poly, cancel
from derive.algebra.term import (
    Equation,
    Negative,
    Number,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
    symbols,
)
from derive.analysis.closed import derive_closed_forms
from derive.analysis.equations import Collected, collect
from derive.analysis.expressions import by_battery, row_equation
from derive.analysis.letters import Letters, read_letters
from derive.analysis.loops import LoopChoice, _candidates, _directed, _score, choose_loops
from derive.analysis.named import carry_out_named, eliminate_with_names, names_fit
from derive.analysis.named_plan import named_plan
from derive.analysis.numbers import carry_out, other_currents, solve_numbers
from derive.analysis.plan import Elimination, LinearRow, eliminate
from derive.analysis.system import (
    TreeChoice,
    _omitted,
    _rooted,
    _spanning_trees,
    choose_tree,
)
from derive.circuit.model import Circuit, Loop
from derive.derivation.algebra import BackSubstitute, Combine, Define, Isolate, Substitute
from derive.derivation.builder import Builder
from derive.derivation.laws import JunctionRule, LoopRule
from derive.derivation.step import Derivation


@dataclass(frozen=True)
class Cost:
    """What there is to write."""

    marks: int = 0
    longest: int = 0
    """Digits of the largest whole number, numerators and denominators alike."""
    fractions: int = 0
    """Fraction bars."""

    def __add__(self, other: Cost) -> Cost:
        return Cost(
            self.marks + other.marks,
            max(self.longest, other.longest),
            self.fractions + other.fractions,
        )


NOTHING = Cost()
SIGN = Cost(1)
LETTER = Cost(1)
BAR = Cost(1, 0, 1)


def of_number(value: Fraction) -> Cost:
    """Return the digits of a number, its minus sign too."""
    above, below = str(abs(value.numerator)), str(value.denominator)
    found = Cost(len(above) + (value < 0), len(above))
    return found if below == "1" else found + BAR + Cost(len(below), len(below))


def of_term(term: Term) -> Cost:
    """Return what there is to write for a term."""
    match term:
        case Number(value) | Quantity(value, _):
            return of_number(value)
        case Symbol():
            return LETTER
        case Negative(inner):
            return SIGN + of_term(inner)
        case Sum(terms):
            joined = sum((1 for item in terms[1:] if not isinstance(item, Negative)), 0)
            return sum((of_term(item) for item in terms), Cost(joined))
        case Product(factors):
            return _product(factors)
        case Quotient(above, below):
            return of_term(above) + BAR + of_term(below)
        case Power(base, exponent):
            return of_term(base) + of_number(Fraction(exponent))
        case _:
            raise AssertionError(term)


def _product(factors: Sequence[Term]) -> Cost:
    found = NOTHING
    for before, factor in zip((None, *factors), factors, strict=False):
        if isinstance(factor, Sum):
            found += SIGN  # a pair of brackets
        numbers = (Number, Quantity, Quotient, Negative)
        if isinstance(before, numbers) and isinstance(factor, numbers):
            found += SIGN
        found += of_term(factor)
    return found


def of_equation(equation: Equation) -> Cost:
    """Return both sides and the sign between them."""
    return of_term(equation.left) + SIGN + of_term(equation.right)


def of_steps(derivation: Derivation) -> Cost:
    """Return what the algebra of a derivation makes a person write.

    A line that goes on with what was put in has one sign of equality and no new left side.
    """
    found = NOTHING
    for step in derivation.steps:
        match step:
            case Combine(parts=(_,)):
                pass  # what is cancelled at once is not shown
            case Combine(parts=parts, conclusion=conclusion):
                for part in parts:
                    size = part.multiplier
                    size = size.term if isinstance(size, Negative) else size
                    found += (
                        SIGN + LETTER + (NOTHING if size == Number(Fraction(1)) else of_term(size))
                    )
                found += of_equation(conclusion)
            case BackSubstitute(conclusion=conclusion):
                found += SIGN + of_term(conclusion.right)
            case Isolate(conclusion=conclusion) | Define(conclusion=conclusion):
                found += of_equation(conclusion)
    return found


# The system of a circuit


@dataclass(frozen=True)
class System:
    """The loop equations of a circuit in its unknowns."""

    circuit: Circuit
    letters: Letters
    collected: Collected

    @property
    def rows(self) -> tuple[LinearRow, ...]:
        """Return the collected equations."""
        return self.collected.rows


def system(circuit: Circuit, *, numbers: bool) -> System:
    """Return the equations that the program collects."""
    builder = Builder()
    letters = read_letters(circuit, builder, numbers=numbers)
    choice = choose_loops(circuit)
    tree = choose_tree(circuit, choice.loops)
    return System(circuit, letters, collect(circuit, letters, choice, tree, builder))


def _after(
    found: System, write: Callable[[Builder], object], only: Sequence[Symbol | None] = ()
) -> Cost:
    """Return what is written after the equations have been collected.

    With `only`, lines for other currents are not counted.
    """
    builder = Builder()
    letters = read_letters(found.circuit, builder, numbers=found.letters.numeric)
    choice = choose_loops(found.circuit)
    tree = choose_tree(found.circuit, choice.loops)
    collect(found.circuit, letters, choice, tree, builder)
    before = len(builder.finish().steps)
    write(builder)
    whole = builder.finish()
    steps = [
        step
        for step in whole.steps[before:]
        if not only
        or not isinstance(step, BackSubstitute | Isolate)
        or step.conclusion.left in only
    ]
    if only:  # nor names that stand in those lines alone
        lines = [s.conclusion for s in steps if isinstance(s, Combine | Isolate)]
        used = {symbol for line in lines for symbol in symbols(line.right)}
        steps = [step for step in steps if not isinstance(step, Define) or step.symbol in used]
    return of_steps(Derivation(tuple(steps)))


def file_order(rows: Sequence[LinearRow]) -> tuple[Elimination, ...]:
    """Return Gauss's plan: unknowns in order, the first open equation that holds each."""
    work, still, plan = list(rows), list(range(len(rows))), []
    for unknown in range(len(rows)):
        pivot = next(k for k in still if work[k].coefficients[unknown])
        still.remove(pivot)
        plan.append(Elimination(unknown, pivot))
        for k in still:
            if work[k].coefficients[unknown]:
                work[k] = eliminate(work[k], work[pivot], unknown).row
    return tuple(plan)


def planned_numbers(found: System) -> Cost:
    """Return what the program writes with the numbers put in."""
    return _after(found, lambda builder: solve_numbers(found.circuit, found.collected, builder))


def by_plan(found: System, plan: tuple[Elimination, ...]) -> Cost:
    """Return what an elimination with numbers makes a person write."""
    return _after(found, lambda builder: carry_out(plan, found.collected, builder))


def gauss_numbers(found: System) -> Cost:
    """Return the same for Gauss's plan."""
    return by_plan(found, file_order(found.rows))


# Cramer's rule


def cramer_numbers(found: System) -> Cost:
    """Return what Cramer's rule makes a person write: every determinant, then every quotient."""
    table = [[c.constant_value for c in row.coefficients] for row in found.rows]
    right = [row.right.constant_value for row in found.rows]
    whole, cost = _determinant(table, of_number)
    cost += LETTER + SIGN + SIGN + of_number(whole)
    for column in range(len(table)):
        changed = [
            [right[k] if j == column else value for j, value in enumerate(line)]
            for k, line in enumerate(table)
        ]
        above, written = _determinant(changed, of_number)
        cost += LETTER + SIGN + written + SIGN + of_number(above)
        cost += LETTER + SIGN + LETTER + BAR + LETTER
        shown = of_number(above) + BAR + of_number(whole)
        cost += SIGN + shown
        value = above / whole
        if abs(value.denominator) != abs(whole) or abs(value.numerator) != abs(above):
            cost += SIGN + of_number(value)
    return cost


def _determinant(table: list[list[Any]], of: Callable[[Any], Cost]) -> tuple[Any, Cost]:
    """Return the value and what there is to write for a determinant along its first row."""
    size = len(table)
    if size == 1:
        entry = table[0][0]
        return entry, of(entry) + (SIGN if hasattr(entry, "terms") and len(entry) > 1 else NOTHING)
    whole, cost, terms = table[0][0] * 0, NOTHING, 0
    for column, entry in enumerate(table[0]):
        if not entry:
            continue
        minor = [line[:column] + line[column + 1 :] for line in table[1:]]
        value, written = _determinant(minor, of)
        if written == NOTHING or not all(any(line) for line in minor):
            continue
        whole = whole + entry * value * (-1) ** column
        terms += 1
        cost += written
        if entry != 1:
            numbers = not hasattr(entry, "terms")
            cost += of(entry)
            cost += SIGN if (numbers and size == 2) or (not numbers and len(entry) > 1) else NOTHING
        if size > 2:
            cost += SIGN  # brackets
        if terms > 1:
            cost += SIGN
    return whole, cost


# Letters


def planned_letters(found: System) -> Cost | None:
    """Return what the program writes: with names, or each unknown as a fraction at once.

    None where there is no elimination with names.
    """
    if not names_fit(found.letters, found.collected):
        return _after(
            found,
            lambda builder: derive_closed_forms(
                found.circuit, found.letters, found.collected, builder
            ),
            (*found.collected.unknowns, None),
        )
    done = []
    cost = _after(
        found,
        lambda builder: done.append(eliminate_with_names(found.letters, found.collected, builder)),
    )
    return cost if done[0] is not None else None


def named_by(found: System, choices: Iterable[Elimination]) -> Cost | None:
    """Return what the same writing makes of other eliminations; None where a divisor may vanish."""
    plan = named_plan(found.letters, found.collected, choices)
    if plan is None:
        return None
    return _after(found, lambda builder: carry_out_named(plan, found.collected, builder))


def gauss_letters(found: System) -> Cost:
    """Return what plain elimination writes, in the order of the file, sums written out.

    Of two unknowns each is led to one fraction, as the program does; of more the last equations are
    solved for their unknowns.
    """
    work, still, cost = list(found.rows), list(range(len(found.rows))), NOTHING
    plan = file_order(found.rows)
    unknowns = found.collected.unknowns
    ring = found.letters.ring
    for move in plan:
        still.remove(move.pivot)
        for k in still:
            if work[k].coefficients[move.unknown]:
                made = eliminate(work[k], work[move.pivot], move.unknown)
                work[k] = made.row
                for above, below in (made.own, made.pivot):
                    size = of_poly(above) if below == 1 else of_poly(above) + BAR + of_poly(below)
                    cost += SIGN + LETTER + (NOTHING if above in (1, -1) and below == 1 else size)
                cost += of_equation(row_equation(made.row, unknowns, VOLT))
    for move in plan:
        row = work[move.pivot]
        lead = row.coefficients[move.unknown]
        cost += LETTER + SIGN + of_poly(row.right) + BAR + of_poly(lead)
        for k, entry in enumerate(row.coefficients):
            if entry and k != move.unknown:
                cost += SIGN + LETTER + of_poly(entry)
    if len(work) == 2:
        first = work[plan[0].pivot]
        last = work[plan[1].pivot]
        lead = first.coefficients[plan[0].unknown]
        other = first.coefficients[plan[1].unknown]
        if other:
            below = last.coefficients[plan[1].unknown]
            cost += SIGN + of_poly(first.right) + SIGN + of_poly(other) + of_poly(last.right)
            cost += BAR + of_poly(below) + BAR + of_poly(lead)
            above, under = cancel(first.right * below - other * last.right, lead * below)
            cost += SIGN + of_poly(above) + BAR + of_poly(under)
    assert ring is found.rows[0].right.ring
    return cost


def of_poly(poly: Poly) -> Cost:
    """Return what there is to write for a polynomial, emfs with one factor taken together."""
    return of_term(by_battery(poly, VOLT))


def cramer_letters(found: System) -> Cost:
    """Return what Cramer's rule writes in letters: every determinant, expanded and tidied."""
    table = [list(row.coefficients) for row in found.rows]
    right = [row.right for row in found.rows]
    whole, cost = _determinant(table, of_poly)
    cost += LETTER + SIGN + SIGN + of_poly(whole)
    for column in range(len(table)):
        changed = [
            [right[k] if j == column else value for j, value in enumerate(line)]
            for k, line in enumerate(table)
        ]
        above, written = _determinant(changed, of_poly)
        cost += LETTER + SIGN + written + SIGN + of_poly(above)
        cost += LETTER + SIGN + LETTER + BAR + LETTER
    return cost


def every_plan(size: int) -> Iterator[tuple[Elimination, ...]]:
    """Yield every order of unknowns with every order of pivots."""
    for unknowns in permutations(range(size)):
        for pivots in permutations(range(size)):
            yield tuple(Elimination(u, p) for u, p in zip(unknowns, pivots, strict=True))


def possible(rows: Sequence[LinearRow], plan: Iterable[Elimination]) -> bool:
    """Tell whether no pivot of a plan is zero."""
    work, still = list(rows), set(range(len(rows)))
    for move in plan:
        still.discard(move.pivot)
        if not work[move.pivot].coefficients[move.unknown]:
            return False
        for k in still:
            if work[k].coefficients[move.unknown]:
                work[k] = eliminate(work[k], work[move.pivot], move.unknown).row
    return True


# Other loops and other trees


def whole(
    circuit: Circuit,
    loops: LoopChoice,
    tree: TreeChoice | None = None,
) -> Cost:
    """Return what all the work with numbers makes a person write, from the laws to each current."""
    builder = Builder()
    letters = read_letters(circuit, builder, numbers=True)
    collected = collect(circuit, letters, loops, tree or choose_tree(circuit, loops.loops), builder)
    values = solve_numbers(circuit, collected, builder)
    other_currents(circuit, letters, collected, values, builder)
    derivation = builder.finish()
    laws = (JunctionRule, LoopRule, Substitute)
    return sum(
        (of_equation(s.conclusion) for s in derivation.steps if isinstance(s, laws)),
        of_steps(derivation),
    )


def every_tree(circuit: Circuit) -> Iterator[TreeChoice]:
    """Yield every choice of the currents that the junction rule removes."""
    omitted = _omitted(circuit)
    for tree in _spanning_trees(circuit):
        yield _rooted(circuit, tree, omitted)


def easiest_loops(circuit: Circuit) -> list[Loop]:
    """Return the loops of a circuit, those with the fewest terms first."""
    candidates = sorted(_candidates(circuit), key=lambda loop: _score(circuit, loop))
    return [_directed(circuit, loop) for loop in candidates]


def are_independent(loops: Sequence[Loop]) -> bool:
    """Tell whether no loop is a sum of others, branches counted modulo two."""
    sums: set[int] = {0}
    for loop in loops:
        mask = sum(1 << hop.branch for hop in loop.hops)
        if mask in sums:
            return False
        sums |= {known ^ mask for known in sums}
    return True
