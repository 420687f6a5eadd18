"""Which wires of a file carry a current, in one state of its switches."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from derive.circuit.idle import idle_edges
from derive.circuit.wiring import Wiring
from derive.language.syntax import Walk


@dataclass(frozen=True, slots=True)
class LiveWires:
    """The wiring with what is known of its currents."""

    wiring: Wiring
    idle: frozenset[int]
    """Edges that can carry no current."""
    degree: Mapping[str, int]
    """How many ends of edges with a current meet at each group."""
    real: Collection[str]
    """The meters that have a resistance."""

    @property
    def live(self) -> list[int]:
        """The edges that can carry a current."""
        return [k for k in range(len(self.wiring.edges)) if k not in self.idle]


def live_wires(
    walks: Sequence[Walk], open_points: frozenset[str], real: Collection[str]
) -> LiveWires:
    """Return the wires of walks; `real` names the meters that have a resistance."""
    wiring = Wiring(walks)
    idle = idle_edges(wiring, open_points, real)
    degree = wiring.degrees(k for k in range(len(wiring.edges)) if k not in idle)
    return LiveWires(wiring, idle, degree, real)
