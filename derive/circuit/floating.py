"""Places whose potential nothing fixes: gaps and current sources alone lead there."""

from __future__ import annotations

from derive.circuit.model import (
    Branch,
    Capacitor,
    Circuit,
    CurrentSource,
    is_gap,
)
from derive.diagnostic import Diagnostic


def why_not_fixed(circuit: Circuit, part: str | None, points: tuple[str, ...]) -> Diagnostic:
    """Tell why the voltage across a part, or between two points, is not fixed."""
    gaps = [p.element for branch in circuit.idle for p in branch.passages if is_gap(p.element)]
    asked = f"the voltage across {part}" if part else f"the voltage between {' and '.join(points)}"
    floating = floating_points(circuit)
    where = f" at {', '.join(floating)}" if floating else ""
    capacitors = [gap.name for gap in gaps if isinstance(gap, Capacitor)]
    names = _listed([gap.name for gap in gaps])
    if len(capacitors) > 1 and len(capacitors) == len(gaps):
        why = (
            f"nothing but the capacitors {names} leads to the place between them{where}, so the "
            "voltages there depend on how they were charged"
        )
        hints: tuple[str, ...] = (
            "put a resistor beside one of them",
            "or ask for the voltage across all of them",
        )
    else:
        why = f"nothing but {names} leads to a place{where}, and no current passes there"
        hints = ("join that place to the rest by a resistor or a wire",)
    span = circuit.span_of(part or points[0])
    return Diagnostic("voltage-not-fixed", f"{asked} is not fixed: {why}", span, hints)


def floating_points(circuit: Circuit) -> tuple[str, ...]:
    """Return the points to which no path leads from the branches, in file order."""
    known = {point for node in circuit.nodes for point in node.points}
    known |= {point for branch in circuit.branches for names in branch.stations for point in names}
    if not circuit.branches and circuit.idle:
        known |= set(circuit.idle[0].stations[0])
    grown = True
    while grown:
        grown = False
        for run in (run for branch in circuit.idle for run in _runs(branch)):
            met = {point for names in run for point in names}
            if met & known and not met <= known:
                known |= met
                grown = True
    points = (p for branch in circuit.idle for names in branch.stations for p in names)
    return tuple(dict.fromkeys(point for point in points if point not in known))


def _runs(branch: Branch) -> list[list[tuple[str, ...]]]:
    """Return the stations of a walk, cut at gaps and sources."""
    runs: list[list[tuple[str, ...]]] = [[branch.stations[0]]]
    for passage, station in zip(branch.passages, branch.stations[1:], strict=True):
        if is_gap(passage.element) or isinstance(passage.element, CurrentSource):
            runs.append([])
        runs[-1].append(station)
    return runs


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
