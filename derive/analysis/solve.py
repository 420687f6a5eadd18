"""The derivation by branch currents, in letters or with the numbers put in first.

Method: Kirchhoff 1847. The junction rule removes the currents of a spanning tree, the loop rule
gives one equation for each of the others, and these are solved in the order that a search for the
least writing found. With numbers first that is all. In letters, three or more loops are eliminated
with a name for every sum; then each current is written as one fraction of polynomials, and the
numbers are put in last: into those fractions where they are short, else into the names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from derive.algebra.term import Equation, Symbol, SymbolKind
from derive.analysis.closed import ClosedForms, derive_closed_forms
from derive.analysis.equations import Collected, collect
from derive.analysis.expressions import minus
from derive.analysis.known_branches import still_currents
from derive.analysis.laws import choose_unknowns, same_currents
from derive.analysis.letters import Letters, read_letters
from derive.analysis.loops import LoopChoice, choose_loops
from derive.analysis.named import NamedElimination, eliminate_with_names, names_fit
from derive.analysis.numbers import other_currents, solve_numbers
from derive.analysis.put_in import given_numbers, values_of_forms, values_of_names
from derive.analysis.sought_found import (
    check_currents,
    check_signs,
    resistances_in_letters,
    resistances_in_numbers,
)
from derive.analysis.system import TreeChoice, choose_tree
from derive.circuit.model import Circuit
from derive.circuit.solution import general_solution
from derive.circuit.values import letters_without_value
from derive.derivation.algebra import BackSubstitute
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step import Derivation
from derive.derivation.step_id import StepId

_NO_LOOPS = LoopChoice((), None, windows=False)
_NO_TREE = TreeChoice("", (), (), ())
"""Where no loop is closed, dependent sources alone are left to be found."""

PRODUCTS_SHOWN = 20
"""A denominator with more products is not written out on the page (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Currents:
    """Where the currents of a derivation are concluded."""

    derivation: Derivation
    letters: Letters
    loops: LoopChoice
    closed: ClosedForms | None
    """None on the route that puts numbers first."""
    formulas: Mapping[Symbol, StepId]
    """Current → step ``I = formula``; empty on the route that puts numbers first."""
    values: Mapping[Symbol, StepId]
    """Current → step ``I = exact value``, with the letters that have no value; empty when nothing
    has one."""
    numeric: bool
    """True when every quantity of the circuit has a number."""
    given: tuple[StepId, ...]
    """The steps that state what the author gives."""
    definitions: tuple[StepId, ...]
    """The steps that name sub-expressions used in the formulas."""

    def still(self, circuit: Circuit) -> dict[Symbol, StepId]:
        """Return the steps that say of walks that no current can flow in them."""
        known = {**self.formulas, **self.values}
        return {b.current: known[b.current] for b in circuit.idle if b.current in known}

    def quantities(self, circuit: Circuit) -> dict[Symbol, StepId]:
        """Return the steps that tell the values of quantities: as given, or as found if sought."""
        found = {s: self.values.get(s, self.formulas.get(s)) for s in circuit.sought}
        return {**self.letters.steps, **{s: k for s, k in found.items() if k is not None}}


def derive_currents(
    circuit: Circuit, *, numbers_first: bool = False, by_loop: bool = False
) -> Currents:
    """Derive every branch current of a circuit and the current of every walk.

    Numbers go in first only where every letter has a value. With `by_loop` the numerators of the
    formulas are grouped by loops instead of batteries. Raises plan.Singular when the circuit does
    not fix its currents, and loops.DependentLoops.
    """
    builder = Builder()
    if not (circuit.branches or circuit.dependent):
        return _nothing_flows(circuit, builder)
    if circuit.branches:
        builder.begin(Goal.COUNT)
        builder.add(choose_unknowns(circuit))
    builder.begin(Goal.GIVEN)
    numbers = numbers_first and not letters_without_value(circuit)
    letters = read_letters(circuit, builder, numbers=numbers)
    choice, tree = _NO_LOOPS, _NO_TREE
    if circuit.branches:
        choice = choose_loops(circuit)
        tree = choose_tree(circuit, choice.loops)
    collected = collect(circuit, letters, choice, tree, builder)
    formulas: Mapping[Symbol, StepId] = {}
    definitions: tuple[StepId, ...] = ()
    closed = None
    if letters.numeric:
        found = solve_numbers(circuit, collected, builder)
        builder.begin(Goal.REST)
        values = other_currents(circuit, letters, collected, found, builder)
        builder.begin(Goal.SOUGHT)
        values |= resistances_in_numbers(collected, values, builder)
    else:
        named = _named(circuit, letters, collected, builder)
        builder.begin(Goal.FRACTIONS)
        plain = not (circuit.has_sources or circuit.sought)
        shares = general_solution(circuit) if by_loop and plain else None
        closed = derive_closed_forms(circuit, letters, collected, builder, shares)
        builder.begin(Goal.SOUGHT)
        closed = resistances_in_letters(circuit, letters, collected, closed, builder)
        check_currents(circuit, collected, closed, letters, builder)
        formulas, definitions = closed.steps, tuple(closed.definitions.values())
        builder.begin(Goal.VALUES)
        values = _values(circuit, letters, collected, closed, named, builder)
    known = given_numbers(circuit, letters)
    numeric = bool(values) and len(known) == len(letters.ring.symbols)
    check_signs(values, circuit, builder)
    formulas, values = _with_given(circuit, letters, formulas, values)
    builder.begin(Goal.WALKS)
    formulas = add_walks(circuit, formulas, builder)
    values = add_walks(circuit, values, builder)
    formulas = {**formulas, **collected.still} if formulas else formulas
    values = {**values, **collected.still} if values else values
    return Currents(
        builder.finish(),
        letters,
        choice,
        closed,
        formulas,
        values,
        numeric,
        tuple(k for s, k in letters.steps.items() if s not in circuit.dependent),
        definitions,
    )


def _with_given(
    circuit: Circuit,
    letters: Letters,
    formulas: Mapping[Symbol, StepId],
    values: Mapping[Symbol, StepId],
) -> tuple[dict[Symbol, StepId], dict[Symbol, StepId]]:
    """Add the currents that the author gives; in formulas they stay letters unless they are 0."""
    given = {c.symbol: letters.steps[c.symbol] for c in circuit.conditions}
    currents = {s: k for s, k in given.items() if s.kind is SymbolKind.CURRENT}
    nothing = {s: k for s, k in currents.items() if s not in letters.ring}
    return (
        {**formulas, **nothing} if formulas else {},
        {**values, **currents} if values else {},
    )


def _nothing_flows(circuit: Circuit, builder: Builder) -> Currents:
    """Tell that every current is zero, since no loop is closed."""
    builder.begin(Goal.GIVEN)
    letters = read_letters(circuit, builder, numbers=False)
    builder.begin(Goal.KNOWN)
    still = still_currents(circuit, builder)
    return Currents(
        builder.finish(),
        letters,
        _NO_LOOPS,
        None,
        still,
        still,
        not letters_without_value(circuit),
        tuple(letters.steps.values()),
        (),
    )


def _named(
    circuit: Circuit, letters: Letters, collected: Collected, builder: Builder
) -> NamedElimination | None:
    if not names_fit(letters, collected):
        return None
    unknowns = collected.unknowns
    first = tuple(unknowns.index(s) for s in circuit.choices.eliminate if s in unknowns)
    zeros = [s for s, value in given_numbers(circuit, letters).items() if not value]
    return eliminate_with_names(letters, collected, builder, first, zeros)


def _values(
    circuit: Circuit,
    letters: Letters,
    collected: Collected,
    closed: ClosedForms,
    named: NamedElimination | None,
    builder: Builder,
) -> dict[Symbol, StepId]:
    if named is not None and closed.products > PRODUCTS_SHOWN:
        found = values_of_names(circuit, letters, collected, named, builder)
        if found:
            return found
    return values_of_forms(circuit, letters, closed, builder)


def add_walks(
    circuit: Circuit,
    found: Mapping[Symbol, StepId],
    builder: Builder,
) -> dict[Symbol, StepId]:
    """Add the currents of walks that follow another walk in the same branch."""
    known = dict(found)
    if not found:
        return known
    given = circuit.stated
    for rule in same_currents(circuit):
        if rule.walk in given:
            continue
        own = rule.conclusion.right
        source = next((s for s in found if s == own or getattr(own, "term", None) == s), None)
        step = builder.add(rule)
        if source is None:  # the current of the branch is given and stays a letter
            known[rule.walk] = step
            continue
        right = builder.equation(found[source]).right
        known[rule.walk] = builder.add(
            BackSubstitute(
                premise=step,
                definitions=(found[source],),
                conclusion=Equation(rule.walk, right if own == source else minus(right)),
            )
        )
    return known
