"""The drawing type: wires, symbols, arrows and labels with coordinates in millimetres.

x runs to the right and y upwards. Everything a writer needs is reckoned here already: a writer
draws each item as it stands and does no layout. Nothing is drawn over another item to hide it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from derive.algebra.term import Term
from derive.typesetting.style import Decimal


@dataclass(frozen=True, slots=True)
class Point:
    """A place in the figure."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with sides along the axes."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Extent in x."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent in y."""
        return self.top - self.bottom

    @property
    def centre(self) -> Point:
        """The middle."""
        return Point((self.left + self.right) / 2, (self.bottom + self.top) / 2)

    def holds(self, other: Box) -> bool:
        """Tell whether another box lies inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.bottom <= other.bottom
            and other.top <= self.top
        )

    def overlaps(self, other: Box, clearance: float = 0.0) -> bool:
        """Tell whether less than `clearance` lies between the two."""
        return (
            self.left < other.right + clearance
            and other.left < self.right + clearance
            and self.bottom < other.top + clearance
            and other.bottom < self.top + clearance
        )


_HALF = 0.5**0.5
"""Step in x, and in y, of one step aslant."""


class Direction(Enum):
    """One of eight directions of the page; those aslant are for the sides of a diamond alone."""

    RIGHT = (1, 0)
    UP = (0, 1)
    LEFT = (-1, 0)
    DOWN = (0, -1)
    RIGHT_UP = (_HALF, _HALF)
    LEFT_UP = (-_HALF, _HALF)
    LEFT_DOWN = (-_HALF, -_HALF)
    RIGHT_DOWN = (_HALF, -_HALF)

    @property
    def dx(self) -> float:
        """Step in x."""
        return float(self.value[0])

    @property
    def dy(self) -> float:
        """Step in y."""
        return float(self.value[1])

    @property
    def aslant(self) -> bool:
        """True for the four that run along no axis."""
        return self.dx != 0 and self.dy != 0

    @property
    def horizontal(self) -> bool:
        """True for right and left."""
        return self.dy == 0

    @property
    def opposite(self) -> Direction:
        """The direction the other way."""
        return Direction((-self.dx, -self.dy))


def _turned(centre: Point, way: Direction, along: float, across: float) -> Box:
    """Return the box round a rectangle given by its half extents along a direction and across."""
    dx = abs(way.dx) * along + abs(way.dy) * across
    dy = abs(way.dy) * along + abs(way.dx) * across
    return Box(centre.x - dx, centre.y - dy, centre.x + dx, centre.y + dy)


class Emphasis(Enum):
    """How much an item stands out; writers show it by line weight and by colour."""

    NORMAL = "normal"
    STRONG = "strong"
    FAINT = "faint"


class SymbolShape(Enum):
    """The shapes of IEC 60617 and IEEE 315 that are drawn."""

    RESISTOR_BOX = "resistor box"
    RESISTOR_ZIGZAG = "resistor zigzag"
    LAMP = "lamp"
    CELL = "cell"
    CELLS = "cells"
    """Two cells in a row, with dashes between them for any number more."""
    CURRENT_SOURCE = "current source"
    """A circle with an arrow, as in IEEE 315 and in most books."""
    DEPENDENT_EMF = "dependent voltage source"
    """A diamond with signs in it, as in IEEE 315 (from memory) and in most books."""
    DEPENDENT_CURRENT = "dependent current source"
    """A diamond with an arrow."""
    OPEN_SWITCH = "open switch"
    CLOSED_SWITCH = "closed switch"
    AMMETER = "ammeter"
    VOLTMETER = "voltmeter"
    """A circle, as that of an ammeter; the letter in it is a label of the drawing."""
    CAPACITOR = "capacitor"

    @property
    def has_plates(self) -> bool:
        """True for what a battery is drawn as."""
        return self in (SymbolShape.CELL, SymbolShape.CELLS)

    @property
    def is_emf(self) -> bool:
        """True for what raises the potential at once."""
        return self.has_plates or self is SymbolShape.DEPENDENT_EMF

    @property
    def is_source(self) -> bool:
        """True for what drives a current, which stands upright where it can."""
        currents = (SymbolShape.CURRENT_SOURCE, SymbolShape.DEPENDENT_CURRENT)
        return self.is_emf or self in currents

    @property
    def is_resistor(self) -> bool:
        """True for the two shapes of a resistor."""
        return self in (SymbolShape.RESISTOR_BOX, SymbolShape.RESISTOR_ZIGZAG)

    @property
    def letter(self) -> str:
        """The unit of what an instrument measures, which stands in its circle; else nothing."""
        return _LETTERS.get(self, "")


CONTACT = 0.08
"""Radius of the contacts of a switch, in lengths of the symbol."""
_LETTERS = {SymbolShape.AMMETER: "A", SymbolShape.VOLTMETER: "V"}


class TextSize(Enum):
    """Size of the type in a label, in points."""

    NORMAL = 10.0
    SMALL = 8.0


class Anchor(Enum):
    """Which side of a line of text is pinned, half way up."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class PointNames:
    """Names of points at one place, set in italics."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlusSign:
    """The sign beside the long plate of a cell."""


@dataclass(frozen=True, slots=True)
class LoopName:
    """What the text calls a loop."""

    name: str


@dataclass(frozen=True, slots=True)
class Signed:
    """A term with its sign always written."""

    term: Term


@dataclass(frozen=True, slots=True)
class Words:
    """A word or two in upright type."""

    text: str


LabelContent = Term | Decimal | Signed | Words | PointNames | PlusSign | LoopName


@dataclass(frozen=True, slots=True)
class Wire:
    """A bare wire through two or more points; each piece runs along an axis."""

    points: tuple[Point, ...]
    emphasis: Emphasis = Emphasis.NORMAL


@dataclass(frozen=True, slots=True)
class Symbol:
    """A part; wires end where it begins."""

    shape: SymbolShape
    centre: Point
    direction: Direction
    """The way the branch's arrow passes it; for a cell the way from the − plate to the + plate, for
    a current source the way it flows."""
    length: float
    """Extent along the wire: from the first plate of a battery to its last."""
    breadth: float
    """Extent across the wire: the long plate of a cell."""
    part: str
    """Name of the quantity it stands for: an element, or an internal resistance."""
    emphasis: Emphasis = Emphasis.NORMAL

    @property
    def box(self) -> Box:
        """The room it takes."""
        whole = _turned(self.centre, self.direction, self.length / 2, self.breadth / 2)
        if self.shape is not SymbolShape.OPEN_SWITCH or self.direction.aslant:
            return whole
        # Its blade is lifted upwards, or to the left of an upright wire.
        rim = self.length * CONTACT
        if self.direction.horizontal:
            return replace(whole, bottom=self.centre.y - rim)
        return replace(whole, right=self.centre.x + rim)


@dataclass(frozen=True, slots=True)
class Frame:
    """A thin dashed frame round symbols that are one part."""

    box: Box
    emphasis: Emphasis = Emphasis.NORMAL


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a graph, through two or more points in any direction."""

    points: tuple[Point, ...]
    emphasis: Emphasis = Emphasis.NORMAL
    """A strong line is thick; others are thin."""
    dashed: bool = False


