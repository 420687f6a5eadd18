"""What a solution says: the sentences that depend on the circuit."""

from __future__ import annotations

import re

import pytest

from derive.document.model import BoxKind, Document
from derive.document.narrate import Detail
from derive.document.wording import HEADINGS
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests.example_solutions import NAMES, solved

FULL = Options()
LETTERS = ("letters", "lantern_frame", "divider", "bridge_letters", "balance")
"""Examples in which some letter has no value."""
NUMBERS = "E1 = 12 V; E2 = 7 V; R1 = 2 ohm; R2 = 3 ohm; R3 = 6 ohm\n"
WALKS = "I1: A (-E1+) B (R1) C\nI2: A (-E2+) D (R2) C\nI3: C (R3) A\n"


def told(circuit: str, options: Options = FULL) -> str:
    return plain(solve(Source("test", circuit), options).document)


def plain(document: Document) -> str:
    """Return a solution as running text, without line breaks and frames."""
    written = text.write(document)
    return " ".join(re.sub(r"[│┌┐└┘─═]|!!", " ", written).split())


def headings(document: Document) -> list[str]:
    return [inline.text for s in document.sections for inline in s.title if hasattr(inline, "text")]


def test_the_headings_stand_in_their_order() -> None:
    known = list(HEADINGS.values())
    for name in NAMES:
        if name in ("stairwell", "starter"):
            continue  # they have two parts with headings: `test_switching_told.py`
        for numbers_first in (False, True):
            options = Options(numbers_first=numbers_first)
            found = headings(solved(name, options).document)
            if name == "radio_hut":  # the author wants the reduction first
                found.remove("Go back to the currents")
            assert [known.index(h) for h in found] == sorted(known.index(h) for h in found)
            if name == "garden_lights":  # asks for a resistance alone
                assert found == ["The resistance between two points"]
                continue
            if name == "camera_flash":  # no current flows
                assert "The charges of the capacitors" in found
                continue
            if name == "relay_timer":  # its capacitor is alone with the coil
                assert found == ["Where no current flows", "From the start to the steady state"]
                continue
            assert "Label the currents" in found
            # Only a formula tells how a current follows a load.
            letters = not numbers_first or name in (*LETTERS, "earpiece")
            letters = letters and name != "heating_mat"  # by the names of its wye
            assert ("The general formula" in found) is letters


def test_why_so_many_equations() -> None:
    found = told(WALKS + NUMBERS)
    assert "b = 3 branches and n = 2 junctions, A and C." in found
    assert "Three unknown currents need three equations: one from the junction rule" in found
    assert "and two from the loop rule." in found
    single = told("I: A (-E1+) B (R1) A\nE1 = 3 V; R1 = 2 ohm\nuse method branch currents\n")
    assert "The circuit is a single loop" in single
    assert "One unknown needs one equation" in single
    assert "junction rule" not in single


def test_one_junction_needs_no_junction_equation() -> None:
    hung = "I1: A (-E1+) (R1) A\nI2: A (-E2+) (R2) A\nE1, E2 = 3 V; R1, R2 = 2 ohm\n"
    hung += "use method branch currents\n"
    assert "with a single junction all of them come from the loop rule" in told(hung)


def test_a_negative_current_is_read_once() -> None:
    found = told(WALKS + NUMBERS.replace("E2 = 7 V", "E2 = 1 V"))
    # By hand (two nodes): V = (12/2 + 1/3)/(1/2 + 1/3 + 1/6) = 19/3 V; I2 = (1 − 19/3)/3 A.
    assert "I₂ is negative, so this current runs against its arrow, from C to A" in found
    assert "its size is 1.78 A" in found
    assert "ℰ₂ is being charged: current enters at its + terminal." in found
    assert "ℰ₁ delivers power" in found
    assert "I₂ against the arrow" in found
    assert "Charge only cells made to be charged" in found


def test_no_current_is_told() -> None:
    # Two equal cells drive a current round the outside; R3 between them carries nothing.
    balanced = told(
        "I1: A (-E1+) (R1) B\nI2: B (-E2+) (R2) A\nI3: A (R3) B\nE1, E2 = 4 V; R1, R2, R3 = 2 ohm\n"
    )
    assert "No current flows in the branch of I₃." in balanced
    assert "I₃ = 0 A" in balanced


