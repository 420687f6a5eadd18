"""Labels of what lies aslant, and what is told when there is no room."""

from math import hypot

import pytest

from derive.algebra.term import current, resistance
from derive.drawing.board import distance, rooms, wire_boxes
from derive.drawing.dressing import ArrowSpot, Dressed, PieceSpot, PointSpot, step
from derive.drawing.labelling import Labeller
from derive.drawing.metrics import MAIN
from derive.drawing.model import (
    Box,
    CurrentArrow,
    Direction,
    Emphasis,
    Point,
    Symbol,
    SymbolShape,
    Wire,
)
from derive.drawing.tokens import Arrow, Piece
from derive.drawing.view import View
from derive.typesetting.style import Style

ASLANT = [way for way in Direction if way.aslant]


def part(name: str, at: Point, way: Direction) -> PieceSpot:
    length, breadth = MAIN.resistor
    shape = SymbolShape.RESISTOR_BOX
    symbol = Symbol(shape, at, way, length, breadth, name)
    piece = Piece(shape, name, True, length, breadth, (resistance(name),), (4.0, 3.0))
    return PieceSpot(piece, symbol, symbol.box, False)


def wires(spot: PieceSpot) -> list[Wire]:
    """Return twelve millimetres of wire on both sides of a part."""
    symbol = spot.symbol
    ends = [step(symbol.centre, symbol.direction, k * symbol.length / 2) for k in (-1, 1)]
    return [
        Wire((end, step(end, symbol.direction, 12.0 * k)))
        for k, end in zip((-1, 1), ends, strict=True)
    ]


def labeller() -> Labeller:
    return Labeller(View(), MAIN, [], Style())


def off_line(box: Box, at: Point, way: Direction) -> float:
    """Return how far a box is from an endless line."""
    across = [
        (x - at.x) * -way.dy + (y - at.y) * way.dx
        for x in (box.left, box.right)
        for y in (box.bottom, box.top)
    ]
    return 0.0 if min(across) < 0 < max(across) else min(map(abs, across))


@pytest.mark.parametrize("way", ASLANT)
def test_a_wire_aslant_takes_little_room(way: Direction) -> None:
    start = Point(3.0, 2.0)
    boxes = wire_boxes(Wire((start, step(start, way, 20.0))))
    # Every place of the wire is covered, and nothing far from it.
    for k in range(101):
        at = step(start, way, 0.2 * k)
        assert any(b.left <= at.x <= b.right and b.bottom <= at.y <= b.top for b in boxes)
    for box in boxes:
        corners = [Point(x, y) for x in (box.left, box.right) for y in (box.bottom, box.top)]
        assert max(abs((c.x - start.x) * way.dy - (c.y - start.y) * way.dx) for c in corners) < 1.6


@pytest.mark.parametrize("way", ASLANT)
def test_the_room_of_a_symbol_aslant_holds_its_outline(way: Direction) -> None:
    symbol = part("R1", Point(0.0, 0.0), way).symbol
    boxes = rooms(symbol)
    for along in (-1.0, -0.5, 0.0, 0.5, 1.0):
        for side in (-1.0, 1.0):
            at = step(symbol.centre, way, along * symbol.length / 2)
            at = Point(at.x - way.dy * side * 1.45, at.y + way.dx * side * 1.45)
            assert min(distance(Box(at.x, at.y, at.x, at.y), box) for box in boxes) < 0.25
    upright = part("R1", Point(0.0, 0.0), Direction.UP).symbol
    assert rooms(upright) == [upright.box]


@pytest.mark.parametrize("way", ASLANT)
def test_a_part_aslant_is_named_beside_its_middle(way: Direction) -> None:
    spot = part("R1", Point(5.0, 5.0), way)
    found = labeller().label(Dressed(wires=wires(spot), pieces=[spot]))
    assert found.crowded == 0
    (label,) = found.labels
    apart = off_line(label.box, spot.symbol.centre, way)
    assert MAIN.resistor[1] / 2 + 0.6 < apart < MAIN.resistor[1] / 2 + 2.5
    middle = label.box.centre
    assert hypot(middle.x - 5.0, middle.y - 5.0) < 8.0


@pytest.mark.parametrize("way", ASLANT)
def test_an_arrow_and_a_point_aslant(way: Direction) -> None:
    at = Point(0.0, 0.0)
    head = CurrentArrow(step(at, way, 1.15), way, MAIN.arrow, "I1")
    letter = Arrow(current("I1"), True, 0, (3.0, 3.0), (0, 0))
    place = step(at, way, 20.0)
    figure = Dressed(
        wires=[Wire((step(at, way, -10.0), place))],
        arrows=[ArrowSpot(letter, head, False)],
        points=[PointSpot(("B",), place, (way.opposite,) * 2, Emphasis.NORMAL)],
    )
    found = labeller().label(figure)
    assert found.crowded == 0
    arrow, point = found.labels
    assert 0.5 < off_line(arrow.box, at, way) < 3.0
    assert distance(point.box, Box(place.x, place.y, place.x, place.y)) < 2.5


def test_labels_without_room_are_told() -> None:
    spot = part("R1", Point(0.0, 0.0), Direction.RIGHT)
    fence = [Wire((Point(-9.0, y / 2), Point(9.0, y / 2))) for y in range(-20, 21) if y]
    found = labeller().label(Dressed(wires=[*wires(spot), *fence], pieces=[spot]))
    assert found.cramped == ("R1",)
    assert found.crowded == 1
    assert len(found.labels) == 1
