"""What a figure of a circuit is to show."""

from __future__ import annotations

from dataclasses import dataclass

from derive.algebra.term import Symbol
from derive.circuit.model import Loop
from derive.drawing.likeness import Spot


@dataclass(frozen=True, slots=True)
class View:
    """What to show. Give the same `loops` to every figure of a solution: they keep its shape."""

    values: bool = False
    """Show given values under the names of the parts."""
    currents: bool = True
    """Show the reference arrows of the currents."""
    arrows: frozenset[Symbol] | None = None
    """The currents whose arrows are shown, where not all of them are."""
    points: bool = True
    """Show the names of the points."""
    loop: Loop | None = None
    """The loop being walked: it stands out, with an arrow inside it; the rest is faint."""
    loop_name: str = ""
    """What the text calls that loop."""
    loops: tuple[Loop, ...] = ()
    """The loops of the derivation, which come out as windows of the figure where possible."""
    shape: tuple[Loop, ...] = ()
    """Loops in the branches of the figure that come out as windows instead of these, if any: two
    states of one circuit look alike."""
    like: tuple[Spot, ...] = ()
    """Where parts stood in the figure before: as far as they can they stay so to each other."""
    parts: frozenset[str] = frozenset()
    """Parts that stand out by themselves."""
    names: frozenset[str] | None = None
    """The points that are named, where not all of them are."""
    gap: str | None = None
    """A battery or a switch in whose place two open terminals are drawn."""
    gap_names: tuple[str, str] = ("", "")
    """The points where it begins and where it ends; those at the − and at the + of a battery."""
    current_sources: frozenset[str] = frozenset()
    """Batteries in whose place a current source is drawn, flowing from − to +."""
    small: bool = False
    """In smaller type, as the figures of loops are."""
    width: float | None = None
    """Millimetres to fill with longer wires, where the figure is narrower by itself."""
