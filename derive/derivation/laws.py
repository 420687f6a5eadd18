"""Steps that state a law of the circuit, a value that is given, or a count of the unknowns."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.term import Equation, Symbol, Term
from derive.circuit.model import Loop
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """One row of a walk's table: a quantity met on the way and the potential change it makes."""

    part: str
    """Name of the element."""
    quantity: Symbol
    """The emf, the resistance, the internal resistance or the capacitance that makes the change."""
    current: Symbol | None
    """The current in a resistance; None for an emf, and where no current can flow."""
    along: bool
    """For a resistance: met along the current arrow. For an emf: entered at −, left at +. For a
    capacitor: met as on its own walk."""
    change: Term
    """With its sign: ``+E1``, ``−R1·I1``, ``−V(C1)``; 0 at a resistance in which no current can
    flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseUnknowns:
    """Count branches and junctions, name the unknowns, and say how many equations are needed."""

    branches: int
    junctions: int
    """0 for a single loop."""
    unknowns: tuple[Symbol, ...]
    """One current a branch, in branch order, without those that a current source sets or the author
    gives; then the quantities whose values are sought."""
    junction_equations: int
    loop_equations: int
    voltage_equations: int = 0
    """One for each voltage that the author gives."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenValue:
    """Law: what the author says of a quantity; ``R1 = 2 Ω`` or ``R2 = 2 R1``."""

    symbol: Symbol
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class SameCurrent:
    """Law: two walks that follow each other in one branch carry the same current."""

    walk: Symbol
    conclusion: Equation
    """``I5 = I2`` or ``I5 = −I2``: the walk's current by that of its branch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownCurrent:
    """Law: a current that needs no equation, since a current source sets it or a gap forbids it."""

    current: Symbol
    part: str
    """The source, or the part at which the walk is interrupted; "" for a wire that leads there."""
    conclusion: Equation
    """``I2 = J1``, ``I2 = −J1`` or ``I3 = 0``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JunctionRule:
    """Law: what flows into a junction flows out of it."""

    node: str
    flows_in: tuple[Symbol, ...]
    flows_out: tuple[Symbol, ...]
    conclusion: Equation
    """``Σ in = Σ out``; 0 stands on a side with no current. A branch that both leaves and enters
    the node appears on neither side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRule:
    """Law: the potential changes round a closed walk add up to zero."""

    name: str
    """What the document calls it: ``1``, ``2``, … or ``check``."""
    loop: Loop
    crossings: tuple[Crossing, ...]
    conclusion: Equation
    """The unsimplified sum of the changes in travel order, = 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Law: one change of potential on a walk round a loop, under a name of its own."""

    loop: StepId
    """The `LoopRule` step."""
    row: int
    """Which of its crossings, counted from 0."""
    conclusion: Equation
    """``name = change``; the name must not have been used before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PathRule:
    """Law: a potential difference is the sum of the changes along any path."""

    origin: str
    to: str
    """Points, not nodes."""
    crossings: tuple[Crossing, ...]
    """In walking order from origin to `to`; every row must continue where the last one ended."""
    conclusion: Equation
    """``V(to,origin) = Σ changes``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentialRule:
    """Law: the potential of a point, by that of a point before it on a walk.

    The grounded point is at zero, so that a walk from there gives the sum of its changes.
    """

    start: str
    """The grounded point, or one whose potential has been told."""
    point: str
    crossings: tuple[Crossing, ...]
    """In walking order from start to point; none where the two are joined."""
    conclusion: Equation
    """``V(B) = V(A) + Σ changes``; ``V(B) = Σ changes`` from the grounded point."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AcrossRule:
    """Law: the voltage across a part is the sum of the changes on any way past it.

    For a current source how much higher the end is to which its arrow points; for a switch, a
    voltmeter and a capacitor how much higher the end is where its walk comes in.
    """

    part: str
    crossings: tuple[Crossing, ...]
    """From the end that counts as lower to the other, without passing the part."""
    conclusion: Equation
    """``V(C1) = Σ changes``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeRule:
    """Law: the charges on an island add up to zero, as they did before it was connected.

    An island is a set of places that gaps alone join to the rest. The author says that the
    capacitors at it began without charge. ``Q(C1)`` is the charge of the plate at which the walk of
    C1 comes in; the other plate has the opposite charge.
    """

    points: tuple[str, ...]
    """Every point of the island that has a name."""
    leads_in: tuple[Symbol, ...]
    """The charges of the capacitors whose walks lead to the island."""
    leads_out: tuple[Symbol, ...]
    """The charges of those whose walks lead away."""
    conclusion: Equation
    """``Σ in = Σ out``; 0 stands on a side with no charge, on the right where there is one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRule:
    """Law of one element, in its branch current and its letters.

    ``V(R1) = R1·I1`` (kind VOLTAGE); ``V(E1) = E1 − r1·I`` with I the current that leaves the +
    terminal, written by the branch's current with its sign; ``P(R1) = R1·I1²`` (POWER_IN);
    ``Pd(E1) = E1·I`` (POWER_OF, delivered by the emf); ``P(E1)`` of a battery is power taken in at
    its terminals, ``−V·I`` (POWER_IN); ``I(R1) = I1`` (CURRENT). ``Pd(J1) = J1·V(J1)`` and
    ``P(J1) = −J1·V(J1)`` of a current source, ``Q(C1) = C1·V(C1)`` (CHARGE) and
    ``W(C1) = C1·V(C1)²/2`` (ENERGY) of a capacitor are by the voltage that an `AcrossRule` gives.
    ``Isc(E1) = E1/r1`` (SHORT_CIRCUIT) and ``Voc(E1) = E1`` (OPEN_CIRCUIT) are of a battery with
    nothing else connected.
    """

    kind: PartLaw
    part: str
    conclusion: Equation


class PartLaw(Enum):
    """Which relation of an element a `PartRule` states."""

    CURRENT = "current"
    VOLTAGE = "voltage"
    POWER_IN = "power in"
    POWER_OF = "power of"
    CHARGE = "charge"
    ENERGY = "energy"
    SHORT_CIRCUIT = "short circuit"
    OPEN_CIRCUIT = "open circuit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """Law: the resistance of a lamp that takes its rated power at its rated voltage."""

    part: str
    conclusion: Equation
    """``L1 = (6 V)²/(3 W)``"""
