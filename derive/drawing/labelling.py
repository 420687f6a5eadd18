"""Choosing a place for every label: all together, so that the whole figure reads best."""

from __future__ import annotations

from dataclasses import dataclass

from derive.drawing.assignment import assign
from derive.drawing.board import Slot, edges, rooms, wire_boxes
from derive.drawing.dressing import Dressed, PieceSpot
from derive.drawing.metrics import Metrics
from derive.drawing.model import (
    Anchor,
    Box,
    Emphasis,
    Label,
    LabelContent,
    PlusSign,
    Point,
    PointNames,
    TextSize,
)
from derive.drawing.reckoning import block_size, set_lines
from derive.drawing.slots import Slots
from derive.drawing.surroundings import MISTAKEN, Block, Pairs, Sort, Thing, lone_costs
from derive.drawing.view import View
from derive.typesetting.style import Style

_ANCHORS = {-1: Anchor.RIGHT, 0: Anchor.CENTRE, 1: Anchor.LEFT}


@dataclass(frozen=True, slots=True)
class Labelled:
    """The labels of a figure."""

    labels: list[Label]
    taken: list[Box]
    """The room of everything, labels included."""
    cramped: tuple[str, ...]
    """The parts, currents and points whose labels found no room of their own."""

    @property
    def crowded(self) -> int:
        """How many labels found no room."""
        return len(self.cramped)


@dataclass(frozen=True, slots=True)
class Labeller:
    """Proposes places for the labels of a figure and takes the best of them."""

    view: View
    metrics: Metrics
    outline: list[Point]
    """The loop that is walked; labels stand better outside it. Empty when there is none."""
    style: Style

    def label(self, figure: Dressed) -> Labelled:
        """Return the labels of a figure."""
        things = self._things(figure)
        blocks = self._blocks(figure)
        boxes = [block.boxes() for block in blocks]
        costs = [lone_costs(block, own, things) for block, own in zip(blocks, boxes, strict=True)]
        pairs = Pairs(blocks, boxes, self.metrics.text.value / TextSize.NORMAL.value)
        near = pairs.near()
        chosen = assign(costs, near, pairs.together)
        cramped = {k for k, own in enumerate(costs) if own[chosen[k]] >= MISTAKEN}
        for i, j in near:
            if pairs.together(i, chosen[i], j, chosen[j]) >= MISTAKEN:
                cramped |= {i, j}
        labels = [
            label
            for block, own, choice in zip(blocks, boxes, chosen, strict=True)
            for label in self._set(block, block.slots[choice], own[choice])
        ]
        taken = [thing.box for thing in things if thing.clear] + [label.box for label in labels]
        names = tuple(dict.fromkeys(blocks[k].name for k in sorted(cramped)))
        return Labelled(labels, taken, names)

    def _things(self, figure: Dressed) -> list[Thing]:
        found = [
            Thing(box, Sort.PLAIN, "", 0.25) for wire in figure.wires for box in wire_boxes(wire)
        ]
        found += [
            Thing(box, Sort.PLAIN, "", 0.4) for frame in figure.frames for box in edges(frame.box)
        ]
        for spot in figure.pieces:
            symbol = spot.symbol
            found += [Thing(box, Sort.PART, symbol.part, 0.3) for box in rooms(symbol)]
        for arrow in figure.arrows:
            head = arrow.head
            found += [Thing(box, Sort.CURRENT, head.current, 0.3) for box in rooms(head)]
        named = {place: node.names[0] for node in figure.nodes for place in node.places}
        named |= {point.at: point.names[0] for point in figure.points}
        found += [Thing(_spot(at), Sort.POINT, name, 0.0) for at, name in named.items()]
        for dot in figure.dots:
            found.append(Thing(dot.box, Sort.POINT, named.get(dot.centre, ""), 0.3))
        return found

    def _blocks(self, figure: Dressed) -> list[Block]:
        found = []
        for spot in figure.pieces:
            symbol = spot.symbol
            lines = spot.piece.lines
            home = rooms(symbol)
            slots = self._slots
            if lines:
                block = self._block(
                    Sort.PART, symbol.part, lines, slots.part(spot), home, symbol.emphasis
                )
                found.append(block)
            if symbol.shape.has_plates and symbol.emphasis is not Emphasis.FAINT:
                found.append(self._plus(spot, home))
        for arrow in figure.arrows:
            head = arrow.head
            found.append(
                self._block(
                    Sort.CURRENT,
                    head.current,
                    (arrow.arrow.letter,),
                    self._slots.arrow(arrow),
                    rooms(head),
                    head.emphasis,
                )
            )
        return [*found, *self._points(figure)] if self.view.points else found

    def _points(self, figure: Dressed) -> list[Block]:
        found = []
        dots = {dot.centre: dot.box.width / 2 for dot in figure.dots}
        for node in figure.nodes:
            slots, home = self._slots.node(node, dots), [_spot(place) for place in node.places]
            if node.emphasis is not Emphasis.FAINT:
                found.append(self._point(node.names, slots, home, node.emphasis))
        for point in figure.points:
            slots = self._slots.point(point)
            if point.emphasis is not Emphasis.FAINT:
                found.append(self._point(point.names, slots, [_spot(point.at)], point.emphasis))
        return found

    def _point(
        self, names: tuple[str, ...], slots: list[Slot], home: list[Box], emphasis: Emphasis
    ) -> Block:
        return self._block(Sort.POINT, names[0], (PointNames(names),), slots, home, emphasis)

    def _plus(self, spot: PieceSpot, home: list[Box]) -> Block:
        size = block_size((PlusSign(),), self.metrics.text, self.style)
        slots, symbol = self._slots.sign(spot, size), spot.symbol
        return self._block(Sort.SIGN, symbol.part, (PlusSign(),), slots, home, symbol.emphasis)

    def _block(
        self,
        sort: Sort,
        name: str,
        lines: tuple[LabelContent, ...],
        slots: list[Slot],
        home: list[Box],
        emphasis: Emphasis,
    ) -> Block:
        size = block_size(lines, self.metrics.text, self.style)
        return Block(sort, name, lines, *size, tuple(slots), tuple(home), emphasis)

    @property
    def _slots(self) -> Slots:
        return Slots(self.metrics, self.outline)

    def _set(self, block: Block, slot: Slot, box: Box) -> list[Label]:
        found = []
        size = self.metrics.text
        for content, line in zip(
            block.lines, set_lines(block.lines, size, self.style), strict=True
        ):
            at = Point(slot.at.x, box.top - line.middle)
            room = Slot(at, slot.dx, 0).box(line.width, line.height)
            found.append(Label(content, at, _ANCHORS[slot.dx], size, room, block.emphasis))
        return found


def _spot(at: Point) -> Box:
    return Box(at.x, at.y, at.x, at.y)
