"""A switch that changes: what the command prints and writes of both states."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.calls import Command

STAIRS = """
I1: A (-E1+) (R1) B
I2: B (lamp L1) A
I3: B (closes S1) (lamp L2) A
E1 = 12 V; R1 = 1 ohm; L1 = 11 ohm; L2 = 11 ohm
ask currents
ask voltage across S1
"""
"""Before, 12 V across 12 ohm: 1 A; after, 12 V across 1 + 11/2 ohm: 24/13 A."""


def test_the_answers_of_both_states_stand_in_one_line(loopwalk: Command, folder: Path) -> None:
    (folder / "stairs.circuit").write_text(STAIRS, "utf-8")
    ended = loopwalk("solve", "stairs.circuit", "--to", "text")
    assert ended.status == 0
    assert ended.out.splitlines()[:4] == [
        "I₁ = 1.00 A before, ≈ 1.85 A after",
        "I₂ = 1.00 A before, ≈ 0.923 A after",
        "I₃ = 0 A before, ≈ 0.923 A after",
        "V_S₁ = 11.0 V before, = 0 V after",
    ]


def test_figures_of_both_states_are_written(loopwalk: Command, folder: Path) -> None:
    (folder / "stairs.circuit").write_text(STAIRS, "utf-8")
    ended = loopwalk("draw", "stairs.circuit", "--show", "circuit,loops")
    assert ended.status == 0
    names = {path.name for path in (folder / "build").iterdir()}
    assert names == {
        "stairs.figure.svg", "stairs.loop-1.figure.svg", "stairs.loop-2.figure.svg",
        "stairs.before.figure.svg", "stairs.before-loop-1.figure.svg",
    }  # fmt: skip
    one = loopwalk("draw", "stairs.circuit", "--out", "-")
    # What stands in a file ends in a seal.
    assert (folder / "build" / "stairs.figure.svg").read_text("utf-8").startswith(one.out)
    assert "closed-switch" in one.out
    assert "open-switch" in (folder / "build" / "stairs.before.figure.svg").read_text("utf-8")


def test_formulas_of_both_states_are_printed(loopwalk: Command, folder: Path) -> None:
    (folder / "stairs.circuit").write_text(STAIRS, "utf-8")
    lines = loopwalk("formula", "stairs.circuit").out.splitlines()
    assert lines[0] == "# before S1 closes"
    assert "I1 = E1/(R1 + L1)" in lines[: lines.index("# after S1 closes")]


def test_the_state_before_stands_in_the_json(loopwalk: Command, folder: Path) -> None:
    (folder / "stairs.circuit").write_text(STAIRS, "utf-8")
    fields = json.loads(loopwalk("solve", "stairs.circuit", "--to", "json", "--out", "-").out)
    switching = fields.pop("switching")
    assert list(switching) == ["closes", "opens", "before", "changes"]
    assert (switching["closes"], switching["opens"]) == (["S1"], [])
    assert list(switching["before"]) == list(fields)[1:]
    assert fields["currents"]["I1"]["exact"] == "24/13"
    assert switching["before"]["currents"]["I1"]["exact"] == "1"
    assert switching["changes"]["currents"]["I1"]["exact"] == "11/13"
    assert switching["changes"]["answers"] == [
        {"ask": "voltage across S1", "formula": None, "exact": "-11", "value": -11.0, "unit": "V"}
    ]


def test_a_state_without_a_solution_is_named(loopwalk: Command, folder: Path) -> None:
    text = STAIRS.replace("(-E1+) (R1)", "(-E1+)").replace("(closes S1) (lamp L2)", "(closes S1)")
    (folder / "short.circuit").write_text(
        text.replace(" R1 = 1 ohm;", "").replace("; L2 = 11 ohm", ""), "utf-8"
    )
    ended = loopwalk("solve", "short.circuit")
    assert ended.status == 1
    assert "after S1 closes: the battery E1 is short-circuited" in ended.err
    assert "do not build it" in ended.err
