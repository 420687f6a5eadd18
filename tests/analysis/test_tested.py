"""The resistance between two points where sources depend on what flows, against nodal analysis.

The reference is ours, in floating point: the currents of `tests.random_parts` with all sources that
depend on nothing zero and a source of 1 A between the points (Thévenin's theorem; textbook
knowledge).
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests import random_parts
from tests.answering import answered
from tests.random_parts import Part, Scene, with_dependent_sources


def with_test_source(made: Scene, one: str, other: str) -> Scene:
    walks = {
        name: [
            replace(p, value=Fraction(0))
            if p.kind in ("battery", "source") and not p.control
            else p
            for p in walk
        ]
        for name, walk in made.walks.items()
    }
    return Scene(walks | {"test": [Part("source", "Jt", other, one, Fraction(1))]})


def joined(made: Scene) -> list[str]:
    """Return the ends of resistors."""
    return sorted(
        {p for part in made.parts if part.kind == "resistor" for p in (part.tail, part.head)}
    )


def test_random_circuits() -> None:
    told = 0
    for seed in range(40):
        rng = random.Random(seed)
        made = with_dependent_sources(random_parts.scene(rng), rng)
        if not any(p.control for p in made.parts):
            continue
        one, other = rng.sample(joined(made), 2)
        scene = f"{made.text}ask resistance {one} {other}\n"
        try:
            contract = answered(scene)
        except Rejected as rejected:
            (first,) = rejected.diagnostics
            assert first.code == "not-solved-yet", scene
            assert "divides" in first.message, scene
            continue
        (answer,) = (a for a in contract.answers if a.ask.startswith("resistance"))
        found = random_parts.solve(with_test_source(made, one, other)).potentials
        assert answer.result.exact is not None
        assert float(answer.result.exact) == pytest.approx(found[one] - found[other], abs=1e-6), (
            scene
        )
        told += 1
    assert told >= 30


SCENE = """I1: A (-E1+) P (R1) B
I2: A (R2) B
I3: B (<- J1) A
E1 = 2 V
J1 = {0} * I1
R1 = 2 ohm
R2 = 1 ohm
ask resistance A B
"""


def resistance(scene: str) -> tuple[Fraction | None, str | None]:
    (answer,) = solve(Source("x", scene)).contract.answers
    return answer.result.exact, answer.result.formula


def test_by_hand() -> None:
    """At 1 V between A and B, I1 = 1/2 A and I2 = 1 A, and J1 takes k/2 A more from A."""
    assert resistance(SCENE.format("3")) == (Fraction(1, 3), "R1*R2/(R1 + 4*R2)")
    assert resistance(SCENE.format("-5"))[0] == -1


def test_without_values_it_is_a_formula() -> None:
    scene = "\n".join(
        line for line in SCENE.format("3").splitlines() if line[:2] not in ("R1", "R2")
    )
    assert resistance(scene + "\n") == (None, "R1*R2/(R1 + 4*R2)")


def test_a_negative_one_is_explained() -> None:
    document = text.write(solve(Source("x", SCENE.format("-5"))).document)
    assert "The resistance is negative" in document
    assert "ℰ₁ is replaced by a wire" in document


def test_where_the_currents_are_asked_for_as_well() -> None:
    """They are those without the test source."""
    found = solve(Source("x", SCENE.format("3") + "ask currents\nask current in R1\n")).contract
    answers = {a.ask: a.result.exact for a in found.answers}
    assert answers["resistance A B"] == Fraction(1, 3)
    assert dict(found.currents)["I1"].exact == answers["current in R1"] != 0


@pytest.mark.parametrize("gap", ["(capacitor C3)", "(open S3)", "(R3) C (voltmeter M3)"])
@pytest.mark.parametrize("options", [Options(), Options(numbers_first=True)])
def test_a_source_that_follows_a_current_without_flow(gap: str, options: Options) -> None:
    """J4 stays zero, so that R1 alone is seen."""
    scene = f"I1: A (+E1-) (R1) B\nI3: A {gap} B\nI4: A (J4 ->) B\nJ4 = 0.5 * I3\n"
    (answer,) = answered(f"{scene}ask resistance A B\n", options).answers
    assert answer.result.formula == "R1"


def test_a_source_that_follows_what_a_bare_wire_would_carry() -> None:
    scene = "I1: A (+E1-) (R1) B\nI3: A C\nI5: C (open S3) B\nI4: A (J4 ->) B\nJ4 = 0.5 * I3\n"
    with pytest.raises(Rejected, match="unless I3 flows in a resistance of its own walk"):
        answered(f"{scene}ask resistance A B\n")
