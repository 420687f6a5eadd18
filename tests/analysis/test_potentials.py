"""Potentials of all points against numpy's nodal analysis; other paths that confirm them."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from derive.analysis.answers import derive
from derive.analysis.laws import path_rule
from derive.analysis.potentials import other_path, spanning_way
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.question import AskPotentials
from derive.derivation.exchanges import Agree
from derive.derivation.goal import Goal
from derive.derivation.laws import PotentialRule
from derive.derivation.step import Conclude
from derive.diagnostic import Rejected
from derive.pipeline import solve
from derive.proving import prove
from derive.source import Source
from derive.writers.answers_json import Result
from tests import random_parts
from tests.answering import answered

BOARD = """I1: A (-E1+) B (R1) C
I2: A (R4) D (-E2+) F (R2) C
I3: C (R3) A
: C G
E1 = 12 V; E2 = 9 V
R1, R4, R3 = 2 ohm; R2 = 1 ohm
ground A
"""

NOTHING_FIXED = {"voltage-not-fixed", "joined-by-gaps", "currents-not-fixed", "source-at-gap"}


def circuit_of(text: str) -> Circuit:
    return load(Source("board", text)).circuit


def potentials(text: str) -> dict[str, Result]:
    answers = answered(text).answers
    return {a.ask.removeprefix("potential "): a.result for a in answers}


@pytest.mark.parametrize("seed", range(40))
def test_all_potentials_are_those_of_nodal_analysis(seed: int) -> None:
    rng = random.Random(seed)
    made = random_parts.scene(rng)
    if seed % 3 == 0:
        made = random_parts.with_dependent_sources(made, rng)
    answer = random_parts.solve(made)
    ground = rng.choice(sorted(answer.potentials))
    text = f"{made.text}ground {ground}\nask potentials\n"
    try:
        found = potentials(text)
    except Rejected as refused:
        if {d.code for d in refused.diagnostics} <= NOTHING_FIXED:
            return
        raise
    assert found.keys() == answer.potentials.keys() - {ground}
    for point, result in found.items():
        assert result.exact is not None
        wanted = answer.potentials[point] - answer.potentials[ground]
        assert float(result.exact) == pytest.approx(wanted, abs=1e-6)


def test_most_random_circuits_have_all_potentials() -> None:
    told = 0
    for seed in range(12):
        made = random_parts.scene(random.Random(seed))
        try:
            prove(Source("x", f"{made.text}ground N0\nask potentials\n"))
        except Rejected:
            continue
        told += 1
    assert told > 7


def test_each_point_follows_from_one_before_it() -> None:
    legs = spanning_way(circuit_of(BOARD))
    told = ["A"]
    for leg in legs:
        assert leg.start in told
        told.append(leg.point)
    assert sorted(told) == ["A", "B", "C", "D", "F", "G"]
    # The walk goes on where it is: no leg begins anew at the ground.
    assert [leg.start for leg in legs] == ["A", "B", "C", "C", "F"]


def test_potentials_by_hand() -> None:
    # Loops: 4 I1 + 2 I2 = 12 and 2 I1 + 5 I2 = 9, so that I1 = 21/8 A and I2 = 3/4 A.
    found = {name: result.exact for name, result in potentials(BOARD + "ask potentials\n").items()}
    assert found == {
        "B": 12, "C": Fraction(27, 4), "G": Fraction(27, 4), "F": Fraction(15, 2),
        "D": Fraction(-3, 2),
    }  # fmt: skip


def test_the_second_path_shares_as_little_as_it_can() -> None:
    circuit = circuit_of(BOARD)
    first = path_rule(circuit, "A", "F").crossings
    assert [row.part for row in first] == ["R4", "E2"]
    other = other_path(circuit, "A", "F", first)
    assert other is not None
    assert [row.part for row in other] == ["R3", "R2"]


def test_a_point_with_one_way_to_it_has_no_second_path() -> None:
    circuit = circuit_of(BOARD + "I4: C (R5) H (capacitor C1) D\nR5 = 1 ohm; C1 = 1 uF\n")
    first = path_rule(circuit, "C", "H").crossings
    assert other_path(circuit, "C", "H", first) is None


@pytest.mark.parametrize(
    ("question", "confirmed"),
    [("potentials", True), ("potential F", True), ("voltage F B", True), ("currents", False)],
)
def test_answers_are_confirmed_by_another_path(question: str, confirmed: bool) -> None:
    circuit = circuit_of(f"{BOARD}ask {question}\n")
    derivation = derive(circuit)
    stages = [stage for stage in derivation.stages if stage.goal is Goal.OTHER_PATH]
    assert len(stages) == confirmed
    for stage in stages:
        assert any(isinstance(derivation.steps[k], Agree) for k in stage.ids)


def test_letters_have_formulas_and_no_second_path() -> None:
    text = "\n".join(line for line in BOARD.splitlines() if "=" not in line)
    circuit = circuit_of(f"{text}\nask potentials\n")
    derivation = derive(circuit)
    assert all(stage.goal is not Goal.OTHER_PATH for stage in derivation.stages)
    found = potentials(f"{text}\nask potentials\n")
    values = {"E1": 12, "E2": 9, "R1": 2, "R2": 1, "R3": 2, "R4": 2}
    for point, value in (("C", 27 / 4), ("F", 15 / 2), ("D", -3 / 2)):
        formula = found[point].formula
        assert formula is not None
        assert eval(formula, {}, values) == pytest.approx(value)


def test_points_behind_gaps_have_potentials() -> None:
    text = "I1: A (-E1+) B (R1) A\n: B (R2) C (open S1) A\nE1 = 6 V; R1, R2 = 3 ohm\nground A\n"
    found = potentials(text + "ask potentials\n")
    assert found["C"].exact == 6


def test_a_place_that_nothing_fixes_is_refused() -> None:
    text = "I1: A (-E1+) B (R1) A\n: B (capacitor C1) C (capacitor C2) A\nground A\n"
    with pytest.raises(Rejected) as refused:
        solve(Source("x", text + "ask potentials\n"))
    assert [d.code for d in refused.value.diagnostics] == ["voltage-not-fixed"]


def test_the_grounded_point_is_at_zero() -> None:
    assert potentials(BOARD + "ask potential A\n")["A"].exact == 0


def test_every_potential_is_concluded_once() -> None:
    circuit = circuit_of(BOARD + "ask potentials\n")
    derivation = derive(circuit)
    concluded = [
        s.symbol.name
        for s in derivation.steps
        if isinstance(s, Conclude) and s.question == AskPotentials()
    ]
    assert sorted(concluded) == ["V(B)", "V(C)", "V(D)", "V(F)", "V(G)"]
    assert any(isinstance(s, PotentialRule) and not s.crossings for s in derivation.steps)
