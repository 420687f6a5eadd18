"""What is forged or changed in the steps of energy, charge and efficiency is refused."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.term import Equation, Sum, resistance
from derive.algebra.unit import Unit
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.valuation import Tie
from derive.derivation.algebra import BackSubstitute, Collect, Define
from derive.derivation.further import Efficiency, Largest, Lasts, Most, OverTime, PowerPart
from derive.derivation.laws import GivenValue, PartLaw, PartRule
from derive.derivation.step import Conclude, Derivation, Round
from derive.source import Source
from tests.checker.mutate import Mutant, mutants
from tests.checker.test_mutations import reason

TEXT = """
I1: A (-E1 r1+) B (R1) C (+E2 r2-) A
E1 = 14 V; E2 = 12 V
r1 = 1/2 ohm; r2 = 1 ohm; R1 = 5/2 ohm
ask currents
ask efficiency of E1, E2
ask energy in R1 over 2 h
ask energy of E1 over 90 s
ask charge of E2 over 3 h
ask charge through R1 over 2 h
ask short circuit current of E2
ask open circuit voltage of E2
"""
"""Invented: the current is 1/2 A; E1 delivers, E2 is charged."""


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return load(Source("x", TEXT)).circuit


@pytest.fixture(scope="module")
def sound(circuit: Circuit) -> Derivation:
    found = derive(circuit)
    assert check(circuit, found).accepted
    return found


def _keeps_the_meaning(mutant: Mutant) -> bool:
    old, new = mutant.old, mutant.new
    if reason(mutant) is not None:
        return True
    if isinstance(new, Conclude) and isinstance(old, Conclude):
        if replace(new, formula=old.formula) == old and new.formula is not None:
            # Currents of a reduction are known in letters: the law itself is a formula.
            return Derivation(mutant.derivation.steps).equation(new.formula).left == new.symbol
        # An answer need not be told in a second unit.
        return replace(new, also=old.also) == old and new.also is None
    if isinstance(old, Efficiency) and isinstance(new, Efficiency):
        other_line = replace(new, voltage=old.voltage) == old and new.voltage is not None
        if other_line:  # the same value before it is worked out
            lines = Derivation(mutant.derivation.steps)
            assert old.voltage is not None
            assert new.voltage is not None
            return lines.equation(old.voltage).left == lines.equation(new.voltage).left
    if isinstance(old, OverTime | Efficiency) and isinstance(new, OverTime | Efficiency):
        return mutant.place.startswith("conclusion") and "swapped" in mutant.place
    return False


def test_every_change_is_refused(circuit: Circuit, sound: Derivation) -> None:
    kinds = (Lasts, OverTime, Efficiency)
    rng, tried = random.Random(7), 0
    for mutant in mutants(circuit, sound):
        in_unit = isinstance(mutant.old, Round) and mutant.old.unit is not Unit.SI
        alone = isinstance(mutant.old, PartRule) and mutant.old.kind in (
            PartLaw.SHORT_CIRCUIT, PartLaw.OPEN_CIRCUIT,
        )  # fmt: skip
        twice = isinstance(mutant.old, Conclude) and mutant.old.also is not None
        wanted = isinstance(mutant.old, kinds) or in_unit or alone or twice
        if wanted and rng.random() < 0.06:  # all of them take most of a minute
            tried += 1
            accepted = check(circuit, mutant.derivation).accepted
            assert not accepted or _keeps_the_meaning(mutant), (
                mutant.place,
                mutant.old,
                mutant.new,
            )
    assert tried > 40


def test_every_change_of_a_share_is_refused(circuit: Circuit, sound: Derivation) -> None:
    rng, tried = random.Random(3), 0
    for mutant in mutants(circuit, sound):
        if isinstance(mutant.old, PowerPart) and rng.random() < 0.08:
            tried += 1
            if check(circuit, mutant.derivation).accepted:
                assert isinstance(mutant.new, PowerPart)
                # Another line that tells the same power, or two powers of one size.
                lines = Derivation(mutant.derivation.steps)
                cited = (lines.equation(s.power).left for s in (mutant.old, mutant.new))
                assert len(set(cited)) == 1, (mutant.place, mutant.old, mutant.new)
    assert tried > 20


LOAD = """
I1: A (-E1 r1+) B
I2: B (R2) A
I3: B (R3) A
E1 = 6 V; r1 = 2 ohm; R2 = 2 ohm
ask matched load R3
"""
"""Invented: R3 sees 3 V behind 1 ohm."""


@pytest.mark.parametrize("text", [LOAD, LOAD + "R3 = 7 ohm\n", LOAD.replace("r1 = 2 ohm", "")])
def test_every_change_of_a_matched_load_is_refused(text: str) -> None:
    circuit = load(Source("x", text)).circuit
    sound = derive(circuit, in_letters=True)
    assert check(circuit, sound).accepted
    first = next(k for k, s in enumerate(sound.steps) if isinstance(s, Define | Largest))
    last = max(k for k, s in enumerate(sound.steps) if isinstance(s, Largest))
    rng, tried = random.Random(5), 0
    for mutant in mutants(circuit, sound):
        largest = isinstance(mutant.old, Largest) and rng.random() < 0.5
        before = first <= mutant.step <= last and isinstance(mutant.old, Collect | BackSubstitute)
        if largest or (before and rng.random() < 0.05):
            tried += 1
            accepted = check(circuit, mutant.derivation).accepted
            assert not accepted or _same_match(mutant), (mutant.place, mutant.old, mutant.new)
    assert tried > 40


def _same_match(mutant: Mutant) -> bool:
    """Tell whether a change leaves a line true: factors in another order, or a law cited too."""
    return "swapped" in mutant.place or (
        not isinstance(mutant.old, Largest) and reason(mutant) is not None
    )


def test_a_load_must_be_free_and_the_rest_like_a_battery() -> None:
    circuit = load(Source("x", LOAD)).circuit
    sound = derive(circuit, in_letters=True)
    # The same steps for a circuit in which R2 would change with R3.
    tie = Tie(resistance("R3"))
    values = tuple(replace(v, value=tie) if v.symbol.name == "R2" else v for v in circuit.values)
    tied = replace(circuit, values=values)
    forged = tuple(
        replace(s, conclusion=Equation(s.symbol, resistance("R3")))
        if isinstance(s, GivenValue) and s.symbol.name == "R2"
        else s
        for s in sound.steps
    )
    assert not check(tied, Derivation(forged)).accepted
    # A place where the power is not the greatest, though the bound is right.
    for k, step in enumerate(sound.steps):
        if isinstance(step, Largest) and step.kind is Most.LOAD:
            wrong = Sum((step.at, step.at))
            new = replace(step, at=wrong, conclusion=replace(step.conclusion, right=wrong))
            verdict = check(circuit, Derivation((*sound.steps[:k], new, *sound.steps[k + 1 :])))
            assert verdict.refusal is not None
            assert verdict.refusal.reason == "this is not the square that is zero there"


def _altered(sound: Derivation, kind: type, battery: str | None, **changes: object) -> Derivation:
    for index, step in enumerate(sound.steps):
        if isinstance(step, kind) and battery in (None, getattr(step, "battery", None)):
            new = replace(step, **changes)  # type: ignore[type-var]
            return Derivation((*sound.steps[:index], new, *sound.steps[index + 1 :]))  # type: ignore[arg-type]
    raise AssertionError(kind)


def test_a_battery_cannot_be_said_to_do_the_other_thing(
    circuit: Circuit, sound: Derivation
) -> None:
    for battery, other in (("E1", "E2"), ("E2", "E1")):
        step = next(s for s in sound.steps if isinstance(s, Efficiency) and s.battery == battery)
        quotient = step.conclusion.right
        upside = replace(quotient, numerator=quotient.denominator, denominator=quotient.numerator)  # type: ignore[union-attr]
        turned = replace(step.conclusion, right=upside)
        forged = _altered(sound, Efficiency, battery, charged=not step.charged, conclusion=turned)
        verdict = check(circuit, forged)
        assert verdict.refusal is not None
        assert "battery" in verdict.refusal.reason
        mixed = next(s for s in sound.steps if isinstance(s, Efficiency) and s.battery == other)
        forged = _altered(sound, Efficiency, battery, voltage=mixed.voltage)
        assert not check(circuit, forged).accepted


def test_a_time_that_nobody_asks_for_is_refused(circuit: Circuit, sound: Derivation) -> None:
    step = next(s for s in sound.steps if isinstance(s, Lasts))
    longer = replace(step.time, count=Fraction(4))
    verdict = check(circuit, _altered(sound, Lasts, None, time=longer))
    assert verdict.refusal is not None
    assert verdict.refusal.reason == "no question asks for this time"
