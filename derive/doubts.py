"""Warnings: a figure that is not drawn as wished, words that cannot be printed."""

from __future__ import annotations

from derive.analysis.loops import windows
from derive.circuit.model import Circuit
from derive.diagnostic import Diagnostic, Severity
from derive.drawing.schematic import follows_bridge, follows_places
from derive.writers.tex_text import unprintable


def figure_doubts(circuit: Circuit) -> tuple[Diagnostic, ...]:
    """Warn where the figure cannot be drawn as the author wants it."""
    doubts = []
    if circuit.looks.places and not follows_places(circuit, windows(circuit)):
        doubts.append(
            Diagnostic(
                "places-in-vain",
                "the figure is not drawn by your places: no wires along the grid can join them so",
                None,
                ("give a place to every point where branches meet, and leave room between them",),
                severity=Severity.WARNING,
            )
        )
    if not follows_bridge(circuit):
        doubts.append(
            Diagnostic(
                "no-diamond",
                "the circuit is not drawn as a diamond: that is for four points, each joined to "
                "each by one branch, with no internal resistance in the sides",
                None,
                ("leave `bridge diamond` out",),
                severity=Severity.WARNING,
            )
        )
    return tuple(doubts)


def type_doubts(circuit: Circuit) -> tuple[Diagnostic, ...]:
    """Warn of words that cannot be printed."""
    missing = unprintable(circuit.title + circuit.statement)
    if not missing:
        return ()
    shown = " ".join(missing[:6]) + (" …" if len(missing) > 6 else "")
    first = f"U+{ord(missing[0]):04X}"
    told = f"the fonts of printed pages lack {shown}; there the code stands, such as [{first}]"
    hints = ("use other words in the title and the statement, or write html or text",)
    return (Diagnostic("no-type", told, None, hints, severity=Severity.WARNING),)
