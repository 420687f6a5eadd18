"""Published circuits with a switch, in both of its states at once.

The values and their sources are those of `other_parts.json` (K07, the switch closed) and of
`reductions.json` (W05a, the switch open). The other state follows from those texts: without the
branch of its switch, K07 is a single loop; closing a switch across a balanced bridge changes
nothing (the definition of balance, C. Wheatstone, 1843, from memory).
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from derive.contract import contract_of
from derive.options import Options
from derive.pipeline import Solution, solve
from derive.source import Source
from tests.reference.test_other_parts import questions_of, text_of
from tests.reference.test_published import agrees


def case(file: str, name: str) -> dict[str, Any]:
    cases = json.loads((Path(__file__).parent / file).read_text("utf-8"))["cases"]
    return next(case for case in cases if case["id"] == name)


def answers(solution: Solution) -> tuple[dict[str, Fraction | None], dict[str, Fraction | None]]:
    assert solution.contract.switching is not None
    before, after = (
        {a.ask: a.result.exact for a in contract.answers}
        for contract in (solution.contract.switching.before, solution.contract)
    )
    return before, after


@pytest.mark.parametrize("numbers_first", [False, True])
def test_a_switch_that_closes(numbers_first: bool) -> None:
    published = case("other_parts.json", "K07")
    text = text_of(published).replace("(closed", "(closes")
    before, after = answers(solve(Source("K07", text), Options(numbers_first=numbers_first)))
    for answer in published["answers"]:
        ask = questions_of(published)[answer["q"]]
        value = after[ask]
        assert value is not None
        assert agrees(value, answer), answer
    # 6 V across 6 Ω and 6 Ω in a row.
    half = Fraction(1, 2)
    assert [before[f"current in x{name}"] for name in ("R1", "R2", "R3")] == [half, half, 0]
    assert before["power of xE1"] == 3
    assert before["power in xR3"] == 0


@pytest.mark.parametrize("numbers_first", [False, True])
def test_a_switch_across_a_balanced_bridge(numbers_first: bool) -> None:
    published = case("reductions.json", "W05a")
    parts = {"E": "(-x{}+)", "R": "(x{})", "switch_open": "(closes x{})"}
    units = {"E": "V", "R": "ohm"}
    text = ""
    for e in published["elements"]:
        part = parts[e["type"]].format(e["name"])
        text += f"I_{e['name']}: p{e['from']} {part} p{e['to']}\n"
        if e["type"] in units:
            text += f"x{e['name']} = {e['value']} {units[e['type']]}\n"
    text += "ask currents\nask voltage across xS1\nask voltage pt pg\n"
    solution = solve(Source("W05a", text), Options(numbers_first=numbers_first))
    before, after = answers(solution)
    assert solution.contract.switching is not None
    earlier = dict(solution.contract.switching.before.currents)
    seen, current = published["answers"]
    assert earlier["I_V"].exact is not None
    assert agrees(earlier["I_V"].exact, current)
    voltage = before["voltage pt pg"]
    assert voltage is not None
    assert agrees(voltage / earlier["I_V"].exact, seen)
    assert before == after
    assert before["voltage across xS1"] == 0
    assert all(change.exact == 0 for _, change in solution.contract.switching.currents)
    assert all(a.result.exact == 0 for a in solution.contract.switching.answers)


def test_the_published_state_is_that_of_the_fixed_switch() -> None:
    published = case("other_parts.json", "K07")
    changing = solve(Source("K07", text_of(published).replace("(closed", "(closes")))
    fixed = solve(Source("K07", text_of(published)))
    opened = solve(Source("K07", text_of(published).replace("(closed", "(open")))
    assert changing.switching is not None
    was = changing.switching.before
    assert changing.derivation == fixed.derivation
    assert was.derivation == opened.derivation
    assert contract_of(was.circuit, was.derivation, was.steps, ()) == opened.contract
