"""Ranges and shares against dense grids by numpy, derivatives by sympy, and cases done by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
import sympy

from derive.algebra.term import Symbol
from derive.analysis.answers import derive
from derive.analysis.tolerance.turning import zeros_between
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskPowerIn, AskPowerOf, AskVoltageAcross, Question
from derive.circuit.valuation import Given, Tie, Valuation
from derive.derivation.spread import NoRange, Range, Shares, Unbounded
from derive.derivation.step import Derivation
from derive.source import Source
from tests.random_circuits import nodal_currents, numeric_value, random_circuit, sympy_currents


def derived(text: str) -> tuple[Circuit, Derivation]:
    """Return a circuit with its derivation, which the checker accepts."""
    circuit = load(Source("test", text)).circuit
    derivation = derive(circuit)
    verdict = check(circuit, derivation)
    assert verdict.accepted, verdict.refusal
    return circuit, derivation


def ranges(derivation: Derivation) -> dict[str, Range]:
    return {s.symbol.name: s for s in derivation.steps if isinstance(s, Range)}


def refusals(derivation: Derivation) -> dict[str, Unbounded]:
    return {s.symbol.name: s.reason for s in derivation.steps if isinstance(s, NoRange)}


def shares(derivation: Derivation) -> dict[str, Shares]:
    return {s.symbol.name: s for s in derivation.steps if isinstance(s, Shares)}


# --- against numpy -------------------------------------------------------------------------------


def _with_tolerances(circuit: Circuit, rng: random.Random, count: int) -> Circuit:
    """Give some values tolerances, and ask for powers and voltages as well."""
    given = [v.symbol for v in circuit.values if isinstance(v.value, Given)]
    chosen = set(rng.sample(given, min(count, len(given))))
    sizes = [Fraction(1, 100), Fraction(1, 20), Fraction(1, 10), Fraction(2, 5)]
    values = tuple(
        Valuation(v.symbol, replace(v.value, tolerance=rng.choice(sizes)))
        if v.symbol in chosen and isinstance(v.value, Given)
        else v
        for v in circuit.values
    )
    questions: list[Question] = [AskCurrents()]
    for element in circuit.elements[:4]:
        if isinstance(element, Battery):
            questions.append(AskPowerOf(element.name))
        if isinstance(element, Resistor):
            questions += [AskPowerIn(element.name), AskVoltageAcross(element.name)]
    return replace(circuit, values=values, questions=tuple(questions))


def _at(circuit: Circuit, values: dict[Symbol, float]) -> Circuit:
    return replace(
        circuit,
        values=tuple(
            Valuation(v.symbol, Given(Fraction(values[v.symbol]), v.symbol.dimension))
            if v.symbol in values
            else v
            for v in circuit.values
        ),
    )


def _answers(circuit: Circuit) -> dict[str, float]:
    """Return currents, voltages and powers by numpy."""
    flows = nodal_currents(circuit)
    found = {}
    for walk in circuit.walks:
        found[walk.current.name] = flows[walk.branch] * (1 if walk.along else -1)
    for branch, flow in zip(circuit.branches, flows, strict=True):
        for passage in branch.passages:
            element = passage.element
            if isinstance(element, Resistor):
                ohms = numeric_value(circuit, element.resistance)
                own = flow if circuit.walk_of(element.name).along else -flow
                found[f"V({element.name})"] = ohms * own
                found[f"P({element.name})"] = ohms * flow**2
            elif isinstance(element, Battery):
                out = flow if passage.along else -flow
                found[f"Pd({element.name})"] = numeric_value(circuit, element.emf) * out
    return found


def _near(a: float, b: float) -> bool:
    return bool(np.isclose(a, b, rtol=1e-7, atol=1e-9))


@pytest.mark.parametrize("seed", range(30))
def test_a_range_holds_on_a_grid_and_is_met(seed: int) -> None:
    rng = random.Random(seed)
    circuit = _with_tolerances(random_circuit(rng, loops=(1, 3)), rng, rng.randint(1, 3))
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    found, moving = ranges(derivation), [
        v for v in circuit.values if isinstance(v.value, Given) and v.value.tolerance
    ]  # fmt: skip
    assert found
    assert not set(refusals(derivation).values()) - {Unbounded.BENDS}
    axes = [
        np.linspace(float(v.value.value * (1 - t)), float(v.value.value * (1 + t)), 7)
        for v in moving
        if isinstance(v.value, Given) and (t := v.value.tolerance)
    ]
    for point in product(*axes):
        whole = _at(circuit, dict(zip((v.symbol for v in moving), map(float, point), strict=True)))
        for name, value in _answers(whole).items():
            if name in found:
                low, high = float(found[name].low.value), float(found[name].high.value)
                assert low <= value or _near(low, value)
                assert value <= high or _near(high, value)
    for name, step in found.items():
        assert step.low.shown <= step.low.value <= step.high.value <= step.high.shown
        for end in (step.low, step.high):
            if end.at:
                there = _answers(_at(circuit, {s: float(v) for s, v in end.at}))
                assert _near(there[name], float(end.value))
            else:
                assert end.value == 0


@pytest.mark.parametrize("seed", range(10))
def test_shares_are_derivatives_by_sympy(seed: int) -> None:
    rng = random.Random(100 + seed)
    circuit = _with_tolerances(random_circuit(rng, loops=(1, 2)), rng, 3)
    derivation = derive(circuit)
    given = {v.symbol: v.value for v in circuit.values if isinstance(v.value, Given)}
    letters = replace(
        circuit, values=tuple(v for v in circuit.values if isinstance(v.value, Tie))
    )  # every number a letter, ties kept
    numbers = {sympy.Symbol(s.name): sympy.Rational(str(g.value)) for s, g in given.items()}
    formulas = sympy_currents(letters)
    stated = shares(derivation)
    assert stated
    for walk in circuit.walks:
        branch = circuit.branches[walk.branch].current.name
        formula = formulas[branch] * (1 if walk.along else -1)
        names = {s.name: s for s in formula.free_symbols}
        for share in stated[walk.current.name].shares:
            slope = sympy.Integer(0)
            if share.letter.name in names:
                own = names[share.letter.name]
                values = {names[str(k)]: v for k, v in numbers.items() if str(k) in names}
                slope = sympy.diff(formula, own).subs(values)
            known = given[share.letter]
            reach = sympy.Rational(str(known.value * (known.tolerance or 0)))
            assert sympy.nsimplify(slope * reach) == sympy.Rational(str(share.value))


# --- cases ---------------------------------------------------------------------------------------


def test_a_loaded_divider() -> None:
    """Numbers of the circuit by hand: V = E·Rp/(R1 + Rp), worst at Rp and R1 at opposite ends."""
    _, derivation = derived(
        "I1: C (-E1+) A (R1) B\nI2: B (R2) C\nI3: B (R3) C\nE1 = 12 V\n"
        "R1, R2 = 1 kohm ± 5 %\nR3 = 2.2 kohm ± 5 %\nask voltage across R3"
    )
    step = ranges(derivation)["V(R3)"]
    ends = []
    for up, down in (
        (Fraction(105, 100), Fraction(95, 100)),
        (Fraction(95, 100), Fraction(105, 100)),
    ):
        r1, r2, r3 = 1000 * down, 1000 * up, 2200 * up
        side = r2 * r3 / (r2 + r3)
        ends.append(12 * side / (r1 + side))
    assert [step.low.value, step.high.value] == sorted(ends)
    assert {s.name: v for s, v in step.high.at} == {"R1": 950, "R2": 1050, "R3": 2310}
    total = shares(derivation)["V(R3)"]
    assert total.total == sum(abs(s.value) for s in total.shares)
    assert [s.value > 0 for s in total.shares] == [False, True, True]


def test_the_power_in_a_load_is_greatest_at_the_match() -> None:
    """E²/4r at R = r (maximum power transfer, M. H. von Jacobi, 1840; from memory)."""
    _, derivation = derived(
        "I1: A (-E1 r1+) B (R1) A\nE1 = 6 V\nr1 = 10 ohm\nR1 = 10 ohm ± 20 %\nask power in R1"
    )
    step = ranges(derivation)["P(R1)"]
    assert step.high.value == Fraction(9, 10)
    assert [v for _, v in step.high.at] == [10]
    assert step.low.value == Fraction(36 * 8, 18**2)
    share = shares(derivation)["P(R1)"]
    assert share.total == 0  # to first order nothing changes at a maximum


def test_a_match_between_the_ends_away_from_the_nominal_value() -> None:
    _, derivation = derived(
        "I1: A (-E1 r1+) B (R1) A\nE1 = 6 V ± 5 %\nr1 = 10 ohm\nR1 = 9 ohm ± 20 %\nask power in R1"
    )
    step = ranges(derivation)["P(R1)"]
    assert step.high.value == Fraction(63, 10) ** 2 / 40
    assert {s.name: v for s, v in step.high.at} == {"E1": Fraction(63, 10), "R1": 10}


def test_the_power_of_a_battery_between_charge_and_discharge() -> None:
    """Pd(E1) = E1·(E1 − 6 V)/2 Ω is least at the turning point E1 = 3 V."""
    _, derivation = derived(
        "I1: A (-E1+) B (R1) C (+E2-) A\nE1 = 4 V ± 50 %\nE2 = 6 V\nR1 = 2 ohm\nask power of E1"
    )
    step = ranges(derivation)["Pd(E1)"]
    assert (step.low.value, step.high.value) == (Fraction(-9, 2), 0)
    assert [v for _, v in step.low.at] == [3]


def test_a_square_whose_root_changes_its_sign_is_least_at_zero() -> None:
    _, derivation = derived(
        "I1: A (-E1+) B (R1) C (+E2-) A\nE1 = 6 V ± 5 %\nE2 = 6 V ± 2 %\nR1 = 2 ohm\nask power in R1\nask current in R1"
    )
    step = ranges(derivation)["P(R1)"]
    assert step.low.value == 0
    assert not step.low.at
    assert step.high.value == Fraction(42, 100) ** 2 / 2
    assert ranges(derivation)["I(R1)"].low.value == Fraction(-21, 100)


def test_a_tie_under_which_a_current_only_falls() -> None:
    """I3 = E·R3/(R1·(R2 + R3) + R2·R3) falls while R1 grows and R2 = 4 R1 with it."""
    _, derivation = derived(
        "I1: D (-E1+) A (R1) B\nI2: B (R3) D\nI3: B (R2) D\nE1 = 12 V\nR1 = 10 ohm ± 40 %\n"
        "R2 = 4 R1\nR3 = 40 ohm\nask current in R2"
    )
    step = ranges(derivation)["I(R2)"]
    ends = [Fraction(12 * 40) / (r * (4 * r + 40) + 4 * r * 40) for r in (14, 6)]
    assert [step.low.value, step.high.value] == ends


@pytest.mark.parametrize(("last", "known"), [("40 ohm", True), ("30 ohm", False)])
def test_a_turning_point_of_a_tie_is_told_exactly_or_not_at_all(last: str, known: bool) -> None:
    """Two dividers with R2 = R1: V = E·(R3/(R1 + R3) − R4/(R1 + R4)) turns at R1² = R3·R4."""
    _, derivation = derived(
        "I1: D (-E1+) A\nI2: A (R1) B (R3) D\nI3: A (R2) C (R4) D\nE1 = 12 V\n"
        f"R1 = 20 ohm ± 40 %\nR2 = R1\nR3 = 10 ohm\nR4 = {last}\nask voltage B C"
    )
    if known:
        step = ranges(derivation)["V(B,C)"]
        assert step.low.value == 12 * (Fraction(10, 30) - Fraction(40, 60))
        assert [v for _, v in step.low.at] == [20]
    else:
        assert refusals(derivation)["V(B,C)"] is Unbounded.BENDS
        assert "V(B,C)" not in ranges(derivation)
        assert shares(derivation)["V(B,C)"].down is None


def test_what_is_not_worked_out_is_said() -> None:
    many = "; ".join(f"R{k} = {k} ohm ± 1 %" for k in range(1, 12))
    chain = " ".join(f"(R{k})" for k in range(1, 12))
    _, derivation = derived(f"I1: A (-E1+) B {chain} A\nE1 = 3 V\n{many}\nask currents")
    assert refusals(derivation) == {"I1": Unbounded.MANY}
    _, derivation = derived(
        "I1: A (-E1 r1+) B (R1) A\nE1 = 3 V ± 1 %\nr1, R1 = 2 ohm\nask power in E1\nask power of E1"
    )
    assert refusals(derivation) == {"P(E1)": Unbounded.TERMINALS}
    assert set(ranges(derivation)) == {"I1", "Pd(E1)"}
    _, derivation = derived("I1: A (R1) B (R2) C\nR1, R2 = 2 ohm ± 1 %\nask resistance A C")
    assert refusals(derivation) == {"R(A,C)": Unbounded.BETWEEN}
    _, derivation = derived(
        "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: A (R3) B\nE1 = 3 V ± 1 %\nE2 = 2 ohm * I1\n"
        "R1, R2, R3 = 2 ohm\nask currents"
    )
    assert set(refusals(derivation).values()) == {Unbounded.DEPENDENT}
    _, derivation = derived(
        "I1: A (-E1+) B (R1) A\nE1 = 3 V ± 1 %\nR1 = ?\nI1 = 1 A\nask value of R1"
    )
    assert not refusals(derivation)  # the reader of the file has said so in a warning
    assert not ranges(derivation)
    _, derivation = derived(
        "I1: A (-E1+) B (R1) A\n: B (capacitor C1) D (capacitor C2) A\nuncharged C1, C2\n"
        "E1 = 3 V ± 1 %\nR1 = 2 ohm\nC1 = 2 uF ± 10 %\nC2 = 4 uF\nask charge on C1\nask currents"
    )
    assert set(refusals(derivation).values()) == {Unbounded.CHARGES}
    _, derivation = derived(
        "I1: A (-E1 r1+) B (R1) A\nE1 = 3 V ± 1 %\nr1, R1 = 2 ohm\n"
        "ask efficiency of E1\nask short circuit current of E1\nask open circuit voltage of E1"
    )
    assert set(refusals(derivation).values()) == {Unbounded.RATIO}
    assert set(ranges(derivation)) == {"I1", "Voc(E1)"}


def test_energies_potentials_and_charges() -> None:
    """E·I·t with E = 12 V ± 5 %, V_B = R2·I, and C·V² / 2, each by its corners."""
    _, derivation = derived(
        "I1: A (-E1+) B (R1) C (R2) A\n: C (capacitor C1) A\nground A\nE1 = 12 V ± 5 %\n"
        "R1 = 2 ohm\nR2 = 4 ohm ± 10 %\nC1 = 3 uF ± 20 %\nask potentials\n"
        "ask energy of E1 over 2 h\nask energy in R2 over 60 s\nask charge through R2 over 60 s\n"
        "ask charge on C1\nask energy in C1"
    )
    found = ranges(derivation)
    assert not refusals(derivation)
    up, down = Fraction(63, 5), Fraction(57, 5)
    more, less = Fraction(22, 5), Fraction(18, 5)
    micro = Fraction(1, 10**6)
    ends = {
        "V(C)": (down * less / (2 + less), up * more / (2 + more)),
        "Wd(E1,2h)": (down**2 / (2 + more) * 7200, up**2 / (2 + less) * 7200),
        "W(R2,60s)": (
            60 * more * (down / (2 + more)) ** 2, 60 * less * (up / (2 + less)) ** 2,
        ),
        "Q(R2,60s)": (60 * down / (2 + more), 60 * up / (2 + less)),
        "Q(C1)": (
            Fraction(12, 5) * micro * down * less / (2 + less),
            Fraction(18, 5) * micro * up * more / (2 + more),
        ),
        "W(C1)": (
            Fraction(6, 5) * micro * (down * less / (2 + less)) ** 2,
            Fraction(9, 5) * micro * (up * more / (2 + more)) ** 2,
        ),
    }  # fmt: skip
    for name, pair in ends.items():
        assert (found[name].low.value, found[name].high.value) == pair, name


def test_by_reduction_and_with_numbers_first_the_ranges_are_the_same() -> None:
    text = (
        "I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) A\nE1 = 9 V ± 1 %\nR1 = 3 ohm ± 5 %\n"
        "R2 = 6 ohm\nR3 = 4 ohm ± 10 %\nask currents\nask power in R3\nask voltage C A\n"
    )
    found = [ranges(derived(text + f"use method {m}")[1]) for m in ("reduction", "branch currents")]
    circuit = load(Source("test", text + "use method branch currents")).circuit
    found.append(ranges(derive(circuit, numbers_first=True)))
    sizes = [{n: (s.low, s.high) for n, s in ends.items()} for ends in found]
    assert sizes[0] == sizes[1] == sizes[2]
    assert set(sizes[0]) == {"I1", "I2", "I3", "P(R3)", "V(C,A)"}


def test_without_tolerances_nothing_is_added() -> None:
    _, derivation = derived("I1: A (-E1+) B (R1) A\nE1 = 3 V\nR1 = 2 ohm ± 0 %")
    assert not ranges(derivation)
    assert not shares(derivation)


def test_a_source_and_an_open_voltmeter() -> None:
    """J·R2 across the voltmeter, both off by 10 %: 1.1² and 0.9² of 6 V."""
    _, derivation = derived(
        "I1: A (J1 ->) B\nI2: B (R2) A\n: B (voltmeter V1) A\nJ1 = 3 A ± 10 %\nR2 = 2 ohm ± 10 %\n"
        "ask reading of V1\nask power of J1\nask power in R2"
    )
    found = ranges(derivation)
    assert found["V(V1)"].high.value == 6 * Fraction(121, 100)
    assert found["V(V1)"].low.value == 6 * Fraction(81, 100)
    assert found["Pd(J1)"].high.value == 18 * Fraction(1331, 1000)
    assert found["P(R2)"].low.value == 18 * Fraction(729, 1000)


def test_zeros_of_a_polynomial_between_two_points() -> None:
    low, high = Fraction(0), Fraction(3)
    line = [Fraction(c) for c in (2, -3, 1)]  # (x − 1)(x − 2)
    assert zeros_between(line, low, high) == [1, 2]
    assert zeros_between([Fraction(1), Fraction(0), Fraction(1)], low, high) == []
    assert zeros_between([Fraction(0)], low, high) == []
    assert zeros_between([Fraction(c) for c in (1, 0, 0, -1)], low, high) is None
    assert zeros_between([Fraction(c) for c in (1, 1, 1, 1)], low, high) == []


def test_a_range_where_no_current_flows() -> None:
    _, derivation = derived(
        "I1: A (-E1+) (open S1) (R1) A\nE1 = 9 V ± 2 %\nR1 = 1 ohm\nask voltage across S1\n"
    )
    found = ranges(derivation)["V(S1)"]
    assert (found.low.value, found.high.value) == (Fraction(441, 50), Fraction(459, 50))
