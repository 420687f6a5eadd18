"""How the potential changes at every part, and how high each place lies by that.

Places without current count too: those behind an open switch, a capacitor, an ideal voltmeter.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from derive.algebra.term import Term
from derive.analysis.laws import passage_crossings
from derive.circuit.elements import Capacitor, CurrentSource, is_gap
from derive.circuit.model import Circuit, Passage
from derive.circuit.stations import Station, stations

Height = TypeVar("Height", Fraction, tuple[Term, ...])


@dataclass(frozen=True, slots=True)
class Plates:
    """A capacitor with the places of its plates."""

    capacitor: Capacitor
    ends: tuple[Station, Station]


def rises(
    circuit: Circuit, held: Collection[str] = ()
) -> Iterator[tuple[Station, Station, tuple[Term, ...]]]:
    """Yield what the potential rises by from one end of a part to the other, in both directions.

    Nothing tells it of a current source or a gap by itself; of capacitors, the voltages of those
    that are `held` are known by their charges.
    """
    for index, branch in enumerate(circuit.all_branches):
        flow = branch.current if index < len(circuit.branches) else None
        places = stations(circuit, index)
        if not branch.passages:
            yield places[0], places[-1], ()
            yield places[-1], places[0], ()
        for k, passage in enumerate(branch.passages):
            if not _has_law(passage, held):
                continue
            for along in (True, False):
                start, end = (k, k + 1) if along else (k + 1, k)
                rows = passage_crossings(passage, flow, along)
                yield places[start], places[end], tuple(row.change for row in rows)


def _has_law(passage: Passage, held: Collection[str]) -> bool:
    element = passage.element
    if isinstance(element, Capacitor):
        return element.name in held
    return not isinstance(element, CurrentSource) and not is_gap(element)


def heights(
    ways: Iterable[tuple[Station, Station, Height]], zero: Height
) -> list[dict[Station, Height]]:
    """Return how high each place lies, for every set of places that are joined by some ways."""
    leads: dict[Station, list[tuple[Station, Height]]] = {}
    for start, end, rise in ways:
        leads.setdefault(start, []).append((end, rise))
    found: list[dict[Station, Height]] = []
    for root in leads:
        if any(root in group for group in found):
            continue
        group = {root: zero}
        waiting = [root]
        for place in waiting:
            for end, rise in leads[place]:
                if end not in group:
                    group[end] = group[place] + rise
                    waiting.append(end)
        found.append(group)
    return found


def plates(circuit: Circuit) -> Iterator[Plates]:
    """Yield every capacitor."""
    for index, branch in enumerate(circuit.idle, len(circuit.branches)):
        places = stations(circuit, index)
        for k, passage in enumerate(branch.passages):
            if isinstance(passage.element, Capacitor):
                yield Plates(passage.element, (places[k], places[k + 1]))
