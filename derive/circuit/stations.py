"""The places between the parts of a circuit, as those meet them who walk along its branches."""

from __future__ import annotations

from derive.circuit.model import Circuit

Station = tuple[int, int] | str
"""A node by its name, or a place inside a branch: (branch, number of passages before it)."""


def stations(circuit: Circuit, index: int) -> list[Station]:
    """Return the places before, between and after the parts of a branch or an idle walk."""
    if index < len(circuit.branches):
        branch = circuit.branches[index]
        ends: tuple[Station, Station] = branch.tail, branch.head
    else:
        branch = circuit.idle[index - len(circuit.branches)]
        ends = station_of(circuit, branch.tail), station_of(circuit, branch.head)
    last = len(branch.passages)
    return [ends[0], *((index, k) for k in range(1, last)), ends[1]]


def station_of(circuit: Circuit, point: str) -> Station:
    """Return the place of a point. Raises KeyError where there is none of that name."""
    node = circuit.node_of(point)
    if node is not None:
        return node
    for index, branch in enumerate(circuit.branches):
        for position, names in enumerate(branch.stations):
            if point in names:
                return (index, position)
    for index, branch in enumerate(circuit.idle, len(circuit.branches)):
        inner = branch.stations[1:-1]
        for position, names in enumerate(inner, 1):
            if point in names:
                return (index, position)
    # Where idle walks alone meet; places that wire joins are one.
    for branch in circuit.idle:
        for names in (branch.stations[0], branch.stations[-1]):
            if point in names:
                return names[0]
    raise KeyError(point)
