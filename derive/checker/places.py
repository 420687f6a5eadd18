"""Where points and parts lie."""

from __future__ import annotations

from derive.checker.ledger import Ledger
from derive.checker.polynomial import Refused
from derive.checker.seen import Place, Seen
from derive.circuit.model import Circuit


def stations(circuit: Circuit, k: int) -> list[Place]:
    """Return the places along a branch, its two nodes first and last."""
    branch = circuit.all_branches[k]
    inner: list[Place] = [("", k, n) for n in range(1, len(branch.passages))]
    if k < len(circuit.branches):
        return [(branch.tail, 0, 0), *inner, (branch.head, 0, 0)]
    ends = _place_of_end(circuit, branch.stations[0]), _place_of_end(circuit, branch.stations[-1])
    return [ends[0], *inner, ends[1]]


def _place_of_end(circuit: Circuit, names: tuple[str, ...]) -> Place:
    """Return where a walk without current ends: at a node, inside of a branch, or by itself."""
    for node in circuit.nodes:
        if names[0] in node.points:
            return (node.name, 0, 0)
    for k, branch in enumerate(circuit.all_branches):
        for n, station in enumerate(branch.stations[1:-1], 1):
            if names[0] in station:
                return ("", k, n)
    return (names[0], 0, 0)


def points_of(circuit: Circuit) -> dict[str, Place]:
    """Return where each point is."""
    points: dict[str, Place] = {}
    for node in circuit.nodes:
        points |= dict.fromkeys(node.points, (node.name, 0, 0))
    for k, branch in enumerate(circuit.all_branches):
        at = stations(circuit, k)
        for n, names in enumerate(branch.stations):
            for name in names:
                points.setdefault(name, at[min(n, len(at) - 1)])
    return points


def begun(ledger: Ledger) -> Seen:
    """Return the network that was begun last. Raises Refused."""
    if ledger.seen is None:
        raise Refused("no network has been begun")
    return ledger.seen
