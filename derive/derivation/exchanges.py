"""Steps that put parts of a network for others, and lead back from them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.term import Equation, Symbol, Term
from derive.derivation.step_id import StepId


class Exchange(Enum):
    """What may stand for what in a network, and what may be left out of it.

    Within a row of arms with nothing that branches off, their order makes no difference.
    """

    SERIES = "in series"
    """Resistances in one row, for their sum."""
    PARALLEL = "in parallel"
    """Resistances between the same two places, for one."""
    DELTA = "a delta by a wye"
    """Three between three places for three that meet; each stands opposite to the one taken."""
    STAR = "a star by a mesh"
    """All that meet at one place for one between each two of their far ends: with three, a wye by
    a delta (A. E. Kennelly, 1899); with more, a star by a mesh (A. Rosen, 1924)."""
    EMFS = "batteries in series"
    """Emfs in one row, for their sum, each with its sign."""
    CURRENT_SOURCE = "a battery by a current source"
    """A row of one emf and one resistance, for a current source beside that resistance (E. L.
    Norton, 1926); the resistance carries another current then."""
    CURRENTS = "current sources side by side"
    """Current sources between the same two places, for their sum, each with its sign."""
    BATTERY = "a current source by a battery"
    """A current source and a resistance beside it, for an emf in a row with that resistance."""
    ALIKE = "equal cells side by side"
    """Rows of one emf and one resistance, all with the same values, for one such row."""
    IDLE = "without current"
    """What hangs on the rest by one place, or is shorted, is left out."""
    LEVEL = "between equal potentials"
    """Resistances whose two ends are at one potential are left out."""
    ACROSS = "straight across a battery"
    """A row of one resistance, and perhaps an emf, side by side with an emf that has no resistance:
    its current depends on nothing else, and it is left out."""
    WIRE = "a wire"
    """A resistance of zero is a wire."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBetween:
    """Begin a network: the resistances of the circuit seen from two points, emfs being wires."""

    one: str
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFrom:
    """Begin a network: the resistances of the circuit seen from the two ends of a gap.

    Emfs are wires; current sources are taken out, and so is the part from which it is seen.
    """

    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAtAll:
    """Begin a network: all resistances and all emfs of the circuit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replace:
    """Put parts of a network in the place of others, which changes nothing outside of them.

    One resistance is made for SERIES and PARALLEL; three for DELTA, in the order of those taken;
    for STAR one for each pair of those taken, first with second, first with third, …; for EMFS one
    emf along the first one taken; for ALIKE an emf along the first one taken, then a resistance;
    for CURRENT_SOURCE, CURRENTS and BATTERY one source along the first one taken; for the others
    nothing. The names of those made have been defined just so.
    """

    exchange: Exchange
    taken: tuple[Symbol, ...]
    """Symbols of resistances, emfs and source currents; for CURRENT_SOURCE and BATTERY the source,
    then the resistance, which stays."""
    made: tuple[Symbol, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Law: what the potentials of the points are, if those of the two ends are given.

    The ends are the points from which a network is seen, or those of the row with its only emf. At
    every other point the junction rule holds with these potentials, so that they are the right ones
    but for a scale.
    """

    levels: tuple[tuple[str, Term], ...]
    """For one point of every place where more than two arms meet: its potential, a pure number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Join points which, by the `Levels` before it, are at one potential: no current changes."""

    points: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBack:
    """Law: the current in an arm that an exchange took, by those in the arms that it made.

    A resistance and its branch have one current; so have all arms of a row. The current of an arm
    that has no name yet gets one here.
    """

    replaced: StepId
    """The `Replace` step."""
    arm: Symbol
    conclusion: Equation
    """``I2 = V23/R2``; ``I5 = −I1``; ``I6 = 0``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agree:
    """Check: two ways have led to the same."""

    one: StepId
    """``symbol = term``."""
    other: StepId
    """``symbol = term`` with the same symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftBetween:
    """Law: what is left between two points, or across an emf, is what is seen there."""

    conclusion: Equation
    """``R(A,B) = R12``, ``R(E1) = R12`` seen by an emf, or ``R(C1) = R12`` seen from a gap; 0 where
    only wire is left."""
