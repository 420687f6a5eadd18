"""Currents that are known beforehand, and those that the junction rule gives by the others."""

from __future__ import annotations

from collections.abc import Mapping

from derive.algebra.dimension import AMPERE
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Quantity,
    Sum,
    Symbol,
    Term,
    constant,
    number,
    symbols,
    total,
)
from derive.analysis.expressions import by_battery, minus
from derive.analysis.laws import known_currents, same_currents
from derive.analysis.letters import Letters, tied_to
from derive.analysis.system import TreeChoice
from derive.circuit.model import Circuit
from derive.derivation.algebra import BackSubstitute, Isolate, PutInValues
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId


def still_currents(circuit: Circuit, builder: Builder) -> dict[Symbol, StepId]:
    """State that no current flows in the walks that a gap interrupts."""
    laws = [law for law in known_currents(circuit) if law.conclusion.right == ZERO]
    return {law.current: builder.add(law) for law in laws}


def known_branches(circuit: Circuit, letters: Letters, builder: Builder) -> dict[int, StepId]:
    """State the currents that sources set; put in what these are tied to, or their values.

    Then those that the author gives.
    """
    found: dict[int, StepId] = {}
    places = {branch.current: k for k, branch in enumerate(circuit.branches)}
    for law in known_currents(circuit):
        if law.current not in places:
            continue
        step = builder.add(law)
        found[places[law.current]] = step
        right = law.conclusion.right
        unknown = (*circuit.dependent, *circuit.sought)
        if any(s in unknown for s in symbols(right)):
            continue
        value = Ring(tuple(symbols(right))).poly(right).compose(letters.images, letters.ring)
        if value.is_constant:
            put = constant(value.constant_value, AMPERE)
            found[places[law.current]] = builder.add(
                PutInValues(
                    premise=step,
                    values=tuple(letters.steps.values()),
                    conclusion=Equation(law.current, put),
                )
            )
        elif not all(s in letters.ring for s in symbols(right)):
            found[places[law.current]] = builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=tied_to(symbols(right), letters, builder),
                    conclusion=Equation(law.current, by_battery(value, AMPERE)),
                )
            )
    return found | _given_currents(circuit, letters, builder)


def _given_currents(circuit: Circuit, letters: Letters, builder: Builder) -> dict[int, StepId]:
    """Tell the currents that the author gives by the arrows of their branches.

    A letter that is the current of its branch says nothing more, and is left out.
    """
    found: dict[int, StepId] = {}
    laws = {law.walk: law for law in same_currents(circuit)}
    for index, walk in circuit.given_currents.items():
        own = circuit.branches[index].current
        put_in = walk.current not in letters.ring
        if walk.current == own:
            if put_in:
                found[index] = letters.steps[own]
            continue
        law = builder.add(laws[walk.current])
        right = letters.images[walk.current].constant_value if put_in else None
        shown = walk.current if right is None else constant(right, AMPERE)
        found[index] = builder.add(
            Isolate(
                premise=law,
                symbol=own,
                factor=number(-1 if walk.along else 1),
                definitions=(letters.steps[walk.current],) if put_in else (),
                conclusion=Equation(own, shown if walk.along else minus(shown)),
            )
        )
    return found


def isolate(
    circuit: Circuit,
    tree: TreeChoice,
    law: StepId,
    branch: int,
    earlier: Mapping[int, StepId],
    letters: Letters,
    builder: Builder,
) -> StepId:
    """Solve the rule of a junction for the current of a branch."""
    target = circuit.branches[branch]
    rule = builder.equation(law)
    # In left − right of the rule, currents of the left side count as plus.
    sign = 1 if target.current in symbols(rule.left) else -1
    flowing: list[Term] = []
    for chord, flow in zip(tree.chords, tree.flows[branch], strict=True):
        if flow:
            found: Term = circuit.branches[chord].current
            if chord in tree.sources or (chord in tree.given and chord in earlier):
                found = builder.equation(earlier[chord]).right
            if not (isinstance(found, Quantity) and found.value == 0):
                flowing.append(found if flow > 0 else minus(found))
    met = {*symbols(rule.left), *symbols(rule.right)}
    return builder.add(
        Isolate(
            premise=law,
            symbol=target.current,
            factor=number(sign),
            definitions=tuple(
                step for k, step in earlier.items() if circuit.branches[k].current in met
            ),
            conclusion=Equation(target.current, total(_together(flowing, letters))),
        )
    )


def _together(flowing: list[Term], letters: Letters) -> tuple[Term, ...]:
    """Return what flows, the positive in front; what ties make of source currents is added up."""
    plain = [_unsigned(term) for term in flowing]
    driving = [term for term in plain if not isinstance(term, Quantity)]
    if len(set(driving)) < len(driving) or not all(isinstance(t, Symbol) for t in driving):
        driven = [t for t in flowing if all(s in letters.ring for s in symbols(t))]
        first = flowing.index(driven[0])
        added = by_battery(letters.ring.poly(total(tuple(driven))), AMPERE)
        flowing = [t for t in flowing if t not in driven]
        if added != ZERO:
            flowing[first:first] = added.terms if isinstance(added, Sum) else (added,)
    return tuple(sorted(flowing, key=lambda term: isinstance(term, Negative)))


def _unsigned(term: Term) -> Term:
    return term.term if isinstance(term, Negative) else term
