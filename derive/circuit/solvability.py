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
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Branch, Circuit, Hop, Loop
from derive.circuit.topology import (
    Graph,
    blocks,
    components,
    fundamental_loops,
    graph_of,
    spanning_forest,
)
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


@dataclass(frozen=True, slots=True)
class SourceCut:
    """Points that hang on the rest by current sources alone."""

    points: tuple[str, ...]
    """The nodes on one side; none for sources that follow each other in one branch."""
    sources: tuple[tuple[Symbol, bool], ...]
    """The source currents, and whether each leaves that side (or runs along the branch)."""
    cancels: bool
    """Whether the junction rule holds there, so that only the voltage is not fixed."""


class NoUniqueSolution(Exception):  # noqa: N818  (a verdict on the circuit)
    """The currents asked for are not fixed by the circuit."""

    def __init__(self, report: Report) -> None:
        """Keep the report."""
        super().__init__(str(report))
        self.report = report


Report = Contradiction | Undetermined | SourceCut


def solvability(circuit: Circuit) -> Report | None:
    """Return what stands in the way of one solution; None when nothing does."""
    values = Values(circuit)
    cut = _source_cut(circuit, values)
    if cut is not None:
        return cut
    graph = graph_of(circuit)
    # A loop whose emfs depend on the currents may be in order without a resistance.
    dependent = circuit.dependent
    bare = tuple(
        number
        for number, branch in enumerate(circuit.branches)
        if not branch.sources
        and not any(battery.emf in dependent for battery in branch.batteries)
        and _vanishes([(values.actual(r), True) for r in branch.resistances])
    )
    return judge(graph, bare, lambda hops: _vanishes(_loop_emfs(circuit, values, hops)))


def _source_cut(circuit: Circuit, values: Values) -> SourceCut | None:
    """Return current sources that alone hold a branch or some nodes to the rest."""
    if not circuit.has_sources:
        return None
    for branch in circuit.branches:
        met = _source_currents(branch)
        if len(met) > 1:
            (first, along), *others = ((values.actual(s), way) for s, way in met)
            same = all(_vanishes([(first, True), (s, along != way)]) for s, way in others)
            return SourceCut((), met, same)
    parts = components(graph_of(circuit))
    if len(parts) < 2:
        return None
    side = {circuit.nodes[k].name for k in min(parts[1:], key=len)}
    crossing = [b for b in circuit.branches if (b.tail in side) != (b.head in side)]
    met = tuple((s, way == (b.tail in side)) for b in crossing for s, way in _source_currents(b))
    zero = _vanishes([(values.actual(s), way) for s, way in met])
    return SourceCut(tuple(node.name for node in circuit.nodes if node.name in side), met, zero)


def _source_currents(branch: Branch) -> tuple[tuple[Symbol, bool], ...]:
    return tuple(
        (p.element.source, p.along) for p in branch.passages if isinstance(p.element, CurrentSource)
    )


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
