"""The resistance between two points, derived by exchanging resistances for others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from derive.algebra.dimension import OHM
from derive.algebra.name import TakenNames
from derive.algebra.term import ZERO, Equation, Symbol, SymbolKind, Term
from derive.analysis.exchange.made import Workings
from derive.analysis.exchange.moves import Means, Move, Moves
from derive.analysis.exchange.net import Exchanged, Net, net_of
from derive.analysis.rounding import rounded
from derive.analysis.sizes import Sizes
from derive.circuit.model import AskResistance, Circuit, Given
from derive.derivation.builder import Builder
from derive.derivation.step import (
    Conclude,
    Exchange,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    Replace,
    StepId,
)

_MEANS = Means(levels=True, meshes=True)


def resistance_symbol(question: AskResistance) -> Symbol:
    """Return the symbol that answers a question."""
    return Symbol(f"R({question.one},{question.other})", SymbolKind.RESISTANCE, OHM)


def derive_resistance(
    circuit: Circuit,
    question: AskResistance,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    taken: TakenNames,
    *,
    expanded: bool = False,
) -> None:
    """Add the steps that answer a question.

    `given` are the steps that state values; `taken` the names that have a meaning, to which those
    of the resistances made are added. The formula stays nested, or is expanded to one fraction.
    """
    sizes = Sizes(circuit)
    workings = Workings(given, builder, taken, digits)
    net = begin(circuit, LookBetween(one=question.one, other=question.other), builder, sizes)
    moves = []
    for move in Moves(net, workings, sizes, _MEANS).run():
        workings.add(move)
        moves.append(move)
    symbol = resistance_symbol(question)
    end = builder.add(LeftBetween(conclusion=Equation(symbol, _left(net))))
    formula: StepId | None = workings.formula(end)
    if expanded:
        formula = workings.expanded(end)
    value = workings.value(end)
    if value is None:
        workings.reckon(symbol, end)
        formula = workings.by_ties(symbol) or formula
    if value is not None and _rests_on_values(circuit, question, moves):
        formula = None
    builder.add(
        Conclude(
            question=question,
            symbol=symbol,
            formula=formula,
            value=value,
            rounded=None if value is None else builder.add(rounded(builder, value, digits)),
        )
    )


def _rests_on_values(circuit: Circuit, question: AskResistance, moves: list[Move]) -> bool:
    """Tell whether other values would not have allowed the same steps."""
    special = (Levels, Join)
    if not any(isinstance(move, special) for move in moves):
        return False
    bare = without_values(circuit)
    sizes = Sizes(bare)
    taken = TakenNames(symbol.name for symbol in circuit.symbols)
    workings = Workings({}, Builder(), taken)
    begun = LookBetween(one=question.one, other=question.other)
    other = []
    for move in Moves(begin(bare, begun, workings.builder, sizes), workings, sizes, _MEANS).run():
        workings.add(move)
        other.append(move)
    return [_of(move) for move in moves] != [_of(move) for move in other]


def _of(move: Move) -> object:
    return move.step.taken if isinstance(move, Exchanged) else move


def without_values(circuit: Circuit) -> Circuit:
    """Return a circuit in letters: ties are kept, and zeros, which are wires."""
    kept = (v for v in circuit.values if not isinstance(v.value, Given) or not v.value.value)
    return replace(circuit, values=tuple(kept))


def begin(circuit: Circuit, begun: LookBetween | LookAtAll, builder: Builder, sizes: Sizes) -> Net:
    """Begin a network, resistances of zero being wires."""
    wires = [s for b in circuit.branches for s in b.resistances if sizes.is_zero(s)]
    builder.add(begun)
    if wires:
        builder.add(Replace(exchange=Exchange.WIRE, taken=tuple(wires), made=()))
    return net_of(circuit, begun, wires)


def _left(net: Net) -> Term:
    # A circuit hangs together, so that something is left unless wire joins the points.
    one, other = net.terminals
    return next(iter(net.arms)) if one != other else ZERO
