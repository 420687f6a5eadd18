"""Switches that change: one file, two circuits with the same names."""

from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest

from derive.circuit.elaborate import Elaborated, load
from derive.circuit.elements import Switch
from derive.circuit.model import Circuit, Event
from derive.diagnostic import Diagnostic, Rejected
from derive.language.parser import parse
from derive.language.printer import print_file
from derive.source import Source
from tests import random_parts

STAIRS = """
I1: A (-E1 r1+) B
I2: B (lamp L1) A
I3: B ({} S1) (lamp L2) A
"""


def read(text: str) -> Elaborated:
    return load(Source("x", text))


def fixed(circuit: Circuit) -> Circuit:
    """Return a circuit without what depends on how its file was written."""
    return replace(circuit, drawn=None, is_before=False)


def faults(text: str) -> list[Diagnostic]:
    with pytest.raises(Rejected) as rejected:
        read(text)
    return list(rejected.value.diagnostics)


@pytest.mark.parametrize(("word", "before", "after"), [("closes", "open", "closed"),
                                                       ("opens", "closed", "open")])  # fmt: skip
def test_each_state_is_the_circuit_with_the_switch_in_that_state(
    word: str, before: str, after: str
) -> None:
    found = read(STAIRS.format(word))
    assert found.event == (Event(("S1",), ()) if word == "closes" else Event((), ("S1",)))
    assert found.before is not None
    assert (found.before.is_before, found.circuit.is_before) == (True, False)
    assert fixed(found.before) == fixed(read(STAIRS.format(before)).circuit)
    assert fixed(found.circuit) == fixed(read(STAIRS.format(after)).circuit)


def test_what_does_not_change_has_no_state_before() -> None:
    found = read(STAIRS.format("open"))
    assert found.event is None
    assert found.before is None


def test_several_switches_change_in_one_event() -> None:
    text = "I1: A (-E1 r1+) B\nI2: B (opens S1) (closes S2) (R1) A\nI3: B (closes S3) (R2) A\n"
    found = read(text + "I4: B (R3) A\n")
    assert found.event == Event(("S2", "S3"), ("S1",))
    assert found.before is not None
    states = [
        {e.name: e.is_closed for e in circuit.elements if isinstance(e, Switch)}
        for circuit in (found.before, found.circuit)
    ]
    assert states == [
        {"S1": True, "S2": False, "S3": False},
        {"S1": False, "S2": True, "S3": True},
    ]


def test_walks_without_a_name_have_the_same_currents_in_both_states() -> None:
    """B is a junction only once S1 is closed, so the first walk is cut there in both states."""
    found = read(": A (-E1+) (R1) B (R2) A\n: B (closes S1) (R3) A\nI3: A (R4) B\n")
    assert found.before is not None
    assert set(found.before.told_currents) == set(found.circuit.told_currents)
    still = [branch.current.name for branch in found.before.named_idle]
    assert len(still) == 1
    walk = next(w for w in found.circuit.walks if w.current.name == still[0])
    assert walk.parts == ("S1", "R3")
    ring = read(": A (-E1+) (R1) B (R2) A\n: B (closes S1) (R3) A\n")
    assert ring.before is not None
    names = [current.name for current in ring.before.told_currents]
    assert names == [current.name for current in ring.circuit.told_currents] == ["I1", "I2", "I3"]
    assert len(ring.before.branches) == 1


@pytest.mark.parametrize("seed", range(40))
def test_names_do_not_depend_on_the_state(seed: int) -> None:
    made = random_parts.scene(random.Random(seed))
    named = re.sub(r"\((open|closed) S", lambda m: f"({m[1][:4].rstrip('e')}es S", made.text)
    text = re.sub(r"^I\d+(?=:)", "", named.replace("openes", "opens"), flags=re.M)
    try:
        found = read(text)
    except Rejected as rejected:
        told = [d.message for d in rejected.diagnostics]
        assert all(t.startswith(("before ", "after ")) for t in told)
        return
    if found.before is None:
        assert "(open" not in text
        assert "(clos" not in text
        return
    assert set(found.before.told_currents) == set(found.circuit.told_currents)
    assert found.before.values == found.circuit.values
    assert found.before.questions == found.circuit.questions


def test_a_choice_that_fits_one_state_counts_for_that_one() -> None:
    text = (
        STAIRS.format("closes")
        + "use loop A (E1) B (L2) A\nuse loop A (E1) B (L1) A\neliminate I3\n"
    )
    found = read(text)
    assert found.before is not None
    assert len(found.circuit.choices.loops) == 2
    assert len(found.before.choices.loops) == 1
    assert [s.name for s in found.circuit.choices.eliminate] == ["I3"]
    assert found.before.choices.eliminate == ()


def test_a_choice_that_fits_neither_state_is_refused_once() -> None:
    (fault,) = faults(STAIRS.format("closes") + "use junction C\n")
    assert fault.code == "unknown-point"
    (fault,) = faults(STAIRS.format("closes") + "eliminate L1\n")
    assert fault.code == "wrong-kind"


def test_what_is_wrong_in_one_state_is_told_with_that_state() -> None:
    text = "I1: A (-E1+) (R1) A\nI2: C (-E2+) (R2) C\nI3: A (closes S1) C\n"
    (fault,) = faults(text)
    assert fault.code == "joined-by-gaps"
    assert fault.message.startswith("before S1 closes: only S1 joins the circuit at A")
    text = "I1: A (-E1+) (R1) B (R2) A\nI2: B (opens S1) (R3) A\n"
    (fault,) = faults(text)
    assert fault.code == "walk-passes-junction"
    assert fault.message.startswith("before S1 opens: ")


def test_what_is_wrong_in_both_is_told_once() -> None:
    (fault,) = faults(STAIRS.format("closes") + "R9 = 2 ohm\n")
    assert not fault.message.startswith(("before", "after"))


@pytest.mark.parametrize("word", ["open", "closed", "opens", "closes"])
def test_the_words_are_printed_as_they_are_read(word: str) -> None:
    file = parse(Source("x", STAIRS.format(word)))
    assert f"({word} S1)" in print_file(file)
    assert parse(Source("x", print_file(file))) == file


@pytest.mark.parametrize("word", ["closing", "close", "Closes", "opened"])
def test_other_words_are_no_words_of_the_language(word: str) -> None:
    (fault,) = faults(STAIRS.format(word))
    assert fault.code == "two-names-in-bracket"
    assert any("opens, closes" in hint for hint in fault.hints)
