"""Loopwalk from Python: what a notebook and a program of the user's rely on."""

from __future__ import annotations

import json
import pickle
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
import sympy

import derive

TWO_CELLS = """\
circuit "A lamp & two cells <in a hut>"
I1: A (-E1 r1+) B
I2: A (-E2 r2+) B
I3: B (R1) A
"""
VALUES = "E1 = 9 V; E2 = 6 V; r1 = 1 ohm; r2 = 2 ohm; R1 = 4 ohm\n"
ASKED = "ask currents\nask voltage across R1\nask power in R1\n"
# By Millman's theorem (J. Millman, Proc. IRE 28, 1940): V = (9/1 + 6/2)/(1/1 + 1/2 + 1/4) V.
V = Fraction(48, 7)


def test_currents_are_told_by_formula_exactly_and_as_floats() -> None:
    found = derive.solve(TWO_CELLS + VALUES + ASKED)
    assert list(found.currents) == ["I1", "I2", "I3"]
    exact = {name: quantity.exact for name, quantity in found.currents.items()}
    assert exact == {"I1": 9 - V, "I2": (6 - V) / 2, "I3": V / 4}
    assert float(found.currents["I3"]) == pytest.approx(12 / 7)
    assert {q.unit for q in found.currents.values()} == {"A"}
    letters = {"E1": 9, "E2": 6, "r1": 1, "r2": 2, "R1": 4}
    for name, formula in found.formulas.items():
        assert eval(formula, {"__builtins__": {}}, letters) == pytest.approx(float(exact[name]))
    assert str(found.currents["I2"]) == "I₂ ≈ −0.429 A"
    assert found.currents["I2"]._repr_latex_() == r"$I_{2} \approx -0.429\,\mathrm{A}$"


def test_further_answers_go_by_their_questions() -> None:
    answers = derive.solve(TWO_CELLS + VALUES + ASKED).answers
    assert {question: q.exact for question, q in answers.items()} == {
        "voltage across R1": V,
        "power in R1": V * V / 4,
    }
    assert [q.unit for q in answers.values()] == ["V", "W"]


def test_formulas_for_sympy() -> None:
    found = derive.solve(TWO_CELLS).to_sympy()
    r1, r2, resistance = sympy.symbols("r1 r2 R1", positive=True)
    e1, e2 = sympy.symbols("E1 E2", real=True)
    # The same rules, solved by sympy.
    i1, i2, i3 = sympy.symbols("I1 I2 I3")
    rules = [i1 + i2 - i3, e1 - r1 * i1 - resistance * i3, e2 - r2 * i2 - resistance * i3]
    solved = sympy.solve(rules, [i1, i2, i3])
    for name, symbol in (("I1", i1), ("I2", i2), ("I3", i3)):
        assert sympy.simplify(found[name] - solved[symbol]) == 0


def test_letters_without_a_value_have_no_float_and_say_so() -> None:
    current = derive.solve(TWO_CELLS).currents["I3"]
    assert current.exact is None
    with pytest.raises(ValueError, match="I3 holds letters without a value"):
        float(current)


def test_a_reduction_on_given_values_has_no_formula_and_says_so() -> None:
    bridge = (
        "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"
    )
    found = derive.solve(bridge + "E1 = 12 V; R1, R2 = 1 ohm; R3, R4 = 2 ohm; R5 = 7 ohm\n")
    assert found.currents["I6"].exact == 0
    assert found.formulas == {}
    with pytest.raises(ValueError, match="there is no formula of I6 in letters"):
        found.currents["I6"].to_sympy()


def test_formulas_of_a_reduction_are_in_the_letters_of_the_circuit() -> None:
    found = derive.solve("I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) (R3) A\n")
    e1 = sympy.Symbol("E1", real=True)
    r1, first, second, third = sympy.symbols("r1 R1 R2 R3", positive=True)
    beside = 1 / (1 / first + 1 / (second + third))
    assert sympy.simplify(found.to_sympy()["I1"] - e1 / (r1 + beside)) == 0


def test_steps_are_the_equations_of_the_page() -> None:
    steps = derive.solve(TWO_CELLS + VALUES).steps
    numbers = [step.number for step in steps if step.number is not None]
    assert numbers == list(range(1, len(numbers) + 1))
    assert str(steps[0]) == "I₁ + I₂ = I₃"
    assert steps[0].section == "Junction rule"
    assert steps[0]._repr_latex_() == r"$$I_{1} + I_{2} = I_{3} \tag{1}$$"


