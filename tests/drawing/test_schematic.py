"""Every figure read back from its wires and symbols is the circuit it shows."""

from __future__ import annotations

import random
import subprocess
import sys
from itertools import combinations, pairwise

import networkx as nx
import pytest

from derive.analysis.loops import choose_loops
from derive.circuit.model import Circuit, Hop, Loop
from derive.drawing.board import wire_boxes
from derive.drawing.model import Drawing, Emphasis
from derive.drawing.schematic import View, schematic
from tests.drawing.circuits import NOT_PLANAR, PLANAR, THREE, TWO, rungs
from tests.drawing.tracing import (
    along,
    area,
    check_connections,
    crossings,
    encloses,
    overlaps,
    segments,
    strong_cycle,
)
from tests.random_circuits import random_circuit


def planar(circuit: Circuit) -> bool:
    """Decide by networkx: check_planarity (left-right test), each branch cut by two vertices."""
    graph = nx.Graph()
    for k, branch in enumerate(circuit.branches):
        nx.add_path(graph, [branch.tail, (k, 0), (k, 1), branch.head])
    return bool(nx.check_planarity(graph)[0])


def views(circuit: Circuit) -> list[View]:
    loops = choose_loops(circuit).loops
    found = [View(loops=loops), View(values=True, loops=loops), View()]
    for k, loop in enumerate(loops, 1):
        found.append(View(currents=False, loop=loop, loop_name=str(k), loops=loops))
        found.append(View(loop=loop, loop_name=str(k), loops=loops))
    return found


def check_geometry(drawing: Drawing) -> None:
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in segments(drawing.wires))
    assert overlaps(drawing) == 0
    boxes = [box for wire in drawing.wires for box in wire_boxes(wire)]
    boxes += [label.box for label in drawing.labels]
    boxes += [symbol.box for symbol in drawing.symbols]
    whole = drawing.box
    assert all(
        whole.left <= b.left and b.right <= whole.right
        and whole.bottom <= b.bottom and b.top <= whole.top
        for b in boxes
    )  # fmt: skip


def check_labels(drawing: Drawing) -> None:
    for one, other in combinations(drawing.labels, 2):
        assert not one.box.overlaps(other.box, -1e-6), (one, other)
    for label in drawing.labels:
        for symbol in drawing.symbols:
            assert not label.box.overlaps(symbol.box), (label, symbol)
        for arrow in drawing.arrows:
            assert not label.box.overlaps(arrow.box), (label, arrow)
        for frame in drawing.frames:
            within = (
                frame.box.left < label.box.left and label.box.right < frame.box.right
                and frame.box.bottom < label.box.bottom and label.box.top < frame.box.top
            )  # fmt: skip
            assert within or not label.box.overlaps(frame.box), (label, frame)
        for wire in drawing.wires:
            for a, b in pairwise(wire.points):
                box = label.box
                crosses = (
                    min(a.x, b.x) < box.right and max(a.x, b.x) > box.left
                    and min(a.y, b.y) < box.top and max(a.y, b.y) > box.bottom
                )  # fmt: skip
                assert not crosses, (label, wire)
    for one, other in combinations(drawing.symbols, 2):
        assert not one.box.overlaps(other.box), (one, other)
    for frame, second in combinations(drawing.frames, 2):
        assert not frame.box.overlaps(second.box), (frame, second)


def check_loop(circuit: Circuit, view: View, drawing: Drawing) -> None:
    """The strong line is the loop, and its arrow turns the way the loop is walked."""
    assert view.loop is not None
    corners = strong_cycle(drawing)
    arrow = drawing.loop_arrow
    assert arrow is not None
    assert encloses(corners, arrow.centre)
    strong = {s.part: s for s in drawing.symbols if s.emphasis is Emphasis.STRONG}
    hop = next(h for h in view.loop.hops if circuit.branches[h.branch].passages)
    passage = circuit.branches[hop.branch].passages[0]
    symbol = strong[passage.element.name]
    sense = 1 if passage.along == hop.along else -1
    start, end = along(symbol, -sense), along(symbol, sense)
    at = corners.index(start)
    if corners[(at + 1) % len(corners)] != end:
        assert corners[at - 1] == end
        corners = corners[::-1]
    assert (area(corners) > 0) == (arrow.sweep > 0)


@pytest.mark.parametrize("name", [*PLANAR])
def test_figure_of_planar_circuit(name: str) -> None:
    circuit = PLANAR[name]
    for view in views(circuit):
        drawing = schematic(circuit, view)
        check_geometry(drawing)
        check_labels(drawing)
        assert crossings(drawing) == 0
        if view.loop is None:
            check_connections(circuit, drawing)
        else:
            check_loop(circuit, view, drawing)


@pytest.mark.parametrize("name", [*NOT_PLANAR])
def test_figure_with_crossings(name: str) -> None:
    circuit = NOT_PLANAR[name]
    assert not planar(circuit)
    drawing = schematic(circuit, View(loops=choose_loops(circuit).loops))
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    # Crossing numbers 1, 1 and 3: R. K. Guy, 1972 (from memory). One more is still legible.
    assert 1 <= crossings(drawing) <= {"complete on 6": 4}.get(name, 1)


@pytest.mark.parametrize("seed", range(25))
def test_figure_of_random_circuit(seed: int) -> None:
    circuit = random_circuit(random.Random(seed), loops=(1, 6))
    for view in views(circuit)[:4]:
        drawing = schematic(circuit, view)
        check_geometry(drawing)
        check_labels(drawing)
        if planar(circuit):
            assert crossings(drawing) == 0
        if view.loop is None:
            check_connections(circuit, drawing)
        elif planar(circuit):
            check_loop(circuit, view, drawing)


@pytest.mark.parametrize("seed", range(8))
def test_rails_and_rungs(seed: int) -> None:
    rng = random.Random(seed)
    circuit = rungs(rng.randint(3, 7), rng)
    drawing = schematic(circuit, View())
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    assert crossings(drawing) == 0


def test_loops_become_windows() -> None:
    # In file order branch 0 is no neighbour of branch 2; as windows these three loops need it.
    loops = tuple(
        Loop((Hop(a, True), Hop(b, THREE.branches[a].head == THREE.branches[b].tail)))
        for a, b in ((0, 2), (2, 1), (1, 3))
    )
    for loop in loops:
        drawing = schematic(THREE, View(loop=loop, loop_name="1", loops=loops))
        corners = strong_cycle(drawing)
        faint = [s for s in drawing.symbols if s.emphasis is Emphasis.FAINT]
        assert faint
        assert not any(encloses(corners, symbol.centre) for symbol in faint)


def test_reversed_loop_turns_the_arrow_round() -> None:
    loop = choose_loops(TWO).loops[0]
    back = Loop(tuple(Hop(hop.branch, not hop.along) for hop in reversed(loop.hops)))
    one = schematic(TWO, View(loop=loop, loop_name="1"))
    other = schematic(TWO, View(loop=back, loop_name="1"))
    assert one.loop_arrow is not None
    assert other.loop_arrow is not None
    assert one.loop_arrow.sweep == -other.loop_arrow.sweep
    assert one.wires == other.wires


def test_same_figure_under_any_hash_seed() -> None:
    program = (
        "from tests.drawing.circuits import PLANAR, NOT_PLANAR\n"
        "from derive.drawing.schematic import View, schematic\n"
        "for c in [*PLANAR.values(), NOT_PLANAR['complete on 5']]: print(schematic(c, View()))\n"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outputs) == 1
