"""What a solution by reduction says, and when it is told."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from derive.diagnostic import Rejected
from derive.document.model import Figure, SideBySide
from derive.document.wording import HEADINGS
from derive.options import Options
from derive.pipeline import formula, solve
from derive.source import Source
from derive.writers import text

LADDER = (
    "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) (R4) A\n"
    "E1 = 12 V; r1 = 1 ohm; R1 = 2 ohm; R2 = 6 ohm; R3 = 1 ohm; R4 = 2 ohm\n"
)
TWO_CELLS = "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: B (R1) A\n"
BRIDGE = "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"


FULL = Options()


def told(circuit: str, options: Options = FULL) -> str:
    written = text.write(solve(Source("test", circuit), options).document)
    return " ".join(re.sub(r"[│┌┐└┘─═]", " ", written).split())


def test_each_step_and_each_step_back() -> None:
    # By hand: R34 = 3, R2 ∥ R34 = 2, in all 5 ohm; I1 = 12/5 A, 2 ohm · 12/5 A = 4.8 V.
    found = told(LADDER)
    for line in (
        "R₃ and R₄ are in series",
        "R₃₄ = R₃ + R₄ = 3 Ω",
        "R₂₃₄ = R₂ ∥ R₃₄ = 2 Ω",
        "One resistance is left; it is what ℰ₁ sees:",
        "I₁ = ℰ₁/R_a = 12 V/(5 Ω) = 2.4 A",
        "V₂₃₄ = R₂₃₄·I₁ = 2 Ω · 2.4 A = 4.8 V",
        "I₂ = V₂₃₄/R₂ = 4.8 V/(6 Ω) = 0.8 A",
    ):
        assert line in found, line
    assert HEADINGS["loops"] not in found
    assert "We use Kirchhoff's rules." not in found


def test_the_author_may_want_the_rules() -> None:
    found = told(LADDER + "use method branch currents\n")
    assert HEADINGS["loops"] in found
    assert HEADINGS["back"] not in found
    assert "One resistance is left; it is what ℰ₁ sees:" in found
    # Who chooses equations wants equations.
    assert HEADINGS["loops"] in told(LADDER + "eliminate I3\n")


def test_both_methods_and_that_they_agree() -> None:
    values = "E1 = 9 V; E2 = 6 V; r1, r2 = 1 ohm; R1 = 4 ohm\n"
    both = "use method reduction\nuse method branch currents\n"
    found = told(TWO_CELLS + values + both)
    assert "Both ways lead to the same I₁, I₂ and I₃." in found
    assert found.index(HEADINGS["back"]) < found.index(HEADINGS["loops"])
    turned = "use method branch currents\nuse method reduction\n"
    other = told(TWO_CELLS + values + turned)
    assert other.index(HEADINGS["loops"]) < other.index(HEADINGS["back"])


def test_batteries_side_by_side_by_source_transformations() -> None:
    # By hand: 9 A and 6 A the other way, 3 A beside 0.5 ohm: 1.5 V; I3 = 1.5/3 A.
    values = "E1 = 9 V; E2 = 6 V; r1, r2 = 1 ohm; R1 = 2.5 ohm\nuse method reduction\n"
    found = told(TWO_CELLS.replace("-E2 r2+", "+E2 r2-") + values)
    for line in (
        "This source transformation makes a current source of each of ℰ₁ with r₁ and ℰ₂ with r₂:",
        "I_s1 = ℰ₁/r₁ = 9 A I_s2 = ℰ₂/r₂ = 6 A",
        "The current sources I_s1 and I_s2 are side by side and add up, each with its direction:",
        "I_s = I_s1 − I_s2 = 3 A",
        "ℰ_a = R_a·I_s = 1.5 V",
        "V_a = ℰ_a − R_a·I₃ = 1.5 V − 0.5 Ω · 0.5 A = 1.25 V",
        "I₁ = (ℰ₁ − V_a)/r₁ = (9 V − 1.25 V)/(1 Ω) = 7.75 A",
        "I₂ = −(ℰ₂ + V_a)/r₂ = −(6 V + 1.25 V)/(1 Ω) = −7.25 A",
    ):
        assert line in found, line


def test_one_battery_beside_resistances_is_turned_into_a_current_source() -> None:
    # By hand: 12 A beside 1 ∥ 3 ∥ 1.5 = 0.5 ohm is 6 V; with 5.5 ohm and 6 V behind it 2 A.
    walks = "I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) A\nI4: B (R3) (-E2+) C\n"
    walks += "I5: C (R4) A\nI6: C (-E3 r3+) A\n"
    values = "E1 = 12 V; r1 = 1 ohm; R1 = 3 ohm; R2 = 1.5 ohm; R3 = 4 ohm; E2 = 5 V\n"
    values += "E3 = 2 V; r3, R4 = 2 ohm\nuse method reduction\nuse method branch currents\n"
    found = told(walks + values)
    assert "makes a current source of ℰ₁ with r₁:" in found
    assert "Both ways lead to the same" in found


def test_the_rule_of_thumb() -> None:
    assert "The rule of thumb holds here" in told(TWO_CELLS)
    alike = told(TWO_CELLS + "E2 = E1; r2 = r1\n")
    assert "is a first guess only; what counts is where they lie" in alike
    assert "ℰ₁ with r₁ and ℰ₂ with r₂ are alike" in alike
    assert "The rule of thumb" not in told(LADDER)


def test_equal_potentials_are_proved_by_numbers_a_reader_can_check() -> None:
    balanced = "E1 = 12 V; R1 = 1 ohm; R2, R3 = 2 ohm; R4 = 4 ohm; R5 = 7 ohm\n"
    found = told(BRIDGE + balanced)
    assert "Suppose the potential were 1 at B and 0 at A." in found
    assert "with C and D at 2/3" in found
    assert "R₅ lies between points at one potential" in found
    # What holds for these values only is no general formula.
    assert HEADINGS["formula"] not in found
    results = dict(solve(Source("test", BRIDGE + balanced)).contract.currents)
    assert all(result.formula is None for result in results.values())
    assert results["I6"].exact == 0
    assert results["I1"].exact == 6
    # Asked for formulas, the program goes another way.
    letters = {"E1": 12, "R1": 1, "R2": 2, "R3": 2, "R4": 4, "R5": 7}
    lines = dict(line.split(" = ") for line in formula(Source("test", BRIDGE + balanced)))
    assert Fraction(eval(lines["I1"], {"__builtins__": {}}, letters)).limit_denominator(1000) == 6


def test_formulas_stay_nested_or_are_expanded_on_request() -> None:
    letters = LADDER.splitlines()
    circuit = Source("test", "\n".join(letters[:3]))
    values = {"E1": 12, "r1": 1, "R1": 2, "R2": 6, "R3": 1, "R4": 2}
    nested = dict(line.split(" = ") for line in formula(circuit))
    expanded = dict(line.split(" = ") for line in formula(circuit, Options(expanded=True)))
    for name, exact in (("I1", 2.4), ("I2", 0.8), ("I3", 1.6)):
        for lines in (nested, expanded):
            assert eval(lines[name], {"__builtins__": {}}, values) == pytest.approx(exact)
    assert expanded["I2"].startswith("E1*(R3 + R4)/(R1*R2")
    assert nested["I1"].startswith("E1/(r1 + R1 + R2*(R3 + R4)/")
    assert "R₂ ∥ (R₃ + R₄)" in told(circuit.text)


def test_a_bridge_with_batteries_in_it_is_refused_by_reduction_at_its_place() -> None:
    stuck = BRIDGE.replace("C (R5) D", "C (R5) (-E2+) D").replace("B (R1)", "B (R1) (-E3+)")
    with pytest.raises(Rejected) as refused:
        solve(Source("test", stuck + "use method reduction\n"))
    (fault,) = refused.value.diagnostics
    assert fault.code == "not-reducible"
    assert fault.span is not None
    assert fault.hints == ("write: use method branch currents",)


def test_a_long_ladder_is_told_by_names() -> None:
    rungs = [f"I{2 * k}: P{k} (R{2 * k + 1}) P{k + 1}\nI{2 * k + 1}: P{k + 1} (R{2 * k + 2}) G"
             for k in range(40)]  # fmt: skip
    solution = solve(Source("ladder", "\n".join(["I: G (-E1+) P0", *rungs])))
    longest = max(len(line) for line in text.write(solution.document).splitlines())
    assert longest <= 200
    assert all(str(result.exact) == "None" for _, result in solution.contract.currents)


def test_parts_that_share_nothing_any_more_have_a_figure_each() -> None:
    # R5 alone joins two circuits; without it, what is done to both at once is in two figures.
    walks = "I1: A (-E1+) B\nI2: B (R1) (R2) A\nI3: A (R5) C\nI4: C (-E2+) D\nI5: D (R3) (R4) C\n"
    values = "E1, E2 = 6 V; R1, R2, R3, R4, R5 = 2 ohm\n"
    document = solve(Source("test", walks + values + "use method reduction\n")).document
    marked = [
        figure.short
        for section in document.sections
        for block in section.blocks
        if isinstance(block, SideBySide)
        for figure in block.left
        if isinstance(figure, Figure)
    ]
    series = [short for short in marked if "R1, R2 stand out" in short or "R3, R4 stand" in short]
    assert len(series) == 2
    assert all(("R1" in short) is not ("R3" in short) for short in series)
