"""From walks to nodes, branches and currents.

The random test compares with networkx (an independent graph library): the number of independent
loops, and the degrees after points on one wire are merged and places of degree 2 are smoothed.
"""

from __future__ import annotations

import random

import networkx as nx
import pytest

from derive.circuit.elaborate import elaborate
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Passage
from derive.circuit.register import MOST_PARTS
from derive.diagnostic import Rejected
from derive.language.parser import parse
from derive.source import Source
from tests.language.text_strategies import check_circuit


def circuit_of(text: str) -> Circuit:
    elaborated = elaborate(parse(Source("x", text)))
    check_circuit(elaborated)
    return elaborated.circuit


def codes_of(text: str) -> list[str]:
    with pytest.raises(Rejected) as caught:
        elaborate(parse(Source("x", text)))
    return [diagnostic.code for diagnostic in caught.value.diagnostics]


def shape(branch: Branch) -> str:
    return f"{branch.current.name}: {branch.tail} {_parts(branch.passages)} {branch.head}"


def _parts(passages: tuple[Passage, ...]) -> str:
    words = []
    for passage in passages:
        match passage.element:
            case Resistor(name=name):
                words.append(name)
            case Battery(name=name):
                words.append(("+" if passage.along else "-") + name)
    return ",".join(words)


def test_three_walks_between_two_junctions() -> None:
    circuit = circuit_of("I1: A (-E1+) B (R1) C\nI2: A (+E2 r2-) C\nI3: C (R3) A")
    assert [shape(b) for b in circuit.branches] == [
        "I1: A +E1,R1 C", "I2: A -E2 C", "I3: C R3 A",
    ]  # fmt: skip
    assert [(n.name, n.degree) for n in circuit.nodes] == [("A", 3), ("C", 3)]
    assert circuit.branches[0].stations == (("A",), ("B",), ("C",))
    assert circuit.branches[1].resistances[0].name == "r2"
    assert circuit.node_of("B") is None


def test_a_single_loop_has_one_node_where_its_first_walk_begins() -> None:
    circuit = circuit_of(": P (-E1+) Q (R1) S\n: S T (R2) P")
    assert [shape(b) for b in circuit.branches] == ["I1: P +E1,R1,R2 P"]
    assert [(n.name, n.degree) for n in circuit.nodes] == [("P", 2)]
    assert circuit.branches[0].stations == (("P",), ("Q",), ("S", "T"), ("P",))
    assert [(w.current.name, w.branch, w.along) for w in circuit.walks] == [
        ("I1", 0, True), ("I2", 0, True),
    ]  # fmt: skip


def test_the_direction_of_a_branch_is_that_of_its_first_walk() -> None:
    circuit = circuit_of("Ia: M (-E1+) C\nIb: M (R1) A\nIc: A (R2) C\nId: A (R3) C")
    assert [shape(b) for b in circuit.branches] == [
        "Ia: A R1,+E1 C", "Ic: A R2 C", "Id: A R3 C",
    ]  # fmt: skip
    assert [(w.current.name, w.branch, w.along) for w in circuit.walks] == [
        ("Ia", 0, True), ("Ib", 0, False), ("Ic", 1, True), ("Id", 2, True),
    ]  # fmt: skip


def test_unnamed_walks_get_the_first_free_currents_and_split_at_junctions() -> None:
    circuit = circuit_of("I2: A (-E1+) B\n: A (R1) B (R2) C (R3) A\n: B (R4) C\n: A (R5) (I4) C")
    assert [shape(b) for b in circuit.branches] == [
        "I2: A +E1 B", "I1: A R1 B", "I3: B R2 C", "I5: C R3 A", "I6: B R4 C", "I7: A R5,I4 C",
    ]  # fmt: skip


def test_wires_join_points_to_one_node() -> None:
    circuit = circuit_of(": A A2 (-E1+) B\n: B2 (R1) A3\n: A3 A\n: B B2\n: A2 (R2) B2")
    assert [(n.name, n.points, n.degree) for n in circuit.nodes] == [
        ("A", ("A", "A2", "A3"), 3), ("B", ("B", "B2"), 3),
    ]  # fmt: skip
    assert [shape(b) for b in circuit.branches] == ["I1: A +E1 B", "I2: B R1 A", "I3: A R2 B"]


def test_a_named_wire_is_a_branch_without_parts() -> None:
    circuit = circuit_of("I1: A (-E1+) B\nI2: B D C\nI3: C (R1) A\nI4: B (R2) A\nI5: C (R3) A")
    wire = circuit.branches[1]
    assert (wire.tail, wire.head, wire.passages) == ("B", "C", ())
    assert wire.stations == (("B", "D", "C"),)
    assert circuit.node_of("D") == "B"
    assert circuit.node_of("C") == "C"


def test_a_named_wire_in_series_with_a_part_shares_its_branch() -> None:
    circuit = circuit_of("I1: A (-E1+) B\nIw: B M\nI2: M (R1) A\nI3: B (R2) A")
    assert [shape(b) for b in circuit.branches] == ["I1: A +E1 B", "Iw: B R1 A", "I3: B R2 A"]
    assert circuit.node_of("M") == "B"
    assert [(w.current.name, w.branch) for w in circuit.walks] == [
        ("I1", 0), ("Iw", 1), ("I2", 1), ("I3", 2),
    ]  # fmt: skip


