"""Choosing a place for every label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from derive.drawing.board import Board, Slot, beside, wire_boxes
from derive.drawing.dressing import ArrowSpot, Dressed, NodeSpot, PieceSpot, PointSpot, step
from derive.drawing.geometry import winding
from derive.drawing.metrics import Metrics
from derive.drawing.model import (
    Box,
    Direction,
    Emphasis,
    PlusSign,
    Point,
    PointNames,
    SymbolShape,
)
from derive.drawing.reckoning import label_size
from derive.drawing.view import View


@dataclass(frozen=True, slots=True)
class Labeller:
    """Puts labels on a board, the least movable first."""

    view: View
    metrics: Metrics
    outline: list[Point]
    """The loop that is walked; labels stand better outside it. Empty when there is none."""

    def label(self, figure: Dressed) -> Board:
        """Return the labels of a figure."""
        board = Board(self.metrics.text)
        board.taken += [box for wire in figure.wires for box in wire_boxes(wire)]
        board.taken += [spot.symbol.box for spot in figure.pieces]
        board.taken += [spot.head.box for spot in figure.arrows]
        board.taken += [dot.box for dot in figure.dots]
        frames = [frame.box for frame in figure.frames]
        for piece in figure.pieces:
            self._plus(board, piece, [box for box in frames if not box.holds(piece.symbol.box)])
        board.taken += frames
        for piece in figure.pieces:
            board.put(piece.piece.lines, self._piece_slots(piece), piece.symbol.emphasis)
        for arrow in figure.arrows:
            slots = self._arrow_slots(arrow)
            board.put((arrow.arrow.letter,), slots, arrow.head.emphasis)
        if self.view.points:
            for node in figure.nodes:
                if node.emphasis is not Emphasis.FAINT:
                    board.put((PointNames(node.names),), self._node_slots(node), node.emphasis)
            for point in figure.points:
                if point.emphasis is not Emphasis.FAINT:
                    board.put((PointNames(point.names),), self._point_slots(point), point.emphasis)
        return board

    def _plus(self, board: Board, spot: PieceSpot, frames: list[Box]) -> None:
        symbol = spot.symbol
        if symbol.shape is not SymbolShape.CELL or symbol.emphasis is Emphasis.FAINT:
            return
        size = label_size(PlusSign(), self.metrics.text)[0]
        ahead = step(symbol.centre, symbol.direction, symbol.length / 2 + 0.3 + size / 2)
        side = symbol.breadth / 2 - size / 2
        # Away from the label; the label of a level cell stands above it.
        if symbol.direction.horizontal:
            ways = [Direction.DOWN, Direction.UP]
        else:
            ways = [Direction.RIGHT, Direction.LEFT]
            if not spot.label_left:
                ways.reverse()
        slots = [Slot(step(ahead, way, side + more), 0, 0) for more in (0.0, size) for way in ways]
        board.put((PlusSign(),), slots, symbol.emphasis, frames)

    def _piece_slots(self, spot: PieceSpot) -> list[Slot]:
        flat = spot.symbol.direction.horizontal
        ways = [Direction.UP, Direction.DOWN] if flat else [Direction.RIGHT, Direction.LEFT]
        if spot.label_left and not flat:
            ways.reverse()
        gap = self.metrics.gap
        slots = [beside(spot.room, way, gap * f) for f in (1.0, 2.0) for way in ways]
        half = 0.6 * spot.symbol.length
        slots += [beside(spot.room, way, gap, s) for way in ways for s in (half, -half)]
        return self._outside_first(slots)

    def _arrow_slots(self, spot: ArrowSpot) -> list[Slot]:
        flat = spot.head.direction.horizontal
        ways = [Direction.UP, Direction.DOWN] if flat else [Direction.LEFT, Direction.RIGHT]
        if spot.label_left and not flat:
            ways.reverse()
        half, gap = self.metrics.arrow, self.metrics.gap * 0.8
        shifts = (0.0, half, -half)
        slots = [beside(spot.head.box, way, gap, s) for s in shifts for way in ways]
        return self._outside_first(slots)

    def _node_slots(self, spot: NodeSpot) -> list[Slot]:
        middle = (spot.places[0].x + spot.places[-1].x) / 2
        places = sorted(spot.places, key=lambda p: (round(abs(p.x - middle), 3), p.x))
        across = Direction.LEFT, Direction.RIGHT
        straight, diagonal = [], []
        for near in (1.0, 1.8):
            for place in places:
                gap = (self.metrics.dot + self.metrics.gap * 0.8) * near
                ways = [spot.prefer, spot.prefer.opposite]
                straight += [Slot(step(place, w, gap), 0, w.dy) for w in ways]
                straight += [Slot(step(place, w, gap), w.dx, 0) for w in across]
                diagonal += [
                    Slot(step(step(place, w, gap * 0.7), a, gap * 0.7), a.dx, w.dy)
                    for w in ways
                    for a in across
                ]
        return self._outside_first(straight + diagonal)

    def _point_slots(self, spot: PointSpot) -> list[Slot]:
        gap = self.metrics.gap
        one, other = spot.directions
        if one.horizontal != other.horizontal:
            a, b = one.opposite, other.opposite
            corner = step(step(spot.at, a, gap * 0.6), b, gap * 0.6)
            slots = [Slot(corner, a.dx or b.dx, a.dy or b.dy)]
            slots += [Slot(step(spot.at, w, gap), w.dx, w.dy) for w in (b, a)]
            inner = step(step(spot.at, one, gap * 0.8), other, gap * 0.8)
            return [*slots, Slot(inner, one.dx or other.dx, one.dy or other.dy)]
        ways = (
            (Direction.UP, Direction.DOWN) if one.horizontal else (Direction.LEFT, Direction.RIGHT)
        )
        return self._outside_first([Slot(step(spot.at, w, gap), w.dx, w.dy) for w in ways])

    def _outside_first(self, slots: Iterable[Slot]) -> list[Slot]:
        if not self.outline:
            return list(slots)
        return sorted(slots, key=lambda slot: winding(self.outline, slot.box(1, 1).centre) != 0)
