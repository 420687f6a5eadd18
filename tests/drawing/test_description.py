"""The description in words tells the whole circuit and nothing that was computed."""

from __future__ import annotations

import re

import pytest

from derive.analysis.loops import choose_loops
from derive.circuit.model import Circuit
from derive.drawing.description import long, short
from derive.drawing.view import View
from tests.drawing.circuits import INTERNAL, NOT_PLANAR, PLANAR, SINGLE, TERMINALS, TWO, circuit


def test_short_text_says_what_is_there() -> None:
    assert short(TWO, View()) == (
        "Circuit diagram: 2 batteries and 4 resistors in 3 branches between the junctions A and C."
    )
    assert short(SINGLE, View()) == (
        "Circuit diagram: 2 batteries and 3 resistors in a single loop."
    )


def test_short_text_of_a_loop_names_the_walk_in_order() -> None:
    loop = choose_loops(TWO).loops[0]
    text = short(TWO, View(loop=loop, loop_name="1"))
    walked = text.partition("order: ")[2].rstrip(".").split(", ")
    assert walked[0] == walked[-1]
    assert set(walked) == {"A", "C", "E1", "R1", "R3"}
    assert (walked.index("E1") < walked.index("R1")) == ("E1, R1" in text)


def test_long_text_of_internal_resistance_and_polarity() -> None:
    assert long(INTERNAL) == (
        "2 junctions: A, where 3 wires meet; C, where 3 wires meet. "
        "Branch 1, from A to C, which is also the way of the arrow of I1: "
        "battery E1 with internal resistance r1, its minus terminal first, then point B, "
        "then resistor R1. "
        "Branch 2, from A to C, which is also the way of the arrow of I2: "
        "battery E2 with internal resistance r2, its plus terminal first. "
        "Branch 3, from C to A, which is also the way of the arrow of I3: lamp L3."
    )


def test_open_terminals_are_told() -> None:
    assert "Open terminals: A and B." in long(TERMINALS)


def rebuilt(text: str) -> list[str]:
    """Turn a description back into walks, as a reader would."""
    walks = []
    for ends, rest in re.findall(
        r"Branch \d+, from (\w+ (?:to|round to) \w+)[^:]*: ([^.]*)\.", text
    ):
        tail, head = re.split(r" to | round to ", ends)
        words = [tail]
        for item in rest.split(", then "):
            kind, _, name = item.split(",")[0].partition(" ")
            inner = name.split(" with internal resistance ")
            if kind == "battery":
                signs = "-+" if "its minus" in item else "+-"
                words.append(f"({signs[0]}{' '.join(inner)}{signs[1]})")
            elif kind == "point":
                words.append(name)
            elif kind in ("resistor", "lamp"):
                words.append(f"(lamp {name})" if kind == "lamp" else f"({name})")
        walks.append(" ".join([*words, head]))
    return walks


@pytest.mark.parametrize("name", [*PLANAR, *NOT_PLANAR])
def test_circuit_can_be_rebuilt_from_the_description(name: str) -> None:
    given: Circuit = {**PLANAR, **NOT_PLANAR}[name]
    again = circuit(*rebuilt(long(given)))
    assert [b.passages for b in again.branches] == [b.passages for b in given.branches]
    assert [(b.tail, b.head, b.stations) for b in again.branches] == [
        (b.tail, b.head, b.stations) for b in given.branches
    ]


@pytest.mark.parametrize("name", [*PLANAR])
def test_no_number_is_given_away(name: str) -> None:
    given = PLANAR[name]
    told = long(given) + short(given, View())
    for valuation in given.values:
        assert str(float(valuation.value.value)) not in told  # type: ignore[union-attr]
