"""The circuit as it is drawn: also with the parts in which no current can flow.

A voltmeter or an open switch is no branch of the circuit that is solved, but it stands in the
figure. `Circuit.drawn` tells what is drawn then, in branches of its own, since a point to which
such a part is joined divides a branch. Here the questions put to a figure are turned into questions
about those branches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from derive.algebra.term import Symbol
from derive.circuit.appearance import BridgeShape
from derive.circuit.model import Branch, Circuit, Drawn, Hop, Loop, WalkCurrent
from derive.circuit.terminals import OPEN_TERMINALS
from derive.drawing.diamond import diamond
from derive.drawing.network import embed_plane, network_of
from derive.drawing.view import View


def arrows_of_problem(circuit: Circuit) -> frozenset[Symbol] | None:
    """Return the currents that have arrows in the figure of the problem; None for all.

    Where none is asked for, these are the currents on which sources depend.
    """
    return None if circuit.asks_for_currents else frozenset(circuit.controls)


def as_drawn(circuit: Circuit) -> Circuit:
    """Return a circuit whose nodes, branches and walks are those of its figure.

    Each walk of it gets an arrow, and nothing else does.
    """
    if circuit.drawn is None:
        more = _without_walk(circuit)
        return replace(circuit, walks=(*circuit.walks, *more)) if more else circuit
    nodes, branches, walks = circuit.drawn.nodes, circuit.drawn.branches, circuit.drawn.walks
    return replace(circuit, nodes=nodes, branches=branches, walks=walks, idle=(), drawn=None)


def seen_from_terminals(circuit: Circuit) -> Circuit | None:
    """Return the circuit of the figure with a gap between two terminals, which points name alone.

    None if there are none, if the author places points or wants a diamond that cannot have them,
    or if their leads would have to cross.
    """
    terminals, looks = circuit.terminals, circuit.looks
    if terminals is None or looks.places:
        return None
    ends = {terminals.one, terminals.other}
    branches = [_with_bare_gap(branch, ends, terminals.one) for branch in terminals.drawn.branches]
    drawn = replace(terminals.drawn, branches=tuple(branches))
    seen = as_drawn(replace(circuit, drawn=drawn))
    if looks.bridge is BridgeShape.DIAMOND:
        return seen if diamond(seen) is not None else None
    return seen if embed_plane(network_of(seen), ()) else None


def _with_bare_gap(branch: Branch, ends: set[str], one: str) -> Branch:
    """Leave the names of the terminals to the gap, which runs from the first to the second."""
    names = [passage.element.name for passage in branch.passages]
    if OPEN_TERMINALS not in names:
        return branch
    k = names.index(OPEN_TERMINALS)
    stations, passages = list(branch.stations), list(branch.passages)
    passages[k] = replace(passages[k], along=one in stations[k])
    for place in (k, k + 1):
        stations[place] = tuple(point for point in stations[place] if point not in ends)
    return replace(branch, passages=tuple(passages), stations=tuple(stations))


def view_of_terminals(circuit: Circuit, view: View) -> View:
    """Return a view with open terminals; what the circuit calls them stands there alone."""
    assert circuit.terminals is not None
    names = (circuit.terminals.one, circuit.terminals.other)
    named = view.names
    if named is None:
        named = frozenset(p for b in circuit.all_branches for s in b.stations for p in s)
        named |= {point for node in circuit.nodes for point in node.points}
    return replace(view, gap=OPEN_TERMINALS, gap_names=names, names=named - {*names})


def _without_walk(circuit: Circuit) -> list[WalkCurrent]:
    """Return a walk for each branch of which only parts are walks of the file."""
    walked = {(walk.branch, walk.current) for walk in circuit.walks}
    return [
        WalkCurrent(branch.current, k, along=True)
        for k, branch in enumerate(circuit.branches)
        if (k, branch.current) not in walked
    ]


def view_as_drawn(circuit: Circuit, view: View) -> View:
    """Return a view whose loops are told in the branches of the figure."""
    if circuit.drawn is None:
        return view
    loop = None if view.loop is None else _loop(view.loop, circuit.drawn)
    return replace(view, loop=loop, loops=loops_as_drawn(circuit, view.loops))


def loops_as_drawn(circuit: Circuit, loops: tuple[Loop, ...]) -> tuple[Loop, ...]:
    """Return loops told in the branches of the figure."""
    drawn = circuit.drawn
    return loops if drawn is None else tuple(_loop(loop, drawn) for loop in loops)


def common_shape(states: Sequence[tuple[Circuit, tuple[Loop, ...]]]) -> tuple[Loop, ...]:
    """Return the windows, in the branches of the figure, that give all states one shape.

    Each state of a circuit comes with its own windows; those of the state with most are taken, and
    of several such states those of the last.
    """
    circuit, loops = max(reversed(states), key=lambda state: len(state[1]))
    return loops_as_drawn(circuit, loops)


def _loop(loop: Loop, drawn: Drawn) -> Loop:
    hops: list[Hop] = []
    for hop in loop.hops:
        pieces = drawn.pieces[hop.branch]
        if hop.along:
            hops += pieces
        else:
            hops += (Hop(piece.branch, not piece.along) for piece in reversed(pieces))
    return Loop(tuple(hops))
