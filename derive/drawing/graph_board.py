"""The labels of a graph: each in the first place that is free."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, inf

from derive.drawing.board import Slot, links
from derive.drawing.model import Anchor, Box, Label, LabelContent, Line, Point, TextSize
from derive.drawing.reckoning import label_size
from derive.typesetting.style import Style

_CLEARANCE = 0.3
_APART = 1.5
_HALF = 0.3
"""Half of the room kept free round the middle of a line."""
_LINK = 0.3
"""Height of the pieces into which a sloping line is cut, so that their boxes stay small."""
_SIDE = {Anchor.LEFT: 1, Anchor.CENTRE: 0, Anchor.RIGHT: -1}
"""Where text goes off to from the side that is pinned."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label may stand."""

    at: Point
    anchor: Anchor
    lift: int = 0
    """1 puts it wholly above the point, −1 below, 0 half way."""


def set_label(content: LabelContent, place: Place, size: TextSize, style: Style) -> Label:
    """Return a label at a place."""
    slot = Slot(place.at, _SIDE[place.anchor], place.lift)
    box = slot.box(*label_size(content, size, style))
    return Label(content, Point(place.at.x, box.centre.y), place.anchor, size, box)


def line_boxes(line: Line) -> Iterator[Box]:
    """Yield the room of a line in small boxes."""
    for one, other in pairwise(line.points):
        level = one.x == other.x or one.y == other.y
        yield from links(one, other, _HALF, 1 if level else ceil(abs(other.y - one.y) / _LINK))


@dataclass
class GraphBoard:
    """What is already in a graph."""

    size: TextSize
    style: Style
    taken: list[Box] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    crowded: int = 0
    """How many labels found no free place."""

    def put(self, content: LabelContent, places: Sequence[Place]) -> None:
        """Set a label at the first place that is free, or else at the one least covered.

        A place that is well away from other labels goes before one that is close to them.
        """
        best: list[Label] = []
        least = inf
        for place in places:
            label = set_label(content, place, self.size, self.style)
            cover = self._covered(label.box)
            if cover < least:
                best, least = [], cover
            if cover == least:
                best.append(label)
            if not cover and not self._is_close(label.box):
                break  # none is better
        else:
            label = next((one for one in best if not self._is_close(one.box)), best[0])
        self.crowded += least > 0
        self.labels.append(label)
        self.taken.append(label.box)

    def _is_close(self, box: Box) -> bool:
        return any(box.overlaps(label.box, _APART) for label in self.labels)

    def _covered(self, box: Box) -> float:
        """Return how much of a box, and of the air round it, is taken."""
        total = 0.0
        left, right = box.left - _CLEARANCE, box.right + _CLEARANCE
        bottom, top = box.bottom - _CLEARANCE, box.top + _CLEARANCE
        for other in self.taken:
            if (
                left < other.right
                and right > other.left
                and bottom < other.top
                and top > other.bottom
            ):
                width = min(box.right, other.right) - max(box.left, other.left) + _CLEARANCE
                height = min(box.top, other.top) - max(box.bottom, other.bottom) + _CLEARANCE
                total += width * height
        return total
