"""Two points between which a resistance is asked for: in the figure they are open terminals."""

from __future__ import annotations

from collections.abc import Sequence

from derive.circuit.questions import asks_for_resistances_alone
from derive.language.syntax import (
    Ask,
    BatteryStop,
    CurrentSourceStop,
    Name,
    PointStop,
    QuestionKind,
    Statement,
    SwitchStop,
    Walk,
)
from derive.source import Span

OPEN_TERMINALS = "open terminals"
"""What the gap between them is called; no part of a file can have that name."""


def gap_between_terminals(statements: Sequence[Statement], walks: Sequence[Walk]) -> Walk | None:
    """Return a walk through the gap between two terminals, from the first to the second.

    None if more is asked for than the resistance between two points, or if there is a source: then
    the figure shows what drives the currents.
    """
    if not asks_for_resistances_alone(statements):
        return None
    driven = any(
        isinstance(stop, BatteryStop | CurrentSourceStop) for walk in walks for stop in walk.stops
    )
    asked = [s for s in statements if isinstance(s, Ask) and s.kind is QuestionKind.RESISTANCE]
    pairs = {frozenset(name.text for name in ask.names) for ask in asked}
    if driven or len(pairs) > 1:
        return None
    nowhere = Span(0, 0)
    one, other = (PointStop(name) for name in asked[0].names)
    gap = SwitchStop(Name(OPEN_TERMINALS, nowhere), closed=False, span=nowhere)
    return Walk(None, (one, gap, other), nowhere)
