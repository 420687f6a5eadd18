"""Lamps and resistors with a rating: against numpy, a textbook, and what a page says of them."""

from __future__ import annotations

import json
import random
from fractions import Fraction

import numpy as np
import pytest

from derive.circuit.elaborate import load
from derive.circuit.valuation import Given
from derive.derivation.further import AgainstRating, Load
from derive.derivation.laws import Rated
from derive.pipeline import Solution, solve
from derive.source import Source
from derive.writers import answers_json, text


def solved(circuit: str) -> Solution:
    return solve(Source("test", circuit))


def test_a_car_headlight() -> None:
    """Hot, 12.0 V, 30.0 W and 2.50 A: OpenStax, College Physics, sec. 20.4 (from memory)."""
    solution = solved(
        "I: A (-E1+) B (lamp L1) A\nE1 = 12.0 V\nrating L1 = 12.0 V, 30.0 W\nask currents"
    )
    assert solution.contract.currents[0][1].exact == Fraction(5, 2)
    (part,) = solution.contract.ratings
    assert (part.power, part.over) == (30, False)
    told = text.write(solution.document)
    assert "L₁ = (12 V)²/(30 W) = 4.80 Ω" in told
    assert "glows as rated" in told
    assert "Caution. More than 5 W" in told
    assert "More power than rated" not in told


def _random(seed: int) -> tuple[str, list[tuple[float, float]], np.ndarray]:
    """Return a circuit of lamps between two points, their ratings, and their powers by numpy.

    The nodal equation of the only free point: Σ (V − E)/r + Σ V/R = 0.
    """
    rng = random.Random(seed)
    cells = [(rng.randint(3, 14), rng.choice((1, 2))) for _ in range(rng.randint(1, 2))]
    rows = [rng.randint(1, 3) for _ in range(rng.randint(1, 3))]
    ratings = [(rng.choice((4, 6, 12)), rng.randint(1, 20)) for _ in range(sum(rows))]
    lines = [f": A (-E{k} r{k}+) B" for k in range(len(cells))]
    lines += [f"E{k} = {e} V\nr{k} = {r} ohm" for k, (e, r) in enumerate(cells)]
    lamps = iter(range(sum(rows)))
    chains = [[next(lamps) for _ in range(count)] for count in rows]
    lines += [": B " + " ".join(f"(lamp L{k})" for k in chain) + " A" for chain in chains]
    lines += [f"rating L{k} = {v} V, {p / 4} W" for k, (v, p) in enumerate(ratings)]
    sizes = np.array([v * v / (p / 4) for v, p in ratings])
    across = [float(sizes[chain].sum()) for chain in chains]
    conductance = np.array([[sum(1 / r for _, r in cells) + sum(1 / r for r in across)]])
    (voltage,) = np.linalg.solve(conductance, np.array([sum(e / r for e, r in cells)]))
    powers = np.zeros(len(sizes))
    for chain, resistance in zip(chains, across, strict=True):
        powers[chain] = sizes[chain] * (voltage / resistance) ** 2
    return "\n".join([*lines, "ask currents"]), [(v, p / 4) for v, p in ratings], powers


@pytest.mark.parametrize("seed", range(12))
def test_random_lamps_take_what_numpy_says(seed: int) -> None:
    circuit, ratings, powers = _random(seed)
    found = solved(circuit).contract.ratings
    assert len(found) == len(ratings)
    for part, (volts, watts), power in zip(found, ratings, powers, strict=True):
        assert part.voltage == volts
        assert part.rated_power == Fraction(watts)
        assert part.power is not None
        assert float(part.power) == pytest.approx(power, rel=1e-9)
        assert abs(power - watts) < 1e-9 or part.over == (power > watts)


RESISTORS = """
I1: A (-E1+) B (R1) C
I2: C (R2) A
I3: C (R3) A
E1 = 10 V
R1, R2, R3 = 10 ohm
rating R1 = 4 W
rating R2 = 1.111 W
rating R3 = 10/9 W
ask voltage across R1
"""


def test_just_over_and_just_at() -> None:
    """I1 = 10 V/15 Ω = 2/3 A: R1 takes 40/9 W; R2 and R3 take 10/9 W each, 1.1111… W."""
    solution = solved(RESISTORS)
    loads = [s.load for s in solution.derivation.steps if isinstance(s, AgainstRating)]
    assert loads == [Load.OVER, Load.OVER, Load.AT]
    assert [part.power for part in solution.contract.ratings] == [
        Fraction(40, 9), Fraction(10, 9), Fraction(10, 9),
    ]  # fmt: skip
    told = " ".join(text.write(solution.document).replace("!!", "").split())
    assert "is just at its rating" in told
    assert "More power than rated turns into heat in R₁ and R₂." in told
    assert "Local codes and a licensed practitioner decide" in told
    assert solution.live() is None


