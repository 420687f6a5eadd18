"""The resistance between two points, derived by exchanging resistances for others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from derive.algebra.dimension import OHM
from derive.algebra.name import TakenNames
from derive.algebra.term import ZERO, Equation, Symbol, SymbolKind, Term
from derive.analysis.exchange.begin import begin
from derive.analysis.exchange.made import Workings
from derive.analysis.exchange.moves import Means, Moves
from derive.analysis.exchange.net import Net
from derive.analysis.exchange.trial import rests_on_values
from derive.analysis.rounding import rounded
from derive.analysis.sizes import Sizes
from derive.circuit.model import Circuit
from derive.circuit.question import AskResistance
from derive.derivation.builder import Builder
from derive.derivation.exchanges import LeftBetween, LookBetween, LookFrom
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId

_MEANS = Means(levels=True, meshes=True)
FROM_A_GAP = Means(levels=False, meshes=True)
"""The ends of a gap may have no names, by which equal potentials could be told."""


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
    Raises NothingBetween.
    """
    symbol = resistance_symbol(question)
    begun = LookBetween(one=question.one, other=question.other)
    seen = resistance_seen(
        circuit, begun, symbol, given, builder, digits, taken, expanded=expanded, means=_MEANS
    )
    exact = seen.value
    builder.add(
        Conclude(
            question=question,
            symbol=symbol,
            formula=seen.formula,
            value=seen.partly if exact is None else exact,
            rounded=None if exact is None else builder.add(rounded(builder, exact, digits)),
        )
    )


@dataclass(frozen=True, slots=True)
class SeenResistance:
    """Where a resistance is concluded."""

    law: StepId
    """The `LeftBetween` step."""
    formula: StepId | None
    """``symbol = formula in letters``; None where only given values allow the steps."""
    value: StepId | None
    """``symbol = exact value``; None where a letter is left."""
    partly: StepId | None
    """``symbol = term`` with the values put in that are known; None where none is, or all are."""


def resistance_seen(
    circuit: Circuit,
    begun: LookBetween | LookFrom,
    symbol: Symbol,
    given: Mapping[Symbol, StepId],
    builder: Builder,
    digits: int,
    taken: TakenNames,
    *,
    expanded: bool = False,
    means: Means = FROM_A_GAP,
) -> SeenResistance:
    """Add the steps that find a resistance, seen from two points or from a gap."""
    sizes = Sizes(circuit)
    workings = Workings(given, builder, taken, digits)
    net = begin(circuit, begun, builder, sizes)
    for move in Moves(net, workings, sizes, means).run():
        workings.add(move)
    end = builder.add(LeftBetween(conclusion=Equation(symbol, _left(net, begun))))
    formula: StepId | None = workings.formula(end)
    if expanded:
        formula = workings.expanded(end)
    value = workings.value(end)
    if value is None and formula == end:  # told by names of what was made
        formula = workings.expanded(end, _MOST_PRODUCTS)
    if value is None:
        workings.reckon(symbol, end)
        formula = workings.by_ties(symbol) or formula
    if value is not None and rests_on_values(circuit, begun, means):
        formula = None
    partly = None if value is not None or formula is None else workings.put_in(formula)
    return SeenResistance(end, formula, value, partly)


_MOST_PRODUCTS = 24
"""Products in a fraction that is told in the place of names: those of six resistances, any two of
four points joined."""


class NothingBetween(Exception):  # noqa: N818  (a finding about the circuit)
    """No way leads from one end to the other: gaps alone join them."""

    def __init__(self, ends: tuple[str, ...]) -> None:
        """Keep the two points, or the part past which no way leads."""
        super().__init__(f"no way leads past {' and '.join(ends)}")
        self.ends = ends


def _left(net: Net, begun: LookBetween | LookFrom) -> Term:
    one, other = net.terminals
    if one == other:
        return ZERO
    if not net.arms:
        if isinstance(begun, LookBetween):
            raise NothingBetween((begun.one, begun.other))
        raise NothingBetween((begun.part,))
    return next(iter(net.arms))
