"""Elimination with the numbers put in: the plan carried out, and back-substitution."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from derive.algebra.dimension import AMPERE, NUMBER
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    Equation,
    Quotient,
    Symbol,
    Term,
    constant,
    replace,
    symbols,
    total,
)
from derive.analysis.equations import Collected, by_battery, minus, row_equation, scaled
from derive.analysis.plan import LinearRow, best_plan, eliminate
from derive.circuit.model import Circuit
from derive.derivation.builder import Builder
from derive.derivation.step import BackSubstitute, Combine, Goal, Isolate, Scaled, StepId


def solve_numbers(circuit: Circuit, collected: Collected, builder: Builder) -> dict[Symbol, StepId]:
    """Eliminate as planned and substitute back."""
    rows, steps = list(collected.rows), list(collected.steps)
    unknowns = collected.unknowns
    first = tuple(unknowns.index(s) for s in circuit.choices.eliminate if s in unknowns)
    plan = best_plan(collected.rows, first)
    open_rows = set(range(len(rows)))
    for move in plan:
        open_rows.discard(move.pivot)
        pivot = rows[move.pivot]
        builder.begin(Goal.ELIMINATE)
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
    builder.begin(Goal.GO_BACK)
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
    known = {other: constant(exact_value(builder, found[other]), AMPERE) for _, other in others}
    used = tuple(found[other] for _, other in others)
    return put_in(builder, isolated, used, replace(open_form, known))


def exact_value(builder: Builder, step: StepId) -> Fraction:
    """Return the exact number on the right of ``I = value``."""
    return Ring(()).poly(builder.equation(step).right).constant_value


def other_currents(
    circuit: Circuit, collected: Collected, found: Mapping[Symbol, StepId], builder: Builder
) -> dict[Symbol, StepId]:
    """Find the currents the junction rule gives from those of the chords."""
    known = dict(found)
    for branch, step in collected.isolated.items():
        symbol = circuit.branches[branch].current
        right = builder.equation(step).right
        used = {s: known[s] for s in found if s in set(symbols(right))}
        values = {s: constant(exact_value(builder, k), AMPERE) for s, k in used.items()}
        known[symbol] = put_in(builder, step, tuple(used.values()), replace(right, values))
    return {branch.current: known[branch.current] for branch in circuit.branches}


def put_in(builder: Builder, step: StepId, used: tuple[StepId, ...], shown: Term) -> StepId:
    """Substitute known currents into ``symbol = term``: first as it stands, then reckoned out."""
    symbol = builder.equation(step).left
    exact = constant(Ring(()).poly(shown).constant_value, AMPERE)
    put = builder.add(
        BackSubstitute(premise=step, definitions=used, conclusion=Equation(symbol, shown))
    )
    if exact == shown:
        return put
    return builder.add(
        BackSubstitute(premise=put, definitions=(), conclusion=Equation(symbol, exact))
    )
