"""Choosing loops as a good teacher would.

Candidates are the simple cycles of the branch graph. They are scored by what a reader has to
write and follow (fewest terms, then exactly one battery, then few branches), and taken greedily as
long as each is independent of those taken before. Independence is a matroid, so the greedy choice
is the best one for the score (Edmonds 1971; for cycle bases, Horton 1987). Where two nodes carry
every branch, the windows of the usual figure are taken instead: neighbours in `window_order`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from derive.analysis.laws import loop_count
from derive.circuit.model import Branch, Circuit, Hop, Loop

_MOST_CANDIDATES = 4000
"""Beyond this many cycles only those through short paths are considered (Horton 1987)."""


@dataclass(frozen=True, slots=True)
class LoopChoice:
    """The loops whose equations are used, and one left over to check by."""

    loops: tuple[Loop, ...]
    check: Loop | None
    """None where the circuit has no further loop."""
    windows: bool
    """True when the loops are the windows between neighbouring branches of two nodes."""


class DependentLoops(Exception):  # noqa: N818  (a verdict on the author's choice)
    """The author's loops are not independent."""

    def __init__(self, index: int, others: tuple[int, ...]) -> None:
        """Say which loop (by position) follows from which others."""
        super().__init__(f"loop {index} depends on {others}")
        self.index = index
        self.others = others


def choose_loops(circuit: Circuit) -> LoopChoice:
    """Return b − n + 1 independent loops, the author's first, and a loop for the check.

    Raises DependentLoops when the author's loops are not independent of each other.
    """
    return _chosen(circuit, short=True)


def _chosen(circuit: Circuit, *, short: bool) -> LoopChoice:
    wanted = loop_count(circuit)
    chosen = _author_loops(circuit)
    basis = _Basis()
    for loop in chosen:
        basis.add(_mask(loop))
    windows = False
    if not chosen and len(circuit.nodes) == 2 and not _self_loops(circuit):
        chosen, windows = _between_two(circuit, short=short)
        for loop in chosen:
            basis.add(_mask(loop))
    candidates = sorted(_candidates(circuit), key=lambda loop: _score(circuit, loop))
    for loop in candidates:
        if len(chosen) >= wanted:
            break
        if basis.add(_mask(loop)):
            chosen.append(loop)
    authored = len(circuit.choices.loops)
    directed = chosen[:authored] + [_directed(circuit, loop) for loop in chosen[authored:]]
    check = _check_loop(directed, candidates)
    return LoopChoice(
        tuple(directed[:wanted]), None if check is None else _directed(circuit, check), windows
    )


def _between_two(circuit: Circuit, *, short: bool) -> tuple[list[Loop], bool]:
    """Return the loops of branches that join the same two nodes; whether they are windows."""
    passed = [k for k in window_order(circuit) if not circuit.branches[k].sources]
    for bare in passed if short else ():
        if not circuit.branches[bare].resistances:
            return [_between(circuit, bare, k) for k in passed if k != bare], False
    return [_between(circuit, a, b) for a, b in pairwise(passed)], True


def window_order(circuit: Circuit) -> tuple[int, ...]:
    """Return the branches of a two-node circuit in the order in which the figure shows them.

    Three branches put the one without a battery in the middle, as most books draw it; else the
    order is that of the file.
    """
    order = list(range(len(circuit.branches)))
    if len(order) == 3:
        branches = circuit.branches
        plain = [k for k in order if not branches[k].batteries and not branches[k].sources]
        if len(plain) == 1:
            order.remove(plain[0])
            order.insert(1, plain[0])
    return tuple(order)


def _author_loops(circuit: Circuit) -> list[Loop]:
    """Return the author's loops. Raises DependentLoops."""
    taken: list[int] = []
    for index, loop in enumerate(circuit.choices.loops):
        mask = _mask(loop)
        if not _independent([*taken, mask]):
            needed = list(range(index))
            for k in range(index):
                fewer = [j for j in needed if j != k]
                if not _independent([*(taken[j] for j in fewer), mask]):
                    needed = fewer
            raise DependentLoops(index, tuple(needed))
        taken.append(mask)
    return list(circuit.choices.loops)


def _independent(masks: Iterable[int]) -> bool:
    basis = _Basis()
    return all(basis.add(mask) for mask in masks)


class _Basis:
    """A growing set of independent vectors over GF(2), kept reduced by leading bit."""

    def __init__(self) -> None:
        self._rows: dict[int, int] = {}

    def add(self, mask: int) -> bool:
        """Add a vector; return whether it was independent of those before."""
        while mask:
            lead = mask.bit_length()
            if lead not in self._rows:
                self._rows[lead] = mask
                return True
            mask ^= self._rows[lead]
        return False


def _mask(loop: Loop) -> int:
    return sum(1 << hop.branch for hop in loop.hops)


def _self_loops(circuit: Circuit) -> bool:
    return any(b.tail == b.head and not b.sources for b in circuit.branches)


def _between(circuit: Circuit, first: int, second: int) -> Loop:
    """Return the window between two branches that join the same two nodes."""
    same = circuit.branches[first].tail == circuit.branches[second].tail
    return Loop((Hop(first, True), Hop(second, not same)))


