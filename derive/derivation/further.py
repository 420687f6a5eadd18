"""Steps about further quantities: energy, efficiency, the errors of meters, ratings, power."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.term import Equation, Term
from derive.circuit.preferred import Series
from derive.circuit.question import Duration
from derive.derivation.step_id import StepId


class Kept(Enum):
    """Which quantity a steady power or current makes in a time."""

    ENERGY_IN = "energy taken in"
    ENERGY_OF = "energy delivered"
    CHARGE_THROUGH = "charge that flows through"
    CHARGE_OF = "charge that leaves at the + terminal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasts:
    """Law: how long a question lets the currents flow."""

    time: Duration
    conclusion: Equation
    """``t(2h) = 7200 s``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverTime:
    """Law: a steady power makes an energy in a time, and a steady current a charge.

    ``W(R1,2h) = P(R1)·t(2h)`` (ENERGY_IN), ``Wd(E1,2h) = Pd(E1)·t(2h)`` (ENERGY_OF);
    ``Q(R1,2h) = I1·t(2h)`` (CHARGE_THROUGH) and ``Qd(E1,2h) = I1·t(2h)`` (CHARGE_OF) are by the
    branch's current with its sign.
    """

    kind: Kept
    part: str
    time: Duration
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Efficiency:
    """Law: which part of a battery's power is of use; one current flows in emf and terminals.

    ``η(E1) = V(E1)/E1`` while it delivers, ``η(E1) = E1/V(E1)`` while it is being charged.
    """

    battery: str
    charged: bool
    voltage: StepId | None
    """``V(E1) = value``, which tells the two apart; None where it is not known in numbers, and
    then the battery is said to deliver."""
    conclusion: Equation


class MeterError(Enum):
    """How a loading error is told."""

    ABSOLUTE = "absolute"
    """The reading minus that of an ideal meter: ``e(M2) = V(M2) − Videal(M2)``."""
    RELATIVE = "relative"
    """That over the reading of an ideal meter: ``δ(M2) = e(M2)/Videal(M2)``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadingError:
    """Law: what is meant by the loading error of a meter."""

    kind: MeterError
    part: str
    conclusion: Equation


class Most(Enum):
    """What is told of the load that takes the most power."""

    LOAD = "its resistance"
    POWER = "the power in it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Largest:
    """Law: where a power falls short of a bound by a square, it is largest where that is zero.

    The premise is ``bound − P(R) = bound·(S − R)²/(S + R)²`` for every value of the resistance R,
    the bound and the positive resistance S holding no R: so P(R) reaches the bound for R = S, and
    for no other R.
    """

    kind: Most
    part: str
    """The resistor."""
    at: Term
    """S."""
    premise: StepId
    conclusion: Equation
    """``Rm(R3) = S`` (LOAD) or ``Pm(R3) = bound`` (POWER)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerBalance:
    """Check: power delivered by the batteries equals power taken in."""

    delivered: tuple[StepId, ...]
    """Steps ``Pd(E) = value`` of the batteries that deliver."""
    taken: tuple[StepId, ...]
    """Steps ``P = value`` of the resistances, and ``Pd(E) = value < 0`` of charged batteries."""
    totals: tuple[StepId, ...] = ()
    """The `Define` steps that name the two sums, delivered and taken, if the sums have names."""
    conclusion: Equation
    """``delivered total = taken total``, both values."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPart:
    """Law: which part of the balance of power falls to one of its powers."""

    power: StepId
    """A step that the balance counts: ``P(R1) = value``."""
    balance: StepId
    """The `PowerBalance` step; its total is not zero."""
    conclusion: Equation
    """``share(R1) = value/total``, without the sign of a battery that takes in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreferredValue:
    """Law: the value of a series that is nearest to the value of a part, by the smaller ratio."""

    series: Series
    premise: StepId
    """``R3 = 4250 Ω``"""
    below: Fraction
    """The greatest value of the series that is not above; the value itself where it is one."""
    above: Fraction
    off_below: Fraction
    """By how much of the value it differs, rounded to as many digits of a per cent as the values
    of the series have: -0.082."""
    off_above: Fraction
    conclusion: Equation
    """``Rn(R3,E24) = 4300 Ω``; ``Cn(C1,E6) = 0.0001 F``."""


class Load(Enum):
    """How much a part takes of what it is made for."""

    BELOW = "less than its rating"
    AT = "just its rating"
    OVER = "more than its rating"


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainstRating:
    """Compare the power that a part takes with its rated power."""

    part: str
    power: StepId
    """``P(L1) = value``"""
    rating: Fraction
    """W."""
    load: Load