def test_what_is_over_by_less_than_is_shown() -> None:
    told = text.write(solved(RESISTORS.replace("1.111 W", "1.11 W")).document)
    assert "is over its rating, by less than shown" in told


def test_in_letters_only_the_resistance_is_told() -> None:
    solution = solved("I: A (-E1+) B (lamp L1) A\nrating L1 = 6 V, 3 W\nask currents")
    told = text.write(solution.document)
    assert "L₁ = (6 V)²/(3 W) = 12.0 Ω" in told
    assert "Within the ratings?" not in told
    fields = json.loads(answers_json.write(solution.contract))
    assert fields["ratings"] == [
        {"part": "L1", "rated_voltage": "6", "rated_power": "3", "power": None, "over": None}
    ]


def test_the_json_has_no_word_of_ratings_where_there_are_none() -> None:
    solution = solved("I: A (-E1+) B (R1) A\nE1 = 3 V\nR1 = 2 ohm")
    assert "ratings" not in json.loads(answers_json.write(solution.contract))


def test_a_resistance_alone() -> None:
    """Two lamps of 12 Ω side by side: 6 Ω."""
    solution = solved(
        "I1: A (lamp L1) B\nI2: A (lamp L2) B\nrating L1, L2 = 6 V, 3 W\nask resistance A B"
    )
    assert solution.contract.answers[0].result.exact == 6
    assert sum(isinstance(s, Rated) for s in solution.derivation.steps) == 2


def test_both_states_of_a_switch() -> None:
    """Alone, R1 takes (6 V)²/(4 Ω) = 9 W; L1 is dark before and glows as rated after."""
    solution = solved(
        "I1: A (-E1+) B\nI2: B (R1) A\nI3: B (closes S1) (lamp L1) A\nE1 = 6 V\nR1 = 4 ohm\n"
        "rating L1 = 6 V, 3 W\nrating R1 = 5 W\nask currents"
    )
    assert solution.switching is not None
    after, before = solution.contract, solution.contract.switching
    assert before is not None
    assert [(p.power, p.over) for p in before.before.ratings] == [(0, False), (9, True)]
    assert [(p.power, p.over) for p in after.ratings] == [(3, False), (9, True)]
    told = text.write(solution.document)
    assert told.count("(6 V)²/(3 W)") == 1
    assert "stays dark" in told
    assert solution.live() is None


def test_ties_sought_values_and_tolerances_beside_ratings() -> None:
    """L1 = 12 Ω, R1 = 24 Ω: R2 = 9 V/0.2 A − 36 Ω = 9 Ω takes 0.36 W."""
    solution = solved(
        "I: A (-E1+) B (lamp L1) (R1) (R2) A\nE1 = 9 V ± 2 %\nrating L1 = 6 V, 3 W\nR1 = 2 L1\n"
        "R2 = ?\nI = 0.2 A\nrating R2 = 1/4 W"
    )
    parts = {part.part: part for part in solution.contract.ratings}
    assert (parts["R2"].power, parts["R2"].over) == (Fraction(9, 25), True)
    assert "with the nominal values" in " ".join(text.write(solution.document).split())


def test_significant_figures_follow_the_rating() -> None:
    circuit = load(Source("x", "I: A (-E1+) (lamp L1) A\nrating L1 = 6.0 V, 2.400 W")).circuit
    (valuation,) = circuit.values
    assert isinstance(valuation.value, Given)
    assert (valuation.value.value, valuation.value.figures) == (15, 2)


def test_beside_a_capacitor_the_powers_are_those_long_after() -> None:
    solution = solved(
        "I1: A (-E1+) (R1) B\nI2: B (lamp L1) A\nI3: B (capacitor C1) A\nE1 = 9 V\nR1 = 6 ohm\n"
        "C1 = 1 mF\nrating L1 = 6 V, 3 W\nask currents"
    )
    told = " ".join(text.write(solution.document).split())
    assert "is rated for, long after the last change:" in told
    assert "While a capacitor is charged or discharged, a part may take more" in told
