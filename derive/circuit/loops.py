"""The author's loops: from points and parts on the way to branches passed in travel order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise

from derive.circuit.complaints import Complaints
from derive.circuit.graph import Graph
from derive.circuit.model import Hop, Loop
from derive.circuit.register import PARTS, Kind, Register
from derive.language.syntax import Landmark, UseLoop
from derive.source import Span


@dataclass(frozen=True, slots=True)
class _AtNode:
    """A landmark at an end of branches."""

    name: str
    node: str
    span: Span


@dataclass(frozen=True, slots=True)
class _Inside:
    """A landmark inside a branch: a point, a part, or the current of one of its walks."""

    name: str
    branch: int
    position: int
    """Grows from tail to head; even at points, odd at parts."""
    span: Span


_Place = _AtNode | _Inside


class _Refused(Exception):  # noqa: N818  (carries the reason to the one place that complains)
    def __init__(self, code: str, message: str, span: Span, *hints: str) -> None:
        self.code, self.message, self.span, self.hints = code, message, span, hints
        super().__init__(message)


def resolve_loop(
    statement: UseLoop, graph: Graph | None, register: Register, complaints: Complaints
) -> Loop | None:
    """Return the loop an author describes; None, with a complaint, when it is not one loop."""
    known = [_known(landmark, register) for landmark in statement.landmarks]
    if graph is None or not all(known):
        return None
    try:
        places = [_locate(landmark, graph) for landmark in statement.landmarks]
        loop = Loop(_hops(places, statement, graph))
        _check_sources(loop, statement, graph)
        return loop
    except _Refused as reason:
        complaints.error(reason.code, reason.message, reason.span, *reason.hints)
        return None


def _known(landmark: Landmark, register: Register) -> bool:
    if landmark.bracketed:
        return register.find(landmark.name, "a part", (*PARTS, Kind.CURRENT)) is not None
    kinds = (Kind.POINT, *PARTS)
    return register.find(landmark.name, "a point", kinds, listed=(Kind.POINT,)) is not None


def _locate(landmark: Landmark, graph: Graph) -> _Place:
    name, span = landmark.name.text, landmark.name.span
    for node in graph.nodes:
        if name in node.points:
            return _AtNode(name, node.name, span)
    for index, branch in enumerate(graph.branches):
        for k, station in enumerate(branch.stations):
            if name in station:
                return _Inside(name, index, 2 * k, span)
        for k, passage in enumerate(branch.passages):
            if passage.element.name == name:
                return _Inside(name, index, 2 * k + 1, span)
    walk = next((walk for walk in graph.walks if walk.current.name == name), None)
    if walk is None:
        raise _Refused(
            "loop-without-current",
            f"{name} lies on a walk in which no current can flow",
            span,
            "lead the loop along branches with a current",
        )
    return _Inside(name, walk.branch, 1, span)


def _check_sources(loop: Loop, statement: UseLoop, graph: Graph) -> None:
    for hop in loop.hops:
        for passage in graph.branches[hop.branch].sources:
            name = passage.element.name
            raise _Refused(
                "loop-past-source",
                f"this loop passes the current source {name}, whose voltage depends on all the "
                "rest, so it says nothing of the currents",
                statement.span,
                f"lead it round without {name}",
            )


def _hops(places: list[_Place], statement: UseLoop, graph: Graph) -> tuple[Hop, ...]:
    if len(places) == 1:
        raise _too_short(statement)
    ring = _ring(places, statement)
    first = next((k for k, place in enumerate(ring) if isinstance(place, _AtNode)), None)
    if first is None:
        hops = _hops_of_parts([p for p in ring if isinstance(p, _Inside)], statement, graph)
    else:
        turned = ring[first:] + ring[:first]
        hops = [hop for leg in _legs(turned) for hop in _leg_hops(*leg, graph)]
    if not hops:
        raise _too_short(statement)
    _check_once(hops, statement, graph)
    start = ring[0]
    if isinstance(start, _Inside):
        turn = next(k for k, hop in enumerate(hops) if hop.branch == start.branch)
        hops = hops[turn:] + hops[:turn]
    return tuple(hops)


def _too_short(statement: UseLoop) -> _Refused:
    return _Refused(
        "loop-too-short",
        "this loop leads nowhere",
        statement.span,
        "name the points on the way round: use loop A B C A",
    )


def _ring(places: list[_Place], statement: UseLoop) -> list[_Place]:
    """Return the landmarks of one round, without the repeated first one at the end."""
    first, last = places[0], places[-1]
    if _same(first, last):
        return places[:-1]
    if isinstance(first, _Inside) and first.position % 2 == 1:
        return places  # a loop told by its parts closes by itself
    words = " ".join(
        f"({mark.name.text})" if mark.bracketed else mark.name.text for mark in statement.landmarks
    )
    raise _Refused(
        "loop-not-closed",
        f"this loop begins at {first.name} and ends at {last.name}, so it is not closed",
        last.span,
        f"come back to the first point: use loop {words} {first.name}",
    )


def _same(left: _Place, right: _Place) -> bool:
    if isinstance(left, _AtNode) and isinstance(right, _AtNode):
        return left.node == right.node
    if isinstance(left, _Inside) and isinstance(right, _Inside):
        return (left.branch, left.position) == (right.branch, right.position)
    return False


def _legs(ring: list[_Place]) -> Iterator[tuple[_AtNode, list[_Inside], _AtNode]]:
    """Yield the way from each node to the next one named, with what is named between."""
    start = ring[0]
    assert isinstance(start, _AtNode)
    between: list[_Inside] = []
    for place in [*ring[1:], start]:
        if isinstance(place, _AtNode):
            yield start, between, place
            start, between = place, []
        else:
            between.append(place)


def _leg_hops(start: _AtNode, between: list[_Inside], goal: _AtNode, graph: Graph) -> Iterator[Hop]:
    if not between:
        if start.node == goal.node and start.name != goal.name:
            return  # two names of one node
        yield _direct(start, goal, graph)
        return
    here = start.node
    runs = [list(run) for _, run in groupby(between, key=lambda place: place.branch)]
    for k, run in enumerate(runs):
        branch = graph.branches[run[0].branch]
        if here not in (branch.tail, branch.head):
            raise _no_way(start.name if k == 0 else runs[k - 1][-1].name, run[0], graph)
        along = _forward(run) if branch.tail == branch.head else here == branch.tail
        _check_order(run, along)
        yield Hop(run[0].branch, along)
        here = branch.head if along else branch.tail
    if here != goal.node:
        raise _no_way(runs[-1][-1].name, goal, graph)


def _direct(start: _AtNode, goal: _AtNode, graph: Graph) -> Hop:
    ends = {start.node, goal.node}
    fitting = [k for k, b in enumerate(graph.branches) if {b.tail, b.head} == ends]
    if not fitting:
        raise _no_way(start.name, goal, graph)
    if len(fitting) > 1:
        parts = [_landmark_of(graph, k) for k in fitting]
        raise _Refused(
            "loop-ambiguous",
            f"{len(fitting)} branches lead from {start.name} to {goal.name}",
            Span(start.span.start, max(start.span.end, goal.span.end))
            if goal.span.start >= start.span.start
            else start.span,
            "name a part of the one that is meant: "
            + " or ".join(f"{start.name} {part} {goal.name}" for part in parts),
        )
    branch = graph.branches[fitting[0]]
    return Hop(fitting[0], branch.tail == start.node)


def _landmark_of(graph: Graph, index: int) -> str:
    """Return how an author names a branch on a loop."""
    branch = graph.branches[index]
    names = [passage.element.name for passage in branch.passages]
    return f"({names[0] if names else branch.current.name})"


def _no_way(origin: str, place: _Place, graph: Graph) -> _Refused:
    target = place.name
    near = []
    for branch in graph.branches:
        ends = (branch.tail, branch.head)
        if isinstance(place, _AtNode) and place.node in ends:
            other = ends[1] if ends[0] == place.node else ends[0]
            near.append(other)
    if isinstance(place, _Inside):
        near = [graph.branches[place.branch].tail, graph.branches[place.branch].head]
    reached = " and ".join(dict.fromkeys(name for name in near if name != target)) or "nowhere else"
    return _Refused(
        "loop-impossible",
        f"no branch leads from {origin} to {target}",
        place.span,
        f"from {target} branches lead to {reached}; name every junction on the way",
    )


def _hops_of_parts(ring: list[_Inside], statement: UseLoop, graph: Graph) -> list[Hop]:
    """Return the hops of a loop that names no end of a branch."""
    runs = [list(run) for _, run in groupby(ring, key=lambda place: place.branch)]
    if len(runs) > 1 and runs[0][0].branch == runs[-1][0].branch:
        runs[0] = runs.pop() + runs[0]
    first = graph.branches[runs[0][0].branch]
    if len(runs) == 1 and first.tail == first.head:
        along = _forward(runs[0])
        _check_order(_turned(runs[0], along), along)
        return [Hop(runs[0][0].branch, along)]
    for along in (_forward(runs[0]), not _forward(runs[0])):
        hops = _chain(runs, along, graph)
        if hops is not None:
            return hops
    raise _Refused(
        "loop-impossible",
        "the branches of these parts do not follow each other round a loop",
        statement.span,
        "name the junctions on the way too: use loop A (R1) B (R2) A",
    )


def _chain(runs: list[list[_Inside]], along: bool, graph: Graph) -> list[Hop] | None:
    first = graph.branches[runs[0][0].branch]
    start, here = (first.tail, first.head) if along else (first.head, first.tail)
    hops = [Hop(runs[0][0].branch, along)]
    for run in runs[1:]:
        branch = graph.branches[run[0].branch]
        if here not in (branch.tail, branch.head):
            return None
        forward = _forward(run) if branch.tail == branch.head else here == branch.tail
        hops.append(Hop(run[0].branch, forward))
        here = branch.head if forward else branch.tail
    return hops if here == start else None


def _forward(run: list[_Inside]) -> bool:
    """Tell whether places in a closed branch are named along its arrow, read round and round."""
    positions = [place.position for place in run]
    if len(positions) < 3:
        return positions == sorted(positions)
    drops = sum(later < earlier for earlier, later in pairwise([*positions, positions[0]]))
    return drops == 1


def _turned(run: list[_Inside], along: bool) -> list[_Inside]:
    """Return the places of a round trip from the first on that it should meet."""
    choose = min if along else max
    first = run.index(choose(run, key=lambda place: place.position))
    return run[first:] + run[:first]


def _check_order(run: list[_Inside], along: bool) -> None:
    for before, after in pairwise(run):
        if before.position != after.position and (before.position < after.position) != along:
            raise _Refused(
                "loop-order",
                f"on the way of this loop {after.name} comes before {before.name}",
                after.span,
                "name points and parts in the order in which they are met",
            )


def _check_once(hops: list[Hop], statement: UseLoop, graph: Graph) -> None:
    seen: set[int] = set()
    for hop in hops:
        if hop.branch in seen:
            raise _Refused(
                "loop-passes-twice",
                f"this loop passes {_branch_words(graph, hop.branch)} twice",
                statement.span,
                "a loop passes each branch once: use loop A B C A",
            )
        seen.add(hop.branch)


def _branch_words(graph: Graph, index: int) -> str:
    branch = graph.branches[index]
    names = ", ".join(passage.element.name for passage in branch.passages)
    return f"the branch with {names}" if names else f"the wire of {branch.current.name}"
