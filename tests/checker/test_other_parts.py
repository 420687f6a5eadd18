"""Laws of sources, meters, switches and capacitors: changed ones are refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from derive.algebra.term import ZERO, Equation, negate
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Circuit, Passage
from derive.circuit.valuation import Given
from derive.derivation.further import PowerBalance
from derive.derivation.laws import (
    AcrossRule,
    ChargeRule,
    ChooseUnknowns,
    KnownCurrent,
    PartRule,
    PathRule,
)
from derive.derivation.step import Conclude, Derivation, Step
from derive.source import Source

SCENES = {
    "all parts": """I1: A (-E1 r1+) (closed S1) B
I2: B (R1) C
I3: B (R2) D
I4: C (R3) A
I5: D (R4) (ammeter M1) A
I6: C (J1 ->) D
: C (voltmeter M2) D
I8: B (R9) F (capacitor C1) D
: F (open S2) A
R1 = 2 ohm; R2 = 3 ohm; R3 = 4 ohm; R4 = 5 ohm; E1 = 10 V; r1 = 1/2 ohm
J1 = 1/5 A; M1 = 1/10 ohm; R9 = 7 ohm; C1 = 5 uF
ask currents
ask reading of M1, M2
ask voltage F A
ask charge on C1
ask energy in C1
ask voltage across S2
ask power of J1
""",
    "row of capacitors": """I1: A (-E1+) (R1) B
I2: B (R2) A
: B (capacitor C1) X
: X (capacitor C2) A
: A (capacitor C3) X
E1 = 24 V; R1 = 10 ohm; R2 = 20 ohm; C1 = 4 uF; C2 = 3 uF; C3 = 2 uF
uncharged C1, C2, C3
ask voltage across C1, C3
ask charge on C2
ask energy in C1
ask voltage X B
""",
    "bridge of capacitors": """I1: A (-E1+) (R1) B
I2: B (R2) A
: B (capacitor C1) X (R3) X2 (capacitor C2) A
: Y (capacitor C3) B
: Y (-E2+) Z (capacitor C4) A
: X (capacitor C5) Y
E1 = 24 V; R1 = 10 ohm; C1 = 4 uF; C2 = 3 uF; C3 = 2 uF; C4 = 7 uF; C5 = 1 uF; R3 = 1 ohm
E2 = 3 V; R2 = 20 ohm
uncharged C1, C2, C3, C4, C5
ask voltage across C4, C5
ask voltage Z B
""",
    "dependent": """I1: A (-E1+) (R1) B
I2: B (R2) (-E2+) A
I3: B (R3) A
I4: B (J2 ->) A
E1 = 24 V; R1 = 10 ohm; R2 = 12 ohm; R3 = 6 ohm
E2 = 4 ohm * I1; J2 = 0.1 S * V(B,A)
ask currents
ask power of J2
""",
    "sought": """I1: A (-E1+) (R1) B
