"""The circuit as arms between nodes, and the steps that merge arms.

An *arm* carries one current: a branch, or branches merged by series and parallel steps. Only
resistors are merged in parallel; in series, batteries may be among the parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from derive.algebra.term import Parallel, Sum, Symbol, Term, total
from derive.analysis.sizes import Sizes
from derive.circuit.model import Circuit
from derive.circuit.solvability import branch_emfs
from derive.circuit.topology import Edge, Graph, blocks, graph_of


@dataclass(frozen=True, slots=True)
class Arm:
    """Parts with one current between two numbered nodes."""

    tail: int
    head: int
    emfs: tuple[tuple[Symbol, bool], ...]
    """From tail to head; True for a rise."""
    resistance: Term | None
    """None when there is no resistor; it may also have the value zero."""
    branches: tuple[int, ...]
    """The branches it is made of."""

    def turned(self) -> Arm:
        """Return the arm from head to tail."""
        emfs = tuple((symbol, not rises) for symbol, rises in reversed(self.emfs))
        return replace(self, tail=self.head, head=self.tail, emfs=emfs)

    def at(self, node: int) -> bool:
        """Tell whether the arm ends at a node."""
        return node in (self.tail, self.head)


@dataclass(frozen=True, slots=True)
class Network:
    """A circuit taken apart where no current passes."""

    blocks: tuple[tuple[Arm, ...], ...]
    """The parts with a battery and a closed way; each is solved alone."""
    shorted: tuple[int, ...]
    """Branches with both ends at one potential and no battery."""
    one_way: tuple[int, ...]
    """Branches that are the only link to what is behind them."""
    idle: tuple[int, ...]
    """Branches of parts that hang on the rest by one point and hold no battery."""
    shared: tuple[int, ...]
    """Nodes where parts that are solved alone meet."""


def network(circuit: Circuit, sizes: Sizes) -> Network:
    """Draw wires together, and drop what carries no current."""
    arms = _drawn_together(circuit, sizes)
    graph = Graph(len(circuit.nodes), tuple(Edge(k, arm.tail, arm.head) for k, arm in arms.items()))
    live: list[tuple[Arm, ...]] = []
    shorted: list[int] = []
    one_way: list[int] = []
    idle: list[int] = []
    for block in blocks(graph):
        members = tuple(arms[k] for k in block)
        alone = len(block) == 1
        if alone and members[0].tail != members[0].head:
            one_way.extend(block)
        elif any(arm.emfs for arm in members):
            live.append(members)
        else:
            (shorted if alone else idle).extend(block)
    ends = [{node for arm in block for node in (arm.tail, arm.head)} for block in live]
    shared = {node for a, b in combinations(ends, 2) for node in a & b}
    return Network(
        tuple(live), tuple(shorted), tuple(sorted(one_way)), tuple(sorted(idle)),
        tuple(sorted(shared)),
    )  # fmt: skip


def _drawn_together(circuit: Circuit, sizes: Sizes) -> dict[int, Arm]:
    """Return the arm of each branch that is more than a wire, between nodes of one potential."""
    found: dict[int, Arm] = {}
    place = list(range(len(circuit.nodes)))
    for edge in graph_of(circuit).edges:
        resistances = circuit.branches[edge.branch].resistances
        resistance = total(resistances) if resistances else None
        emfs = branch_emfs(circuit, edge.branch)
        if emfs or not sizes.is_zero(resistance):
            found[edge.branch] = Arm(edge.tail, edge.head, emfs, resistance, (edge.branch,))
            continue
        kept, gone = sorted((place[edge.tail], place[edge.head]))
        place = [kept if node == gone else node for node in place]
    return {k: replace(arm, tail=place[arm.tail], head=place[arm.head]) for k, arm in found.items()}


def shrink(arms: Sequence[Arm]) -> tuple[Arm, ...]:
    """Merge arms in series, and resistors in parallel, until no two can be merged.

    Within one block the result does not depend on the order of the steps. A circuit that
    reduces ends as one arm, closed on itself.
    """
    left = list(arms)
    while True:
        merged = _merge_parallel(left) or _merge_series(left)
        if merged is None:
            return tuple(left)
        left = merged


def _merge_parallel(arms: list[Arm]) -> list[Arm] | None:
    seen: dict[frozenset[int], int] = {}
    for j, b in enumerate(arms):
        if b.emfs:
            continue
        i = seen.setdefault(frozenset((b.tail, b.head)), j)
        if i != j:
            a = arms[i]
            branches = tuple(sorted((*a.branches, *b.branches)))
            joined = replace(a, resistance=_parallel(a, b), branches=branches)
            return [*arms[:i], joined, *arms[i + 1 : j], *arms[j + 1 :]]
    return None


def _merge_series(arms: list[Arm]) -> list[Arm] | None:
    ends: dict[int, list[int]] = {}
    for k, arm in enumerate(arms):
        for node in (arm.tail, arm.head):
            ends.setdefault(node, []).append(k)
    for node in sorted(ends):
        if len(ends[node]) == 2 and ends[node][0] != ends[node][1]:
            i, j = sorted(ends[node])
            before = arms[i] if arms[i].head == node else arms[i].turned()
            after = arms[j] if arms[j].tail == node else arms[j].turned()
            joined = Arm(
                before.tail,
                after.head,
                before.emfs + after.emfs,
                series(before.resistance, after.resistance),
                tuple(sorted((*before.branches, *after.branches))),
            )
            return [*arms[:i], joined, *arms[i + 1 : j], *arms[j + 1 :]]
    return None


def series(a: Term | None, b: Term | None) -> Term | None:
    """Return the sum of two resistances, either of which may be missing."""
    if a is None or b is None:
        return b if a is None else a
    parts = [term.terms if isinstance(term, Sum) else (term,) for term in (a, b)]
    return Sum((*parts[0], *parts[1]))


def _parallel(a: Arm, b: Arm) -> Term:
    terms: list[Term] = []
    for term in (a.resistance, b.resistance):
        assert term is not None  # a wire would have been drawn together
        terms.extend(term.terms if isinstance(term, Parallel) else (term,))
    return Parallel(tuple(terms))


def nodes_of(arms: Sequence[Arm]) -> tuple[int, ...]:
    """Return the nodes of some arms, in order."""
    return tuple(sorted({node for arm in arms for node in (arm.tail, arm.head)}))
