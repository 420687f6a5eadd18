"""Values put in last, also where some quantities stay letters; what can hurt someone."""

from __future__ import annotations

from fractions import Fraction

import pytest
import sympy

from derive.algebra.interchange import to_sympy
from derive.analysis.answers import derive
from derive.analysis.hazards import find_hazards
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.algebra import PutInValues
from derive.derivation.goal import Goal
from derive.derivation.step import Conclude, Derivation
from derive.source import Source

WALKS = """
I1: A (-E1+) B (R1) C
I2: A (-E2+) D (R2) C
I3: C (R3) A
ask currents
ask voltage C A
"""


def solved(text: str, *, numbers_first: bool = False) -> tuple[Circuit, Derivation]:
    circuit = load(Source("test", text)).circuit
    derivation = derive(circuit, numbers_first=numbers_first)
    assert check(circuit, derivation).refusal is None
    return circuit, derivation


def value(derivation: Derivation, name: str) -> sympy.Expr:
    (step,) = (s for s in derivation.steps if isinstance(s, Conclude) and s.symbol.name == name)
    assert step.value is not None
    return to_sympy(derivation.equation(step.value).right)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        # Millman's theorem for two nodes (Millman 1940, from memory), then I = (E − V)/R.
        ("E1 = 6 V; E2 = 3 V", "(6/R1 + 3/R2)/(1/R1 + 1/R2 + 1/R3)"),
        ("R1 = 2 ohm; R3 = 4 ohm", "(E1/2 + E2/R2)/(1/2 + 1/R2 + 1/4)"),
        ("R1, R2, R3 = 2 ohm", "(E1/2 + E2/2)/(3/2)"),
        ("R2 = 2 R1; E2 = 3 V", "(E1/R1 + 3/(2*R1))/(1/R1 + 1/(2*R1) + 1/R3)"),
    ],
)
def test_letters_without_a_value_stay(given: str, expected: str) -> None:
    _, derivation = solved(f"{WALKS}\n{given}")
    names = {n: sympy.Symbol(n, positive=True) for n in ("R1", "R2", "R3")}
    names |= {n: sympy.Symbol(n, real=True) for n in ("E1", "E2")}
    wanted = sympy.nsimplify(eval(expected, {"__builtins__": {}}, names), rational=True)
    assert sympy.cancel(value(derivation, "V(C,A)") - wanted) == 0
    own = (names["E1"].subs({names["E1"]: 6}) if "E1 = 6" in given else names["E1"]) - wanted
    first = sympy.Integer(2) if "R1 =" in given or "R1, R2" in given else names["R1"]
    assert sympy.cancel(value(derivation, "I1") - own / first) == 0


def test_letters_may_be_left_when_numbers_go_first() -> None:
    _, letters_first = solved(f"{WALKS}\nE1 = 6 V; R1 = 2 ohm")
    circuit, derivation = solved(f"{WALKS}\nE1 = 6 V; R1 = 2 ohm", numbers_first=True)
    for branch in circuit.branches:
        (step,) = (
            s for s in derivation.steps
            if isinstance(s, Conclude) and s.symbol == branch.current
        )  # fmt: skip
        found = step.formula if step.value is None else step.value
        assert found is not None
        here = to_sympy(derivation.equation(found).right)
        names = {s.conclusion.left.name: to_sympy(s.conclusion.right)
                 for s in derivation.steps if type(s).__name__ == "Define"}  # fmt: skip
        here = here.subs({sympy.Symbol(n, real=True): v for n, v in names.items()})
        assert sympy.cancel(here - value(letters_first, branch.current.name)) == 0


def test_every_factor_is_shown_before_the_result() -> None:
    # By hand: Δ = 2·1 + 2·4 + 1·4 = 14, I3 = (1·6 + 2·3)/14.
    _, derivation = solved(f"{WALKS}\nE1 = 6 V; E2 = 3 V; R1 = 2 ohm; R2 = 1 ohm; R3 = 4 ohm")
    shown = [
        str(to_sympy(derivation.equation(k).right))
        for stage in derivation.stages
        if stage.goal is Goal.VALUES
        for k in stage.ids
        if isinstance(derivation.steps[k], PutInValues)
        and getattr(derivation.equation(k).left, "name", "") in ("I3", "Delta")
    ]
    assert shown == ["14", "14", "6/7", "6/7"]  # as it stands, then reckoned out
    assert value(derivation, "I3") == sympy.Rational(6, 7)


def test_a_battery_that_is_charged_is_found() -> None:
    circuit, derivation = solved(
        "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: B (R) A\n"
        "E1 = 14 V; E2 = 9 V; r1, r2 = 1 ohm; R = 30 ohm"
    )
    found = find_hazards(circuit, derivation)
    assert [s.name for s in found.charged] == ["E2"]
    # By hand: V = 23/(2 + 1/30) V; 7.2 W in r1, 5.3 W in r2, 4.3 W in R.
    assert [s.name for s in found.hot_inside] == ["E1", "E2"]
    assert found.hot == ()
    assert not found.high_voltage


@pytest.mark.parametrize(("emf", "high"), [(25, False), (31, True)])
def test_high_voltage_is_between_points_not_the_sum_of_emfs(emf: int, high: bool) -> None:
    series = f"I: A (-E1+) B (-E2+) C (R) A\nE1, E2 = {emf} V; R = 1000 ohm"
    circuit, derivation = solved(series)
    assert find_hazards(circuit, derivation).high_voltage is high
    side_by_side = (
        "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: B (R) A\n"
        f"E1, E2 = {emf} V; r1, r2 = 1 ohm; R = 1000 ohm"
    )
    circuit, derivation = solved(side_by_side)
    assert not find_hazards(circuit, derivation).high_voltage


def test_power_sums_agree_exactly() -> None:
    _, derivation = solved(f"{WALKS}\nE1 = 6 V; E2 = 3 V; R1 = 2 ohm; R2 = 1 ohm; R3 = 4 ohm")
    sums = {}
    for step in derivation.steps:
        if isinstance(step, PutInValues) and getattr(step.conclusion.left, "name", "").startswith(
            ("P_delivered", "P_taken")
        ):
            sums[step.conclusion.left.name] = to_sympy(step.conclusion.right)  # type: ignore[union-attr]
    # By hand: I1 = 9/7, I2 = −3/7, I3 = 6/7 A; 6·9/7 = 54/7 W; 2·81/49 + 9/49 + 4·36/49 + 9/7.
    assert sums == {"P_taken": sympy.Rational(54, 7)} or sums["P_taken"] == sums["P_delivered"]
    assert Fraction(54, 7) == Fraction(str(sums["P_taken"]))
