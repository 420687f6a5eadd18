"""Set mathematics, free of any output format.

`derive.writers.notation` decides how a term is set (signs, parentheses, dots, spaces, units) and
says so in these types; every writer then only spells them. A `Row` reads from left to right.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Sign(Enum):
    """An operator or a relation, by its Unicode character."""

    PLUS = "+"
    MINUS = "−"
    DOT = "·"
    CROSS = "×"
    PARALLEL = "∥"
    DIVIDED = "/"
    EQUAL = "="
    APPROXIMATE = "≈"
    GREATER = ">"
    LESS = "<"
    NOT_EQUAL = "≠"
    TENDS = "→"
    AT_MOST = "≤"


@dataclass(frozen=True, slots=True)
class Operator:
    """A sign between two things."""

    sign: Sign


@dataclass(frozen=True, slots=True)
class Prefix:
    """A plus or minus that belongs to what follows it."""

    sign: Sign


@dataclass(frozen=True, slots=True)
class Gap:
    """A thin space that no line may break at."""


@dataclass(frozen=True, slots=True)
class Implied:
    """Multiplication without a sign."""

    spaced: bool
    """True when the factors are of different kinds and stand a thin space apart."""


@dataclass(frozen=True, slots=True)
class Comma:
    """A comma between the parts of a subscript."""


@dataclass(frozen=True, slots=True)
class Word:
    """Upright text, such as a subscript that is a word."""

    text: str


@dataclass(frozen=True, slots=True)
class Letter:
    """A quantity symbol: italic, with its subscript and primes."""

    base: str
    """One character."""
    script: bool = False
    """True for calligraphic type."""
    subscript: Row = ()
    primes: int = 0


@dataclass(frozen=True, slots=True)
class Figures:
    """Digits, in groups of three where there are five or more on a side of the marker."""

    whole: tuple[str, ...]
    decimals: tuple[str, ...] = ()
    comma: bool = False
    """True when the decimal marker is a comma."""


@dataclass(frozen=True, slots=True)
class Units:
    """Upright unit symbols with their powers; the prefix is part of the symbol."""

    parts: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Over:
    """A fraction."""

    numerator: Row
    denominator: Row


@dataclass(frozen=True, slots=True)
class Lines:
    """Part of a fraction or in parentheses, on several lines, each after the first set in."""

    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Fence:
    """Something in parentheses."""

    inner: Row


@dataclass(frozen=True, slots=True)
class Bracket:
    """One parenthesis of a pair that stands on two lines."""

    opening: bool
    tall: bool


@dataclass(frozen=True, slots=True)
class Raised:
    """Something to a whole power."""

    base: Letter | Figures | Fence
    exponent: int


@dataclass(frozen=True, slots=True)
class NaturalPower:
    """The number e, upright, to a power that is written on the line."""

    exponent: Row


Glyph = (
    Operator | Prefix | Gap | Implied | Comma | Word | Letter | Figures | Units | Over | Lines
    | Fence | Bracket | Raised | NaturalPower
)  # fmt: skip
Row = tuple[Glyph, ...]


def is_tall(row: Row) -> bool:
    """Say whether a row holds a fraction or several lines, so that its parentheses must grow."""
    for glyph in row:
        match glyph:
            case Over() | Lines():
                return True
            case Fence(inner):
                if is_tall(inner):
                    return True
            case Raised(base, _):
                if is_tall((base,)):
                    return True
            case _:
                pass
    return False