class Hatch(Enum):
    """How an area is filled: what it stands for must be seen without colour too."""

    NONE = "none"
    SLANTED = "slanted"
    CROSSED = "crossed"


@dataclass(frozen=True, slots=True)
class Area:
    """An outlined rectangle of a graph."""

    box: Box
    hatch: Hatch = Hatch.NONE


@dataclass(frozen=True, slots=True)
class Dot:
    """A joint of wires, a named place on a wire, or an open terminal."""

    centre: Point
    radius: float
    is_open: bool = False
    """An open terminal: a small circle at the end of a wire."""
    emphasis: Emphasis = Emphasis.NORMAL
    ring: float | None = None
    """Radius of a ring round the dot, which marks where a walk begins."""

    @property
    def box(self) -> Box:
        """The room it takes."""
        c, r = self.centre, self.ring or self.radius
        return Box(c.x - r, c.y - r, c.x + r, c.y + r)


@dataclass(frozen=True, slots=True)
class CurrentArrow:
    """The head of a reference arrow, set on a wire; its letter is a label."""

    tip: Point
    direction: Direction
    length: float
    current: str
    emphasis: Emphasis = Emphasis.NORMAL

    @property
    def box(self) -> Box:
        """The room it takes."""
        half, way = self.length / 2, self.direction
        centre = Point(self.tip.x - way.dx * half, self.tip.y - way.dy * half)
        return _turned(centre, way, half, self.length * 0.42)


@dataclass(frozen=True, slots=True)
class LoopArrow:
    """A part of a circle with an arrowhead at its end; the loop's name is a label within."""

    centre: Point
    radius: float
    start: float
    """Angle in degrees, counted from the right, anticlockwise."""
    sweep: float
    """Angle passed: negative when the arrow runs clockwise."""


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text."""

    content: LabelContent
    at: Point
    """Where its anchor stands: on the side named, half way up the box."""
    anchor: Anchor
    size: TextSize
    box: Box
    """The room it is reckoned to take."""
    emphasis: Emphasis = Emphasis.NORMAL


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure with coordinates in millimetres."""

    wires: tuple[Wire, ...]
    symbols: tuple[Symbol, ...]
    frames: tuple[Frame, ...]
    dots: tuple[Dot, ...]
    arrows: tuple[CurrentArrow, ...]
    loop_arrow: LoopArrow | None
    labels: tuple[Label, ...]
    box: Box
    """The room of everything."""
    lines: tuple[Line, ...] = ()
    """Lines of a graph; a circuit has none."""
    areas: tuple[Area, ...] = ()
    crossings: int = 0
    """Places where wires cross that are not joined."""

    @property
    def width(self) -> float:
        """Natural width in millimetres."""
        return self.box.width

    @property
    def height(self) -> float:
        """Natural height in millimetres."""
        return self.box.height
