"""How the author wants symbols, figures and numbers to look."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction


class EmfSymbol(Enum):
    """How a battery's letter E is set."""

    SCRIPT = "script"
    ITALIC = "italic"
    EPSILON = "epsilon"


class ResistorSymbol(Enum):
    """IEC 60617 rectangle or IEEE 315 zigzag."""

    BOX = "box"
    ZIGZAG = "zigzag"


class BatterySymbol(Enum):
    """How a battery is drawn."""

    CELL = "cell"
    """One pair of plates."""
    CELLS = "cells"
    """Two pairs with dashes between them: several cells in a row (IEC 60617)."""


class BridgeShape(Enum):
    """How a bridge is drawn."""

    RECTANGLE = "rectangle"
    DIAMOND = "diamond"


@dataclass(frozen=True, slots=True)
class Looks:
    """The author's choices of appearance."""

    emf: EmfSymbol = EmfSymbol.SCRIPT
    resistor: ResistorSymbol = ResistorSymbol.BOX
    battery: BatterySymbol = BatterySymbol.CELL
    bridge: BridgeShape = BridgeShape.RECTANGLE
    decimal_comma: bool = False
    figures: int | None = None
    """Significant figures of rounded results; None lets the data decide."""
    places: tuple[tuple[str, Fraction, Fraction], ...] = ()
    """Grid hints: point, x to the right, y upwards."""
