"""Published worked examples. The source of each case stands in `published.json` beside it.

A source's printed digits must agree with the exact value to half a unit of their last place; the
answers known to be wrong in print must not.
"""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from derive.algebra.polynomial import Ring
from derive.derivation.step import Conclude
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source

DATA = json.loads((Path(__file__).parent / "published.json").read_text("utf-8"))
WRONG = {(w["case"], w["q"]): w["correct"] for w in DATA["wrong"]}


def text_of(case: dict[str, Any]) -> tuple[str, dict[str, str]]:
    """Write a case in the circuit language, and say which question answers which query."""
    lines, asks = [], {}
    ends = {e["name"]: (e["from"], e["to"]) for e in case["elements"]}
    emfs = {e["name"] for e in case["elements"] if e["type"] == "E"}
    for e in case["elements"]:
        name = e["name"]
        part = f"(-x{name}+)" if e["type"] == "E" else f"(x{name})"
        lines.append(f"I_{name}: p{e['from']} {part} p{e['to']}")
        lines.append(f"x{name} = {e['value']} {'V' if e['type'] == 'E' else 'ohm'}")
    for answer in case["answers"]:
        for kind, inner in re.findall(r"(I|V|P|Pd|U)\(([^()]*)\)", answer["q"]):
            query = f"{kind}({inner})"
            if kind == "U":
                a, b = (p.strip() for p in inner.split(","))
                asks[query] = f"voltage p{a} p{b}"
            elif kind == "V":
                asks[query] = f"voltage p{ends[inner][0]} p{ends[inner][1]}"
            elif kind == "Pd" or (kind == "P" and inner in emfs):
                asks[query] = f"power {'of' if kind == 'Pd' else 'in'} x{inner}"
            elif kind == "P":
                asks[query] = f"power in x{inner}"
    lines += [f"ask {ask}" for ask in dict.fromkeys(asks.values())]
    return "\n".join([*lines, "ask currents", ""]), asks


SYMBOL = {"voltage": "V({0},{1})", "power of": "Pd({0})", "power in": "P({0})"}


def answers_of(case: dict[str, Any], *, numbers_first: bool) -> dict[str, Fraction]:
    """Solve a case by the whole program and return the exact answer to every query."""
    text, asks = text_of(case)
    solution = solve(Source(case["id"], text), Options(numbers_first=numbers_first))
    exact: dict[str, Fraction] = {}
    for step in solution.derivation.steps:
        if isinstance(step, Conclude) and step.value is not None:
            right = solution.derivation.equation(step.value).right
            exact[step.symbol.name] = Ring(()).poly(right).constant_value
    found = {f"I({e['name']})": exact[f"I_{e['name']}"] for e in case["elements"]}
    for query, ask in asks.items():
        words = ask.split()
        key = f"V({words[1]},{words[2]})" if words[0] == "voltage" else (
            f"{'Pd' if words[1] == 'of' else 'P'}({words[2]})"
        )  # fmt: skip
        found[query] = exact[key]
    return found


def evaluate(query: str, found: dict[str, Fraction]) -> Fraction:
    """Reckon an expression such as ``Pd(V1)+Pd(V2)`` exactly."""
    values: dict[str, Fraction] = {}

    def name(match: re.Match[str]) -> str:
        values[f"v{len(values)}"] = found[match.group(0)]
        return f"v{len(values) - 1}"

    text = re.sub(r"(?:I|V|P|Pd|U)\([^()]*\)", name, query)
    text = re.sub(r"(?<![v0-9.])[0-9]+\.?[0-9]*", lambda m: f"Fraction('{m.group(0)}')", text)
    return Fraction(eval(text, {"__builtins__": {}, "Fraction": Fraction}, values))


def agrees(value: Fraction, answer: dict[str, Any]) -> bool:
    """Tell whether a value has the printed digits."""
    shown = value / Fraction(answer.get("scale", "1"))
    if answer.get("abs"):  # the source gives the magnitude and tells the direction in words
        shown = abs(shown)
    printed = answer["printed"]
    if "/" in printed:
        return shown == Fraction(printed)
    mantissa, _, exponent = printed.lower().partition("e")
    decimals = len(mantissa.partition(".")[2]) - int(exponent or 0)
    return abs(shown - Fraction(printed)) <= Fraction(1, 2) * Fraction(10) ** -decimals


@pytest.mark.parametrize("numbers_first", [False, True])
@pytest.mark.parametrize("case", DATA["cases"], ids=lambda case: case["id"])
def test_published_case(case: dict[str, Any], numbers_first: bool) -> None:
    found = answers_of(case, numbers_first=numbers_first)
    for answer in case["answers"]:
        value = evaluate(answer["q"], found)
        if (case["id"], answer["q"]) in WRONG:
            assert value == Fraction(WRONG[case["id"], answer["q"]])
            assert not agrees(value, answer)
        else:
            assert agrees(value, answer), (answer["q"], value, answer["printed"])


def test_the_traps_are_there() -> None:
    assert {w["case"] for w in DATA["wrong"]} <= {c["id"] for c in DATA["cases"]}
