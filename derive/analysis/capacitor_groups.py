"""Capacitors of a cluster in series and in parallel, where nothing else is there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum

from derive.circuit.islands import Cluster
from derive.circuit.stations import Station


class Kind(Enum):
    """What a group is."""

    ONE = "one capacitor"
    SERIES = "in series"
    PARALLEL = "in parallel"


@dataclass(frozen=True, slots=True)
class Group:
    """One capacitor, or some between two places that act as one, passed from `start` to `end`."""

    kind: Kind
    start: Station
    end: Station
    parts: tuple[Group, ...] = ()
    """In walking order for SERIES; all of them run the same way."""
    capacitor: str = ""
    along: bool = True
    """For one capacitor: passed as its own walk does."""

    def turned(self) -> Group:
        """Return it passed the other way."""
        parts = [part.turned() for part in self.parts]
        if self.kind is Kind.SERIES:
            parts.reverse()
        return replace(
            self, start=self.end, end=self.start, parts=tuple(parts), along=not self.along
        )

    def leaves(self) -> Iterator[tuple[str, bool]]:
        """Yield each capacitor in it, and whether it is passed as its own walk does."""
        if self.kind is Kind.ONE:
            yield self.capacitor, self.along
        for part in self.parts:
            yield from part.leaves()


def groups_of(cluster: Cluster, levels: Mapping[Station, Station]) -> tuple[Group, ...] | None:
    """Return the rows into which a cluster falls, each between two places of its first region.

    None where it does not fall into such rows, or an island has places of several potentials.
    `levels` maps places to one of those at the same potential.
    """
    main = {levels[place] for place in cluster.regions[0].stations}
    for region in cluster.regions[1:]:
        if len({levels[place] for place in region.stations}) > 1:
            return None
    edges = [
        Group(Kind.ONE, levels[p.enter], levels[p.leave], capacitor=p.capacitor)
        for p in cluster.capacitors
    ]
    while True:
        found = _side_by_side(edges, main) or _one_behind_another(edges, main)
        if found is None:
            break
        edges = found
    ready = all(
        edge.kind is Kind.SERIES and {edge.start, edge.end} <= main and edge.start != edge.end
        for edge in edges
    )
    return tuple(edges) if ready else None


def _side_by_side(edges: list[Group], main: set[Station]) -> list[Group] | None:
    for first in edges:
        ends = {first.start, first.end}
        same = [edge for edge in edges if {edge.start, edge.end} == ends]
        if len(same) > 1 and len(ends) == 2 and not ends <= main:
            parts = tuple(e if e.start == first.start else e.turned() for e in same)
            made = _made(Kind.PARALLEL, first.start, first.end, parts)
            return _with(edges, same, made)
    return None


def _one_behind_another(edges: list[Group], main: set[Station]) -> list[Group] | None:
    for first in edges:
        for way in (first, first.turned()):
            row = _row(way, edges, main)
            if len(row) > 1 and (way.start in main or not _goes_on(way.start, edges, main)):
                made = _made(Kind.SERIES, row[0].start, row[-1].end, tuple(row))
                return _with(edges, [e for e in edges if e in row or e.turned() in row], made)
    return None


def _made(kind: Kind, start: Station, end: Station, parts: tuple[Group, ...]) -> Group:
    """Return a group; what is of its own kind inside of it is spread out."""
    spread = (inner for part in parts for inner in (part.parts if part.kind is kind else (part,)))
    return Group(kind, start, end, tuple(spread))


def _row(first: Group, edges: list[Group], main: set[Station]) -> list[Group]:
    """Return the row that begins with an edge, as far as nothing branches off."""
    row, used = [first], [first, first.turned()]
    while row[-1].end not in main:
        here = row[-1].end
        met = [edge for edge in edges if here in (edge.start, edge.end)]
        following = [edge for edge in met if edge not in used]
        if len(met) != 2 or len(following) != 1:
            break
        edge = following[0] if following[0].start == here else following[0].turned()
        row.append(edge)
        used += [edge, edge.turned()]
    return row


def _goes_on(place: Station, edges: list[Group], main: set[Station]) -> bool:
    """Tell whether a row passes a place."""
    return place not in main and sum(place in (e.start, e.end) for e in edges) == 2


def _with(edges: list[Group], taken: list[Group], made: Group) -> list[Group]:
    """Return the edges with some replaced by one, which stands where the first of them stood."""
    found: list[Group] = []
    for edge in edges:
        if edge not in taken:
            found.append(edge)
        elif edge == taken[0]:
            found.append(made)
    return found
