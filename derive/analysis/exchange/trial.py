"""A reduction on trial: how far would it lead, and would it lead as far with other values?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from derive.algebra.name import TakenNames
from derive.analysis.exchange.begin import begin
from derive.analysis.exchange.made import Workings
from derive.analysis.exchange.moves import Means, Moves
from derive.analysis.exchange.net import Begun, Exchanged, is_emf
from derive.analysis.sizes import Sizes
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Exchange, Join, Levels, Replace


@dataclass(frozen=True, slots=True)
class Trial:
    """What was done to a network."""

    moves: tuple[Replace | Join, ...]
    complete: bool
    """True when no resistance is left."""


@lru_cache(maxsize=8)  # asked for by the choice of the method, by its limits and by the reduction
def tried(circuit: Circuit, begun: Begun, means: Means) -> Trial:
    """Return what some means lead to."""
    sizes, builder = Sizes(circuit), Builder()
    workings = Workings({}, builder, TakenNames(symbol.name for symbol in circuit.symbols))
    net = begin(circuit, begun, builder, sizes)
    moves: list[Replace | Join] = []
    for move in Moves(net, workings, sizes, means).run():
        workings.add(move)
        if not isinstance(move, Levels):
            moves.append(move.step if isinstance(move, Exchanged) else move)
    return Trial(tuple(moves), all(map(is_emf, net.arms)))


def rests_on_values(circuit: Circuit, begun: Begun, means: Means) -> bool:
    """Tell whether given values, not ties or how parts are joined, allow some of the steps."""
    moves = tried(circuit, begun, means).moves
    if not any(map(_compares, moves)):
        return False
    return moves != tried(without_values(circuit), begun, means).moves


def _compares(move: Replace | Join) -> bool:
    """Tell whether a move depends on the sizes of resistances or emfs."""
    return isinstance(move, Join) or move.exchange in (Exchange.LEVEL, Exchange.ALIKE)


def without_values(circuit: Circuit) -> Circuit:
    """Return a circuit in letters: ties are kept, and zeros, which are wires."""
    kept = (v for v in circuit.values if not isinstance(v.value, Given) or not v.value.value)
    return replace(circuit, values=tuple(kept))