I2: A (-E2 r2+) B
I3: B (R3) A
I4: A (J1 ->) B
J1 = 1/4 A; E1 = 12 V; R1 = 2 ohm; r2 = 1/2 ohm; R3 = ?; E2 = ?
I2 = 1 A; V(B,A) = 11 V
ask currents
ask power in R3
""",
}


def circuit_of(scene: str) -> Circuit:
    return load(Source("scene", SCENES[scene])).circuit


def laws(derivation: Derivation) -> Iterator[tuple[int, Step]]:
    kinds = (KnownCurrent, AcrossRule, ChargeRule, PartRule, PathRule, ChooseUnknowns, PowerBalance)
    return ((k, s) for k, s in enumerate(derivation.steps) if isinstance(s, kinds))


def changed(step: Step) -> Iterator[Step]:
    """Yield the same step, saying something else."""
    if isinstance(step, ChooseUnknowns):
        yield replace(step, loop_equations=step.loop_equations + 1)
        yield replace(step, unknowns=step.unknowns[1:])
        return
    if isinstance(step, ChargeRule):
        yield replace(step, points=step.points[1:])
        if step.leads_in != step.leads_out:
            yield replace(step, leads_in=step.leads_out, leads_out=step.leads_in)
        for side in ("leads_in", "leads_out"):
            if getattr(step, side):
                yield replace(step, **{side: getattr(step, side)[:-1]})
    assert isinstance(
        step, KnownCurrent | AcrossRule | ChargeRule | PartRule | PathRule | PowerBalance
    )
    left, right = step.conclusion.left, step.conclusion.right
    if right != ZERO:
        yield replace(step, conclusion=Equation(left, negate(right)))
        yield replace(step, conclusion=Equation(left, ZERO))
    if isinstance(step, AcrossRule | PathRule) and step.crossings:
        yield replace(step, crossings=step.crossings[1:])
        yield replace(step, crossings=step.crossings[::-1] + step.crossings[:1])
    if isinstance(step, KnownCurrent):
        yield replace(step, part="R1")
    if isinstance(step, PowerBalance):
        yield replace(step, delivered=step.delivered[1:])


@pytest.mark.parametrize("numbers_first", [False, True])
@pytest.mark.parametrize("scene", sorted(SCENES))
def test_a_law_that_says_something_else_is_refused(scene: str, numbers_first: bool) -> None:
    circuit = circuit_of(scene)
    derivation = derive(circuit, numbers_first=numbers_first)
    assert check(circuit, derivation).accepted
    tried = 0
    for k, step in laws(derivation):
        for other in changed(step):
            steps = (*derivation.steps[:k], other, *derivation.steps[k + 1 :])
            verdict = check(circuit, replace(derivation, steps=steps))
            assert not verdict.accepted, (k, other)
            tried += 1
    assert tried > 20


@pytest.mark.parametrize("numbers_first", [False, True])
def test_a_sought_value_is_put_back_into_the_circuit(numbers_first: bool) -> None:
    circuit = circuit_of("sought")
    derivation = derive(circuit, numbers_first=numbers_first)
    given = {v.symbol: v.value for v in circuit.conditions}
    for symbol, value in given.items():
        assert isinstance(value, Given)
        other = replace(value, value=value.value + 1)
        values = tuple(replace(v, value=other) if v.symbol == symbol else v for v in circuit.values)
        assert not check(replace(circuit, values=values), derivation).accepted
    # Nothing else may be said to be sought, and nothing sought may go unanswered.
    assert not check(replace(circuit, sought=circuit.sought[:1]), derivation).accepted
    kept = tuple(
        derivation.steps[0] if isinstance(s, Conclude) and s.symbol in circuit.sought else s
        for s in derivation.steps
    )
    assert not check(circuit, replace(derivation, steps=kept)).accepted


def turned(circuit: Circuit) -> Circuit:
    """Return the circuit with its sources the other way round."""
    branches = tuple(
        replace(
            branch,
            passages=tuple(
                Passage(p.element, p.along != isinstance(p.element, Battery | CurrentSource))
                for p in branch.passages
            ),
        )
        for branch in circuit.branches
    )
    return replace(circuit, branches=branches)


@pytest.mark.parametrize("scene", sorted(SCENES))
def test_a_derivation_of_another_circuit_is_refused(scene: str) -> None:
    circuit = circuit_of(scene)
    derivation = derive(circuit)
    assert not check(turned(circuit), derivation).accepted
    assert not check(replace(circuit, values=circuit.values[1:]), derivation).accepted


@pytest.mark.parametrize("scene", ["row of capacitors", "bridge of capacitors"])
def test_charges_are_kept_only_where_the_author_says_how_they_began(scene: str) -> None:
    circuit = circuit_of(scene)
    derivation = derive(circuit)
    for name in circuit.uncharged:
        others = tuple(other for other in circuit.uncharged if other != name)
        refusal = check(replace(circuit, uncharged=others), derivation).refusal
        assert refusal is not None
        assert f"nobody says that {name} began without charge" in refusal.reason
    loose = [k for k, step in enumerate(derivation.steps) if isinstance(step, ChargeRule)]
    assert loose
