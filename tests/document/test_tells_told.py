"""What the formula tells, as a reader sees it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from derive.document.model import Display, Relation, Section
from derive.document.narrate import Detail
from derive.document.wording import HEADINGS
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import answers_json, html, latex, markdown, text, typst
from tests.document.test_narration import told

CELLS = "I1: A (-E1+) (R1) C\nI2: A (-E2+) (R2) C\nI3: C (R) A\n"
DIVIDER = "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\n"
LOOP = "I: A (-E1 r1+) (R1) A\nuse method branch currents\n"
EXAMPLES = sorted(Path(__file__).parents[2].glob("examples/*.circuit"))


FULL = Options()


def section(circuit: str, options: Options = FULL) -> Section | None:
    document = solve(Source("test", circuit), options).document
    for found in document.sections:
        if any(getattr(part, "text", "") == HEADINGS["tells"] for part in found.title):
            return found
    return None


def words(circuit: str) -> str:
    """Return the section as running text."""
    whole = told(circuit)
    return whole[whole.index(HEADINGS["tells"]) :]


def test_two_cells() -> None:
    found = words(CELLS)
    assert (
        "above the line is in V·Ω and every term below it in Ω², so each quotient is in A." in found
    )
    assert "I₁ increases with ℰ₁ and decreases with ℰ₂ and R; I₂ increases" in found
    assert "I₃ increases with ℰ₁ and ℰ₂." in found
    assert "The current in a branch gets weaker as a resistance there grows" in found
    assert "I₁ → (ℰ₁ − ℰ₂)/(R₁ + R₂) as R → ∞" in found
    assert "I₁ → ℰ₁/R₁ as R → 0" in found
    assert "I₁ = R₂·ℰ₁/Δ if ℰ₁ = ℰ₂" in found


def test_a_loop_has_one_current() -> None:
    found = words(LOOP)
    assert "so the quotient is in A" in found
    assert "I increases with ℰ₁. It gets weaker as a resistance grows" in found
    assert "I → ℰ₁/r₁ as R₁ → 0" in found


def test_a_reduced_circuit_tells_as_well() -> None:
    found = words(DIVIDER)
    assert "In I₁ every term above the line is in V" in found
    assert "I₁ → ℰ₁/(R₁ + R₂ + r₁) as R₃ → ∞" in found


def test_an_ideal_battery_is_not_to_be_short_circuited() -> None:
    found = words("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\nuse method branch currents\n")
    assert "As R₁ → 0, I₂ grows without bound: ℰ₁ is ideal and would be short-circuited." in found
    many = words("I1: A (-E1+) (-E2+) B\nI2: B (R1) A\nI3: B (R2) A\nuse method branch currents\n")
    assert "nothing but ideal batteries would be left in a loop." in many


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_it_is_short(path: Path) -> None:
    found = section(path.read_text("utf-8"))
    if found is None:
        return
    rows = [row for b in found.blocks if isinstance(b, Display) for row in b.rows]
    assert len(rows) <= 6
    assert len(found.blocks) <= 4
    for row in rows:
        assert row.source  # under which condition
        assert row.chain.relations in ((Relation.TENDS,), (Relation.EQUAL,))


@pytest.mark.parametrize("detail", [Detail.BRIEF, Detail.ANSWERS])
def test_less_detail_leaves_it_out(detail: Detail) -> None:
    assert section(CELLS) is not None
    assert section(CELLS, Options(detail=detail)) is None


def test_numbers_first_and_long_formulas_leave_it_out() -> None:
    values = "E1 = 3 V; E2 = 2 V; R1, R2, R = 1 ohm\n"
    assert section(CELLS + values) is not None
    assert section(CELLS + values, Options(numbers_first=True)) is None
    (four_loops,) = (path for path in EXAMPLES if path.stem == "four_loops")
    assert section(four_loops.read_text("utf-8")) is None


def test_every_writer_knows_the_arrow() -> None:
    solved = solve(Source("test", CELLS))
    document = solved.document
    assert r"\to " in latex.write(document)
    assert "#tends;" in typst.write(document)
    assert ">→</mo>" in html.write(document)
    assert r"\to " in markdown.write(document)
    assert "→" in text.write(document)


def test_programs_get_what_is_told() -> None:
    contract = solve(Source("test", CELLS)).contract
    found = json.loads(answers_json.write(contract))["tells"]
    assert {"kind": "units", "of": "I1", "above": "V·Ω", "below": "Ω²"} in found
    assert {"kind": "trend", "of": "I3", "letter": "E1", "response": "increases"} in found
    assert {"kind": "limit", "of": "I1", "letter": "R", "to": "zero", "formula": "E1/R1"} in found
    case = next(told for told in found if told["kind"] == "special case")
    assert case["if"] == {"E2": "E1"}
    letters = {"R1": 2, "R2": 3, "R": 6, "E1": 36}
    assert eval(case["formula"], {"__builtins__": {}}, letters) == 3
