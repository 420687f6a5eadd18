"""Steps that bound an answer by the tolerances of the values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.term import Symbol
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """The least or the greatest value that an answer can have within the tolerances."""

    value: Fraction
    """Exact, in SI base units."""
    at: tuple[tuple[Symbol, Fraction], ...]
    """Values of the quantities with a tolerance at which it is met; empty for the zero of a square
    whose root changes its sign, which is met somewhere between."""
    shown: Fraction
    """Rounded outwards, so that what is printed holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Bound an answer: what it is at least and at most, wherever the values lie in tolerance."""

    answer: StepId
    """The `Conclude` step of the answer."""
    symbol: Symbol
    low: End
    high: End
    unit_exponent: int
    """Power of ten of the SI prefix in which the ends are shown."""
    decimals: int
    """Digits after the decimal marker there."""


class Unbounded(Enum):
    """Why no range is stated for an answer."""

    MANY = "too many values have a tolerance"
    BENDS = "it may turn round between the ends of the values"
    TERMINALS = "it is a product of a voltage and a current that change together"
    OPEN = "the currents are not fixed all over the tolerances"
    DEPENDENT = "a source depends on what flows"
    BETWEEN = "it is a resistance between two points"
    CHARGES = "capacitors share their charges"
    RATIO = "it is neither a current, nor a voltage, nor a power"
    LOADING = "it compares the circuit with another one"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoRange:
    """Say that the range of an answer is not worked out, and why."""

    answer: StepId
    symbol: Symbol
    reason: Unbounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What one quantity with a tolerance contributes, to first order."""

    letter: Symbol
    value: Fraction
    """∂q/∂x · x · p at the nominal values, in the unit of the answer: positive where the answer
    grows with the quantity."""
    shown: Fraction
    """Rounded to the nearest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Say how much each quantity with a tolerance contributes to that of an answer."""

    answer: StepId
    symbol: Symbol
    shares: tuple[Share, ...]
    """One for each quantity with a tolerance, in file order."""
    total: Fraction
    """The sum of their sizes."""
    total_shown: Fraction
    """Rounded to the nearest."""
    down: Fraction | None
    """From the nominal value to the exact least one, rounded away from zero; None without range."""
    up: Fraction | None
    """From the nominal value to the exact greatest one, rounded away from zero."""
    unit_exponent: int
    decimals: int
