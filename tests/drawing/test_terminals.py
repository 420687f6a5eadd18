"""A network of resistances is drawn with open terminals where its resistance is asked for."""

from __future__ import annotations

import random
from dataclasses import replace

import networkx as nx
import pytest

from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.terminals import OPEN_TERMINALS
from derive.diagnostic import Rejected
from derive.document.model import Figure
from derive.document.model import SideBySide as Beside
from derive.drawing import description
from derive.drawing.model import Drawing, Point, PointNames
from derive.drawing.schematic import View, follows_bridge, schematic
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests.drawing.test_read_back import loops_of
from tests.drawing.whole_check import examine

LADDER = ": A (R1) P (R2) Q (R3) S (R4) B\n: P (R5) B\n: Q (R6) B\n"
GIVEN = "R1, R2, R3, R4, R5, R6 = 6 ohm\n"
BRIDGE = ": A (R1) B (R3) C\n: A (R2) D (R4) C\n: B (R5) D\n"


def circuit_of(walks: str) -> Circuit:
    return load(Source("network", walks)).circuit


def terminals(drawing: Drawing) -> dict[str, Point]:
    """Return the open terminals by the names that stand nearest to them."""
    found: dict[str, Point] = {}
    names = [label for label in drawing.labels if isinstance(label.content, PointNames)]
    for dot in drawing.dots:
        if dot.is_open:
            at = dot.centre
            near = min(names, key=lambda n: (n.at.x - at.x) ** 2 + (n.at.y - at.y) ** 2)
            assert isinstance(near.content, PointNames)
            found[near.content.names[0]] = at
    return found


def stand_at_the_left(drawing: Drawing, one: str, other: str) -> bool:
    """Tell whether two terminals stand at the left, the first right above the second."""
    found = terminals(drawing)
    left = min(point.x for wire in drawing.wires for point in wire.points)
    above, below = found[one], found[other]
    return above.x == below.x == pytest.approx(left, abs=0.01) and above.y > below.y


def beside_the_gap(circuit: Circuit) -> Circuit:
    """Return what the figure shows beside the gap, which divides a branch where it ends."""
    assert circuit.terminals is not None
    drawn = circuit.terminals.drawn
    gap = next(
        k for k, b in enumerate(drawn.branches) if b.passages[0].element.name == OPEN_TERMINALS
    )
    walks = tuple(replace(w, branch=w.branch - (w.branch > gap)) for w in drawn.walks)
    rest = replace(drawn, branches=drawn.branches[:gap] + drawn.branches[gap + 1 :], walks=walks)
    return replace(circuit, drawn=rest)


@pytest.mark.parametrize(
    ("walks", "one", "other"),
    [
        (LADDER, "A", "B"), (LADDER, "B", "A"), (LADDER, "A", "S"),
        (BRIDGE, "A", "B"), (BRIDGE, "A", "C"), (BRIDGE, "B", "D"), (": A (R1) (R2) B\n", "A", "B"),
        (": A (R1) B (R2) C (R3) A\n", "B", "C"),
        (LADDER + ": A (open S1) Q\n", "A", "B"),
    ],
)  # fmt: skip
def test_they_stand_at_the_left(walks: str, one: str, other: str) -> None:
    circuit = circuit_of(f"{walks}ask resistance {one} {other}\n")
    drawing = schematic(circuit, View(currents=False, loops=loops_of(circuit)))
    assert stand_at_the_left(drawing, one, other)
    shown = schematic(circuit, View(values=True, loops=loops_of(circuit)))
    assert examine(beside_the_gap(circuit), shown, values=True).faults == ()
    assert f"Open terminals: {one} and {other}." in description.long(circuit)