def test_a_circuit_shows_its_figure_and_a_solution_its_page() -> None:
    circuit = derive.read(TWO_CELLS + VALUES)
    assert circuit.title == "A lamp & two cells <in a hut>"
    assert circuit.letters == ("r1", "E1", "r2", "E2", "R1")
    shown = circuit._repr_html_()
    assert shown.startswith("<p><strong>A lamp &amp; two cells &lt;in a hut&gt;</strong></p><svg")
    ElementTree.fromstring(f"<div>{shown}</div>")
    page = circuit.solve()._repr_html_()
    frame = ElementTree.fromstring(page)
    assert frame.tag == "iframe"
    assert frame.get("srcdoc", "").startswith("<!DOCTYPE html>")


def test_options_are_those_of_the_command() -> None:
    assert str(derive.solve(TWO_CELLS + VALUES, figures=5).currents["I3"]) == "I₃ ≈ 1.7143 A"
    brief = derive.solve(TWO_CELLS + VALUES, detail="brief").text()
    assert len(brief) < len(derive.solve(TWO_CELLS + VALUES).text())
    with pytest.raises(TypeError):
        derive.solve(TWO_CELLS, digits=5)
    for wrong in (
        {"detail": "nonsense"}, {"group": "x"}, {"figures": -3}, {"figures": 2.5}, {"figures": 500},
        {"figures": "4"}, {"terms": 0},
    ):  # fmt: skip
        with pytest.raises(ValueError):  # noqa: PT011  (each says what is wrong in its own words)
            derive.solve(TWO_CELLS + VALUES, **wrong)
    with pytest.raises(ValueError, match="20 to 2000 mm"):
        derive.read(TWO_CELLS).svg(width_mm=0)


def test_what_is_no_circuit_is_told_what_would_be() -> None:
    with pytest.raises(ValueError, match=r"pass Path\('boat\.circuit'\)"):
        derive.read("boat.circuit")
    with pytest.raises(TypeError, match="as text or as a"):
        derive.solve(3)  # type: ignore[arg-type]


def test_a_solution_can_be_sent_to_another_process() -> None:
    found = derive.solve(TWO_CELLS + VALUES)
    assert len(found.currents) == 3
    assert pickle.loads(pickle.dumps(found)).formulas == found.formulas


def test_what_is_wrong_is_raised_as_diagnostics() -> None:
    with pytest.raises(derive.Rejected) as refused:
        derive.read("I1: A (-E1+) B\n")
    assert all(diagnostic.message for diagnostic in refused.value.diagnostics)
    with pytest.raises(ValueError, match="there is no such file"):
        derive.read(Path("nowhere.circuit"))


def test_files_are_written_by_their_endings(tmp_path: Path) -> None:
    found = derive.solve(TWO_CELLS + VALUES)
    for ending, start in (
        (".tex", "% Made by Loopwalk"),
        (".typ", "// Made by Loopwalk"),
        (".html", "<!DOCTYPE html>"),
        (".md", "<!-- Made by Loopwalk"),
        (".fragment.tex", "% Made by Loopwalk"),
        (".txt", ""),
        (".pdf", "%PDF-"),
        (".json", "{"),
    ):
        place = found.write(tmp_path / f"hut{ending}")
        assert place.read_bytes().startswith(start.encode())
        assert found.write(place) == place  # ours, so it may be replaced
    assert json.loads((tmp_path / "hut.json").read_text("utf-8")) == json.loads(found.json())
    with pytest.raises(ValueError, match="none of the endings"):
        found.write(tmp_path / "hut.docx")
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    with pytest.raises(FileExistsError, match=r"mine\.txt was not made by Loopwalk"):
        found.write(tmp_path / "mine.txt")
    assert (tmp_path / "mine.txt").read_text("utf-8") == "mine"


def test_a_pdf_by_the_embedded_engine() -> None:
    assert derive.solve(TWO_CELLS + VALUES).pdf("embedded").startswith(b"%PDF-")


def test_everything_that_is_promised_is_there() -> None:
    for name in derive.__all__:
        assert getattr(derive, name) is not None
    with pytest.raises(AttributeError):
        derive.nothing  # noqa: B018
