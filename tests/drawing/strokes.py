"""What is on a page when its text has been read: lines, circles, arcs and type, y upwards, in mm.

Readers of TikZ and of SVG end here, so that one and the same eye looks at both.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import dist

Spot = tuple[float, float]

TOUCH = 0.03
"""Two things nearer than this touch. TikZ is written to 0.01 mm, which moves an end by 0.005;
the least distance meant to be seen, half of an arrow's room, is fifty times this."""


_WIDTHS = {
    "\N{NO-BREAK SPACE}": 0.17,
    ".": 0.28,
    ",": 0.28,
    "m": 0.83,
    "k": 0.53,
    "+": 0.78,
    "r": 0.48,
    "I": 0.52,
    "F": 0.65,
    "n": 0.56,
    "p": 0.56,
}
"""Widths of type, in em, that are not those of a digit or a capital (from memory)."""


class Misdrawn(Exception):  # noqa: N818
    """What was read is no figure, or not the figure of the circuit."""


@dataclass(frozen=True)
class Line:
    """A line through corners."""

    points: tuple[Spot, ...]
    closed: bool = False
    filled: bool = False
    dashed: bool = False


@dataclass(frozen=True)
class Circle:
    """A circle or, filled, a disc."""

    centre: Spot
    radius: float
    filled: bool


@dataclass(frozen=True)
class Arc:
    """A part of a circle, with the sense in which it is drawn."""

    start: Spot
    end: Spot
    anticlockwise: bool


@dataclass(frozen=True)
class Type:
    """A line of type as it is read aloud: ``R1``, ``4.5 V``; and about the room it takes."""

    text: str
    left: float
    right: float
    bottom: float
    top: float

    @property
    def centre(self) -> Spot:
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2


@dataclass
class Page:
    """Everything drawn."""

    lines: list[Line] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    arcs: list[Arc] = field(default_factory=list)
    types: list[Type] = field(default_factory=list)


def set_type(text: str, at: Spot, share: float, em: float, tall: bool) -> Type:
    """Return a line of type whose left, middle or right (share 0, ½, 1) stands at a place."""
    width, half = width_of(text) * em, (1.0 if tall else 0.42) * em
    left = at[0] - share * width
    return Type(text, left, left + width, at[1] - half, at[1] + half)


def width_of(text: str) -> float:
    """Return about how wide a line of type is, in em: what follows the letter of a name is small."""
    # The bar of a fraction is half a digit longer than what stands on it.
    shorter = re.sub(r"(\d+)/(\d+)", lambda m: "0" * max(map(len, m.groups())) + ".", text)
    width = 0.0
    for name, plain in re.findall(r"(^[^\W\d]\w*'*$|[^\W\d]\d+)|(.)", shorter):
        small = 0.4 * (len(name) - 1) if name else 0.0
        character = name[:1] or plain
        width += small + _WIDTHS.get(character, 0.75 if character.isalpha() else 0.5)
    return width


def nearness(at: Spot, one: Spot, other: Spot) -> float:
    """Return the distance of a place from the line between two others."""
    (x, y), (x1, y1), (x2, y2) = at, one, other
    length = dist(one, other) ** 2
    share = 0.0 if length == 0 else ((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / length
    share = min(1.0, max(0.0, share))
    return dist(at, (x1 + share * (x2 - x1), y1 + share * (y2 - y1)))


def gap(type_: Type, one: Spot, other: Spot) -> float:
    """Return how far a line of type is from the line between two places; 0 where it is on it."""
    corners = [(x, y) for x in (type_.left, type_.right) for y in (type_.bottom, type_.top)]
    # The nearest places of a box and a line outside it are a corner of one of them.
    found = [nearness(corner, one, other) for corner in corners]
    for x, y in (one, other):
        dx = max(type_.left - x, 0.0, x - type_.right)
        dy = max(type_.bottom - y, 0.0, y - type_.top)
        found.append((dx * dx + dy * dy) ** 0.5)
    if _passes(type_, one, other):
        return 0.0
    return min(found)


def _passes(box: Type, one: Spot, other: Spot) -> bool:
    """Tell whether a line goes through a box (Liang and Barsky's clipping)."""
    enter, leave = 0.0, 1.0
    for a, b, low, high in (
        (one[0], other[0], box.left, box.right),
        (one[1], other[1], box.bottom, box.top),
    ):
        if abs(b - a) < 1e-9:
            if not low <= a <= high:
                return False
            continue
        first, second = sorted(((low - a) / (b - a), (high - a) / (b - a)))
        enter, leave = max(enter, first), min(leave, second)
    return enter <= leave