def test_parallel_walks_are_told_apart_by_a_part() -> None:
    same = "I1: A (-E1 r1+) C\nI2: A (-E2 r2+) C\nI3: C (R) A\n"
    found = told(same + "E1 = 9 V; E2 = 6 V; r1, r2 = 1 ohm; R = 4 ohm\n")
    assert "Loop 1: A C A by way of ℰ₁" in found
    assert "Loop 2: A C A by way of ℰ₂" in found


def test_the_turning_condition_is_that_of_the_formula() -> None:
    found = told(WALKS)
    assert "I₂ runs against its arrow when R₃·ℰ₁ > (R₁ + R₃)·ℰ₂." in found


def test_long_formulas_are_told_by_names() -> None:
    found = plain(solved("four_loops").document)
    assert "a sum of 34 products, all with plus signs" in found
    assert "R₁·R₂·R₃·R₅" not in found
    assert "The names have the values" in found


def test_two_names_of_one_current() -> None:
    found = told("I1: A (-E1+) B\nI2: C (R1) B\nI3: C (R2) A\nE1 = 3 V; R1, R2 = 2 ohm\n")
    assert "the same current flows in both, under two names: I₂ = −I₁" in found


def test_detail() -> None:
    full, brief, short = (
        told(WALKS + NUMBERS, Options(detail=detail))
        for detail in (Detail.FULL, Detail.BRIEF, Detail.ANSWERS)
    )
    assert "how we meet it" in full
    assert "how we meet it" not in brief
    assert "ℰ₁ − R₁·I₁ − R₃·I₃ = 0" in brief
    assert "= 0" not in short
    for version in (full, brief, short):
        assert "Answers I₁" in version


def test_answers_alone_say_what_their_names_stand_for() -> None:
    found = told(WALKS, Options(detail=Detail.ANSWERS))
    assert "Δ = R₁·R₂ + R₁·R₃ + R₂·R₃" in found


def test_the_box_says_what_few_names_stand_for() -> None:
    assert "Answers Δ = R₁·R₂ + R₁·R₃ + R₂·R₃" in told(WALKS)
    three = "".join(f"I{k}: A (-E{k} r{k}+) C\n" for k in (1, 2, 3))
    made = told(f"{three}I4: C (R4) A\nuse method reduction\n", Options(detail=Detail.ANSWERS))
    assert "V_a = ℰ_a − R_a·I₄" in made
    assert "R_a = r₁ ∥ r₂ ∥ r₃" in made


@pytest.mark.parametrize("name", NAMES)
def test_answers_stand_in_one_box(name: str) -> None:
    document = solved(name).document
    boxes = [b for s in document.sections for b in s.blocks if getattr(b, "kind", None)]
    assert [b.kind for b in boxes if b.kind is BoxKind.ANSWERS] == [BoxKind.ANSWERS]  # type: ignore[union-attr]


@pytest.mark.parametrize("name", NAMES)
def test_sentences_are_clean(name: str) -> None:
    for options in (Options(), Options(numbers_first=True)):
        found = plain(solved(name, options).document)
        assert not re.search(r"[{}]|\bNone\b|  |\(\)| ,| \.(?!\d)", found)
        # No number stands where a word is expected at the start of a sentence.
        assert not re.search(r"\. [0-9]+ [a-z]", found)


def test_exchanges_of_one_kind_are_told_together() -> None:
    pairs = "".join(f"I{k}: A (R{2 * k}) (R{2 * k + 1}) B\n" for k in range(1, 4))
    found = told(pairs + "ask resistance A B\n")
    assert (
        "In series, with nothing that branches off between them, are R₂ and R₃; R₄ and R₅; R₆ "
        "and R₇:" in found
    )
    two = told("I1: A (R2) (R3) B\nI2: A (R4) (R5) B\nI3: A (R6) B\nask resistance A B\n")
    assert "R₂ and R₃ are in series: nothing branches off between them, and so are R₄" in two
    assert "No two resistances" not in two


def test_a_bridge_is_reduced_to_its_core() -> None:
    walks = "I1: A (-E1+) (R1) B\nI2: B (R2) (R3) C\nI3: B (R4) D\nI4: C (R5) A\n"
    found = told(walks + "I5: D (R6) A\nI6: C (R7) D\nask reducible\nask currents\n")
    assert "R₂ and R₃ are in series" in found
    assert "are left, and no two of them are in series or in parallel" in found
    assert "is what ℰ₁ sees" not in found
    assert "it is what ℰ₁ sees" in told("I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\n")
