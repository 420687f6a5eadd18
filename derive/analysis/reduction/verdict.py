"""The verdict on reduction, with the test that decided and a reason that keeps names as symbols."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.term import Symbol, Term


class Criterion(Enum):
    """What decided, in the order in which it is looked for.

    The first seven lead to a yes, unless a part that is solved alone does not reduce.
    """

    ONE_BRANCH = "all batteries in one branch"
    """After series and parallel steps; several batteries in series act as one."""
    DEAD_PARTS = "parts without current"
    """Open ends, shorted resistors, bridges between two parts; what is left is one branch."""
    SEPARABLE = "parts that share no current"
    """The circuit hangs together by single points, so that each part is solved alone."""
    IDEAL_BATTERY = "ideal battery across two nodes"
    """It fixes the voltage there, so that what lies beside it is solved alone."""
    EQUAL_CELLS = "equal cells in parallel"
    """Same emf and same resistance: they act as one cell."""
    BALANCED_BRIDGE = "balanced bridge"
    """Values or ties prove that its arm carries no current."""
    EQUAL_POTENTIALS = "points at equal potentials"
    """Values or symmetry put them there, so that they may be joined."""
    UNBALANCED_BRIDGE = "bridge"
    """One battery is not enough: the graph holds K4 (Duffin 1965)."""
    NODE_PAIR = "one pair of nodes"
    """The branches merge to one battery with one resistance (Millman), not to a resistor alone."""
    SEVERAL_BRANCHES = "batteries in several branches"
    """The rule of thumb holds."""
    NO_CURRENT = "no battery drives a current"
    CURRENT_SOURCE = "a current source"
    """What it drives does not depend on resistances, so that it stays."""


@dataclass(frozen=True, slots=True)
class PointLabel:
    """The name of a point inside a sentence."""

    name: str


Piece = str | Symbol | PointLabel


@dataclass(frozen=True, slots=True)
class Reduced:
    """A single loop that is left: one battery and one resistor."""

    emfs: tuple[tuple[Symbol, bool], ...]
    """Each emf, and whether it acts in the direction of the first one."""
    resistance: Term
    """Sums for resistors in series, `Parallel` for resistors in parallel."""
    branches: tuple[int, ...]
    """The branches of the circuit that it is made of."""


@dataclass(frozen=True, slots=True)
class ReductionVerdict:
    """Whether series and parallel steps lead to all currents, and why."""

    reducible: bool
    """True also where parts that are solved alone reduce, each to a battery and a resistor."""
    test: Criterion
    opening: str
    """The answer in a few words: ``Yes.`` or ``Not to a resistor alone.``"""
    pieces: tuple[Piece, ...]
    """The reason in whole sentences, to be joined without anything between the pieces."""
    reduced: tuple[Reduced, ...] = ()
    """What the circuit, or each part that is solved alone, reduces to; empty when it does not."""

    @property
    def reason(self) -> str:
        """The reason in plain text."""
        return "".join(piece if isinstance(piece, str) else piece.name for piece in self.pieces)

    @property
    def text(self) -> str:
        """The opening and the reason in plain text."""
        return f"{self.opening} {self.reason}"
