"""Where no steady current can flow: gaps, and what hangs on the rest by gaps alone.

An open switch, a capacitor long after the last change and an ideal voltmeter are gaps. What leads
to a gap and nowhere else carries no current either.
"""

from __future__ import annotations

from collections.abc import Collection
from collections.abc import Set as AbstractSet

from derive.circuit.wiring import Edge, Wiring
from derive.language.syntax import (
    CapacitorStop,
    Meter,
    MeterStop,
    PartStop,
    SwitchStop,
)


def is_gap(part: PartStop, real: Collection[str]) -> bool:
    """Tell whether no steady current passes a part; `real` meters have a resistance."""
    match part:
        case CapacitorStop():
            return True
        case SwitchStop(closed=closed):
            return not closed
        case MeterStop(meter=meter, name=name):
            return meter is Meter.VOLTMETER and name.text not in real
        case _:
            return False


def idle_edges(
    wiring: Wiring, open_points: AbstractSet[str], real: Collection[str]
) -> frozenset[int]:
    """Return the edges that can carry no current because of gaps.

    Ends that are left open on purpose are no gaps: the junction rule there says the same.
    """
    idle = {k for k, edge in enumerate(wiring.edges) if any(is_gap(p, real) for p in edge.parts)}
    if not idle:
        return frozenset()
    open_ends = {
        group
        for group, points in wiring.groups.items()
        if wiring.degree[group] == 1 and not open_points.isdisjoint(points)
    }
    degree = dict(wiring.degree)
    ends: dict[str, list[int]] = {}
    for k, edge in enumerate(wiring.edges):
        for end in (edge.tail, edge.head):
            ends.setdefault(end, []).append(k)
    for k in idle:
        _take_away(wiring.edges[k], degree)
    waiting = [group for group in degree if degree[group] == 1 and group not in open_ends]
    for group in waiting:
        found = next((k for k in ends[group] if k not in idle), None)
        if found is None:
            continue
        idle.add(found)
        edge = wiring.edges[found]
        _take_away(edge, degree)
        other = edge.head if edge.tail == group else edge.tail
        if degree[other] == 1 and other not in open_ends:
            waiting.append(other)
    return frozenset(idle)


def _take_away(edge: Edge, degree: dict[str, int]) -> None:
    degree[edge.tail] -= 1
    degree[edge.head] -= 1
