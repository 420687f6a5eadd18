"""The tests, in order. Each part that shares no current with the rest is judged by itself.

Series and parallel steps leave one resistor exactly when the graph, the battery's branch
included, holds no K4 (Duffin 1965, from memory); here the steps are simply taken until none is
left. The tests for several batteries are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from derive.algebra.name import natural_key
from derive.algebra.term import ZERO, Negative, Parallel, Term, total
from derive.analysis.reduction.network import (
    Arm,
    network,
    nodes_of,
    shrink,
)
from derive.analysis.reduction.symmetry import are_symmetric
from derive.analysis.reduction.verdict import Criterion, Piece, Reduced, ReductionVerdict
from derive.analysis.reduction.wording import Part, Teller
from derive.analysis.sizes import Sizes, node_levels
from derive.circuit.model import Circuit
from derive.circuit.solution import NoUniqueSolution, TooLarge, general_solution

_MOST_TERMS = 300
"""A bridge whose denominator is longer is not searched for balance."""
_NOT_ALONE = "Not to a resistor alone."
_PART_BY_PART = "Yes, part by part."
_NOT_BY_STEPS = "Not by series and parallel steps."


@lru_cache(maxsize=8)  # the derivation, the document and the contract ask for one verdict
def judge(circuit: Circuit) -> ReductionVerdict:
    """Return whether series and parallel steps alone lead to the currents, and why."""
    teller = Teller(circuit)
    if circuit.dependent:
        told = teller.dependent_sources()
        return ReductionVerdict(False, Criterion.CURRENT_SOURCE, _NOT_ALONE, told)
    if circuit.has_sources:
        told = teller.current_sources()
        return ReductionVerdict(False, Criterion.CURRENT_SOURCE, _NOT_ALONE, told)
    verdict = _Judge(circuit, Sizes(circuit), teller).circuit_as_a_whole()
    if not verdict.reducible or verdict.test in (Criterion.ONE_BRANCH, Criterion.DEAD_PARTS):
        return verdict
    return replace(verdict, pieces=(*verdict.pieces, *teller.in_spite_of_the_rule()))


def may_change(circuit: Circuit) -> bool:
    """Tell whether the verdict may be another one with other values: they prove what is alike."""
    if circuit.dependent or circuit.has_sources:
        return False
    sizes = Sizes(circuit)
    judged = _Judge(circuit, sizes, Teller(circuit))
    return any(judged.may_change(block) for block in network(circuit, sizes).blocks)


@dataclass(frozen=True, slots=True)
class _Judge:
    """Judges parts of one circuit."""

    circuit: Circuit
    sizes: Sizes
    teller: Teller

    def circuit_as_a_whole(self) -> ReductionVerdict:
        """Take the circuit apart where no current passes, and judge what is left."""
        found = network(self.circuit, self.sizes)
        dead = self.teller.dead(found)
        if not found.blocks:
            told = (*dead, *self.teller.no_current())
            opening = "There is nothing to reduce."
            return ReductionVerdict(False, Criterion.NO_CURRENT, opening, told)
        if len(found.blocks) > 1:
            parts = [(block, self.block(block)) for block in found.blocks]
            return _joined(
                Criterion.SEPARABLE, (*dead, *self.teller.separable(found, parts)), parts
            )
        verdict = self.block(found.blocks[0])
        if dead and verdict.test is Criterion.ONE_BRANCH:
            verdict = replace(verdict, test=Criterion.DEAD_PARTS)
        return replace(verdict, pieces=(*dead, *verdict.pieces))

    def block(self, arms: Sequence[Arm]) -> ReductionVerdict:
        """Judge a part in which every arm lies on some loop with every other."""
        left = shrink(arms)
        if len(left) == 1:
            told = self.teller.one_branch(left[0])
            return _yes(Criterion.ONE_BRANCH, "Yes.", told, left[0])
        if sum(1 for arm in left if arm.emfs) == 1:
            return self._bridge(left)
        merged, cells = self._equal_cells(left)
        if cells:
            inner = self.block(merged)
            told = (*self.teller.equal_cells(cells), *self.teller.after_equal_cells(inner))
            test = Criterion.EQUAL_CELLS if inner.reducible else inner.test
            return replace(inner, test=test, pieces=told)
        ideal = self._ideal_battery(left)
        if ideal is not None:
            return ideal
        # Without its batteries, would the graph shrink? The resistances do not matter here.
        resistors = shrink([replace(arm, emfs=(), resistance=ZERO) for arm in left])
        test = Criterion.NODE_PAIR if len(nodes_of(left)) == 2 else Criterion.SEVERAL_BRANCHES
        told = self.teller.several(left, test, bridge=len(resistors) > 1)
        return ReductionVerdict(False, test, _NOT_ALONE, told)

    def may_change(self, arms: Sequence[Arm]) -> bool:
        """Tell whether other values may balance a bridge, or make cells side by side alike.

        `circuit` has none: what is alike there is so by ties, whatever the values are.
        """
        left = shrink(arms)
        if len(left) == 1:
            return False
        if sum(1 for arm in left if arm.emfs) == 1:
            return not self._bridge(left).reducible
        merged, cells = self._equal_cells(left)
        if cells:
            return self.may_change(merged)
        beside = [arm for arm in left if arm.emfs and arm.resistance is not None]
        if any({a.tail, a.head} == {b.tail, b.head} for a, b in combinations(beside, 2)):
            return True
        for ideal in left:
            fixes = ideal.emfs and self.sizes.is_zero(ideal.resistance)
            pieces = _beside(ideal, left) if fixes else []
            if len(pieces) > 1:
                return any(self.may_change((ideal, *piece)) for piece in pieces)
        return False

    def _bridge(self, arms: tuple[Arm, ...]) -> ReductionVerdict:
        """Judge one battery on a bridge: which points are proved to be at equal potentials?"""
        levels = self._levels(arms)
        idle = self._without_current(arms, levels)
        left = shrink([arm for arm in arms if arm not in idle]) if idle else arms
        if len(left) == 1:
            told = self.teller.balanced(arms, idle, left[0])
            opening = "Yes, because the bridge is balanced."
            return _yes(Criterion.BALANCED_BRIDGE, opening, told, left[0])
        groups, left = _folded(arms, levels)
        if len(left) == 1:
            symmetric = are_symmetric(self._edges(arms), _ends(arms), groups)
            told = self.teller.equal_potentials(groups, symmetric=symmetric)
            opening = "Yes, because some points are at equal potentials."
            return _yes(Criterion.EQUAL_POTENTIALS, opening, told, left[0])
        told = self.teller.bridge(arms, searched=levels is not None)
        return ReductionVerdict(False, Criterion.UNBALANCED_BRIDGE, _NOT_BY_STEPS, told)

    def _levels(self, arms: tuple[Arm, ...]) -> dict[int, Fraction] | None:
        """Return the potentials of the nodes where only sizes decide them, not letters."""
        edges = self._edges(arms)
        return node_levels(edges, _ends(arms)) if edges else None

    def _edges(self, arms: tuple[Arm, ...]) -> list[tuple[int, int, Fraction]]:
        """Return the resistors with sizes in one unit; nothing where letters decide."""
        resistors = [arm for arm in arms if not arm.emfs]
        sizes = self.sizes.in_one_unit([arm.resistance or ZERO for arm in resistors])
        if sizes is None or not all(sizes):
            return []
        return [(a.tail, a.head, size) for a, size in zip(resistors, sizes, strict=True)]

    def _without_current(
        self, arms: tuple[Arm, ...], levels: dict[int, Fraction] | None
    ) -> tuple[Arm, ...]:
        """Return resistors whose ends are at equal potentials for certain."""
        resistors = [arm for arm in arms if not arm.emfs]
        if levels is not None:
            idle = tuple(arm for arm in resistors if levels[arm.tail] == levels[arm.head])
        else:
            zero = self._branches_without_current()
            idle = tuple(arm for arm in resistors if zero.issuperset(arm.branches))
        return idle if len(idle) < len(resistors) else ()

    def _branches_without_current(self) -> frozenset[int]:
        try:
            solution = general_solution(self.circuit, values="given", bound=_MOST_TERMS)
        except (NoUniqueSolution, TooLarge):
            return frozenset()
        return frozenset(
            number
            for number, found in enumerate(solution.currents)
            if found is not None and found.is_zero
        )

    def _equal_cells(
        self, arms: tuple[Arm, ...]
    ) -> tuple[tuple[Arm, ...], tuple[tuple[Arm, ...], ...]]:
        """Merge cells side by side with the same emf and the same resistance, not zero."""
        groups: list[list[Arm]] = []
        for arm in arms:
            group = next((g for g in groups if self._are_equal_cells(g[0], arm)), None)
            if group is None:
                groups.append([arm])
            else:
                group.append(arm)
        merged = tuple(_one_cell(group) for group in groups)
        return merged, tuple(tuple(group) for group in groups if len(group) > 1)

    def _are_equal_cells(self, a: Arm, b: Arm) -> bool:
        if not (a.emfs and b.emfs and {a.tail, a.head} == {b.tail, b.head}):
            return False
        if a.resistance is None or b.resistance is None or self.sizes.is_zero(a.resistance):
            return False
        if not self.sizes.equal(a.resistance, b.resistance):
            return False
        return self.sizes.equal(_emf(a), _emf(b if b.tail == a.tail else b.turned()))

    def _ideal_battery(self, arms: tuple[Arm, ...]) -> ReductionVerdict | None:
        """Split where a battery without resistance fixes the voltage between two nodes."""
        for arm in arms:
            if arm.emfs and self.sizes.is_zero(arm.resistance):
                pieces = _beside(arm, arms)
                if len(pieces) > 1:
                    parts = [(piece, self.block((arm, *piece))) for piece in pieces]
                    told = self.teller.ideal_battery(arm, parts)
                    return _joined(Criterion.IDEAL_BATTERY, told, parts)
        return None


def _ends(arms: tuple[Arm, ...]) -> tuple[int, int]:
    """Return the nodes at the + and at the − of the only source."""
    (source,) = (arm for arm in arms if arm.emfs)
    return source.head, source.tail


def _folded(
    arms: tuple[Arm, ...], levels: dict[int, Fraction] | None
) -> tuple[list[list[int]], tuple[Arm, ...]]:
    """Join the nodes at equal potentials; return them in groups, and what the arms shrink to."""
    groups: dict[Fraction, list[int]] = {}
    for node in nodes_of(arms) if levels is not None else ():
        groups.setdefault(levels[node] if levels else Fraction(0), []).append(node)
    joined = [group for group in groups.values() if len(group) > 1]
    place = {node: group[0] for group in groups.values() for node in group}
    if not joined or len(groups) < 2:
        return [], arms
    moved = [replace(arm, tail=place[arm.tail], head=place[arm.head]) for arm in arms]
    return joined, shrink([arm for arm in moved if arm.tail != arm.head])


def _yes(test: Criterion, opening: str, told: tuple[Piece, ...], loop: Arm) -> ReductionVerdict:
    emfs = sorted(loop.emfs, key=lambda emf: natural_key(emf[0].name))
    turned = tuple((symbol, rises == emfs[0][1]) for symbol, rises in emfs)
    reduced = Reduced(turned, loop.resistance or ZERO, loop.branches)
    return ReductionVerdict(True, test, opening, told, (reduced,))


def _beside(ideal: Arm, arms: tuple[Arm, ...]) -> list[list[Arm]]:
    """Return the other arms in groups that meet each other only at the ends of one arm."""
    ends = (ideal.tail, ideal.head)
    group = {node: node for node in nodes_of(arms)}
    others = [arm for arm in arms if arm is not ideal]
    for arm in others:
        if not any(arm.at(end) for end in ends):
            kept, gone = sorted((group[arm.tail], group[arm.head]))
            group = {node: kept if own == gone else own for node, own in group.items()}
    pieces: dict[tuple[int, int], list[Arm]] = {}
    for k, arm in enumerate(others):
        inner = [group[node] for node in (arm.tail, arm.head) if node not in ends]
        pieces.setdefault((inner[0], -1) if inner else (-1, k), []).append(arm)
    return list(pieces.values())


def _one_cell(group: list[Arm]) -> Arm:
    if len(group) == 1:
        return group[0]
    resistances = tuple(arm.resistance for arm in group if arm.resistance is not None)
    branches = tuple(sorted(k for arm in group for k in arm.branches))
    return replace(group[0], resistance=Parallel(resistances), branches=branches)


def _emf(arm: Arm) -> Term:
    return total(tuple(symbol if rises else Negative(symbol) for symbol, rises in arm.emfs))


def _joined(test: Criterion, told: tuple[Piece, ...], parts: Sequence[Part]) -> ReductionVerdict:
    every = all(verdict.reducible for _, verdict in parts)
    some = any(verdict.reducible for _, verdict in parts)
    opening = _PART_BY_PART if every else "Only in part." if some else _NOT_ALONE
    reduced = tuple(loop for _, verdict in parts for loop in verdict.reduced) if every else ()
    return ReductionVerdict(every, test, opening, told, reduced)
