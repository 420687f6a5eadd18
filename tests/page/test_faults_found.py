"""Faults that reading pages back has found, each with what it should have been."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from derive.algebra.term import Sum, number, resistance
from derive.document.model import AnswerLine, Chain, Document, Relation, Section
from derive.options import Group, Options
from derive.pipeline import solve
from derive.source import Source
from derive.typesetting.style import Style
from derive.writers import html, latex, markdown, text
from tests.page.check import faults

_EXAMPLES = Path(__file__).parents[2] / "examples"
_PARTLY_GIVEN = "I1: A (-E1+) (R1) B\nI2: A (R2) B\nI3: A (R3) B\nR1 = 3 ohm\nask resistance A B\n"


def _example(name: str, *lines: str) -> Source:
    told = (_EXAMPLES / f"{name}.circuit").read_text("utf-8")
    return Source(name, "\n".join([told, *lines, ""]))


def _told(document_text: str) -> str:
    return " ".join(document_text.split())


def test_words_in_the_formulas_of_markdown_hold_no_tilde_and_no_other_command() -> None:
    # In \text a tilde is a tilde to MathJax, and \ensuremath unknown to it and to KaTeX.
    for name in ("against_the_arrow", "follower", "tram_line"):
        for numbers_first in (False, True):
            solution = solve(_example(name), Options(numbers_first=numbers_first))
            for words in re.findall(r"\\text\{([^}]*)\}", markdown.write(solution.document)):
                assert re.fullmatch(r"[\w ,.;:]+", words), words


def test_a_division_beside_an_equation_of_markdown_is_mathematics() -> None:
    solution = solve(_example("tram_line"), Options(numbers_first=True))
    assert r"\div " in markdown.write(solution.document)
    assert faults(solution) == []


def test_nothing_stands_beside_the_end_of_a_broken_answer() -> None:
    many = Sum(tuple(resistance(f"R{k}") for k in range(1, 18)))
    long = Chain((resistance("R_a"), many), (Relation.EQUAL,))
    short = Chain((resistance("R_b"), number(3)), (Relation.EQUAL,))
    lines = AnswerLine((short, short, long, short, short), ())
    document = Document("", "", (Section((), (lines,)),), Style())
    told = text.write(document, 40).splitlines()
    assert told[0] == told[-3] == "R_b = 3    R_b = 3"
    assert told[-4].lstrip().startswith("+ R")


_STILL = "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\nE1 = 1 ohm * I2; R2 = 2 ohm\n"
"""Nothing drives a current, and R1 and R3 have no values."""


@pytest.mark.parametrize(
    ("walks", "question", "answer"),
    [
        (_STILL, "power in R2", "P_R₂ = 0"),  # it was 2 Ω · 0²
        (_STILL, "voltage across R2", "V_R₂ = 0"),  # 2 Ω · 0
        (
            "I1: A (-E1+) B\nI2: B (R1) A\nI3: A (open S1) (R4) B\nR4 = 2 ohm\n",
            "charge through R4 over 1.5 min",
            "Q_R₄,1.5 min = 0",  # 0 · 90 s
        ),
    ],
)
def test_what_is_zero_is_told_as_zero_where_others_are_letters(
    walks: str, question: str, answer: str
) -> None:
    solution = solve(Source("still", f"{walks}ask {question}\n"))
    told = _told(text.write(solution.document)).rpartition("Answers")[2]
    assert re.search(rf"{re.escape(answer)}(?: [A-Z]+)?(?= │|   )", told), told
    assert solution.contract.answers[0].result.exact == 0


def test_no_charge_flows_where_no_current_can() -> None:
    walks = "I1: A (-E1+) B\nI2: B (R1) A\nI3: A (open S1) (R4) B\n"
    solution = solve(Source("open", f"{walks}ask charge through R4 over 1.5 min\n"))
    assert solution.contract.answers[0].result.formula == "0"  # it was 0*90
    assert "Q_R₄,1.5 min = 0 │" in _told(text.write(solution.document))


def test_what_is_known_of_a_part_is_reckoned_out_where_other_answers_are_in_letters() -> None:
    walks = "I1: A (J1 ->) (R1) B\nI2: B (R2) A\nJ1 = 2 A; R1 = 3 ohm\nask voltage across R1\n"
    solution = solve(Source("source", walks))
    (answer,) = solution.contract.answers
    assert answer.result.exact == 6
    assert faults(solution) == []


def test_formulas_by_loops_where_a_source_depends_on_what_flows() -> None:
    # It was a StopIteration: the value of such a source is an unknown beside the currents.
    walks = (
        "I1: A (R1) B\nI2: B (R3) C\nI3: C (R4) (-E1+) (-E2+) D\nI4: D (R5) A\nI5: A (R6) C\n"
        "E1 = -1 ohm * I4\nask currents\n"
    )
    assert faults(solve(Source("loops", walks), Options(group=Group.LOOP))) == []


@pytest.mark.parametrize("with_currents", [False, True])
def test_a_resistance_has_the_values_put_in_that_are_given(with_currents: bool) -> None:
    # It was refused: the checker wants what is given to be put in.
    asked = "ask currents\n" if with_currents else ""
    solution = solve(Source("partly", _PARTLY_GIVEN + asked))
    assert "R_AB = 3 Ω ∥ R₂ ∥ R₃" in _told(text.write(solution.document))
    assert faults(solution) == []


def test_so_has_one_by_a_test_source_and_one_that_is_long() -> None:
    bridge = "I1: A (R1) B\nI2: A (R2) C\nI3: B (R3) D\nI4: C (R4) D\nI5: B (R5) C\n"
    given = "R1 = 2 ohm; R5 = 4 ohm\nask resistance A D\n"
    assert faults(solve(Source("bridge", bridge + given))) == []
    follower = "I6: D (R6) (-E1+) A\nE1 = 3 ohm * I1\n"
    assert faults(solve(Source("tested", bridge + follower + given))) == []


def test_figures_in_words_have_the_decimal_marker_of_the_author() -> None:
    for name in ("against_the_arrow", "flash_charging"):
        page = text.write(solve(_example(name, "decimal comma")).document)
        body = page.rpartition("Made by")[0]
        assert re.search(r"\[Figure:[^\]]*\d,\d", body)
        assert not re.search(r"\d\.\d", body), name


def test_one_part_stands_out_and_several_stand_out() -> None:
    solution = solve(_example("bicycle_lamp"))
    for page in (html.write(solution.document), latex.write(solution.document)):
        told = re.findall(r"([\w ,]+) (stands?) out\.", page)
        assert told
        assert all((", " in parts) == (verb == "stand") for parts, verb in told)


@pytest.mark.parametrize(("name", "source"), [("dimmer", "(12), (14) in (5)"),
                                              ("balance", "(16), (17) in (7)")])  # fmt: skip
def test_a_resistance_that_is_sought_cites_its_voltage_and_its_current(
    name: str, source: str
) -> None:
    assert source in _told(text.write(solve(_example(name)).document))


def test_a_quotient_has_no_range_for_the_reason_that_no_answer_has_one() -> None:
    # It was refused: the checker found the other reason.
    walks = "I1: A (-E1 r1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) (-E2+) A\n"
    given = "E1 = 9 V; r1 = 1 ohm; R1 = 2 ohm ± 5 %; R2, R3 = 4 ohm; E2 = 1 ohm * I2\n"
    solution = solve(Source("ratio", f"{walks}{given}ask efficiency of E1\n"))
    assert faults(solution) == []


@pytest.mark.parametrize("asked", ["", "ask currents\n"])
def test_what_has_another_value_with_a_test_source_is_said(asked: str) -> None:
    """Where the page has told the voltage and the source before, they are told to be other ones."""
    file = "I1: A (R1) B\nI2: B (R2) G\nI3: G (-E2+) (R3) B\nI4: G (-E1+) A\nE1 = 3 V\n"
    file += f"E2 = 2 V(A,B)\nR1, R2, R3 = 4 ohm\n{asked}ask resistance A G\n"
    page = _told(text.write(solve(Source("test", file)).document))
    assert ("and with the values that V_AB and ℰ₂ have in it" in page) is bool(asked)


def test_a_loop_that_runs_the_other_way_is_told_without_its_ends() -> None:
    """It begins and ends at one point: "from A to A" told nothing."""
    file = "I1: A (+E1-) B (R1) A\nE1 = 6 V; R1 = 3 ohm\nask currents\n"
    page = _told(text.write(solve(Source("test", file)).document))
    assert "runs against its arrow; its size is 2.00 A." in page
