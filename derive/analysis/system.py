"""Linear systems in the unknown currents: the junction rule put into the loop equations.

The junction equations express the currents of a spanning tree by those of the other branches (the
*chords*). Which tree is chosen decides how much there is to write; `choose_tree` looks through the
spanning trees for the one whose collected loop equations hold the fewest symbols.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from derive.algebra.term import Symbol, SymbolKind, symbols
from derive.analysis.laws import path_rule, points_of_voltage
from derive.circuit.elements import CurrentSource
from derive.circuit.model import Circuit, Loop
from derive.circuit.valuation import Tie

_MOST_TREES = 1500
"""Spanning trees tried; a circuit of a textbook chapter has fewer."""


@dataclass(frozen=True, slots=True)
class TreeChoice:
    """Which currents the junction rule removes, and how."""

    omitted: str
    """The node whose junction equation follows from the others."""
    order: tuple[tuple[str, int], ...]
    """(node, branch): the equation of the node gives the current of the branch, outermost first,
    so that each uses only chord currents and currents given before."""
    chords: tuple[int, ...]
    """The branches outside the tree, in file order."""
    flows: tuple[tuple[int, ...], ...]
    """For each branch, its current as a combination (−1, 0, 1) of the chord currents."""
    sources: tuple[int, ...] = ()
    """The chords whose currents are no unknowns, since a current source sets them."""
    given: tuple[int, ...] = ()
    """The chords whose currents are no unknowns, since the author gives them."""

    @property
    def unknown(self) -> tuple[int, ...]:
        """The chords whose currents are to be found."""
        return tuple(c for c in self.chords if c not in self.sources and c not in self.given)


def choose_tree(circuit: Circuit, loops: tuple[Loop, ...]) -> TreeChoice:
    """Return the tree that leaves the least to write in the collected loop equations.

    Currents the author wants eliminated become tree currents where that is possible, and junctions
    the author names keep their equation.
    """
    best: tuple[tuple[int, ...], tuple[int, ...]] | None = None
    omitted = _omitted(circuit)
    wanted = [branch.current for branch in circuit.branches]
    first = {wanted.index(symbol) for symbol in circuit.choices.eliminate if symbol in wanted}
    controls = _controls(circuit)
    weighed = _Weighed(circuit, loops)
    for tree in islice(_spanning_trees(circuit), _MOST_TREES):
        missed = len(first - set(tree))
        entangled = 0
        if controls:
            entangled = _entangled(circuit, _rooted(circuit, tree, omitted), controls)
        chords = tuple(k for k in range(len(circuit.branches)) if k not in tree)
        key = (entangled, min(missed, len(first)), *weighed.cost(tree, chords), *chords)
        if best is None or key < best[0]:
            best = (key, tree)
    if best is None:
        raise ValueError("the circuit is not connected")
    return _rooted(circuit, best[1], omitted)


_Controls = dict[Symbol, tuple[frozenset[int], frozenset[Symbol]]]
"""For each dependent source the branches whose currents decide it, and other such sources."""


def _controls(circuit: Circuit) -> _Controls:
    found: _Controls = {}
    places = {branch.current: k for k, branch in enumerate(circuit.branches)}
    places |= {walk.current: walk.branch for walk in circuit.walks}
    for symbol in circuit.dependent:
        value = circuit.valuation(symbol)
        assert isinstance(value, Tie)
        waiting = list(symbols(value.term))
        branches: set[int] = set()
        others: set[Symbol] = set()
        while waiting:
            met = waiting.pop()
            if met in places:
                branches.add(places[met])
            elif met in circuit.dependent:
                others.add(met)
            elif met.kind is SymbolKind.VOLTAGE:
                to, origin = points_of_voltage(met)
                waiting += symbols(path_rule(circuit, origin, to).conclusion.right)
        found[symbol] = frozenset(branches), frozenset(others)
    return found


def _entangled(circuit: Circuit, choice: TreeChoice, controls: _Controls) -> int:
    """Return how many dependent sources do not follow from the unknown chord currents alone."""
    set_by = {
        chord: passage.element.source
        for chord in choice.sources
        for passage in circuit.branches[chord].sources
        if isinstance(passage.element, CurrentSource)
    }
    open_ones = set(controls)
    grown = True
    while grown:
        grown = False
        for symbol in sorted(open_ones, key=lambda s: s.name):
            branches, others = controls[symbol]
            flows = [zip(choice.chords, choice.flows[k], strict=True) for k in branches]
            needed = {set_by[c] for row in flows for c, flow in row if flow and c in set_by}
            if open_ones.isdisjoint(needed | others):
                open_ones.discard(symbol)
                grown = True
    return len(open_ones)


def _omitted(circuit: Circuit) -> str:
    """Return the node with the longest equation that the author did not name."""
    free = [node for node in circuit.nodes if node.name not in circuit.choices.junctions]
    return max(free or circuit.nodes, key=lambda node: node.degree).name


def _spanning_trees(circuit: Circuit) -> Iterator[tuple[int, ...]]:
    """Yield spanning trees, those of late branches first: the first currents stay unknown."""
    size = len(circuit.nodes) - 1
    count = len(circuit.branches)
    if size <= 0:
        yield ()
        return
    known = frozenset(circuit.given_currents)
    leader = {node.name: node.name for node in circuit.nodes}
    # Trees are the sets of the right size without a cycle; reversed so that I1, I2 … are chords.
    yield from _grow(circuit, known, count - 1, size, leader)


def _grow(
    circuit: Circuit, known: frozenset[int], last: int, size: int, leader: dict[str, str]
) -> Iterator[tuple[int, ...]]:
    """Yield the cycle-free sets of `size` branches numbered at most `last`, high numbers first.

    Branches whose current is known are in none.
    """
    if size == 0:
        yield ()
        return
    for index in range(last, size - 2, -1):
        branch = circuit.branches[index]
        a, b = leader[branch.tail], leader[branch.head]
        if a == b or branch.sources or index in known:
            continue
        joined = {node: a if top == b else top for node, top in leader.items()}
        for rest in _grow(circuit, known, index - 1, size - 1, joined):
            yield (*rest, index)


def _rooted(circuit: Circuit, tree: tuple[int, ...], root: str) -> TreeChoice:
    """Orient a tree towards the omitted node and express its currents, outermost first."""
    parent: dict[str, int] = {}
    seen = [root]
    for here in seen:
        for index in tree:
            branch = circuit.branches[index]
            for near, far in ((branch.tail, branch.head), (branch.head, branch.tail)):
                if near == here and far != root and far not in parent and far not in seen:
                    parent[far] = index
                    seen.append(far)
    chords = tuple(k for k in range(len(circuit.branches)) if k not in tree)
    flows: dict[int, tuple[int, ...]] = {k: tuple(int(k == c) for c in chords) for k in chords}
    order = []
    for node in reversed(seen[1:]):
        index = parent[node]
        sums = [0] * len(chords)
        for k, branch in enumerate(circuit.branches):
            if k == index or branch.tail == branch.head or node not in (branch.tail, branch.head):
                continue
            inward = 1 if branch.head == node else -1
            sums = [s + inward * f for s, f in zip(sums, flows[k], strict=True)]
        outward = 1 if circuit.branches[index].tail == node else -1
        flows[index] = tuple(outward * s for s in sums)
        order.append((node, index))
    table = tuple(flows[k] for k in range(len(circuit.branches)))
    sources = tuple(k for k in chords if circuit.branches[k].sources)
    known = circuit.given_currents if circuit.sought else {}
    given = tuple(k for k in chords if k in known)
    return TreeChoice(root, tuple(order), chords, table, sources, given)


class _Weighed:
    """Counts what a tree leaves to write; sets of branches are bits of a number."""

    def __init__(self, circuit: Circuit, loops: tuple[Loop, ...]) -> None:
        sizes = [len(branch.resistances) for branch in circuit.branches]
        self._ends = [(branch.tail, branch.head) for branch in circuit.branches]
        loop_sets = [sum(1 << hop.branch for hop in loop.hops) for loop in loops]
        # The branches of each loop with at least one resistance, with at least two, and so on.
        self._layers = [
            [
                loop & sum(1 << k for k, size in enumerate(sizes) if size >= least)
                for least in range(1, max(sizes, default=0) + 1)
            ]
            for loop in loop_sets
        ]

    def cost(self, tree: tuple[int, ...], chords: tuple[int, ...]) -> tuple[int, int]:
        """Return (symbols in the collected loop equations, terms of the isolated currents)."""
        ways = self._ways(tree)
        symbols = terms = 0
        for chord in chords:
            tail, head = self._ends[chord]
            # The current of a chord flows in the branches of the loop that it closes with the tree.
            around = 1 << chord | (ways.get(tail, 0) ^ ways.get(head, 0))
            terms += around.bit_count()
            for layers in self._layers:
                before = symbols
                for layer in layers:
                    symbols += (layer & around).bit_count()
                symbols += symbols > before
        return symbols, terms

    def _ways(self, tree: tuple[int, ...]) -> dict[str, int]:
        """Return for each node the branches of the tree that lead there from one node."""
        near: dict[str, list[tuple[int, str]]] = {}
        for index in tree:
            tail, head = self._ends[index]
            near.setdefault(tail, []).append((index, head))
            near.setdefault(head, []).append((index, tail))
        if not near:
            return {}
        start = next(iter(near))
        ways = {start: 0}
        queue = [start]
        for here in queue:
            for index, there in near[here]:
                if there not in ways:
                    ways[there] = ways[here] | 1 << index
                    queue.append(there)
        return ways
