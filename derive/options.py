"""What the user of the command decides about a solution."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from derive.document.narrate import Detail


class Group(Enum):
    """How the numerators of the general formula are grouped."""

    BATTERY = "battery"
    LOOP = "loop"


@dataclass(frozen=True, slots=True)
class Options:
    """What the user of the command decides."""

    numbers_first: bool = False
    detail: Detail = Detail.FULL
    group: Group = Group.BATTERY
    expanded: bool = False
    """Formulas of a reduction as one fraction each, where that is not too long."""
    figures: int | None = None
    terms: int | None = None
    """Products in a denominator that are still written in letters; None: 2000, or 300 where all
    parts have values, so that numbers can go in first instead."""
    announce: Callable[[str], None] | None = None
    """Is told how long the formulas will be before a long one is worked out."""


STANDARD = Options()
"""Nothing decided by the user."""
