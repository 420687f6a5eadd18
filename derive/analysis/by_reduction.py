"""The currents by reduction: parts are put for others until they can be read off, then back."""

from __future__ import annotations

from derive.analysis.exchange import (
    ALL,
    SIMPLE,
    derive_reduction,
    derive_way_back,
    reduces,
    rests_on_values,
    without_values,
)
from derive.analysis.known_branches import still_currents
from derive.analysis.laws import choose_unknowns
from derive.analysis.letters import read_letters
from derive.analysis.loops import LoopChoice, choose_loops
from derive.analysis.reduction import judge
from derive.analysis.solve import Currents, add_walks
from derive.analysis.taken import taken_names
from derive.circuit.model import Circuit, Loop, Method
from derive.circuit.topology import fundamental_loops, graph_of, spanning_forest
from derive.circuit.values import letters_without_value
from derive.derivation.builder import Builder
from derive.derivation.exchanges import LookAtAll
from derive.derivation.goal import Goal

_MOST_SEARCHED = 12
"""Loops of a circuit in which a good one is looked for."""


class Irreducible(Exception):  # noqa: N818  (a finding about the circuit)
    """No exchange known here leads on, though the author asks for a reduction."""


def methods_for(
    circuit: Circuit, *, in_letters: bool = False, by_loop: bool = False
) -> tuple[Method, ...]:
    """Return the methods to be used, the one that gives the answers first.

    The author's choice; else reduction where series and parallel steps and what is known of
    potentials lead to all currents. With `in_letters` a reduction that rests on given values, and
    so leads to no formula that holds for others, is not chosen; with `by_loop`, which is about
    loops, none is. Raises Irreducible.
    """
    chosen = circuit.choices.methods
    if not circuit.branches or circuit.has_sources or circuit.dependent or circuit.sought:
        if Method.REDUCTION in chosen and circuit.branches:
            raise Irreducible
        return (Method.BRANCH_CURRENTS,)
    if Method.REDUCTION in chosen and not reduces(circuit, ALL):
        raise Irreducible
    if chosen:
        return chosen
    simple = (
        not (by_loop or circuit.choices.of_equations)
        and (not letters_without_value(circuit) or not circuit.has_numbers)
        and judge(circuit).reducible
        and reduces(circuit, SIMPLE)
        and not (in_letters and rests_on_values(circuit, LookAtAll(), SIMPLE))
    )
    return (Method.REDUCTION if simple else Method.BRANCH_CURRENTS,)


def currents_by_reduction(
    circuit: Circuit,
    before: Currents | None = None,
    *,
    numbers_first: bool = False,
    expanded: bool = False,
    digits: int = 3,
    in_letters: bool = False,
) -> Currents:
    """Derive every branch current, and the current of every walk, by reduction.

    With numbers first no formulas are given, nor where values decided how to reduce. `before` is
    what another method has found, whose derivation is continued; `digits` are the significant ones
    of results on the way. With `in_letters` no step rests on values where it can be done without.
    Raises loops.DependentLoops.
    """
    builder = Builder(None if before is None else before.derivation)
    if before is None:
        builder.begin(Goal.COUNT)
        builder.add(choose_unknowns(circuit))
    builder.begin(Goal.GIVEN)
    letters = read_letters(circuit, builder, numbers=False) if before is None else before.letters
    builder.begin(Goal.KNOWN)
    still = still_currents(circuit, builder) if before is None else before.still(circuit)
    builder.begin(Goal.REDUCTION)
    taken = taken_names(circuit, builder)
    # Without values, steps that rest on them cannot be chosen.
    in_letters = in_letters and reduces(without_values(circuit), ALL)
    chosen = without_values(circuit) if in_letters else circuit
    means = SIMPLE if reduces(chosen, SIMPLE) else ALL
    reduction = derive_reduction(
        circuit, letters.steps, builder, taken, means, digits, in_letters=in_letters
    )
    assert reduction.complete
    found = derive_way_back(circuit, reduction, letters.steps, expanded=expanded)
    special = rests_on_values(chosen, LookAtAll(), means)
    numeric = not letters_without_value(circuit)
    formulas = {} if special or (numbers_first and numeric) else found.formulas
    builder.begin(Goal.WALKS)
    formulas = add_walks(circuit, formulas, builder)
    values = add_walks(circuit, found.values, builder)
    formulas = {**formulas, **still} if formulas else formulas
    values = {**values, **still} if values else values
    return Currents(
        derivation=builder.finish(),
        letters=letters,
        loops=LoopChoice((), _check_loop(circuit), windows=False),
        closed=None,
        formulas=formulas,
        values=values,
        numeric=numeric,
        given=tuple(letters.steps.values()),
        definitions=(),
    )


def _check_loop(circuit: Circuit) -> Loop | None:
    """Return a loop to check by; none has been used."""
    graph = graph_of(circuit)
    if len(graph.edges) - graph.size <= _MOST_SEARCHED:
        choice = choose_loops(circuit)
        return choice.check or next(iter(choice.loops), None)
    loops = map(Loop, fundamental_loops(graph, spanning_forest(graph)))
    return min(loops, key=lambda loop: len(loop.hops), default=None)
