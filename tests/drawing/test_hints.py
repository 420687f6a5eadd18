"""Points stand where the author places them, also when no straight way joins them."""

from __future__ import annotations

from itertools import combinations

import pytest

from derive.circuit.elaborate import elaborate
from derive.circuit.model import Circuit
from derive.drawing.model import Drawing, Point, PointNames
from derive.drawing.schematic import View, schematic
from derive.language.parser import parse
from derive.source import Source
from tests.drawing.geometry_check import check_geometry, check_labels
from tests.drawing.tracing import check_connections, crossings

SQUARE = """
place A at 0 0
place B at 4 0
place C at 4 3
place D at 0 3
I1: A (-E1+) D
I2: D (R1) C
I3: C (R2) B
I4: B (R3) A
"""
DIAGONAL = SQUARE + "I5: D (R4) B\n"
OTHER_DIAGONAL = SQUARE + "I5: A (R4) C\n"


def read(text: str) -> Circuit:
    return elaborate(parse(Source("x", text))).circuit


def named(drawing: Drawing) -> dict[str, Point]:
    return {
        name: label.box.centre
        for label in drawing.labels
        if isinstance(label.content, PointNames)
        for name in label.content.names
    }


@pytest.mark.parametrize("text", [SQUARE, DIAGONAL, OTHER_DIAGONAL])
def test_points_stand_as_placed(text: str) -> None:
    circuit = read(text)
    drawing = schematic(circuit, View())
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    assert crossings(drawing) == 0
    at = named(drawing)
    far = 15.0  # millimetres; a name is never so far from its point
    assert at["B"].x - at["A"].x > far
    assert at["C"].x - at["D"].x > far
    assert at["D"].y - at["A"].y > far
    assert at["C"].y - at["B"].y > far


def test_two_diagonals_cross_once() -> None:
    circuit = read(DIAGONAL + "I6: C (R5) A\n")
    drawing = schematic(circuit, View())
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    # Four places on a square, both diagonals outside it: they have to cross.
    assert crossings(drawing) == 1


LADDER = """
I1: G (-E1+) (R1) P
I2: P (R2) G
I3: P (R3) Q
I4: Q (R4) G
I5: Q (R5) S
I6: S (R6) G
I7: S (R7) (-E2+) G
"""


@pytest.mark.parametrize(
    "places",
    [
        {"P": (0, 2), "S": (4, 2)},
        {"S": (0, 2), "P": (4, 2)},
        {"G": (0, 2), "P": (0, 0)},
        {"G": (2, 0), "Q": (2, 2), "S": (0, 2)},
        {"P": (0, 4), "G": (0, 0), "S": (4, 4)},
    ],
)
def test_points_with_a_place_lie_to_each_other_as_placed(
    places: dict[str, tuple[int, int]],
) -> None:
    # The rail G has five wires, so it is no place on a grid but a line.
    circuit = read(LADDER + "".join(f"place {p} at {x} {y}\n" for p, (x, y) in places.items()))
    drawing = schematic(circuit, View())
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    assert crossings(drawing) == 0
    at = named(drawing)
    near = 8.0  # millimetres from a name to its point at most
    for (one, (x1, y1)), (other, (x2, y2)) in combinations(places.items(), 2):
        if y1 != y2:
            assert (at[other].y - at[one].y) * (y2 - y1) > 0
        else:
            assert abs(at[other].y - at[one].y) < near
        if x1 != x2 and "G" not in (one, other):
            assert (at[other].x - at[one].x) * (x2 - x1) > 0


def test_one_place_alone_changes_nothing() -> None:
    free, placed = (schematic(read(LADDER + more), View()) for more in ("", "place G at 3 3\n"))
    assert free == placed
