"""Published batteries with an internal resistance: terminal voltage, short circuit, charging.

The sources stand beside the cases in `published.json`; here each is written with the internal
resistance inside the battery, and asked in the words of this language.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from derive.pipeline import solve
from derive.source import Source
from tests.reference.test_published import agrees

CASES = {
    case["id"]: case
    for case in json.loads((Path(__file__).parent / "published.json").read_text("utf-8"))["cases"]
}
ONE = "I1: g (-B r+) a (RL) g\n"
ASKED = {
    "B01d": (ONE, {"I(RL)": "current in RL", "U(a,g)": "terminal voltage of B",
                   "P(RL)": "power in RL"}),
    "B06a": (ONE, {"U(a,g)": "terminal voltage of B", "P(RL)": "power in RL"}),
    "B13": (ONE, {"I(RL)": "current in RL", "U(a,g)": "terminal voltage of B",
                  "Isc(a,g)": "short circuit current of B"}),
    "B15": ("I1: g (-S+) (R) a (+B r-) g\n", {"I(R)": "current in R",
                                             "U(a,g)": "terminal voltage of B"}),
}  # fmt: skip

SHORT_CIRCUIT = {"q": "Isc(a,g)", "printed": "50", "unit": "A"}
"""Printed on the same page of the source of B13, for the battery with its terminals joined."""


@pytest.mark.parametrize("name", ASKED)
def test_the_printed_digits(name: str) -> None:
    text, asked = ASKED[name]
    units = {"E": "V", "R": "ohm"}
    for element in CASES[name]["elements"]:
        text += f"{element['name']} = {element['value']} {units[element['type']]}\n"
    text += "".join(f"ask {ask}\n" for ask in asked.values())
    found = {a.ask: a.result.exact for a in solve(Source(name, text)).contract.answers}
    printed = {answer["q"]: answer for answer in (*CASES[name]["answers"], SHORT_CIRCUIT)}
    for query, ask in asked.items():
        value = found[ask]
        assert value is not None
        assert agrees(value, printed[query]), (ask, value)


def test_the_load_with_the_most_power() -> None:
    # K16: the load of 0.8 ohm takes 39.2 W, the most; that of 1.1 ohm takes 38.22 W.
    for value in ("", "RL = 1.1 ohm\n"):
        text = f"{ONE.replace('B r', 'Eth Rth')}Eth = 11.2 V\nRth = 0.8 ohm\n{value}"
        found = solve(Source("K16", text + "ask matched load RL\n")).contract.answers
        load, power = (a.result.exact for a in found)
        assert load == Fraction("0.8")
        assert power is not None
        assert agrees(power, CASES["K16_08"]["answers"][2])


def test_the_most_power_with_a_dependent_source() -> None:
    # Alexander & Sadiku, Fundamentals of Electric Circuits, Practice Problem 4.13 (edition of the
    # quoting page not identified), http://doctord.webhop.net/Courses/Textbooks/Alexander-Sadiku/
    # AlexanderCh04finalR1_files/slide0064.htm: 4.22 ohm, 2.901 W; the topology is reconstructed.
    text = (
        "I1: b (-V+) p (R2) m\nI2: m (R1) q (+D-) b\nI3: m (R4) a (RL) b\n"
        "V = 9 V\nR2 = 2 ohm\nR1 = 1 ohm\nD = 3 V(p,m)\nR4 = 4 ohm\nask matched load RL\n"
    )
    load, power = (a.result.exact for a in solve(Source("C15", text)).contract.answers)
    assert load is not None
    assert power is not None
    assert agrees(load, {"printed": "4.22"})
    assert agrees(power, {"printed": "2.901"})


def test_half_of_the_power_is_lost_where_the_load_equals_the_internal_resistance() -> None:
    # K16_08 prints 39.2 W in the load and 78.4 W from the emf.
    case = CASES["K16_08"]
    assert [a["printed"] for a in case["answers"] if a["unit"] == "W"] == ["39.2", "78.4"]
    text = (
        "I1: g (-Eth Rth+) a (RL) g\nEth = 11.2 V\nRth, RL = 0.8 ohm\nask efficiency of Eth\n"
        "ask energy in RL over 10 s\nask energy of Eth over 10 s\n"
    )
    found = [a.result.exact for a in solve(Source("K16", text)).contract.answers]
    assert found == [39.2 / 78.4, 392, 784]
