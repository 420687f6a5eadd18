"""What a block of text must keep clear of, and what it must not seem to belong to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from derive.drawing.board import Slot, bounds, distance
from derive.drawing.model import Box, Emphasis, LabelContent

COVERED = 100.0
"""Cost of text that lies on something: more than all other costs of a block together."""
MISTAKEN = 60.0
"""Cost of text that is nearer to something it does not belong to."""
_FREE = 2.2
"""Beyond this distance in millimetres nothing is too near."""
_NEARER = 0.8
"""By how much more a block must be off from what it does not belong to."""
_ASUNDER = 2.2
"""Cost of two blocks that stand at different sides of one line of parts."""


class Sort(Enum):
    """What a block names, and what things of a figure are named by."""

    PART = "part"
    CURRENT = "current"
    POINT = "point"
    SIGN = "sign"
    PLAIN = "plain"
    """Wires, frames and dots, which have no name."""


@dataclass(frozen=True, slots=True)
class Thing:
    """Something drawn."""

    box: Box
    sort: Sort
    name: str
    clear: float
    """How much room must be left round it."""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of text that stand together, with the places where they may stand."""

    sort: Sort
    name: str
    lines: tuple[LabelContent, ...]
    width: float
    height: float
    slots: tuple[Slot, ...]
    home: tuple[Box, ...]
    """What the text belongs to."""
    emphasis: Emphasis

    def boxes(self) -> list[Box]:
        """Return the room in each slot."""
        return [slot.box(self.width, self.height) for slot in self.slots]


def nearness(box: Box, home: Iterable[Box]) -> float:
    """Return how far text is from what it belongs to."""
    return min(distance(box, one) for one in home)


def lone_costs(block: Block, boxes: Sequence[Box], things: Sequence[Thing]) -> list[float]:
    """Return the cost of each slot of a block among the things of a figure."""
    hull = bounds(boxes)
    within = _reach(block, boxes)
    near = [thing for thing in things if hull.overlaps(thing.box, within)]
    return [
        slot.cost + _lone(block, box, near) for slot, box in zip(block.slots, boxes, strict=True)
    ]


def _reach(block: Block, boxes: Iterable[Box]) -> float:
    """Return how far off something may be and yet be taken for what a block belongs to."""
    return max(_FREE, *(nearness(box, block.home) + _NEARER for box in boxes))


def _lone(block: Block, box: Box, near: Sequence[Thing]) -> float:
    total = 0.0
    home = nearness(box, block.home)
    within = max(_FREE, home + _NEARER)
    for thing in near:
        if not box.overlaps(thing.box, within):
            continue
        own = thing.name == block.name and thing.sort in (block.sort, Sort.PART)
        apart = distance(box, thing.box)
        # A sign stands close to its plate.
        clear = 0.1 if block.sort is Sort.SIGN else thing.clear
        if box.overlaps(thing.box, clear) and apart < clear:
            total += COVERED + 10 * (clear + _shared(box, thing.box))
        if own or thing.sort is Sort.SIGN or block.sort is Sort.SIGN:
            continue
        if thing.sort is block.sort and apart < home + _NEARER:
            total += MISTAKEN
        if thing.sort is Sort.PLAIN:
            total += 0.5 * max(0.0, 0.9 - apart)
        else:
            total += max(0.0, _FREE - apart)
    return total


def _shared(one: Box, other: Box) -> float:
    """Return how far two boxes that overlap would have to be moved apart."""
    dx = min(one.right, other.right) - max(one.left, other.left)
    dy = min(one.top, other.top) - max(one.bottom, other.bottom)
    return max(min(dx, dy), 0.0)


@dataclass(frozen=True, slots=True)
class Pairs:
    """What slots of two blocks cost together."""

    blocks: Sequence[Block]
    boxes: Sequence[Sequence[Box]]
    scale: float
    """Distances between texts, against those of full size."""

    def near(self) -> list[tuple[int, int]]:
        """Return the pairs of blocks that may touch, or be taken for each other."""
        hulls = [
            bounds([*boxes, *block.home])
            for block, boxes in zip(self.blocks, self.boxes, strict=True)
        ]
        reaches = [
            _reach(block, boxes) for block, boxes in zip(self.blocks, self.boxes, strict=True)
        ]
        count = len(hulls)
        return [
            (i, j)
            for i in range(count)
            for j in range(i + 1, count)
            if hulls[i].overlaps(hulls[j], max(reaches[i], reaches[j]))
        ]

    def together(self, i: int, a: int, j: int, b: int) -> float:
        """Return what slot `a` of block `i` and slot `b` of block `j` cost together."""
        one, other = self.blocks[i], self.blocks[j]
        first, second = self.boxes[i][a], self.boxes[j][b]
        total = 0.0
        if first.overlaps(second, _FREE):
            total += self._apart(one, other, first, second)
        if one.sort is other.sort and one.sort is not Sort.SIGN:
            if self._mistaken(one, first, second) or self._mistaken(other, second, first):
                total += MISTAKEN
            if one.sort is Sort.PART and _across(one.slots[a], other.slots[b], one, other):
                total += _ASUNDER
        return total

    def _apart(self, one: Block, other: Block, first: Box, second: Box) -> float:
        dx = max(second.left - first.right, first.left - second.right)
        dy = max(second.bottom - first.top, first.bottom - second.top)
        beside, below = _clearance(one.sort, other.sort)
        if dx < beside * self.scale and dy < below * self.scale:
            return COVERED + 10 * _shared(first, second)
        free = _FREE if Sort.SIGN not in (one.sort, other.sort) else _FREE / 2
        return 0.8 * max(0.0, free - distance(first, second))

    def _mistaken(self, block: Block, own: Box, foreign: Box) -> bool:
        """Tell whether another block is nearer to what a block belongs to."""
        return nearness(foreign, block.home) < nearness(own, block.home) + _NEARER


def _clearance(one: Sort, other: Sort) -> tuple[float, float]:
    """Return the least distances of two texts beside each other and below each other."""
    if Sort.SIGN in (one, other):
        return 0.4, 0.4
    if one is other is Sort.PART:
        return 1.5, 1.0
    return 1.0, 0.7


def _across(one: Slot, other: Slot, first: Block, second: Block) -> bool:
    """Tell whether two blocks stand at different sides of parts in one line."""
    here, there = first.home[0].centre, second.home[0].centre
    if abs(here.x - there.x) < 0.01:
        return one.dx * other.dx < 0
    return abs(here.y - there.y) < 0.01 and one.dy * other.dy < 0
