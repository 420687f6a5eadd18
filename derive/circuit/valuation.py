"""What the author says of quantities: values, ties, voltages at the start, ratings."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from derive.algebra.dimension import Dimension
from derive.algebra.term import Symbol, SymbolKind, Term
from derive.source import Span

CONDITIONS = (SymbolKind.CURRENT, SymbolKind.VOLTAGE)
"""What a condition gives."""


@dataclass(frozen=True, slots=True)
class Given:
    """A value the author gives."""

    value: Fraction
    """In SI base units, exact."""
    dimension: Dimension
    tolerance: Fraction | None = None
    """0.05 for ± 5 %."""
    figures: int | None = field(default=None, compare=False)
    """Significant figures as written; None for whole numbers and fractions, which are exact."""
    written: tuple[str, int] | None = field(default=None, compare=False)
    """Digits as written, with a decimal point, and the power of ten of the prefix of the unit:
    ``("4.70", 3)`` for 4.70 kohm. None where no one decimal with a unit was written."""


@dataclass(frozen=True, slots=True)
class Tie:
    """A value tied to other quantities, such as R2 = 2 R1 or E3 = 2 ohm · I1."""

    term: Term
    figures: int | None = field(default=None, compare=False)
    """Significant figures of the quantities with units in it; None when they are exact."""


@dataclass(frozen=True, slots=True)
class Valuation:
    """What is known of one quantity; a quantity without one stays a letter.

    Where a value is sought, a current or a voltage may be known as well: a condition.
    """

    symbol: Symbol
    value: Given | Tie
    span: Span | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Initial:
    """The voltage that a capacitor has at the start, counted as `AskVoltageAcross` counts it."""

    capacitor: str
    value: Given | Tie
    """A number, or what it is in letters."""
    is_steady: bool = False
    """True for the steady voltage from before switches changed, False for what the author says."""
    span: Span | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Rating:
    """What a part is made for."""

    part: str
    power: Given
    """Positive."""
    voltage: Given | None = None
    """Positive; of a lamp, whose resistance it gives. None for a resistor."""
