"""The circuit that a proof holds is the one that its text describes.

The checker that stands alone does not read the language, so this is compared here: parts in order
from point to point, values and questions, read back from the JSON and from the parsed text.
"""

from __future__ import annotations

import json
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from derive import proof
from derive.circuit.elaborate import load
from derive.circuit.elements import Battery, CurrentSource, is_gap
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.proof import circuit_data
from derive.proving import prove
from derive.source import Source
from tests.checker.test_derived import EXAMPLES


def read_back(data: Any) -> set[tuple[str, ...]]:
    """Return, for each part, the places before and behind it and which way it points."""
    found = set()
    for part in data["parts"]:
        ends = (part["from"], part["to"]) if part["along"] else (part["to"], part["from"])
        if not part["name"].startswith("wire "):
            found.add((part["name"], *ends, str(part["along"] or part["kind"] not in POINTING)))
    return found


POINTING = ("battery", "source")


def expected(circuit: Circuit, places: dict[str, str]) -> set[tuple[str, ...]]:
    """Return the same of a circuit; a station without a name is told by its branch."""
    found = set()
    for branch in (*circuit.branches, *circuit.idle):
        stops = [s[0] if s else f"{branch.current.name}.{k}" for k, s in enumerate(branch.stations)]
        if branch.passages:
            stops[0], stops[-1] = branch.tail, branch.head
        stops = [places.get(stop, stop) for stop in stops]
        for passage, (before, behind) in zip(branch.passages, pairwise(stops), strict=True):
            element, middle = passage.element, behind
            points = isinstance(element, Battery | CurrentSource)
            if isinstance(element, Battery) and element.internal is not None:
                middle = f"within {element.name}"
                found.add((element.internal, middle, behind, "True"))
            found.add((element.name, before, middle, str(passage.along or not points)))
    return found


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_circuit_is_that_of_the_text(path: Path) -> None:
    source = Source(path.name, path.read_text("utf-8"))
    elaborated = load(source)
    circuits = [elaborated.circuit]
    if elaborated.before is not None:
        circuits.insert(0, elaborated.before)
    for circuit in circuits:
        told = json.loads(json.dumps(circuit_data.circuit(circuit)))
        assert read_back(told) == expected(circuit, told["points"])
        for node in circuit.nodes:
            assert {told["points"][point] for point in node.points} == {node.name}
        apart = {told["points"][node.name] for node in circuit.nodes}
        assert len(apart) == len(circuit.nodes)
        gaps = {part["name"] for part in told["parts"] if part["kind"] in ("gap", "capacitor")}
        assert gaps == {element.name for element in circuit.elements if is_gap(element)}
        assert [*told["values"]] == [known.symbol.name for known in circuit.values]
        for known in circuit.values:
            if isinstance(known.value, Given):
                term = told["values"][known.symbol.name]
                sign, term = (-1, term[1]) if term[0] == "-" else (1, term)
                unit = known.value.dimension
                assert term[0] == "quantity"
                assert str(sign * known.value.value) == term[1]
                assert term[2] == [unit.volt, unit.ohm, unit.second]
        assert len(told["questions"]) == len(circuit.questions)
        assert [tuple(walk) for walk in told["walks"].values()] == [
            (walk.branch, walk.along) for walk in circuit.walks
        ]


def test_the_text_is_that_of_the_file() -> None:
    path = next(path for path in EXAMPLES if path.stem == "starter")
    source = Source(path.name, path.read_text("utf-8"))
    data = json.loads(proof.write(prove(source), source))
    assert data["source"]["sha256"] == sha256(path.read_bytes()).hexdigest()
    elaborated = load(source)
    told = [circuit_data.circuit(c) for c in (elaborated.before, elaborated.circuit) if c]
    assert [state["circuit"] for state in data["states"]] == json.loads(json.dumps(told))
