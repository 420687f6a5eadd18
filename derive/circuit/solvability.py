"""Whether Kirchhoff's rules fix every current, and if not, which loop is to blame.

The currents are fixed exactly when no loop is without resistance (trade: the determinant, a sum
of positive products, is zero only then). Decided on the actual values: a resistance given as 0
counts as none, a letter counts as not zero.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

from derive.algebra.name import natural_key
from derive.algebra.polynomial import Ring
from derive.algebra.term import Negative, Symbol, Term, symbols, total
from derive.circuit.model import Battery, Circuit, Hop, Loop
from derive.circuit.topology import Graph, blocks, fundamental_loops, graph_of, spanning_forest
from derive.circuit.values import Values


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A loop without resistance whose emfs do not cancel: no currents obey the loop rule."""

    loop: Loop


@dataclass(frozen=True, slots=True)
class Undetermined:
    """Currents that the rules leave open; every other current is fixed."""

    branches: tuple[int, ...]
    """The branches that lie on loops without resistance, whose emfs all cancel."""
    loops: tuple[Loop, ...]
    """Such loops, enough to make all others."""


class NoUniqueSolution(Exception):  # noqa: N818  (a verdict on the circuit)
    """The currents asked for are not fixed by the circuit."""

    def __init__(self, report: Contradiction | Undetermined) -> None:
        """Keep the report."""
        super().__init__(str(report))
        self.report = report


def solvability(circuit: Circuit) -> Contradiction | Undetermined | None:
    """Return what stands in the way of one solution; None when nothing does."""
    values = Values(circuit)
    graph = graph_of(circuit)
    bare = tuple(
        number
        for number, branch in enumerate(circuit.branches)
        if _vanishes([(values.actual(r), True) for r in branch.resistances])
    )
    return judge(graph, bare, lambda hops: _vanishes(_loop_emfs(circuit, values, hops)))


def judge(
    graph: Graph, bare: Collection[int], cancels: Callable[[tuple[Hop, ...]], bool]
) -> Contradiction | Undetermined | None:
    """Return the report for a graph, its branches without resistance, and a test of loop emfs."""
    ideal = graph.only(set(bare))
    loops = fundamental_loops(ideal, spanning_forest(ideal))
    if not loops:
        return None
    bad = [hops for hops in loops if not cancels(hops)]
    if bad:
        return Contradiction(Loop(min(bad, key=len)))
    on_loop = {edge.branch for edge in ideal.edges if edge.tail == edge.head}
    for block in blocks(ideal):
        if len(block) > 1:
            on_loop.update(block)
    return Undetermined(tuple(sorted(on_loop)), tuple(Loop(hops) for hops in loops))


def branch_emfs(circuit: Circuit, branch: int) -> tuple[tuple[Symbol, bool], ...]:
    """Return the emfs of a branch: each symbol, and whether it raises the potential along it."""
    return tuple(
        (passage.element.emf, passage.along)
        for passage in circuit.branches[branch].passages
        if isinstance(passage.element, Battery)
    )


def letters_of(terms: Collection[Term]) -> tuple[Symbol, ...]:
    """Return the letters of some terms, each once, in natural order of their names."""
    found = dict.fromkeys(symbol for term in terms for symbol in symbols(term))
    return tuple(sorted(found, key=lambda symbol: natural_key(symbol.name)))


def _vanishes(signed: Collection[tuple[Term, bool]]) -> bool:
    """Tell whether a sum of terms, some with the opposite sign, is identically zero."""
    if len(signed) == 1 and isinstance(next(iter(signed))[0], Symbol):
        return False  # the usual case
    ring = Ring(letters_of([term for term, _ in signed]))
    terms = tuple(term if plus else Negative(term) for term, plus in signed)
    return ring.fraction(total(terms))[0].is_zero


def _loop_emfs(circuit: Circuit, values: Values, hops: tuple[Hop, ...]) -> list[tuple[Term, bool]]:
    return [
        (values.actual(emf), along == hop.along)
        for hop in hops
        for emf, along in branch_emfs(circuit, hop.branch)
    ]
