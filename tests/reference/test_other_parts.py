"""Published cases with sources, dependent sources, switches, meters, capacitors, values sought.

The source of each case, and what of it was read or is from memory, stands in `other_parts.json`.
A source's printed digits must agree with the exact value to half a unit of their last place.
"""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from tests.reference.test_published import agrees

CASES = json.loads((Path(__file__).parent / "other_parts.json").read_text("utf-8"))["cases"]
PARTS = {
    "R": "(x{0})", "E": "(-x{0}+)", "E_dep": "(-x{0}+)", "J": "(x{0} ->)", "J_dep": "(x{0} ->)",
    "C": "(capacitor x{0})", "ammeter": "(ammeter x{0})", "switch_closed": "(closed x{0})",
}  # fmt: skip
UNITS = {"R": "ohm", "E": "V", "J": "A", "C": "F"}


def dependence(element: dict[str, Any], ends: dict[str, tuple[str, str]]) -> str:
    control, gain = element["control"], element["value"]
    is_emf = element["type"] == "E_dep"
    if "I" in control:
        return f"{gain}{' ohm' if is_emf else ''} * I_{control['I']}"
    one, other = control["U"] if "U" in control else ends[control["V"]]
    return f"{gain}{'' if is_emf else ' S'} * V(p{one},p{other})"


def questions_of(case: dict[str, Any]) -> dict[str, str]:
    """Return the question that answers each query of a case."""
    kinds = {e["name"]: e["type"] for e in case["elements"]}
    asks: dict[str, str] = {}
    for answer in case["answers"]:
        for kind, inner in re.findall(r"(I|VAL|V|P|Pd|U|Q|Req)\(([^()]*)\)", answer["q"]):
            names = [name.strip() for name in inner.split(",")]
            match kind:
                case "U":
                    ask = f"voltage p{names[0]} p{names[1]}"
                case "VAL":
                    ask = f"value of x{inner}"
                case "Req":
                    ask = f"resistance p{names[0]} p{names[1]}"
                case "I":
                    ask = f"current in x{inner}"
                case "V":
                    assert kinds[inner] in ("R", "C")
                    ask = f"voltage across x{inner}"
                case "Q":
                    ask = f"charge on x{inner}"
                case _:
                    ask = f"power {'of' if kind == 'Pd' else 'in'} x{inner}"
            asks[f"{kind}({inner})"] = ask
    return asks


def text_of(case: dict[str, Any]) -> str:
    """Write a case in the circuit language."""
    ends = {e["name"]: (e["from"], e["to"]) for e in case["elements"]}
    lines = []
    for e in case["elements"]:
        tail, head, name = f"p{e['from']}", f"p{e['to']}", e["name"]
        if e["type"] == "wire":
            lines.append(f": {tail} {head}")
            continue
        # A part without a steady current has a walk without a name.
        walk = "" if e["type"] == "C" else f"I_{name}"
        lines.append(f"{walk}: {tail} {PARTS[e['type']].format(name)} {head}")
        if "control" in e:
            lines.append(f"x{name} = {dependence(e, ends)}")
        elif e.get("unknown"):
            lines.append(f"x{name} = ?")
        elif e["type"] in UNITS:
            lines.append(f"x{name} = {e['value']} {UNITS[e['type']]}")
    for given in case.get("given", ()):
        kind, inner = re.fullmatch(r"(I|U)\((.*)\)", given["q"]).groups()  # type: ignore[union-attr]
        left = f"I_{inner}" if kind == "I" else f"V({','.join('p' + p for p in inner.split(','))})"
        lines.append(f"{left} = {given['value']} {'A' if kind == 'I' else 'V'}")
    lines += [f"ask {ask}" for ask in dict.fromkeys(questions_of(case).values())]
    return "\n".join([*lines, "ask currents", ""])


@pytest.mark.parametrize("numbers_first", [False, True])
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_published_case(case: dict[str, Any], numbers_first: bool) -> None:
    solution = solve(Source(case["id"], text_of(case)), Options(numbers_first=numbers_first))
    exact = {answer.ask: answer.result.exact for answer in solution.contract.answers}
    found = {query: exact[ask] for query, ask in questions_of(case).items()}
    for answer in case["answers"]:
        values: dict[str, Fraction] = {}

        def name(match: re.Match[str], values: dict[str, Fraction] = values) -> str:
            value = found[match.group(0)]
            assert value is not None
            values[f"v{len(values)}"] = value
            return f"v{len(values) - 1}"

        text = re.sub(r"(?:I|VAL|V|P|Pd|U|Q|Req)\([^()]*\)", name, answer["q"])
        text = re.sub(r"(?<![v0-9.])[0-9]+\.?[0-9]*", lambda m: f"Fraction('{m.group(0)}')", text)
        value = Fraction(eval(text, {"__builtins__": {}, "Fraction": Fraction}, values))
        assert agrees(value, answer), (answer["q"], value, answer["printed"])


def test_all_kinds_of_parts_are_met() -> None:
    met = {e["type"] for case in CASES for e in case["elements"]}
    assert met >= {*PARTS, "wire"}


def value_of(text: str, name: str) -> Fraction:
    answers = {a.ask: a.result.exact for a in solve(Source("sought", text)).contract.answers}
    found = answers[f"value of {name}"]
    assert found is not None
    return found


def test_potentiometer() -> None:
    """The unknown emf is the standard one times the ratio of the resistances at balance: 24.0 V.

    OpenStax, College Physics 2e (Urone, Hinrichs), sec. 21.5 Problem;
    github.com/openstax/osbooks-college-physics-bundle @ fd1b25df, modules/m42362.
    """
    wire = "I1: A (J1 ->) B\nI2: B ({0}) A\nI3: A (-{1}+) (G1) B\nG1 = 40 ohm\nI3 = 0 A\n"
    current = value_of(wire.format("Rs", "Es") + "Es = 12.0 V; Rs = 2.500 ohm; J1 = ?", "J1")
    text = wire.format("Rx", "Ex") + f"Rx = 5.000 ohm; J1 = {current} A; Ex = ?"
    assert value_of(text, "Ex") == 24