@pytest.mark.parametrize("seed", range(25))
def test_random_networks(seed: int) -> None:
    rng = random.Random(seed)
    graph = nx.Graph()
    while graph.number_of_nodes() < 3 or not nx.is_connected(graph):
        graph = nx.gnm_random_graph(rng.randint(3, 7), rng.randint(3, 12), seed=rng.randrange(9999))
    walks = "".join(f": P{a} (R{k}) P{b}\n" for k, (a, b) in enumerate(graph.edges, 1))
    one, other = rng.sample(sorted(graph.nodes), 2)
    loose = [n for n, degree in graph.degree if degree == 1 and n not in (one, other)]
    if loose:  # an end that leads nowhere is refused
        walks += "".join(f": P{n} (R{n}') P{one}\n" for n in loose)
        graph.add_edges_from((n, one) for n in loose)
    joined = nx.Graph(graph)
    joined.add_edge(one, other)
    circuit = circuit_of(f"{walks}ask resistance P{one} P{other}\n")
    drawing = schematic(circuit, View(values=True, loops=loops_of(circuit)))
    if nx.check_planarity(joined)[0]:
        assert len(terminals(drawing)) == 2
        assert examine(beside_the_gap(circuit), drawing, values=True).faults == ()
    else:
        assert len(terminals(drawing)) < 2  # an end where nothing goes on is open all the same
        planar = nx.check_planarity(graph)[0]
        assert examine(circuit, drawing, values=True, planar=planar).faults == ()


def test_every_stage_keeps_them() -> None:
    given = f"{LADDER}{GIVEN}ask resistance A B\n"
    sections = solve(Source("ladder", given)).document.sections
    blocks = [block for section in sections for block in section.blocks]
    beside = [
        b for block in blocks if isinstance(block, Beside) for b in (*block.left, *block.right)
    ]
    drawn = [block.drawing for block in (*blocks, *beside) if isinstance(block, Figure)]
    assert len(drawn) == 6
    assert all(stand_at_the_left(drawing, "A", "B") for drawing in drawn)


@pytest.mark.parametrize(
    "changed",
    [
        "place A at 0 0\nplace B at 3 0\n",  # the author says where points lie
        "bridge diamond\n",
        "I: A (-E1+) B\n",  # a battery drives a current
        "ask resistance A C\n",  # there are two pairs
    ],
)
def test_where_there_are_none(changed: str) -> None:
    circuit = circuit_of(f"{BRIDGE}{changed}ask resistance A B\n")
    assert terminals(schematic(circuit, View(loops=loops_of(circuit)))) == {}


@pytest.mark.parametrize(("one", "other"), [("A", "C"), ("C", "A")])
def test_a_diamond_has_them_where_its_supply_would_be(one: str, other: str) -> None:
    walks = BRIDGE.replace("B (R5) D", "B (R5) (R6) D")
    circuit = circuit_of(f"{walks}bridge diamond\nask resistance {one} {other}\n")
    assert follows_bridge(circuit)
    drawing = schematic(circuit, View(currents=False, loops=loops_of(circuit)))
    assert stand_at_the_left(drawing, one, other)
    assert sum(symbol.direction.aslant for symbol in drawing.symbols) == 4
    assert f"Open terminals: {one} and {other}." in description.long(circuit)


def test_a_diamond_with_another_branch_there_has_none() -> None:
    circuit = circuit_of(f"{BRIDGE}: A (R6) C\nbridge diamond\nask resistance A C\n")
    assert follows_bridge(circuit)
    assert terminals(schematic(circuit, View(loops=loops_of(circuit)))) == {}


def test_only_points_are_terminals() -> None:
    with pytest.raises(Rejected) as refused:
        circuit_of(f"{LADDER}ask resistance A R5\n")
    assert "`R5` is a resistor" in refused.value.diagnostics[0].message


def test_across_a_cube_their_leads_would_cross() -> None:
    edges = enumerate(nx.cubical_graph().edges, 1)
    walks = "".join(f": P{a} (R{k}) P{b}\n" for k, (a, b) in edges)
    graph = nx.cubical_graph()
    far = next(n for n in graph if nx.shortest_path_length(graph, 0, n) == 3)
    circuit = circuit_of(f"{walks}ask resistance P0 P{far}\n")
    assert terminals(schematic(circuit, View(loops=loops_of(circuit)))) == {}


def test_a_current_may_enter_beside_an_open_switch() -> None:
    given = f"{LADDER}: A (open S1) Q\n{GIVEN}ask resistance A B\n"
    told = text.write(solve(Source("ladder", given)).document)
    assert "S₁ is open." in told
    assert "no current flows in" not in told
