"""What the author's taste has to do with type, and values whose digits have been chosen."""

from __future__ import annotations

from dataclasses import dataclass

from derive.algebra.dimension import Dimension
from derive.algebra.term import Term
from derive.algebra.unit import Unit
from derive.circuit.appearance import EmfSymbol, ResistorSymbol


@dataclass(frozen=True, slots=True)
class Decimal:
    """A value as it is to be printed, with its unit: ``3.00 A``, ``47 kΩ``."""

    digits: str
    """With a point as decimal marker and perhaps a leading ``-`` or ``+``; writers localise it."""
    unit_exponent: int
    """Power of ten of the SI prefix: 3 for kΩ."""
    dimension: Dimension
    unit: Unit = Unit.SI
    """What the prefix stands before, if it is not the unit of the SI."""


Expression = Term | Decimal


@dataclass(frozen=True, slots=True)
class Style:
    """What writers need to know of the author's taste."""

    emf: EmfSymbol = EmfSymbol.SCRIPT
    resistor: ResistorSymbol = ResistorSymbol.BOX
    decimal_comma: bool = False
    volt_exponent: int = 0
    """Exact quantities in volts are shown in units of 10**volt_exponent V, …"""
    ohm_exponent: int = 0
    """… those in ohms in units of 10**ohm_exponent Ω, and the rest follows: A is V/Ω."""
