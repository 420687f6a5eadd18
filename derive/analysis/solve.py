"""The derivation by branch currents, in letters or with the numbers put in first.

Method: Kirchhoff 1847. The junction rule removes the currents of a spanning tree, the loop rule
gives one equation for each of the others, and these are solved in the order that `plan` found. In
letters the result is one fraction for each current over the common denominator Δ, the sum over
spanning trees of the products of the resistances outside the tree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import AMPERE, NUMBER, OHM, VOLT
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Quotient,
    Symbol,
    Term,
    auxiliary,
    constant,
    product,
    replace,
    total,
)
from derive.analysis.equations import (
    Collected,
    Letters,
    by_battery,
    collect,
    minus,
    read_letters,
    row_equation,
    scaled,
)
from derive.analysis.laws import choose_unknowns, same_currents
from derive.analysis.loops import choose_loops
from derive.analysis.plan import LinearRow, Singular, best_plan, eliminate
from derive.analysis.system import choose_tree
from derive.circuit.model import Circuit
from derive.derivation.builder import Builder
from derive.derivation.step import (
    BackSubstitute,
    Combine,
    Define,
    Derivation,
    Isolate,
    PutInValues,
    Scaled,
    StepId,
)


@dataclass(frozen=True, slots=True)
class Currents:
    """Where the currents of a derivation are concluded."""

    derivation: Derivation
    formulas: Mapping[Symbol, StepId]
    """Current → step ``I = formula``; empty on the route that puts numbers first."""
    values: Mapping[Symbol, StepId]
    """Current → step ``I = exact value``; empty when letters are left."""
    given: tuple[StepId, ...]
    """The steps that state what the author gives."""
    definitions: tuple[StepId, ...]
    """The steps that name sub-expressions used in the formulas."""


def derive_currents(circuit: Circuit, *, numbers_first: bool = False) -> Currents:
    """Derive every branch current of a circuit and the current of every walk.

    Numbers go in first only where every letter has a value. Raises plan.Singular when the circuit
    does not fix its currents, and loops.DependentLoops.
    """
    builder = Builder()
    builder.add(choose_unknowns(circuit))
    letters = read_letters(circuit, builder, numbers=numbers_first)
    choice = choose_loops(circuit)
    tree = choose_tree(circuit, choice.loops)
    collected = collect(circuit, letters, choice, tree, builder)
    formulas: dict[Symbol, StepId] = {}
    if letters.numeric:
        found = _solve_numbers(circuit, collected, builder)
        values = _others(circuit, collected, found, builder)
    else:
        formulas = _solve_letters(circuit, letters, collected, builder)
        values = _values(circuit, letters, formulas, builder)
    formulas = _walks(circuit, formulas, builder)
    values = _walks(circuit, values, builder)
    derivation = builder.finish()
    named = tuple(k for k, step in enumerate(derivation.steps) if isinstance(step, Define))
    return Currents(derivation, formulas, values, tuple(letters.steps.values()), named)


def _solve_numbers(
    circuit: Circuit, collected: Collected, builder: Builder
) -> dict[Symbol, StepId]:
    """Eliminate as planned and substitute back."""
    rows, steps = list(collected.rows), list(collected.steps)
    unknowns = collected.unknowns
    first = tuple(unknowns.index(s) for s in circuit.choices.eliminate if s in unknowns)
    plan = best_plan(collected.rows, first)
    open_rows = set(range(len(rows)))
    for move in plan:
        open_rows.discard(move.pivot)
        pivot = rows[move.pivot]
        for k in sorted(open_rows):
            if not rows[k].coefficients[move.unknown]:
                continue
            made = eliminate(rows[k], pivot, move.unknown)
            parts = (
                Scaled(multiplier=_number(made.own), premise=steps[k]),
                Scaled(multiplier=_number(made.pivot), premise=steps[move.pivot]),
            )
            rows[k] = made.row
            steps[k] = builder.add(
                Combine(
                    parts=parts,
                    eliminated=(unknowns[move.unknown],),
                    conclusion=row_equation(made.row, unknowns, NUMBER, AMPERE),
                )
            )
    found: dict[Symbol, StepId] = {}
    for move in reversed(plan):
        symbol = unknowns[move.unknown]
        found[symbol] = _back(
            rows[move.pivot], steps[move.pivot], move.unknown, unknowns, found, builder
        )
    return {symbol: found[symbol] for symbol in unknowns}


def _number(fraction: tuple[Poly, Poly]) -> Term:
    return constant(fraction[0].constant_value / fraction[1].constant_value, NUMBER)


def _back(
    row: LinearRow,
    step: StepId,
    unknown: int,
    unknowns: tuple[Symbol, ...],
    found: Mapping[Symbol, StepId],
    builder: Builder,
) -> StepId:
    """Solve a row for its unknown and put in the currents that are known."""
    lead = row.coefficients[unknown].constant_value
    others = [
        (poly, symbol)
        for poly, symbol in zip(row.coefficients, unknowns, strict=True)
        if poly and symbol != unknowns[unknown]
    ]
    symbol = unknowns[unknown]
    factor = constant(1 / lead, NUMBER)
    if not others:
        value = constant(row.right.constant_value / lead, AMPERE)
        return builder.add(
            Isolate(premise=step, symbol=symbol, factor=factor, conclusion=Equation(symbol, value))
        )
    sign = 1 if lead > 0 else -1
    terms = [by_battery(row.right * sign, AMPERE)] if row.right else []
    terms += [minus(scaled(poly * sign, other, NUMBER)) for poly, other in others]
    above = total(tuple(terms))
    open_form = above if abs(lead) == 1 else Quotient(above, constant(abs(lead), NUMBER))
    isolated = builder.add(
        Isolate(premise=step, symbol=symbol, factor=factor, conclusion=Equation(symbol, open_form))
    )
    known = {other: _value(builder, found[other]) for _, other in others}
    exact = row.right.constant_value
    for poly, other in others:
        exact -= poly.constant_value * known[other]
    used = tuple(found[other] for _, other in others)
    shown = replace(open_form, {s: constant(v, AMPERE) for s, v in known.items()})
    put = builder.add(
        BackSubstitute(premise=isolated, definitions=used, conclusion=Equation(symbol, shown))
    )
    return builder.add(
        BackSubstitute(
            premise=put,
            definitions=(),
            conclusion=Equation(symbol, constant(exact / lead, AMPERE)),
        )
    )


def _value(builder: Builder, step: StepId) -> Fraction:
    """Return the exact number on the right of ``I = value``."""
    return Ring(()).poly(builder.equation(step).right).constant_value


def _others(
    circuit: Circuit, collected: Collected, found: Mapping[Symbol, StepId], builder: Builder
) -> dict[Symbol, StepId]:
    """Find the currents the junction rule gives from those of the chords."""
    known = dict(found)
    for branch, step in collected.isolated.items():
        symbol = circuit.branches[branch].current
        right = builder.equation(step).right
        values = {s: constant(_value(builder, known[s]), AMPERE) for s in found}
        shown = replace(right, values)
        exact = Ring(()).poly(shown).constant_value
        known[symbol] = builder.add(
            BackSubstitute(
                premise=step,
                definitions=tuple(found.values()),
                conclusion=Equation(symbol, constant(exact, AMPERE)),
            )
        )
    return {branch.current: known[branch.current] for branch in circuit.branches}


def _solve_letters(
    circuit: Circuit, letters: Letters, collected: Collected, builder: Builder
) -> dict[Symbol, StepId]:
    """Return each current as one fraction over the common denominator.

    Each chord current follows from the collected equations multiplied by the cofactors of its
    column (Cramer 1750), which is one combination a checker can verify without any division.
    """
    size = len(collected.rows)
    matrix = [row.coefficients for row in collected.rows]
    cofactors = [[_cofactor(matrix, row, column) for row in range(size)] for column in range(size)]
    determinant = letters.ring.zero
    for row in range(size):
        determinant = determinant + matrix[row][0] * cofactors[0][row] if size else determinant
    if determinant.is_zero:
        raise Singular
    content = determinant.content() * (1 if determinant.leading > 0 else -1)
    delta_dimension = OHM**size
    delta = auxiliary("Delta", delta_dimension)
    below = determinant / content
    rule = builder.add(
        Define(
            symbol=delta,
            conclusion=Equation(delta, letters.ring.term(below, delta_dimension)),
        )
    )
    above_dimension = VOLT * OHM ** (size - 1)
    numerators: dict[Symbol, Poly] = {}
    steps: dict[Symbol, StepId] = {}
    for column, symbol in enumerate(collected.unknowns):
        above = letters.ring.zero
        parts = []
        for row in range(size):
            multiplier = cofactors[column][row] / content
            above = above + multiplier * collected.rows[row].right
            if multiplier:
                term = letters.ring.term(multiplier, OHM ** (size - 1))
                parts.append(Scaled(multiplier=term, premise=collected.steps[row]))
        top = by_battery(above, above_dimension)
        combined = builder.add(
            Combine(
                parts=tuple(parts),
                eliminated=_removed(collected, cofactors[column], column),
                rewriting=(rule,),
                conclusion=Equation(product(delta, symbol), top),
            )
        )
        numerators[symbol] = above
        steps[symbol] = builder.add(
            Isolate(
                premise=combined,
                symbol=symbol,
                factor=Quotient(ONE, delta),
                rewriting=(rule,),
                conclusion=Equation(symbol, _over(top, delta)),
            )
        )
    for branch, step in collected.isolated.items():
        symbol = circuit.branches[branch].current
        currents, _ = _flow(builder, step, collected.unknowns)
        above = letters.ring.zero
        for s, flow in currents.items():
            above = above + numerators[s] * flow
        steps[symbol] = builder.add(
            BackSubstitute(
                premise=step,
                definitions=tuple(steps[s] for s in currents),
                rewriting=(rule,),
                conclusion=Equation(symbol, _over(by_battery(above, above_dimension), delta)),
            )
        )
    return {branch.current: steps[branch.current] for branch in circuit.branches}


def _removed(collected: Collected, multipliers: list[Poly], column: int) -> tuple[Symbol, ...]:
    """Return the other unknowns that the equations used hold."""
    used = [row for row, m in zip(collected.rows, multipliers, strict=True) if m]
    return tuple(
        symbol
        for k, symbol in enumerate(collected.unknowns)
        if k != column and any(row.coefficients[k] for row in used)
    )


def _over(above: Term, below: Term) -> Term:
    return ZERO if above == ZERO else Quotient(above, below)


def _flow(
    builder: Builder, step: StepId, unknowns: tuple[Symbol, ...]
) -> tuple[dict[Symbol, Fraction], Fraction]:
    """Return the factor of each chord current on the right of ``I = combination``."""
    parts, rest = Ring(unknowns).poly(builder.equation(step).right).linear(unknowns)
    flows = {s: p.constant_value for s, p in zip(unknowns, parts, strict=True) if p}
    return flows, rest.constant_value


def _cofactor(matrix: list[tuple[Poly, ...]], row: int, column: int) -> Poly:
    minor = [
        tuple(c for k, c in enumerate(line) if k != column)
        for number, line in enumerate(matrix)
        if number != row
    ]
    ring = matrix[0][0].ring
    value = _determinant(minor, ring.one)
    return -value if (row + column) % 2 else value


def _determinant(matrix: list[tuple[Poly, ...]], one: Poly) -> Poly:
    """Expand along the rows, keeping the minors of the rows below by their columns."""
    minors: dict[tuple[int, ...], Poly] = {(): one}
    size = len(matrix)
    for line in reversed(matrix):
        wider: dict[tuple[int, ...], Poly] = {}
        for columns, minor in minors.items():
            for column in range(size):
                if column in columns or not line[column] or not minor:
                    continue
                place = sum(1 for c in columns if c < column)
                grown = tuple(sorted((*columns, column)))
                part = line[column] * minor * (-1 if place % 2 else 1)
                wider[grown] = wider[grown] + part if grown in wider else part
        minors = wider
    return minors.get(tuple(range(size)), one.ring.zero)


def _values(
    circuit: Circuit, letters: Letters, formulas: Mapping[Symbol, StepId], builder: Builder
) -> dict[Symbol, StepId]:
    """Put the given values into the formulas; nothing when a letter is left."""
    numbers = read_numbers(circuit)
    if numbers is None:
        return {}
    found: dict[Symbol, StepId] = {}
    given = tuple(letters.steps.values())
    definitions = tuple(
        k for k in range(formulas[circuit.branches[0].current])
        if isinstance(builder.step(k), Define)
    )  # fmt: skip
    for symbol, step in formulas.items():
        exact = numbers[symbol]
        found[symbol] = builder.add(
            PutInValues(
                premise=step,
                values=(*given, *definitions),
                conclusion=Equation(symbol, constant(exact, AMPERE)),
            )
        )
    return found


def read_numbers(circuit: Circuit) -> dict[Symbol, Fraction] | None:
    """Return every branch current as an exact number, or None when a letter has no value."""
    scratch = Builder()
    letters = read_letters(circuit, scratch, numbers=True)
    if not letters.numeric:
        return None
    choice = choose_loops(circuit)
    collected = collect(circuit, letters, choice, choose_tree(circuit, choice.loops), scratch)
    found = _solve_numbers(circuit, collected, scratch)
    return {s: _value(scratch, k) for s, k in _others(circuit, collected, found, scratch).items()}


def _walks(
    circuit: Circuit, found: Mapping[Symbol, StepId], builder: Builder
) -> dict[Symbol, StepId]:
    """Add the currents of walks that follow another walk in the same branch."""
    known = dict(found)
    if not found:
        return known
    for rule in same_currents(circuit):
        own = rule.conclusion.right
        source = next(s for s in found if s == own or getattr(own, "term", None) == s)
        right = builder.equation(found[source]).right
        step = builder.add(rule)
        known[rule.walk] = builder.add(
            BackSubstitute(
                premise=step,
                definitions=(found[source],),
                conclusion=Equation(rule.walk, right if own == source else minus(right)),
            )
        )
    return known
