"""Switches that change: the walks as they were before, and what happens."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from derive.circuit.amounts import listed
from derive.circuit.model import Event
from derive.language.syntax import Stop, SwitchStop, Walk


def event_of(walks: Iterable[Walk]) -> Event | None:
    """Return which switches change; None when none does."""
    stops = [stop for walk in walks for stop in walk.stops if isinstance(stop, SwitchStop)]
    closes, opens = (
        tuple(dict.fromkeys(s.name.text for s in stops if s.changes and s.closed is closed))
        for closed in (True, False)
    )
    return Event(closes, opens) if closes or opens else None


def walks_before(walks: Iterable[Walk]) -> tuple[Walk, ...]:
    """Return walks with every switch in the state that it has before it changes."""
    return tuple(replace(walk, stops=tuple(map(_before, walk.stops))) for walk in walks)


def _before(stop: Stop) -> Stop:
    if isinstance(stop, SwitchStop) and stop.changes:
        return replace(stop, closed=not stop.closed)
    return stop


def told(event: Event) -> str:
    """Say what happens.

    >>> told(Event(("S1",), ())), told(Event(("S1", "S2"), ("S3",)))
    ('S1 closes', 'S1 and S2 close and S3 opens')
    """
    found = []
    for names, verb in ((event.closes, "close"), (event.opens, "open")):
        if names:
            found.append(f"{listed(names)} {verb}{'s' if len(names) == 1 else ''}")
    return " and ".join(found)
