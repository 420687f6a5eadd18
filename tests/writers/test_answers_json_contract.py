"""The JSON contract: fields, order, exactness."""

import json
from fractions import Fraction

from derive.pipeline import solve
from derive.source import Source
from derive.writers.answers_json import Answer, Contract, Reducible, Result, write

CONTRACT = Contract(
    circuit="Pump é Ω",
    branches=3,
    junctions=2,
    reducible=Reducible(False, "why"),
    unknowns=("I1", "I2"),
    currents=(
        ("I2", Result("E1/R1", Fraction(7, 2), "A")),
        ("I1", Result("E1/R2", None, "A")),
    ),
    answers=(
        Answer("voltage across R1", Result(None, Fraction(10) ** 400, "V")),
        Answer("reducible", Result(None, None, None)),
    ),
    checked=True,
    steps=12,
    warnings=("careful",),
)


def test_fields_stand_in_the_order_of_the_contract() -> None:
    fields = json.loads(write(CONTRACT))
    # Order and names: design.md, section 5.
    assert list(fields) == [
        "schema", "circuit", "branches", "junctions", "reducible", "unknowns", "currents",
        "answers", "tells", "checked", "steps", "warnings",
    ]  # fmt: skip
    assert fields["schema"] == 1
    assert list(fields["currents"]) == ["I2", "I1"]
    assert list(fields["answers"][0]) == ["ask", "formula", "exact", "value", "unit"]


def test_exact_values_are_fractions_and_letters_are_null() -> None:
    fields = json.loads(write(CONTRACT))
    two = {"formula": "E1/R1", "exact": "7/2", "value": 3.5, "unit": "A"}
    assert fields["currents"]["I2"] == two
    assert fields["currents"]["I1"]["exact"] is None
    assert fields["currents"]["I1"]["value"] is None


def test_a_value_beyond_doubles_is_null_but_exact() -> None:
    huge = json.loads(write(CONTRACT))["answers"][0]
    assert huge["value"] is None
    assert Fraction(huge["exact"]) == Fraction(10) ** 400


def test_unicode_is_kept_and_the_text_ends_with_a_line_end() -> None:
    text = write(CONTRACT)
    assert "Pump é Ω" in text
    assert text.endswith("}\n")


def test_the_steps_of_a_reduction_are_told() -> None:
    walks = "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) (R4) A\n"
    fields = json.loads(write(solve(Source("test", walks)).contract))["reducible"]
    assert fields["verdict"] is True
    assert fields["test"] == "all batteries in one branch"
    assert fields["steps"] == [
        {"exchange": "in series", "taken": ["R3", "R4"], "made": {"R34": "R3 + R4"}},
        {"exchange": "in parallel", "taken": ["R2", "R34"], "made": {"R234": "R2*R34/(R34 + R2)"}},
        {"exchange": "in series", "taken": ["r1", "R1", "R234"], "made": {"R_a": "r1 + R1 + R234"}},
        {"exchange": "straight across a battery", "taken": ["R_a"], "made": {}},
    ]
    assert fields["sees"]["E1"]["exact"] is None
    letters = {"r1": 1, "R1": 2, "R2": 6, "R3": 1, "R4": 2}
    assert eval(fields["sees"]["E1"]["formula"], {"__builtins__": {}}, letters) == 5
