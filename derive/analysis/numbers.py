"""Elimination with the numbers put in: the plan carried out, and back-substitution."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    Equation,
    Quantity,
    Quotient,
    Symbol,
    Term,
    constant,
    replace,
    symbols,
    total,
)
from derive.analysis.equations import Collected, in_order
from derive.analysis.expressions import by_battery, minus, row_equation, scaled
from derive.analysis.letters import Letters
from derive.analysis.number_plan import best_plan
from derive.analysis.plan import Elimination, LinearRow, eliminate
from derive.analysis.sought import sought_unknowns
from derive.circuit.model import Circuit
from derive.derivation.algebra import BackSubstitute, Combine, Isolate, Scaled
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId


def solve_numbers(circuit: Circuit, collected: Collected, builder: Builder) -> dict[Symbol, StepId]:
    """Eliminate by the best plan and substitute back. Raises plan.Singular."""
    unknowns = collected.unknowns
    first = tuple(unknowns.index(s) for s in circuit.choices.eliminate if s in unknowns)
    return carry_out(best_plan(collected.rows, first), collected, builder)


def carry_out(
    plan: tuple[Elimination, ...], collected: Collected, builder: Builder
) -> dict[Symbol, StepId]:
    """Write the steps of a plan and return where each unknown is found."""
    rows, steps = list(collected.rows), list(collected.steps)
    unknowns = collected.unknowns
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
                    conclusion=row_equation(made.row, unknowns, collected.right),
                )
            )
    builder.begin(Goal.GO_BACK)
    found: dict[Symbol, StepId] = {}
    for move in reversed(plan):
        symbol = unknowns[move.unknown]
        found[symbol] = _back(
            rows[move.pivot],
            steps[move.pivot],
            move.unknown,
            unknowns,
            collected.right,
            found,
            builder,
        )
    return {symbol: found[symbol] for symbol in unknowns}


def _number(fraction: tuple[Poly, Poly]) -> Term:
    return constant(fraction[0].constant_value / fraction[1].constant_value, NUMBER)


def _back(
    row: LinearRow,
    step: StepId,
    unknown: int,
    unknowns: tuple[Symbol, ...],
    right: Dimension,
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
    unit = right / symbol.dimension
    factor: Term = constant(1 / lead, NUMBER)
    if unit != NUMBER:
        factor = Quotient(constant(1 / lead, NUMBER), Quantity(Fraction(1), unit))
    if not others:
        value = constant(row.right.constant_value / lead, symbol.dimension)
        return builder.add(
            Isolate(premise=step, symbol=symbol, factor=factor, conclusion=Equation(symbol, value))
        )
    sign = 1 if lead > 0 else -1
    terms = [by_battery(row.right * sign, right)] if row.right else []
    terms += [minus(scaled(poly * sign, other, right / other.dimension)) for poly, other in others]
    above = total(tuple(terms))
    plain = abs(lead) == 1 and unit == NUMBER
    open_form = above if plain else Quotient(above, constant(abs(lead), unit))
    isolated = builder.add(
        Isolate(premise=step, symbol=symbol, factor=factor, conclusion=Equation(symbol, open_form))
    )
    known = {o: constant(exact_value(builder, found[o]), o.dimension) for _, o in others}
    used = tuple(found[other] for _, other in others)
    return put_in(builder, isolated, used, replace(open_form, known))


def exact_value(builder: Builder, step: StepId) -> Fraction:
    """Return the exact number on the right of ``I = value``."""
    return Ring(()).poly(builder.equation(step).right).constant_value


def other_currents(
    circuit: Circuit,
    letters: Letters,
    collected: Collected,
    found: Mapping[Symbol, StepId],
    builder: Builder,
) -> dict[Symbol, StepId]:
    """Find what follows from the unknowns: the other currents, and the dependent sources.

    With sought emfs and source currents, which are unknowns themselves.
    """
    known = {**collected.still, **found}
    for symbol, step in in_order(builder, collected.others, collected.controls):
        right = builder.equation(step).right
        for voltage, law in collected.controls.items():
            if voltage in set(symbols(right)) and voltage not in known:
                known[voltage] = _reckoned(builder, law, known, letters)
        if next(symbols(right), None) is None:
            known[symbol] = step  # a current that the sources alone decide
            continue
        known[symbol] = _reckoned(builder, step, known, letters)
    sought = (symbol for symbol in circuit.sought if symbol in known)
    wanted = (*(branch.current for branch in circuit.branches), *circuit.dependent, *sought)
    return {symbol: known[symbol] for symbol in wanted} | {
        voltage: known[voltage] for voltage in sought_unknowns(circuit)
    }


def _reckoned(
    builder: Builder, law: StepId, known: Mapping[Symbol, StepId], letters: Letters
) -> StepId:
    """Put what is known into a law, and reckon it out."""
    right = builder.equation(law).right
    values: dict[Symbol, Term] = {}
    used: dict[StepId, None] = {}
    waiting = list(dict.fromkeys(symbols(right)))
    for symbol in waiting:
        step = known.get(symbol)
        if step is not None:
            values[symbol] = constant(exact_value(builder, step), symbol.dimension)
        else:
            step = letters.steps[symbol]
            value = letters.images[symbol].constant_value
            values[symbol] = constant(value, symbol.dimension)
            waiting += symbols(builder.equation(step).right)  # what it is tied to
        used[step] = None
    return put_in(builder, law, tuple(used), replace(right, values))


def put_in(builder: Builder, step: StepId, used: tuple[StepId, ...], shown: Term) -> StepId:
    """Substitute known currents into ``symbol = term``: first as it stands, then reckoned out."""
    symbol = builder.equation(step).left
    assert isinstance(symbol, Symbol)
    exact = constant(Ring(()).poly(shown).constant_value, symbol.dimension)
    put = builder.add(
        BackSubstitute(premise=step, definitions=used, conclusion=Equation(symbol, shown))
    )
    if exact == shown:
        return put
    return builder.add(
        BackSubstitute(premise=put, definitions=(), conclusion=Equation(symbol, exact))
    )
