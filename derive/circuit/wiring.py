"""Points joined by plain wire, and what lies between the points of each walk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from derive.language.syntax import PartStop, PointStop, Walk
from derive.source import Span


@dataclass(frozen=True, slots=True)
class Edge:
    """Parts of one walk between two places where the walk names points."""

    walk: int
    """Position of the walk in the file."""
    tail: str
    """The group of points where it begins: the first of them, in file order."""
    head: str
    """The group of points where it ends."""
    parts: tuple[PartStop, ...]
    """In walking order; none for a wire whose current has a name."""
    tail_points: tuple[str, ...]
    """The points the walk names where the edge begins, in walking order."""
    head_points: tuple[str, ...]
    """The points the walk names where it ends."""


class Wiring:
    """All walks, cut where they name points."""

    def __init__(self, walks: Sequence[Walk]) -> None:
        """Join the points that plain wire joins, and cut the walks there."""
        self.places: dict[str, Span] = {}
        """Where each point is named first, in file order."""
        self._order: dict[str, int] = {}
        self._parent: dict[str, str] = {}
        for walk in walks:
            for stop in walk.stops:
                if isinstance(stop, PointStop):
                    self._add(stop)
        cuts = [_cut(walk) for walk in walks]
        for stations, _ in cuts:
            for station in stations:
                for left, right in pairwise(station):
                    self._join(left, right)
        self.groups = self._grouped()
        """The points joined by wire, by the first of them, all in file order."""
        self.edges = tuple(
            Edge(index, self.group(before[0]), self.group(after[0]), parts, before, after)
            for index, (stations, runs) in enumerate(cuts)
            for before, parts, after in zip(stations, runs, stations[1:], strict=False)
        )
        self.degree = self.degrees(range(len(self.edges)))
        """How many ends of edges meet at each group."""

    def group(self, point: str) -> str:
        """Return the first point in the file that is joined to a point by wire."""
        while self._parent[point] != point:
            self._parent[point] = self._parent[self._parent[point]]
            point = self._parent[point]
        return point

    def degrees(self, edges: Iterable[int]) -> dict[str, int]:
        """Return how many ends of some of the edges meet at each group."""
        found = dict.fromkeys(self.groups, 0)
        for number in edges:
            found[self.edges[number].tail] += 1
            found[self.edges[number].head] += 1
        return found

    def in_order(self, points: Sequence[str]) -> tuple[str, ...]:
        """Return points in file order, each once."""
        return tuple(sorted(set(points), key=self._order.__getitem__))

    def _grouped(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for point in self.places:
            found.setdefault(self.group(point), []).append(point)
        return {group: tuple(points) for group, points in found.items()}

    def _add(self, stop: PointStop) -> None:
        name = stop.name.text
        self._order.setdefault(name, len(self._order))
        self.places.setdefault(name, stop.name.span)
        self._parent.setdefault(name, name)

    def _join(self, left: str, right: str) -> None:
        first, second = sorted((self.group(left), self.group(right)), key=self._order.__getitem__)
        self._parent[second] = first


def points_of(walk: Walk) -> tuple[str, ...]:
    """Return the points of a walk in walking order."""
    return tuple(stop.name.text for stop in walk.stops if isinstance(stop, PointStop))


def is_wire(walk: Walk) -> bool:
    """Tell whether a walk meets no part."""
    return all(isinstance(stop, PointStop) for stop in walk.stops)


def _cut(walk: Walk) -> tuple[list[tuple[str, ...]], list[tuple[PartStop, ...]]]:
    """Return runs of neighbouring points, and the parts between one run and the next.

    The last wire of a named walk of wire carries its current, so it joins no points.
    """
    if is_wire(walk):
        points = points_of(walk)
        if walk.name is None:
            return [points], []
        return [points[:-1], points[-1:]], [()]
    stations: list[list[str]] = []
    runs: list[list[PartStop]] = []
    for before, stop in zip((None, *walk.stops), walk.stops, strict=False):
        if isinstance(stop, PointStop):
            if not isinstance(before, PointStop):
                stations.append([])
            stations[-1].append(stop.name.text)
        else:
            if before is None or isinstance(before, PointStop):
                runs.append([])
            runs[-1].append(stop)
    return [tuple(station) for station in stations], [tuple(run) for run in runs]
