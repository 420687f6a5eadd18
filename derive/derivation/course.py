"""Steps about the course of a voltage and a current in time."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.term import Equation, Symbol
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class InitialVoltage:
    """Law: the voltage of a capacitor at the start, by what the author says of it.

    Counted as `AcrossRule` counts it. The name must not have been used before.
    """

    capacitor: str
    conclusion: Equation
    """``V_0 = 2 V``."""


class CourseOf(Enum):
    """What a `Course` tells of a capacitor."""

    VOLTAGE = "voltage"
    """How much higher the potential is where its walk comes in, named ``v(C1)``."""
    CURRENT = "current"
    """Along its walk, named ``i(C1)``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Law: how a quantity of the only capacitor changes with time.

    With V = ``V(C1)`` long after, R = ``R(C1)`` seen from the capacitor and V_0 at the start, the
    voltage solves R·C·dv/dt + v = V with v = V_0 at t = 0, and the current is C·dv/dt.
    """

    capacitor: str
    kind: CourseOf
    time: Symbol
    """``t``; it must have no other meaning."""
    initial: StepId
    """The `InitialVoltage` step."""
    rewriting: tuple[StepId, ...] = ()
    """Equations ``symbol = term`` that have been put in, beside what names stand for."""
    conclusion: Equation
    """``v(C1) = V_∞ + (V_0 − V_∞)·e^(−t/tau)`` or the like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundedCourse:
    """Round the numbers of a course: what it comes to in the end, its change, its time."""

    course: StepId
    """A `Course` step in numbers."""
    figures: int
    """Significant figures that each number keeps."""
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseAt:
    """Round the value that a course has after a whole number of time constants."""

    course: StepId
    """A `Course` step in numbers."""
    time_constants: int
    rounded: Fraction
    """In SI base units."""
    unit_exponent: int
    """Power of ten of the SI prefix shown."""
    decimals: int
    """Digits after the decimal marker, in the prefixed unit."""
    exact: bool
    """True when nothing was lost."""
