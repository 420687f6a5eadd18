"""Finding free room for labels among wires, symbols and other labels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from derive.drawing.model import (
    Anchor,
    Box,
    Direction,
    Emphasis,
    Label,
    LabelContent,
    Point,
    TextSize,
    Wire,
)
from derive.drawing.reckoning import label_size

_WIRE = 0.3
"""Half of the room kept free round the middle of a wire."""
_CLEARANCE = 0.25
_ANCHORS = {-1: Anchor.RIGHT, 0: Anchor.CENTRE, 1: Anchor.LEFT}


def bounds(boxes: Iterable[Box]) -> Box:
    """Return the least box that holds some others."""
    found = list(boxes)
    return Box(
        min(b.left for b in found),
        min(b.bottom for b in found),
        max(b.right for b in found),
        max(b.top for b in found),
    )


def wire_boxes(wire: Wire) -> list[Box]:
    """Return the room of each piece of a wire."""
    return [
        Box(
            min(one.x, other.x) - _WIRE,
            min(one.y, other.y) - _WIRE,
            max(one.x, other.x) + _WIRE,
            max(one.y, other.y) + _WIRE,
        )
        for one, other in pairwise(wire.points)
    ]


@dataclass(frozen=True, slots=True)
class Slot:
    """A place for lines of text: a point, and the way the text goes off from it."""

    at: Point
    dx: float
    dy: float
    """Parts of a direction: 1 puts the text wholly to the right or above, 0 in the middle."""

    def box(self, width: float, height: float) -> Box:
        """Return the room of a block of text put here."""
        left = self.at.x - width * (1 - self.dx) / 2
        bottom = self.at.y - height * (1 - self.dy) / 2
        return Box(left, bottom, left + width, bottom + height)


def beside(box: Box, way: Direction, gap: float, shift: float = 0.0) -> Slot:
    """Return the slot at one side of a box, perhaps shifted along that side."""
    centre = box.centre
    if way.horizontal:
        x = (box.right + gap) if way.dx > 0 else (box.left - gap)
        return Slot(Point(x, centre.y + shift), way.dx, 0)
    y = (box.top + gap) if way.dy > 0 else (box.bottom - gap)
    return Slot(Point(centre.x + shift, y), 0, way.dy)


@dataclass
class Board:
    """What is already in the figure."""

    size: TextSize
    taken: list[Box] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    crowded: int = 0
    """How many labels found no free room."""

    def put(
        self,
        lines: Sequence[LabelContent],
        slots: Sequence[Slot],
        emphasis: Emphasis,
        also: Sequence[Box] = (),
    ) -> None:
        """Set lines of text into the first slot that is free, or else the one least covered.

        `also` is in the way of these lines only.
        """
        if not lines:
            return
        sizes = [label_size(line, self.size) for line in lines]
        width, height = max(w for w, _ in sizes), sum(h for _, h in sizes)
        best = slots[0]
        least = float("inf")
        for slot in slots:
            covered = self._covered(slot.box(width, height), also)
            if covered < least:
                best, least = slot, covered
            if covered == 0:
                break
        if least > 0:
            self.crowded += 1
        top = best.box(width, height).top
        for line, (w, h) in zip(lines, sizes, strict=True):
            self._set(line, best, (w, h), top, emphasis)
            top -= h

    def _set(
        self,
        line: LabelContent,
        slot: Slot,
        size: tuple[float, float],
        top: float,
        emphasis: Emphasis,
    ) -> None:
        anchor = _ANCHORS[(slot.dx > 0) - (slot.dx < 0)]
        at = Point(slot.at.x, top - size[1] / 2)
        box = Slot(at, slot.dx, 0).box(*size)
        self.labels.append(Label(line, at, anchor, self.size, box, emphasis))
        self.taken.append(box)

    def _covered(self, box: Box, also: Sequence[Box]) -> float:
        total = 0.0
        for other in (*self.taken, *also):
            if box.overlaps(other, _CLEARANCE):
                width = min(box.right, other.right) - max(box.left, other.left) + _CLEARANCE
                height = min(box.top, other.top) - max(box.bottom, other.bottom) + _CLEARANCE
                total += width * height
        return total
