"""All steps of a derivation, and the derivation itself.

A step is either a *law* of the circuit, which the checker recomputes from the circuit, or an
*algebraic* step, which follows from earlier ones by its certificate (`derive.derivation.algebra`),
or it tells something about steps before it. The two laws that rest on a derivation of another
circuit stand here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.term import Equation, Symbol
from derive.algebra.unit import Unit
from derive.circuit.question import AskResistance, Question
from derive.derivation.algebra import AlgebraStep, Define
from derive.derivation.course import Course, CourseAt, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import (
    Agree,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    LookFrom,
    PutBack,
    Replace,
)
from derive.derivation.further import (
    AgainstRating,
    Efficiency,
    Largest,
    Lasts,
    LoadingError,
    OverTime,
    PowerBalance,
    PowerPart,
    PreferredValue,
)
from derive.derivation.goal import Stage
from derive.derivation.laws import (
    AcrossRule,
    Change,
    ChargeRule,
    ChooseUnknowns,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PartRule,
    PathRule,
    PotentialRule,
    Rated,
    SameCurrent,
)
from derive.derivation.sense import SenseStep
from derive.derivation.spread import NoRange, Range, Shares
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class IdealReading:
    """Law: what a meter would show if it were ideal.

    The circuit with the meter made ideal is another circuit; this is its answer.
    """

    part: str
    derivation: Derivation
    """Of that circuit, ``Circuit.ideal``."""
    conclusion: Equation
    """``Videal(M2) = …`` in letters of the circuit, or in numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BySource:
    """Law: the resistance between two points is the voltage that a test source needs there.

    The circuit with the test source is another circuit, ``Circuit.tested``; its answer over the
    current of the source is the resistance.
    """

    question: AskResistance
    derivation: Derivation
    """Of that circuit."""
    conclusion: Equation
    """``R(A,B) = …`` in letters of the circuit, or in numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Round an exact value once."""

    premise: StepId
    """``symbol = exact value``."""
    symbol: Symbol
    rounded: Fraction
    """In SI base units."""
    unit_exponent: int
    """Power of ten of the SI prefix shown: -3 for mA."""
    decimals: int
    """Digits after the decimal marker, in the prefixed unit."""
    exact: bool
    """True when nothing was lost, so that = may stand instead of ≈."""
    unit: Unit = Unit.SI
    """What the prefix stands before; never one of time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclude:
    """Answer a question of the file by a conclusion reached before."""

    question: Question
    symbol: Symbol
    formula: StepId | None
    """``symbol = formula in letters``; None on the route that puts numbers first."""
    value: StepId | None
    """``symbol = exact value`` (or with the letters that have no value); None when all are
    letters and the formula says everything."""
    rounded: StepId | None
    """A `Round` step."""
    also: StepId | None = None
    """A `Round` step of the same value in a unit of the trade."""


LawStep = (
    GivenValue
    | SameCurrent
    | KnownCurrent
    | JunctionRule
    | LoopRule
    | Change
    | PathRule
    | PotentialRule
    | AcrossRule
    | ChargeRule
    | PartRule
    | IdealReading
    | LoadingError
    | Lasts
    | OverTime
    | Efficiency
    | PreferredValue
    | Largest
    | LeftBetween
    | BySource
    | PutBack
    | InitialVoltage
    | Rated
)

EquationStep = LawStep | AlgebraStep | Define | PowerBalance | PowerPart | Course

Silent = (
    ChooseUnknowns | LookBetween | LookFrom | LookAtAll | Replace | Levels | Join | Agree | Round
    | RoundedCourse | CourseAt | Conclude | Range | NoRange | Shares | SenseStep | AgainstRating
)  # fmt: skip
"""Steps that conclude no equation."""

Step = Silent | EquationStep


@dataclass(frozen=True, slots=True)
class Derivation:
    """A chain of steps that answers the questions of a circuit. A step cites earlier ones only."""

    steps: tuple[Step, ...]
    stages: tuple[Stage, ...] = ()
    """How the steps fall into stages, for writers; no proof depends on it."""

    def equation(self, step: StepId) -> Equation:
        """Return the conclusion of a step. Raises ValueError for a step that has none."""
        found = self.steps[step]
        if isinstance(found, Silent):
            raise ValueError(f"step {step} concludes no equation")
        return found.conclusion
