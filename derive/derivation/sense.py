"""Steps that tell what a formula says: limits, special cases, trends, dimensions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.dimension import Dimension
from derive.algebra.term import Equation, Symbol, Term
from derive.derivation.step_id import StepId


class Toward(Enum):
    """Where a resistance goes."""

    ZERO = "zero"
    INFINITY = "infinity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a formula tends to as one resistance goes to zero or grows without bound.

    All letters are positive, and the others stay as they are. It holds in the limit only, so it is
    no equation that a later step may cite.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    letter: Symbol
    """A resistance to which nothing is tied."""
    to: Toward
    limit: Term | None
    """In the other letters; None where the formula grows in size without bound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecialCase:
    """What a formula becomes when some letters have values made of others.

    It holds under the assumptions only, so it is no equation that a later step may cite.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    assumptions: tuple[Equation, ...]
    """``letter = term`` in letters for which nothing is assumed, ``E2 = E1``, or a product that
    ends with such a letter: ``R1 R4 = R2 R3``."""
    result: Term


class Response(Enum):
    """How a formula follows one of its letters."""

    RISES = "increases"
    FALLS = "decreases"
    WEAKENS = "gets smaller in size"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """How a formula follows one letter while all letters are positive.

    Its derivative is `rate` (RISES), −`rate` (FALLS), or −`rate` times the formula (WEAKENS), and
    `rate` is a fraction whose terms have plus signs only.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    letter: Symbol
    """A letter to which nothing is tied."""
    response: Response
    rate: Term


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensions:
    """Check: all terms above the line of a formula are of one dimension, and all below of one."""

    premise: StepId
    """``symbol = fraction``, perhaps with a name for what stands below the line."""
    above: Dimension
    below: Dimension


SenseStep = Limit | SpecialCase | Trend | Dimensions
"""What a formula tells; nothing that later steps may cite."""
