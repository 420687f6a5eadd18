"""Elimination in letters, with a name for every sum that comes up.

A person who eliminates with letters does not carry the sums along: each gets a name as soon as it
arises, so every line stays short however large the circuit is.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from derive.algebra.dimension import Dimension
from derive.algebra.polynomial import Poly
from derive.algebra.term import (
    ONE,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    Term,
    negate,
    quotient,
    total,
)
from derive.analysis.equations import Collected
from derive.analysis.expressions import by_battery, minus, row_equation, scaled
from derive.analysis.letters import Letters, letters_dimension
from derive.analysis.named_plan import NamedPlan, plan_with_names
from derive.analysis.naming import NamedRow, Naming
from derive.derivation.algebra import Combine, Define, Isolate, Scaled
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True)
class NamedElimination:
    """The steps of an elimination with names."""

    definitions: Mapping[Symbol, StepId]
    """Name → its `Define` step, in order."""
    isolated: Mapping[Symbol, StepId]
    """Unknown → step ``I = expression in names and unknowns before it``, in order of finding."""


MOST_UNKNOWNS = 7
"""More unknowns would need more names than a reader can keep apart."""


def names_fit(letters: Letters, collected: Collected) -> bool:
    """Tell whether an elimination with names is worth writing.

    Numbers with units among the letters would leave the units of the names open; and where each
    equation holds one unknown there is nothing to eliminate.
    """
    pure = all(sum(m) == 1 for p in letters.images.values() for m in p.monomials())
    if collected.controls or collected.forms.dependent or collected.forms.sought:
        return False
    coupled = any(sum(map(bool, row.coefficients)) > 1 for row in collected.rows)
    return pure and coupled and 3 <= len(collected.unknowns) <= MOST_UNKNOWNS


def eliminate_with_names(
    letters: Letters,
    collected: Collected,
    builder: Builder,
    first: tuple[int, ...] = (),
    zeros: Collection[Symbol] = (),
) -> NamedElimination | None:
    """Write the elimination as steps; None when no divisor is safe to use.

    `first` are unknowns the author wants removed, in order; `zeros` are resistances that will be
    zero when the numbers are put in.
    """
    plan = plan_with_names(letters, collected, first, zeros)
    return None if plan is None else carry_out_named(plan, collected, builder)


def carry_out_named(plan: NamedPlan, collected: Collected, builder: Builder) -> NamedElimination:
    """Write the steps of a plan."""
    unknowns = collected.unknowns
    definitions: dict[Symbol, StepId] = {}

    def define(naming: Naming) -> None:
        term = by_battery(naming.value, naming.symbol.dimension)
        equation = Equation(naming.symbol, term)
        definitions[naming.symbol] = builder.add(Define(symbol=naming.symbol, conclusion=equation))

    builder.begin(Goal.NAME)
    for naming in plan.names:
        define(naming)
    steps = list(collected.steps)
    rows = list(plan.rows)
    isolated: dict[Symbol, StepId] = {}
    bare = [naming.symbol for naming in plan.names]

    def rules(used: tuple[Symbol, ...]) -> tuple[StepId, ...]:
        # The collected rows hold the sums themselves, and in later ones they may be written out.
        return tuple(definitions[s] for s in dict.fromkeys((*bare, *used)))

    for move in plan.moves:
        builder.begin(Goal.ELIMINATE)
        bare += [naming.symbol for naming in move.named if naming.is_bare]
        for naming in move.named:
            define(naming)
        fresh = tuple(naming.symbol for naming in move.named)
        pivot = move.choice.pivot
        for item, after in zip(move.made, move.after, strict=True):
            old, theirs = item.before
            own_unit = item.raw.unit / old.unit
            parts = (
                Scaled(multiplier=_term(item.own.own, own_unit), premise=steps[item.number]),
                Scaled(
                    multiplier=_term(item.own.pivot, item.raw.unit / theirs.unit),
                    premise=steps[pivot],
                ),
            )
            rule = rules(fresh)
            rows[item.number] = after
            steps[item.number] = builder.add(
                Combine(
                    parts=parts,
                    eliminated=(unknowns[move.choice.unknown],),
                    rewriting=rule,
                    conclusion=row_equation(after.row, unknowns, after.unit),
                )
            )
    builder.begin(Goal.GO_BACK)
    for move in reversed(plan.moves):
        number, unknown = move.choice.pivot, move.choice.unknown
        isolated[unknowns[unknown]] = builder.add(
            _isolate(rows[number], unknowns, unknown, steps[number], rules(()))
        )
    return NamedElimination(definitions, isolated)


def _term(fraction: tuple[Poly, Poly], unit: Dimension) -> Term:
    above, below = fraction
    if below == 1:
        return above.ring.term(above, unit)
    under = letters_dimension(below)
    return Quotient(above.ring.term(above, unit * under), below.ring.term(below, under))


def _isolate(
    named: NamedRow,
    unknowns: tuple[Symbol, ...],
    unknown: int,
    premise: StepId,
    rewriting: tuple[StepId, ...],
) -> Isolate:
    """Solve a row for one unknown, its coefficient made positive."""
    symbol, row = unknowns[unknown], named.row
    lead = row.coefficients[unknown]
    sign = -1 if lead.leading < 0 else 1
    terms: list[Term] = []
    right = row.right * sign
    if right:
        found = by_battery(right, named.unit)
        terms.append(found)
    for poly, other in zip(row.coefficients, unknowns, strict=True):
        if poly and other != symbol:
            terms.append(minus(scaled(poly * sign, other, named.coefficient)))
    below = lead.ring.term(lead * sign, named.coefficient)
    flat = sorted(_flat(terms), key=lambda term: isinstance(term, Negative))
    opposite = bool(flat) and all(isinstance(term, Negative) for term in flat)
    above = total(tuple(negate(term) if opposite else term for term in flat))
    solved = quotient(Negative(above) if opposite else above, below) if terms else above
    factor = Quotient(ONE, below)
    return Isolate(
        premise=premise,
        symbol=symbol,
        factor=minus(factor) if sign < 0 else factor,
        rewriting=rewriting,
        conclusion=Equation(symbol, solved),
    )


def _flat(terms: list[Term]) -> tuple[Term, ...]:
    flat: list[Term] = []
    for term in terms:
        flat.extend(term.terms if isinstance(term, Sum) else (term,))
    return tuple(flat)
