"""Points stand where the author places them, also when no straight way joins them."""

from __future__ import annotations

import pytest

from derive.circuit.elaborate import elaborate
from derive.circuit.model import Circuit
from derive.drawing.model import Drawing, Point, PointNames
from derive.drawing.schematic import View, schematic
from derive.language.parser import parse
from derive.source import Source
from tests.drawing.test_schematic import check_geometry, check_labels
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
