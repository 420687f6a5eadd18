"""Two states of one circuit compared: what each answer is before and after, and its change."""

from __future__ import annotations

from dataclasses import dataclass

from derive.algebra.term import Equation, Symbol, auxiliary
from derive.derivation.step import Round
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The answer to one question in both states."""

    before: StepId
    """The `Conclude` step of the derivation before."""
    after: StepId
    """The `Conclude` step of the derivation after, for the same question and symbol."""
    change: Equation | None
    """``ΔI1 = value after − value before``, exact; None where either holds a letter."""
    rounded: Round | None
    """That change rounded; its premise is the position of this line in the comparison. None where
    the two answers are not rounded either, since others hold letters."""


Comparison = tuple[Compared, ...]
"""One line for each answer, in the order of the derivation after."""


def change_of(symbol: Symbol) -> Symbol:
    """Return the symbol of a change: ΔI1."""
    return auxiliary(f"Δ{symbol.name}", symbol.dimension)
