"""Voltages that nothing fixes: gaps and current sources alone lead to one of the two places."""

from __future__ import annotations

from collections.abc import Iterator

from derive.circuit.amounts import listed
from derive.circuit.elements import Capacitor, CurrentSource, is_gap
from derive.circuit.islands import Cluster, Region, clusters, joined
from derive.circuit.model import Circuit, Passage
from derive.circuit.stations import Station, station_of, stations
from derive.diagnostic import Diagnostic


def why_not_fixed(circuit: Circuit, part: str | None, points: tuple[str, ...]) -> Diagnostic:
    """Tell why the voltage across a part, or between two points, is not fixed."""
    asked = f"the voltage across {part}" if part else f"the voltage between {' and '.join(points)}"
    span = circuit.span_of(part or points[0])
    ends = _ends(circuit, part) if part else tuple(station_of(circuit, p) for p in points)
    cluster = next((c for c in clusters(circuit) if _holds(c, ends)), None)
    if cluster is not None and cluster.uncharged(circuit) and circuit.dependent:
        names = listed([plates.capacitor for plates in cluster.capacitors])
        told = f"{asked} follows from the charges of {names}, and no source can depend on it yet"
        hint = "let the source depend on a current, or on the voltage of a resistor"
        return Diagnostic("not-solved-yet", told, span, (hint,))
    if cluster is not None and not cluster.uncharged(circuit):
        why, hints = _by_charges(circuit, cluster)
    else:
        why, hints = _apart(circuit, ends)
    return Diagnostic("voltage-not-fixed", f"{asked} is not fixed: {why}", span, hints)


def why_no_resistance(circuit: Circuit, ends: tuple[str, ...]) -> Diagnostic:
    """Tell why no resistance lies between two points, or past a part: gaps alone join them."""
    if len(ends) == 1:
        places, told = _ends(circuit, ends[0]), f"past {ends[0]}"
    else:
        places = tuple(station_of(circuit, point) for point in ends)
        told = f"between {' and '.join(ends)}"
    why, hints = _apart(circuit, places, past_capacitors=False)
    message = f"there is no resistance {told}: {why}"
    return Diagnostic("no-resistance", message, circuit.span_of(ends[0]), hints)


def _by_charges(circuit: Circuit, cluster: Cluster) -> tuple[str, tuple[str, ...]]:
    """Tell that the charges in the beginning decide."""
    islands = cluster.regions[1:]
    names = [plates.capacitor for plates in cluster.capacitors]
    points = [point for region in islands for point in region.points]
    gaps = [name for name, ends in _gaps(circuit) if any(_lies(ends, r) for r in islands)]
    one = len(names) == 1
    began = "it was" if one else "they were"
    if gaps == names and not one:
        what, whose = f"the capacitors {listed(names)}", began
        where = "to the place between them" if len(islands) == 1 else "to the places between them"
    else:
        what, whose = listed(gaps), f"{listed(names)} {'was' if one else 'were'}"
        where = "to a place" if len(islands) == 1 else "to the places"
    at = f" at {listed(points)}" if points else ""
    alone = f"nothing but {what} leads {where}{at}"
    why = f"{alone}, so the voltages there depend on how {whose} charged"
    missing = ", ".join(name for name in names if name not in circuit.uncharged)
    hint = f"if {began} without charge before the circuit was connected, write: uncharged {missing}"
    return why, (hint, f"or put a resistor beside {'it' if one else 'one of them'}")


def _gaps(circuit: Circuit) -> Iterator[tuple[str, tuple[Station, Station]]]:
    for index, branch in enumerate(circuit.idle, len(circuit.branches)):
        at = stations(circuit, index)
        for k, passage in enumerate(branch.passages):
            if is_gap(passage.element):
                yield passage.element.name, (at[k], at[k + 1])


def _lies(ends: tuple[Station, Station], region: Region) -> bool:
    """Tell whether one end alone lies in a region."""
    return (ends[0] in region.stations) != (ends[1] in region.stations)


def _apart(
    circuit: Circuit, ends: tuple[Station, ...], *, past_capacitors: bool = True
) -> tuple[str, tuple[str, ...]]:
    """Tell what leads to the one of two places that nothing joins to the rest."""

    def joins(passage: Passage) -> bool:
        if isinstance(passage.element, Capacitor):
            return past_capacitors
        return not (is_gap(passage.element) or isinstance(passage.element, CurrentSource))

    roots = joined(circuit, joins)
    main = roots[circuit.branches[0].tail] if circuit.branches else None
    away = [roots[end] for end in ends if roots[end] != main] or [roots[ends[0]]]
    # Where no current flows at all, the smaller side is the one to be joined to the rest.
    place = min(dict.fromkeys(away), key=lambda root: sum(r == root for r in roots.values()))
    names = []
    points: dict[str, None] = {}
    for index, branch in enumerate(circuit.all_branches):
        at = stations(circuit, index)
        for k, passage in enumerate(branch.passages):
            if (roots[at[k]] == place) != (roots[at[k + 1]] == place):
                names.append(passage.element.name)
        for here, met in zip(at, branch.stations, strict=False):
            if roots[here] == place:
                points.update(dict.fromkeys(met))
    where = f" at {listed(list(points))}" if points else ""
    why = f"nothing but {listed(names)} leads to the place{where}, and no current passes there"
    return why, ("join that place to the rest by a resistor or a wire",)


def _holds(cluster: Cluster, ends: tuple[Station, ...]) -> bool:
    return all(any(end in region.stations for region in cluster.regions) for end in ends)


def _ends(circuit: Circuit, part: str) -> tuple[Station, ...]:
    index, position = circuit.find_branch(part)
    return tuple(stations(circuit, index)[position : position + 2])