def test_a_loop_hung_on_a_junction() -> None:
    circuit = circuit_of(": A (-E1+) B (R1) A\n: A (R2) X (-E2+) A")
    assert [(n.name, n.degree) for n in circuit.nodes] == [("A", 4)]
    assert [shape(b) for b in circuit.branches] == ["I1: A +E1,R1 A", "I2: A R2,+E2 A"]


def test_an_open_end_is_allowed_where_its_potential_is_asked_for() -> None:
    text = ": A (-E1+) B (R1) A\n: B (R2) T\n"
    assert codes_of(text) == ["loose-end"]
    for question in ("ask voltage T A", "ground T", "ground A\nask potential T"):
        circuit = circuit_of(text + question)
        assert [(n.name, n.degree) for n in circuit.nodes] == [("B", 3), ("T", 1)]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        (": A (-E1+) B", ["nothing-closed"]),
        (": A B", ["nothing-closed"]),
        (": A (-E1+) A\n: B (R1) B", ["two-circuits"]),
        (": A (-E1+) A\n: C D", ["two-circuits"]),
        ("I1: A (-E1+) B (R1) A\n: B (R2) A", ["walk-passes-junction"]),
        ("I1: A (-E1+) A\n: A (R1) B", ["loose-end"]),
        ("I1: A (-E1+) B C (R1) A\n: C (R2) A", ["walk-passes-junction"]),
        ("", ["no-walk"]),
    ],
)
def test_what_is_no_circuit(text: str, codes: list[str]) -> None:
    assert codes_of(text) == codes


def test_the_bound_on_parts() -> None:
    many = " ".join(f"(R{number})" for number in range(MOST_PARTS + 1))
    assert codes_of(f": A {many} A") == ["too-many-parts"]
    fit = " ".join(f"(R{number})" for number in range(MOST_PARTS))
    assert len(circuit_of(f": A {fit} A").branches[0].passages) == MOST_PARTS


@pytest.mark.parametrize("seed", range(60))
def test_random_circuits_agree_with_networkx(seed: int) -> None:
    choose = random.Random(seed)
    points = [f"P{k}" for k in range(choose.randint(2, 9))]
    lines, graph, wires = [], nx.MultiGraph(), nx.Graph()
    wires.add_nodes_from(points)
    edges = []
    for k in range(choose.randint(3, 16)):
        tail, head = choose.choice(points), choose.choice(points)
        if choose.random() < 0.2 and tail != head:
            lines.append(f": {tail} {head}")
            wires.add_edge(tail, head)
        else:
            part = choose.choice([f"(R{k})", f"(-E{k}+)", f"(+E{k} r{k}-)"])
            lines.append(f": {tail} {part} {head}")
            edges.append((tail, head))
    used = {point for line in lines for point in line.split() if point in points}
    wires = wires.subgraph(used)
    group = {p: k for k, members in enumerate(nx.connected_components(wires)) for p in members}
    graph.add_nodes_from(group.values())
    graph.add_edges_from((group[a], group[b]) for a, b in edges)
    degrees = dict(graph.degree())
    loops = graph.number_of_edges() - len(graph) + nx.number_connected_components(graph)
    faults = {
        code
        for code, found in {
            "two-circuits": not nx.is_connected(graph),
            "loose-end": 1 in degrees.values(),
        }.items()
        if found
    }
    if faults or loops == 0:
        assert set(codes_of("\n".join(lines))) == ({"nothing-closed"} if loops == 0 else faults)
        return
    circuit = circuit_of("\n".join(lines))
    junctions = sorted(degree for degree in degrees.values() if degree >= 3)
    assert sorted(node.degree for node in circuit.junctions) == junctions
    independent = graph.number_of_edges() - graph.number_of_nodes() + 1
    assert len(circuit.branches) - len(circuit.nodes) + 1 == independent
    assert sum(len(b.passages) for b in circuit.branches) == graph.number_of_edges()


def test_a_part_counts_along_its_own_walk() -> None:
    circuit = circuit_of("Ia: M (-E1 r1+) C\nIb: M (R1) A\nIc: A (R2) C\nId: A (R3) C")
    assert shape(circuit.branches[0]) == "Ia: A R1,+E1 C"
    told = {part: circuit.walk_of(part) for part in ("E1", "r1", "R1", "R2")}
    assert {part: (walk.current.name, walk.along) for part, walk in told.items()} == {
        "E1": ("Ia", True), "r1": ("Ia", True), "R1": ("Ib", False), "R2": ("Ic", True),
    }  # fmt: skip
    with pytest.raises(KeyError):
        circuit.walk_of("R9")


def test_an_unnamed_walk_is_cut_where_its_current_divides() -> None:
    circuit = circuit_of(": A (-E1+) B (R1) C (R2) A\n: B (R3) (R4) A")
    assert [(w.current.name, w.parts) for w in circuit.walks] == [
        ("I1", ("E1",)), ("I2", ("R1", "R2")), ("I3", ("R3", "R4")),
    ]  # fmt: skip
    assert circuit.walk_of("R2").current.name == "I2"


def test_names_are_found_in_the_file() -> None:
    text = "Ia: M (-E1 r1+) C\n: C (R1) M\n: C (R2) M"
    circuit = circuit_of(text)
    for name, start in (("Ia", 0), ("M", 4), ("E1", 8), ("r1", 11), ("R1", text.index("R1"))):
        span = circuit.span_of(name)
        assert span is not None
        assert span.start == start
    assert circuit.span_of("Q") is None
