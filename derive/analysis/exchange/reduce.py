"""A circuit reduced step by step: to one battery on one resistance, or as far as it goes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from derive.algebra.dimension import OHM
from derive.algebra.name import TakenNames
from derive.algebra.term import Equation, Symbol, SymbolKind
from derive.analysis.exchange.begin import begin
from derive.analysis.exchange.made import Workings
from derive.analysis.exchange.moves import Means, Moves
from derive.analysis.exchange.net import Exchanged, is_emf
from derive.analysis.exchange.trial import tried, without_values
from derive.analysis.sizes import Sizes
from derive.circuit.model import Circuit
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Join, LeftBetween, LookAtAll
from derive.derivation.step_id import StepId

SIMPLE = Means(levels=True)
"""Exchanges that lead from a battery to one resistance."""
ALL = Means(levels=True, sources=True, meshes=True)


@dataclass(frozen=True, slots=True)
class Reduction:
    """The exchanges that were made, and the workings that they left."""

    exchanged: tuple[tuple[StepId, Exchanged], ...]
    workings: Workings
    complete: bool
    """True when no resistance is left, so that all currents follow."""
    joined: tuple[Join, ...]
    """The points at equal potentials that were joined."""


def derive_reduction(
    circuit: Circuit,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    taken: TakenNames,
    means: Means,
    digits: int = 3,
    *,
    in_letters: bool = False,
) -> Reduction:
    """Add the steps that reduce a circuit as far as some means lead.

    `given` are the steps that state values; `taken` the names that have a meaning, to which those
    of what is made are added. `digits` are the significant ones of results on the way. With
    `in_letters` no step rests on values, so that the formulas hold for others.
    """
    sizes = Sizes(without_values(circuit) if in_letters else circuit)
    workings = Workings(given, builder, taken, digits)
    net = begin(circuit, LookAtAll(), builder, sizes)
    done: list[tuple[StepId, Exchanged]] = []
    joined: list[Join] = []
    relieved: set[Symbol] = set()
    for move in Moves(net, workings, sizes, means).run():
        if isinstance(move, Exchanged) and move.battery is not None:
            if move.ring and move.battery not in relieved:
                _tell_ring(move, workings)
            relieved.add(move.battery)
        step = workings.add(move)
        if isinstance(move, Exchanged):
            done.append((step, move))
        if isinstance(move, Join):
            joined.append(move)
    return Reduction(tuple(done), workings, all(map(is_emf, net.arms)), tuple(joined))


def _tell_ring(move: Exchanged, workings: Workings) -> None:
    """State what the emf of a closed row sees, before its current is taken out."""
    (left,) = move.step.taken
    assert move.battery is not None
    symbol = Symbol(f"R({move.battery.name})", SymbolKind.RESISTANCE, OHM)
    end = workings.builder.add(LeftBetween(conclusion=Equation(symbol, left)))
    workings.formula(end)
    workings.reckon(symbol, end)


def reduces(circuit: Circuit, means: Means) -> bool:
    """Tell whether some means lead to all currents of a circuit."""
    return tried(circuit, LookAtAll(), means).complete
