"""The sign of earth stands at the point that is grounded, clear of everything else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from derive.drawing.board import wire_boxes
from derive.drawing.description import long
from derive.drawing.schematic import View, schematic
from tests.drawing.circuits import PLANAR
from tests.drawing.geometry_check import check_geometry, check_labels
from tests.drawing.test_schematic import views
from tests.drawing.tracing import check_connections, crossings, strong_cycle


@pytest.mark.parametrize("name", [*PLANAR])
def test_sign_keeps_clear(name: str) -> None:
    circuit = replace(PLANAR[name], ground=PLANAR[name].nodes[0].name)
    for view in views(circuit):
        drawing = schematic(circuit, view)
        more = len(drawing.wires) - len(schematic(PLANAR[name], view).wires)
        # A small figure may lack the room; the main figure never does.
        assert more == 4 or (more == 0 and view.loop is not None)
        check_geometry(drawing)
        check_labels(drawing)
        assert crossings(drawing) == 0
        if view.loop is None:
            check_connections(circuit, drawing)
        else:
            strong_cycle(drawing)
        sign = drawing.wires[-4:] if more else ()
        for wire in sign:
            for box in wire_boxes(wire):
                assert not any(box.overlaps(symbol.box) for symbol in drawing.symbols)


def test_sign_hangs_on_the_point_below_it() -> None:
    circuit = replace(PLANAR["two"], ground="A")
    drawing, plain = schematic(circuit, View()), schematic(PLANAR["two"], View())
    stub, *bars = drawing.wires[-4:]
    assert plain.wires == drawing.wires[:-4]
    assert stub.points[0] in [dot.centre for dot in drawing.dots]
    assert stub.points[1].y < stub.points[0].y
    lengths = [bar.points[1].x - bar.points[0].x for bar in bars]
    assert lengths == sorted(lengths, reverse=True)
    assert len({bar.points[0].y for bar in bars}) == 3


def test_sign_on_a_point_between_two_parts() -> None:
    circuit = replace(PLANAR["two"], ground="B")
    drawing = schematic(circuit, View())
    check_labels(drawing)
    check_connections(circuit, drawing)
    stub = drawing.wires[-4]
    assert stub.points[0] in [dot.centre for dot in drawing.dots]


def test_description_tells_the_sign() -> None:
    assert long(replace(PLANAR["two"], ground="A")).endswith("The sign of earth stands at A.")
    assert "earth" not in long(PLANAR["two"])
