"""Places that no charge can leave, since nothing but gaps joins them to the rest.

Places between which a charge can move are one *region*. Capacitors join regions to *clusters*: in
each the charge of every region is what it was before the circuit was connected.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from derive.circuit.elements import Battery, Capacitor, CurrentSource, is_gap
from derive.circuit.model import Circuit, Passage
from derive.circuit.stations import Station, stations


@dataclass(frozen=True, slots=True)
class Plates:
    """A capacitor between two regions."""

    capacitor: str
    enter: Station
    """Where its walk comes in: the plate whose charge is that of the capacitor."""
    leave: Station


@dataclass(frozen=True, slots=True)
class Region:
    """Places between which a charge can move."""

    stations: frozenset[Station]
    points: tuple[str, ...]
    """Those that have names, in file order."""


@dataclass(frozen=True, slots=True)
class Cluster:
    """Regions joined by capacitors."""

    regions: tuple[Region, ...]
    """First the one in which currents flow; where there is none, that of the first battery."""
    capacitors: tuple[Plates, ...]
    """In file order."""

    def region_of(self, station: Station) -> int:
        """Return the position of the region of a place."""
        return next(k for k, r in enumerate(self.regions) if station in r.stations)

    def uncharged(self, circuit: Circuit) -> bool:
        """Tell whether the author says that every capacitor of it began without charge."""
        return all(plates.capacitor in circuit.uncharged for plates in self.capacitors)


def clusters(circuit: Circuit) -> tuple[Cluster, ...]:
    """Return the clusters of a circuit, in file order."""
    roots = joined(circuit, lambda passage: not is_gap(passage.element))
    between = [p for p in _capacitors(circuit) if roots[p.enter] != roots[p.leave]]
    together = {root: root for root in roots.values()}
    for plates in between:
        _join(together, roots[plates.enter], roots[plates.leave])
    found: dict[Station, list[Plates]] = {}
    for plates in between:
        found.setdefault(together[roots[plates.enter]], []).append(plates)
    points = _points(circuit)
    made = []
    for own in found.values():
        met = dict.fromkeys(roots[end] for p in own for end in (p.enter, p.leave))
        order = sorted(met, key=lambda root: _rank(circuit, roots, root))
        regions = []
        for root in order:
            places = frozenset(place for place, other in roots.items() if other == root)
            names = tuple(name for name, place in points.items() if place in places)
            regions.append(Region(places, names))
        made.append(Cluster(tuple(regions), tuple(own)))
    return tuple(made)


def joined(circuit: Circuit, joins: Callable[[Passage], bool]) -> dict[Station, Station]:
    """Map every place to one of those to which some parts join it; wires always do."""
    roots: dict[Station, Station] = {}
    for index, branch in enumerate(circuit.all_branches):
        places = stations(circuit, index)
        for place in places:
            roots.setdefault(place, place)
        if not branch.passages:
            _join(roots, places[0], places[-1])
        for k, passage in enumerate(branch.passages):
            if joins(passage):
                _join(roots, places[k], places[k + 1])
    return roots


def _join(roots: dict[Station, Station], one: Station, other: Station) -> None:
    new, old = roots[one], roots[other]
    for place, root in roots.items():
        if root == old:
            roots[place] = new


def _capacitors(circuit: Circuit) -> Iterator[Plates]:
    for index, branch in enumerate(circuit.idle, len(circuit.branches)):
        places = stations(circuit, index)
        for k, passage in enumerate(branch.passages):
            if isinstance(passage.element, Capacitor):
                yield Plates(passage.element.name, places[k], places[k + 1])


def _points(circuit: Circuit) -> dict[str, Station]:
    """Return the place of every point, in file order."""
    found: dict[str, Station] = {}
    for index, branch in enumerate(circuit.all_branches):
        for place, names in zip(stations(circuit, index), branch.stations, strict=False):
            found.update({name: place for name in names if name not in found})
    order = {name: k for k, (name, _) in enumerate(circuit.spans)}
    return dict(sorted(found.items(), key=lambda item: order.get(item[0], len(order))))


def _rank(circuit: Circuit, roots: dict[Station, Station], root: Station) -> int:
    """Return 0 for the region of the currents, 1 for one with a source, else 2."""
    best = 2
    for index, branch in enumerate(circuit.all_branches):
        places = stations(circuit, index)
        if index < len(circuit.branches) and roots[places[0]] == root:
            return 0
        for k, passage in enumerate(branch.passages):
            driven = isinstance(passage.element, Battery | CurrentSource)
            if driven and roots[places[k]] == root:
                best = 1
    return best
