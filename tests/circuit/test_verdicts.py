"""Circuits without one solution, told in circuit terms.

The verdicts are common practice, no source; the currents are worked by hand.
"""

from __future__ import annotations

import pytest

from derive.algebra.term import Negative
from derive.circuit.elaborate import load
from derive.circuit.solvability import Undetermined, solvability
from derive.circuit.verdicts import why_not_solvable
from derive.diagnostic import Diagnostic, Rejected, render
from derive.source import Source
from tests.circuit.refused import PAIR, REFUSED
from tests.circuit_solution.build import circuit, quantity


def why(text: str) -> Diagnostic:
    case = load(Source("x", text)).circuit
    report = solvability(case)
    assert report is not None
    return why_not_solvable(case, report)


def marked(text: str) -> str:
    """Return the text that the diagnostic points at."""
    span = why(text).span
    assert span is not None
    return text[span.start : span.end]


@pytest.mark.parametrize(("text", "code", "message"), REFUSED)
def test_what_stands_in_the_way(text: str, code: str, message: str) -> None:
    found = why(text)
    assert (found.code, found.message) == (code, message)
    assert found.span is not None
    assert found.hints
    shown = render(found, Source("x", text))
    assert all(note.message in shown for note in found.notes)


def test_ties_that_cancel() -> None:
    text = ": A (-E1+) (R1) (R2) A\n: A (-E2+) (R4) (R5) A\nR1 = R4 - R5\nR2 = R5 - R4"
    assert "holds no resistance (R1 and R2 cancel to 0 ohm)" in why(text).message
    minus = {"R2": Negative(quantity("R1"))}
    case = circuit([("A", "B", "+E1 R1"), ("A", "B", "+E2 R2")], minus)
    found = why_not_solvable(case, Undetermined((0, 1), ()))
    assert found.code == "currents-not-fixed"
    assert "I1 and I2 are not fixed" in found.message


def test_places() -> None:
    assert marked(PAIR) == "E2"
    assert [note.message for note in why(PAIR).notes] == ["E1 is on the loop too"]
    assert marked("I1: A (-E1+) B\nI2: B A\nI3: B (R1) A") == "E1"
    assert marked("I1: A (-E1+) B (R1) C\nI2: C A\nI3: C A") == "I3"


def notes(text: str) -> list[str]:
    return [note.message for note in why(text).notes]


def test_what_is_fixed_all_the_same() -> None:
    assert notes(PAIR + "E1, E2 = 12 V; R1 = 2 ohm") == [
        "only their balance is fixed, by the junction rule at A: I1 + I2 = I3 = 6 A",
        "I3 = 6 A is fixed all the same",
    ]
    assert notes(PAIR + "E2 = E1") == [
        "only their balance is fixed, by the junction rule at A: I1 + I2 = I3",
        "I3 = E1/R1 is fixed all the same",
    ]
    assert notes("I1: A (-E1+) B (R1) C\nI2: C A\nI3: A C\nE1 = 3 V; R1 = 2 ohm") == [
        "only their balance is fixed, by the junction rule at A: I2 − I3 = I1 = 1.5 A",
        "I1 = 1.5 A is fixed all the same",
    ]


def test_every_open_current_is_told_with_its_junction_rules() -> None:
    # Three batteries in a triangle whose emfs cancel: 1 V + 2 V = 3 V. With R1 = R2 = 1 ohm the
    # resistors carry 3 A and 2 A (against I5), whatever goes round in the triangle.
    text = (
        "I1: A (-E1+) B\nI2: B (-E2+) C\nI3: A (-E3+) C\nI4: C (R1) A\nI5: B (R2) C\n"
        "E1 = 1 V; E2 = 2 V; E3 = 3 V; R1, R2 = 1 ohm"
    )
    rule = "only their balance is fixed, by the junction rule at"
    assert notes(text) == [
        f"{rule} A: I1 + I3 = I4 = 3 A",
        f"{rule} B: I1 − I2 = I5 = −2 A",
        f"{rule} C: I2 + I3 = I4 − I5 = 5 A",
        "I4 = 3 A is fixed all the same",
        "I5 = −2 A is fixed all the same",
    ]


def test_cures_and_cautions() -> None:
    hints = why(PAIR).hints
    assert "(-E1 r1+) and (-E2 r2+)" in hints[0]
    assert "E2 = E1" in hints[1]
    assert hints[-1].startswith("do not build it")
    taken = "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (r1) A\n"
    assert "(-E1 r_E1+) and (-E2 r2+)" in why(taken).hints[0]
    zero = "I1: A (-E1 r1+) B\nI2: A (-E2+) B\nI3: B (R1) A\nr1 = 0 ohm"
    assert why(zero).hints[0].endswith("give r1 a value above 0")


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("I1: A (-E1+) B (R1) A\nI2: C (-E2+) D (R2) C", ["two-circuits"]),
        ("I1: A (-E1+) B (R1) A\nI2: A (R2) C", ["loose-end"]),
        ("I1: A (-E1+) B (R1) C", ["nothing-closed"]),
        (": A B\n: B A", ["nothing-closed"]),
        # Faults of the language and of the circuit at once.
        ("I1: A (-E1+) B (R1) A\nE1 = = 3 V\nR1 = 3 V\nask current in R9",
         ["no-value", "wrong-unit", "unknown-part"]),
    ],
)  # fmt: skip
def test_what_is_refused_before(text: str, codes: list[str]) -> None:
    with pytest.raises(Rejected) as caught:
        load(Source("x", text))
    assert [diagnostic.code for diagnostic in caught.value.diagnostics] == codes


@pytest.mark.parametrize(
    ("tie", "words"),
    [
        ("R2 = R1 - 5 ohm", "it is negative where R1 is less than 5 ohm"),
        ("R2 = 5 ohm - 2 R1", "it is negative where R1 is more than 2.5 ohm"),
        ("R2 = R1 - R3", "it is negative for some values of the letters"),
        ("R2 = R1 - 5 ohm; R1 = 5 ohm", "comes out as zero, so it counts as a wire"),
        ("R2 = R1 - 5 ohm; R1 = 4 ohm", "the resistance `R2` comes out negative"),
    ],
)
def test_ties_that_are_differences(tie: str, words: str) -> None:
    source = Source("x", f"I1: A (-E1+) B (R1) C\nI2: C (R2) (R3) A\n{tie}\n")
    try:
        told = load(source).warnings
    except Rejected as rejected:
        told = rejected.diagnostics
    assert [words in diagnostic.message for diagnostic in told] == [True]
