"""From the text of every example to its document."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

import pytest

from derive.algebra.term import Equation
from derive.circuit.question import AskReading
from derive.derivation.sense import Limit, SpecialCase
from derive.derivation.step import Conclude, IdealReading, Round, Silent
from derive.diagnostic import Rejected
from derive.document.model import Display, Relation, Row
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from tests.example_solutions import NAMES, solved


def found(value: object, kind: type) -> Iterator[object]:
    if isinstance(value, kind):
        yield value
    if is_dataclass(value):
        for field in fields(value):
            yield from found(getattr(value, field.name), kind)
    elif isinstance(value, tuple):
        for item in value:
            yield from found(item, kind)


def _elsewhere(ideal: IdealReading) -> set[Equation]:
    """Return what is proved for an ideal meter, its reading under the name it has here."""
    shown = ideal.conclusion.left
    found = {s.conclusion for s in ideal.derivation.steps if not isinstance(s, Silent)}
    readings = [
        s.symbol
        for s in ideal.derivation.steps
        if isinstance(s, Conclude) and s.question == AskReading(ideal.part)
    ]
    return found | {Equation(shown, e.right) for e in found if e.left in readings}


def test_there_are_examples() -> None:
    assert len(NAMES) >= 8


@pytest.mark.parametrize("numbers_first", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_every_printed_equation_is_a_conclusion(name: str, numbers_first: bool) -> None:
    solution = solved(name, Options(numbers_first=numbers_first))
    derivations = [solution.derivation]
    if solution.switching is not None:  # each state by itself: `test_switching_told.py`
        derivations.append(solution.switching.before.derivation)
    proved = {s.conclusion for d in derivations for s in d.steps if not isinstance(s, Silent)}
    for step in solution.derivation.steps:
        if isinstance(step, IdealReading):
            proved |= _elsewhere(step)
    under_a_condition = {
        Equation(
            derivation.equation(step.premise).left,
            step.limit if isinstance(step, Limit) else step.result,
        ): Relation.TENDS if isinstance(step, Limit) else Relation.EQUAL
        for derivation in derivations
        for step in derivation.steps
        if isinstance(step, SpecialCase) or (isinstance(step, Limit) and step.limit is not None)
    }
    rows = [row for row in found(solution.document, Row) if isinstance(row, Row)]
    assert rows
    for row in rows:
        sides = row.chain.sides
        for k, relation in enumerate(row.chain.relations):
            if relation is Relation.EQUAL and not hasattr(sides[k + 1], "digits"):
                stated = Equation(sides[0], sides[k + 1])
                said = under_a_condition.get(stated) is relation and row.source
                assert stated in proved or said
            elif relation is Relation.TENDS:
                assert under_a_condition[Equation(sides[0], sides[k + 1])] is relation
                assert row.source
    assert list(found(solution.document, Display))


def test_the_pump_by_hand() -> None:
    # Millman's theorem (two nodes; Millman 1940, from memory), worked by hand:
    # V = (16/2 + 7/3) / (1/2 + 1/3 + 1/6) = 31/3 V.
    solution = solved("against_the_arrow")
    exact = {s.symbol.name: s.rounded for s in solution.derivation.steps if isinstance(s, Round)}
    assert {name: str(float(v)) for name, v in exact.items() if name.startswith("I")} == {
        "I1": "2.83", "I2": "-1.11", "I3": "1.72",
    }  # fmt: skip


def test_a_loop_without_resistance_is_refused() -> None:
    text = "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (R1) A\nE1 = 3 V; E2 = 4 V; R1 = 1 ohm\n"
    with pytest.raises(Rejected) as caught:
        solve(Source("clash", text))
    assert caught.value.diagnostics[0].code == "emfs-contradict"


def test_places_that_cannot_be_followed_are_told() -> None:
    walks = "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: B (R3) A\nplace A at 0 0\n"
    # Every figure can be moved until one point is where it should be.
    assert solve(Source("one place", walks)).warnings == ()
    assert solve(Source("both", walks + "place B at 0 2\n")).warnings == ()
    # Five branches between two points of one height: no more than four wires leave a place.
    more = walks + "I4: A (R4) B\nI5: A (R5) B\nplace B at 4 0\n"
    told = [d.code for d in solve(Source("level", more)).warnings]
    assert told == ["places-in-vain"]


def test_a_diamond_that_cannot_be_drawn_is_told() -> None:
    walks = "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: B (R3) A\nbridge diamond\n"
    assert [d.code for d in solve(Source("windows", walks)).warnings] == ["no-diamond"]


def test_words_that_cannot_be_printed_are_warned_of() -> None:
    text = "I1: A (-E1+) (R1) A\nE1 = 9 V; R1 = 3 ohm\n"
    (warning,) = solve(Source("x", f'circuit "電池 (battery)"\n{text}')).warnings
    assert warning.code == "no-type"
    assert "電 池" in warning.message
    assert "[U+96FB]" in warning.message
    assert solve(Source("x", f'circuit "Größe Ω → ½ «déjà» ℰ"\n{text}')).warnings == ()