def _candidates(circuit: Circuit) -> list[Loop]:
    """Return simple cycles, each once, in an order that follows the file."""
    ends = _incidence(circuit)
    found: list[Loop] = []
    for index, branch in enumerate(circuit.branches):
        if branch.tail == branch.head and not branch.sources:
            found.append(Loop((Hop(index, True),)))
    for root in range(len(circuit.branches)):
        for loop in _cycles_from(circuit, ends, root):
            found.append(loop)
            if len(found) > _MOST_CANDIDATES:
                return _short_cycles(circuit, ends)
    return found


_Ends = dict[str, list[tuple[int, bool, str]]]
"""Node → (branch, along, other node) of the branches that end there.

Branches that begin and end at one node are left out, and those with a current source."""


def _incidence(circuit: Circuit) -> _Ends:
    ends: _Ends = {node.name: [] for node in circuit.nodes}
    for index, branch in enumerate(circuit.branches):
        if branch.tail != branch.head and not branch.sources:
            ends[branch.tail].append((index, True, branch.head))
            ends[branch.head].append((index, False, branch.tail))
    return ends


def _cycles_from(circuit: Circuit, ends: _Ends, root: int) -> Iterator[Loop]:
    """Yield the simple cycles whose first branch in file order is `root`."""
    start, goal = circuit.branches[root].tail, circuit.branches[root].head
    if start == goal or circuit.branches[root].sources:
        return
    stack: list[tuple[str, tuple[Hop, ...], frozenset[str]]]
    stack = [(goal, (Hop(root, True),), frozenset((goal,)))]
    while stack:
        here, hops, seen = stack.pop()
        for branch, along, there in reversed(ends[here]):
            if branch <= root:
                continue
            if there == start:
                yield Loop((*hops, Hop(branch, along)))
            elif there not in seen:
                stack.append((there, (*hops, Hop(branch, along)), seen | {there}))


def _short_cycles(circuit: Circuit, ends: _Ends) -> list[Loop]:
    """Return Horton's candidates: for each node, its shortest-path tree closed by each branch."""
    found: dict[int, Loop] = {}
    for index, branch in enumerate(circuit.branches):
        if branch.tail == branch.head and not branch.sources:
            loop = Loop((Hop(index, True),))
            found[_mask(loop)] = loop
    for node in circuit.nodes:
        paths: dict[str, tuple[Hop, ...]] = {node.name: ()}
        queue = [node.name]
        for here in queue:
            for index, along, there in ends[here]:
                if there not in paths:
                    paths[there] = (*paths[here], Hop(index, along))
                    queue.append(there)
        for index, branch in enumerate(circuit.branches):
            if branch.tail == branch.head or branch.tail not in paths or branch.sources:
                continue
            back = tuple(Hop(h.branch, not h.along) for h in reversed(paths[branch.head]))
            hops = (*paths[branch.tail], Hop(index, True), *back)
            used = [hop.branch for hop in hops]
            nodes = [_hop_ends(circuit, hop)[0] for hop in hops]
            if len(set(used)) == len(used) and len(set(nodes)) == len(nodes):
                found.setdefault(_mask(Loop(hops)), Loop(hops))
    return list(found.values())


def _hop_ends(circuit: Circuit, hop: Hop) -> tuple[str, str]:
    branch = circuit.branches[hop.branch]
    return (branch.tail, branch.head) if hop.along else (branch.head, branch.tail)


def _terms(branch: Branch) -> int:
    return len(branch.resistances) + len(branch.batteries)


def _score(circuit: Circuit, loop: Loop) -> tuple[int, ...]:
    """Return what makes a loop hard to write; smaller is better."""
    branches = [circuit.branches[hop.branch] for hop in loop.hops]
    terms = sum(_terms(branch) for branch in branches)
    batteries = sum(len(branch.batteries) for branch in branches)
    return (
        terms,
        0 if batteries == 1 else 1 if batteries else 2,
        len(branches),
        *sorted(hop.branch for hop in loop.hops),
    )


def _check_loop(chosen: list[Loop], candidates: list[Loop]) -> Loop | None:
    """Return a loop that was not used: the one round all chosen loops, or else a short one."""
    masks = {_mask(loop) for loop in chosen}
    outer = 0
    for mask in masks:
        outer ^= mask
    unused = [loop for loop in candidates if _mask(loop) not in masks]
    for loop in unused:
        if _mask(loop) == outer:
            return loop
    return unused[-1] if len(unused) < 8 and unused else unused[0] if unused else None


def _directed(circuit: Circuit, loop: Loop) -> Loop:
    """Return the loop travelled so that batteries are mostly rises, from its first node."""
    rises = 0
    for hop in loop.hops:
        for passage in circuit.branches[hop.branch].passages:
            if passage.element in circuit.branches[hop.branch].batteries:
                rises += 1 if passage.along == hop.along else -1
    if rises == 0:
        rises = sum(1 if hop.along else -1 for hop in loop.hops)
    hops = loop.hops
    if rises < 0:
        hops = tuple(Hop(hop.branch, not hop.along) for hop in reversed(hops))
    order = {node.name: k for k, node in enumerate(circuit.nodes)}
    first = min(range(len(hops)), key=lambda k: order[_hop_ends(circuit, hops[k])[0]])
    return Loop(hops[first:] + hops[:first])


def windows(circuit: Circuit) -> tuple[Loop, ...]:
    """Return the loops that become windows of the figure."""
    try:
        return _chosen(circuit, short=False).loops
    except DependentLoops:  # said of the solution; the figure does without them
        return ()
