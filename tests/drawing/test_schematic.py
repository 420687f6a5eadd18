"""Every figure read back from its wires and symbols is the circuit it shows."""

from __future__ import annotations

import random
import subprocess
import sys

import pytest

from derive.analysis.loops import choose_loops
from derive.circuit.model import Circuit, Hop, Loop
from derive.drawing.model import Drawing, Emphasis
from derive.drawing.schematic import View, schematic
from tests.drawing.circuits import NOT_PLANAR, PLANAR, THREE, TWO, rungs
from tests.drawing.geometry_check import check_geometry, check_labels
from tests.drawing.random_planar import planar
from tests.drawing.tracing import (
    along,
    area,
    check_connections,
    crossings,
    encloses,
    strong_cycle,
)
from tests.random_circuits import random_circuit


def views(circuit: Circuit) -> list[View]:
    loops = choose_loops(circuit).loops
    found = [View(loops=loops), View(values=True, loops=loops), View()]
    for k, loop in enumerate(loops, 1):
        found.append(View(currents=False, loop=loop, loop_name=str(k), loops=loops))
        found.append(View(loop=loop, loop_name=str(k), loops=loops))
    return found


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


CROSSING_NUMBERS = {
    # R. K. Guy, Crossing numbers of graphs, 1972 (from memory): K5, K6, K7.
    "complete on 5": 1, "complete on 6": 3, "complete on 7": 9,
    # D. J. Kleitman, Journal of Combinatorial Theory 9, 1970 (from memory): K3,3, K3,4, K4,4.
    "three houses": 1, "three and four": 2, "four and four": 4,
    # E. W. Weisstein, "Petersen Graph", MathWorld (from memory).
    "Petersen": 2,
}  # fmt: skip


@pytest.mark.parametrize("name", [*NOT_PLANAR])
def test_figure_with_crossings(name: str) -> None:
    circuit = NOT_PLANAR[name]
    assert not planar(circuit)
    drawing = schematic(circuit, View(loops=choose_loops(circuit).loops))
    check_geometry(drawing)
    check_labels(drawing)
    check_connections(circuit, drawing)
    assert crossings(drawing) == CROSSING_NUMBERS[name]


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
