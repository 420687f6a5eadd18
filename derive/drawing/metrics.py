"""Sizes of everything in a figure, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass, replace

from derive.drawing.model import CONTACT, SymbolShape, TextSize


@dataclass(frozen=True, slots=True)
class Metrics:
    """One set of sizes; a small figure has another set, not a scale factor."""

    text: TextSize
    resistor: tuple[float, float]
    """Length along the wire and breadth across it."""
    lamp: float
    source: float
    """Across the circle of a current source, or of an instrument."""
    diamond: float
    """From corner to corner of a dependent source."""
    cell: tuple[float, float]
    """Distance of the plates and length of the long plate."""
    capacitor: tuple[float, float]
    """Distance of the plates and their length."""
    switch: tuple[float, float]
    """Length, and breadth when it is open."""
    cells: float
    """Extent of two cells with dashes between them."""
    plus: float
    """Room of the sign beyond the long plate."""
    lead: float
    """Least bare wire beside a part."""
    arrow: float
    """Length of the head of a current arrow."""
    arrow_room: float
    """Bare wire that a current arrow takes."""
    gap: float
    """From a symbol or a wire to its label."""
    dot: float
    window: float
    """Least distance of two upright wires, labels not counted."""
    rise: float
    """Least distance of two level wires."""
    frame: float
    """From symbols to the dashed frame round them."""
    loop: float
    """Least extent of the window of the loop that is walked."""
    loop_radius: tuple[float, float]
    """Least and greatest radius of a loop arrow."""

    def size(self, shape: SymbolShape) -> tuple[float, float]:
        """Return the length of a symbol along the wire and its breadth across it."""
        match shape:
            case SymbolShape.RESISTOR_BOX | SymbolShape.RESISTOR_ZIGZAG:
                return self.resistor
            case SymbolShape.LAMP:
                return self.lamp, self.lamp
            case SymbolShape.CELL:
                return self.cell
            case SymbolShape.CELLS:
                return self.cells, self.cell[1]
            case SymbolShape.CURRENT_SOURCE | SymbolShape.AMMETER | SymbolShape.VOLTMETER:
                return self.source, self.source
            case SymbolShape.DEPENDENT_EMF | SymbolShape.DEPENDENT_CURRENT:
                return self.diamond, self.diamond
            case SymbolShape.OPEN_SWITCH:
                return self.switch
            case SymbolShape.CLOSED_SWITCH:
                return self.switch[0], self.switch[0] * 2 * CONTACT
            case SymbolShape.CAPACITOR:
                return self.capacitor

    def looser(self, factor: float) -> Metrics:
        """Return the same symbols with more wire between them."""
        return replace(
            self,
            lead=self.lead * factor,
            window=self.window * factor,
            rise=self.rise * factor,
        )


MAIN = Metrics(
    text=TextSize.NORMAL, resistor=(8.4, 2.9), lamp=5.4, source=6.4, diamond=8.0, cell=(1.5, 6.4),
    capacitor=(1.7, 6.0), switch=(7.4, 6.4), cells=6.6, plus=2.6, lead=3.0,
    arrow=2.3, arrow_room=5.2, gap=1.0, dot=0.6, window=8.0, rise=11.0, frame=1.2, loop=16.0,
    loop_radius=(3.2, 6.5),
)  # fmt: skip
SMALL = Metrics(
    text=TextSize.SMALL, resistor=(6.6, 2.3), lamp=4.4, source=5.4, diamond=6.8, cell=(1.3, 5.0),
    capacitor=(1.5, 4.7), switch=(6.2, 5.4), cells=5.6, plus=2.1, lead=2.3,
    arrow=1.9, arrow_room=3.8, gap=0.8, dot=0.5, window=5.4, rise=7.5, frame=0.9, loop=15.0,
    loop_radius=(2.4, 5.0),
)  # fmt: skip
