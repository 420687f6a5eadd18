"""Each current arrow stands on its own walk, also where several walks follow each other."""

from __future__ import annotations

from itertools import pairwise

import pytest

from derive.circuit.elaborate import elaborate
from derive.circuit.model import Circuit
from derive.drawing.model import Drawing, Point, PointNames, Wire
from derive.drawing.schematic import View, schematic
from derive.language.parser import parse
from derive.source import Source
from tests.drawing.tracing import along, arrow_wire, on, segments, spot

BALANCED = """
I1: N (-E2+) G
I2: G (-E1+) P
I3: P (R1) X
I4: X (R2) Y
I5: Y (R3) N
I6: X (R4) G
I7: Y (R5) G
"""
AGAINST = """
I1: A (-E1+) (R1) B
I2: B (R2) C
I3: A (R3) C
I4: B (R4) A
"""
CHAIN = """
I1: A (R1) B
I2: B (-E1 r1+) C
I3: C (R2) D
I4: D (R3) A
I5: A (R4) D
"""
WIRED = """
I1: A1 (-E1+) (R1) B1
I2: A2 (-E2+) (R2) B2
I3: B3 (R3) A3
Iw: B1 B2
Iv: B2 B3
: A1 A2 A3
"""
TEXTS = {"balanced": BALANCED, "against": AGAINST, "chain": CHAIN, "wired": WIRED}


def read(text: str) -> Circuit:
    return elaborate(parse(Source("x", text))).circuit


def ends_of(drawing: Drawing, circuit: Circuit, part: str) -> set[tuple[float, float]]:
    """Return both ends of a part: of the cell and of its internal resistance."""
    inner = {
        p.element.resistance.name
        for branch in circuit.branches
        for p in branch.passages
        if p.element.name == part and p.element.resistance is not None
    }
    symbols = [s for s in drawing.symbols if s.part in {part, *inner}]
    return {along(symbol, sign) for symbol in symbols for sign in (1, -1)}


def passed(wire: Wire, at: Point) -> float:
    """Return how far along a wire a place is."""
    total = 0.0
    for a, b in pairwise(wire.points):
        if min(a.x, b.x) <= at.x <= max(a.x, b.x) and min(a.y, b.y) <= at.y <= max(a.y, b.y):
            return total + abs(at.x - a.x) + abs(at.y - a.y)
        total += abs(a.x - b.x) + abs(a.y - b.y)
    raise AssertionError("not on the wire")


@pytest.mark.parametrize("name", [*TEXTS])
def test_arrow_touches_a_part_of_its_own_walk(name: str) -> None:
    circuit = read(TEXTS[name])
    drawing = schematic(circuit, View())
    assert len(drawing.arrows) == len(circuit.walks)
    for walk in circuit.walks:
        wire, _ = arrow_wire(drawing, walk.current.name)
        own = [end for part in walk.parts for end in ends_of(drawing, circuit, part)]
        if own:
            assert spot(wire.points[0]) in own or spot(wire.points[-1]) in own, walk


def test_arrow_stands_on_its_side_of_a_named_point() -> None:
    compared = 0
    for text in TEXTS.values():
        circuit = read(text)
        drawing = schematic(circuit, View())
        for walk in circuit.walks:
            wire, _ = arrow_wire(drawing, walk.current.name)
            own = {end for part in walk.parts for end in ends_of(drawing, circuit, part)}
            begins, ends = (spot(wire.points[k]) in own for k in (0, -1))
            dots = [dot.centre for dot in drawing.dots if on_the_way(wire, dot.centre)]
            if begins == ends or not dots:
                continue
            tip = next(a.tip for a in drawing.arrows if a.current == walk.current.name)
            before = passed(wire, tip) < passed(wire, dots[0])
            assert before == begins, walk
            compared += 1
    assert compared


def on_the_way(wire: Wire, at: Point) -> bool:
    inner = [p for p in (at,) if spot(p) not in {spot(wire.points[0]), spot(wire.points[-1])}]
    return any(on(spot(p), piece) for p in inner for piece in segments([wire]))


def test_arrow_of_a_wire_stands_between_the_part_before_it_and_its_node() -> None:
    circuit = read(WIRED)
    drawing = schematic(circuit, View())
    wire, sense = arrow_wire(drawing, "Iw")
    start = wire.points[0] if sense == 1 else wire.points[-1]
    assert spot(start) in ends_of(drawing, circuit, "R1")


def test_points_joined_by_wires_with_names_are_named_at_their_node() -> None:
    drawing = schematic(read(WIRED), View())
    named = [
        label.content.names for label in drawing.labels if isinstance(label.content, PointNames)
    ]
    assert ("B1", "B2", "B3") in named
    assert sorted(name for names in named for name in names) == [
        "A1", "A2", "A3", "B1", "B2", "B3",
    ]  # fmt: skip
