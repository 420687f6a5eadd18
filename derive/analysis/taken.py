"""Names that may not be given to anything else."""

from __future__ import annotations

from derive.algebra.name import TakenNames
from derive.circuit.model import Circuit
from derive.derivation.builder import Builder


def names_taken(circuit: Circuit, builder: Builder) -> set[str]:
    """Return the names that have a meaning, and those that would look like a potential."""
    names = {symbol.name for symbol in circuit.symbols} | builder.names
    if circuit.ground is not None:
        names |= {f"V_{point}" for point in circuit.points}
    return names


def taken_names(circuit: Circuit, builder: Builder) -> TakenNames:
    """Return them as what many more are looked up in."""
    return TakenNames(names_taken(circuit, builder))
