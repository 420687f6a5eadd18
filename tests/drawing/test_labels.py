"""Labels are clear of everything and of each other, and nearest to what they name.

What a label belongs to is found as a reader finds it: by distance. Nothing of the code that
places labels is used. The distances asked for are common practice, no source.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from math import hypot

import pytest

from derive.algebra.term import Quantity, Sum, SymbolKind
from derive.algebra.term import Symbol as Letter
from derive.analysis.loops import choose_loops
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie
from derive.drawing.model import Box, Drawing, PointNames
from derive.drawing.schematic import View, schematic
from tests.drawing.circuits import NOT_PLANAR, PLANAR
from tests.drawing.geometry_check import is_letter_of
from tests.drawing.random_planar import FAMILIES, random_planar


def distance(one: Box, other: Box) -> float:
    dx = max(other.left - one.right, one.left - other.right, 0.0)
    dy = max(other.bottom - one.top, one.bottom - other.top, 0.0)
    return hypot(dx, dy)


def views(circuit: Circuit) -> list[View]:
    loops = choose_loops(circuit).loops
    walked = [View(loop=loop, loop_name=str(k), loops=loops) for k, loop in enumerate(loops, 1)]
    return [View(loops=loops), View(values=True, loops=loops), *walked[:3]]


def sides(box: Box) -> list[Box]:
    return [
        Box(box.left, box.bottom, box.right, box.bottom),
        Box(box.left, box.top, box.right, box.top),
        Box(box.left, box.bottom, box.left, box.top),
        Box(box.right, box.bottom, box.right, box.top),
    ]


def nearest(box: Box, others: dict[str, list[Box]]) -> str:
    """Return the name of the thing that is nearest to a box, which must be clearly so."""
    found = sorted(
        (min(distance(box, one) for one in boxes), name) for name, boxes in others.items()
    )
    assert len(found) == 1 or found[0][0] < found[1][0] - 0.1, found[:2]
    return found[0][1]


def hull(boxes: list[Box]) -> Box:
    return Box(
        min(box.left for box in boxes),
        min(box.bottom for box in boxes),
        max(box.right for box in boxes),
        max(box.top for box in boxes),
    )


def check_names(drawing: Drawing, circuit: Circuit) -> None:
    """Each name is nearest to its own thing, and each thing to its own name."""
    parts = {symbol.part: [symbol.box] for symbol in drawing.symbols}
    heads = {arrow.current: [arrow.box] for arrow in drawing.arrows}
    blocks: dict[str, list[Box]] = {}
    letters: dict[str, list[Box]] = {}
    for label in drawing.labels:
        if isinstance(label.content, Letter):
            named = letters if label.content.kind is SymbolKind.CURRENT else blocks
            # A value that is the letter of another part stands below a name.
            if label.content.name not in named:
                named[label.content.name] = [label.box]
    lines = {name: list(boxes) for name, boxes in blocks.items()}
    for label in drawing.labels:
        if isinstance(label.content, Quantity | Sum):
            # The name of a value stands right above it.
            name = nearest(label.box, lines)
            letter = next(v.symbol for v in circuit.values if v.symbol.name == name)
            value = circuit.valuation(letter)
            if isinstance(label.content, Quantity):
                assert value == Given(label.content.value, label.content.dimension)
            else:
                assert value == Tie(label.content)
            blocks[name].append(label.box)
    for named, things in ((blocks, parts), (letters, heads)):
        whole = {name: [hull(boxes)] for name, boxes in named.items()}
        for name, boxes in whole.items():
            assert nearest(boxes[0], things) == name
            assert nearest(things[name][0], whole) == name


def check_clear(drawing: Drawing) -> None:
    """No label touches another, or anything drawn; a value is no neighbour's."""
    for one, other in combinations(drawing.labels, 2):
        assert distance(one.box, other.box) > 0.3, (one, other)
        if isinstance(one.content, Quantity) and isinstance(other.content, Quantity):
            beside = one.box.bottom < other.box.top and other.box.bottom < one.box.top
            assert not beside or distance(one.box, other.box) > 1.4, (one, other)
    drawn = [arrow.box for arrow in drawing.arrows] + [dot.box for dot in drawing.dots]
    drawn += [side for frame in drawing.frames for side in sides(frame.box)]
    drawn += [
        Box(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))
        for wire in drawing.wires
        for a, b in pairwise(wire.points)
    ]
    for label in drawing.labels:
        symbols = [s.box for s in drawing.symbols if not is_letter_of(label, s)]
        assert all(distance(label.box, box) > 0.09 for box in (*drawn, *symbols)), label


@pytest.mark.parametrize("name", [*PLANAR, *NOT_PLANAR])
def test_labels_of_a_figure(name: str) -> None:
    circuit = (PLANAR | NOT_PLANAR)[name]
    for view in views(circuit):
        drawing = schematic(circuit, view)
        check_clear(drawing)
        check_names(drawing, circuit)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("family", FAMILIES)
def test_labels_of_a_random_figure(family: str, seed: int) -> None:
    circuit = random_planar(family, seed)
    for view in views(circuit):
        drawing = schematic(circuit, view)
        check_clear(drawing)
        check_names(drawing, circuit)


def test_points_are_named_beside_a_dot_or_a_corner() -> None:
    for circuit in PLANAR.values():
        drawing = schematic(circuit, View(values=True))
        places = [point for wire in drawing.wires for point in wire.points]
        places += [dot.centre for dot in drawing.dots]
        for label in drawing.labels:
            if isinstance(label.content, PointNames):
                apart = min(distance(label.box, Box(p.x, p.y, p.x, p.y)) for p in places)
                assert apart < 3.2, label
