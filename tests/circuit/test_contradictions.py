"""Kinds of circuits that contradict themselves or leave something open.

Each is refused with what is wrong in its own words: the parts and the points concerned stand in the
message, and a hint says what to do. Which circuits these are is common practice, no source.
"""

from __future__ import annotations

import pytest

from derive.contract import contract_of
from derive.diagnostic import Rejected
from derive.proving import prove
from derive.source import Source

LOOP = "I1: A (-E1+) (R1) B\nI2: B (R2) A\n"
VALUES = "E1 = 9 V\nR1 = 2 ohm\nR2 = 3 ohm\n"
SPLIT = "I1: A (-E1+) (R1) A\nI2: C (-E2+) (R2) C\n"

KINDS: dict[str, tuple[str, str, str]] = {
    # batteries and wires
    "different batteries side by side": (
        "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (R1) A\nE1 = 12 V\nE2 = 9 V\n",
        "emfs-contradict", "the loop A B A holds only the batteries E1 and E2 and no resistance"),
    "equal batteries side by side": (
        "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (R1) A\nE1, E2 = 9 V\n",
        "currents-not-fixed", "So I1 and I2 are not fixed"),
    "a battery shorted by a wire": (
        ": A (-E1+) B (R1) A\n: A B\n", "short-circuit", "the battery E1 is short-circuited"),
    "a battery shorted by an ammeter": (
        "I1: A (-E1+) B\nI2: B (ammeter M1) A\nI3: B (R1) A\n",
        "short-circuit", "holds no resistance (M1 is an ideal ammeter)"),
    "a battery shorted by a switch": (
        "I1: A (-E1+) B\nI2: B (closed S1) A\nI3: B (R1) A\n",
        "short-circuit", "holds no resistance (S1 is closed)"),
    "a battery shorted by a zero": (
        "I1: A (-E1+) B\nI2: B (R1) A\nE1 = 9 V\nR1 = 0 ohm\n",
        "short-circuit", "holds no resistance (R1 is 0 ohm)"),
    "no emf and no resistance": (
        "I1: A (-E1+) (R1) A\nE1 = 0 V\nR1 = 0 ohm\n",
        "currents-not-fixed", "holds only the battery E1 and no resistance (R1 is 0 ohm)"),
    "a ring of wire": (
        LOOP + "I3: A B\nI4: A B\n", "currents-not-fixed", "the loop A B A is nothing but wire"),
    "a ring of ammeters": (
        LOOP + "I3: A (ammeter M1) B\nI4: A (ammeter M2) B\n",
        "currents-not-fixed", "(M1 and M2 are ideal ammeters). So I3 and I4 are not fixed"),
    "a ring of a switch and a zero": (
        LOOP + "I3: A (closed S1) B\nI4: A (R3) B\nR3 = 0 ohm\n",
        "currents-not-fixed", "(R3 is 0 ohm, S1 is closed). So I3 and I4 are not fixed"),
    # current sources
    "different sources in one branch": (
        "I1: A (J1 ->) B (J2 ->) C (R1) A\nJ1 = 1 A\nJ2 = 2 A\n",
        "sources-contradict", "J1 and J2 follow each other in one branch"),
    "equal sources in one branch": (
        "I1: A (J1 ->) B (J2 ->) C (R1) A\nJ1, J2 = 2 A\n",
        "source-voltages-not-fixed", "nothing fixes how the voltage is shared between them"),
    "sources that alone lead to a place": (
        "I1: A (J1 ->) B\nI2: B (R1) C\nI3: B (R2) C\nI4: C (J2 ->) D\nI5: D (R3) A\nI6: D (R4) A\n"
        "J1 = 1 A\nJ2 = 3 A\n",
        "sources-contradict", "only J1 and J2 drive current to or from B and C"),
    "a source into an open switch": (
        LOOP + "I3: A (J1 ->) (open S1) B\n",
        "source-at-gap", "J1 would drive its current through S1"),
    "a source into a voltmeter": (
        LOOP + "I3: A (J1 ->) (voltmeter M1) B\n",
        "source-at-gap", "J1 would drive its current through M1"),
    "a source into a capacitor": (
        LOOP + "I3: A (J1 ->) (capacitor C1) B\n",
        "source-at-gap", "J1 would drive its current through C1"),
    "a source on an open end": (
        LOOP + ": A (J1 ->) Z\nask voltage Z A\n",
        "sources-contradict", "only J1 drives current to or from Z"),
    # dependent sources
    "a source that keeps itself up": (
        "I1: A (-E1+) (R1) A\nE1 = 2 ohm * I1\nR1 = 2 ohm\n",
        "currents-not-fixed", "E1 follows I1 just so that they keep each other up"),
    "a source that contradicts itself": (
        "I1: A (-E1+) (-E2+) (R1) A\nE1 = 2 ohm * I1\nR1 = 2 ohm\nE2 = 3 V\n",
        "currents-not-fixed", "E1 follows I1 just so that"),
    "a source that follows its own voltage": (
        LOOP + "E1 = 2 * V(B,A)\nR1, R2 = 1 ohm\n", "currents-not-fixed", "E1 follows V(B,A)"),
    # pieces
    "two circuits": (SPLIT, "two-circuits", "no walk leads from the points A to the points C"),
    "two circuits and a voltmeter": (
        SPLIT + ": A (voltmeter M1) C\n", "joined-by-gaps",
        "only M1 joins the circuit at A to the circuit at C"),
    "two circuits and a capacitor": (
        SPLIT + ": A (capacitor C1) C\n", "joined-by-gaps",
        "only C1 joins the circuit at A to the circuit at C"),
    "a ground in another circuit": (
        "I1: A (-E1+) (R1) B (R3) A\nI2: C (-E2+) (R2) D (R4) C\nground C\nask potential B\n",
        "two-circuits", "no walk leads from the points A, B to the points C, D"),
    "a loose end": (LOOP + ": A (R3) Z\n", "loose-end", "Z is a loose end: nothing goes on behind R3"),
    "nothing closed": (
        ": A (-E1+) B\nask voltage B A\n", "nothing-closed", "no current flows: it ends at A, B"),
    # voltages and charges that nothing fixes
    "a voltage behind an open switch": (
        LOOP + ": A (open S1) Z\nask voltage Z B\n",
        "voltage-not-fixed", "nothing but S1 leads to the place at Z"),
    "voltmeters in a row": (
        LOOP + ": A (voltmeter M1) Q (voltmeter M2) B\nask reading of M1\n",
        "voltage-not-fixed", "nothing but M1 and M2 leads to the place at Q"),
    "capacitors in a row": (
        LOOP + ": A (capacitor C1) Q (capacitor C2) B\nask charge on C1\n",
        "voltage-not-fixed", "nothing but the capacitors C1 and C2 leads to the place between them at Q"),
    "a capacitor behind a switch": (
        LOOP + ": A (open S1) Q (capacitor C2) B\nask voltage Q A\n",
        "voltage-not-fixed", "nothing but S1 and C2 leads to a place at Q"),
    "an island that switches cut off": (
        LOOP + ": A (open S1) P (capacitor C1) Q (open S2) B\nask voltage P A\n",
        "voltage-not-fixed", "nothing but S1 and S2 leads to the place at P and Q"),
    "an island charged before": (
        "I1: A (-E1+) B (capacitor C1) X (capacitor C2) A\n: B (opens S1) X\nuncharged C1, C2\n"
        "ask charge on C1\n",
        "charge-of-before", "more than C1, C2 leads to X before the switches change"),
    # questions without an answer
    "no resistance past a switch": (
        ": A (R1) B (open S1) C\n: C (R2) D\nask resistance A D\n",
        "no-resistance", "no resistance between A and D: nothing but S1 leads"),
    "an efficiency without current": (
        "I1: A (-E1 r1+) (open S1) A\nask efficiency of E1\n",
        "no-efficiency", "no current flows in E1"),
    "a short circuit without limit": (
        "I1: A (-E1+) (R1) A\nask short circuit current of E1\n",
        "no-internal-resistance", "`E1` has no internal resistance"),
    "a jump of a capacitor": (
        "I1: A (-E1+) B (capacitor C1) A\nE1 = 9 V\nC1 = 1 uF\ninitially V(C1) = 0 V\n"
        "ask transient of C1\n",
        "no-delay", "no resistance lies on the way to C1"),
    "a potential without a ground": (
        LOOP + "ask potential B\n", "no-ground", "no point has the potential zero"),
    "a bridge of batteries to reduce": (
        LOOP + "I3: A (J1 ->) B\nuse method reduction\n",
        "not-reducible", "current sources and dependent sources are not merged"),
    # values
    "a negative resistance": (
        LOOP + "R1 = -2 ohm\n", "negative-resistance", "the resistance `R1` is negative"),
    "a tie below zero": (
        LOOP + "R1 = R2 - 5 ohm\nR2 = 3 ohm\n",
        "negative-resistance", "the resistance `R1` comes out negative"),
    "ties in a circle": (
        LOOP + "R1 = 2 R2\nR2 = R1/2\n", "tie-in-circle", "R1 → R2 → R1"),
    "a capacitance of zero": (
        LOOP + ": A (capacitor C1) B\nC1 = 0 F\n", "no-capacitance", "the capacitance `C1` is zero"),
    "charged and uncharged": (
        "I1: A (-E1+) B (capacitor C1) X (capacitor C2) A\nuncharged C1, C2\n"
        "initially V(C1) = 3 V\nask charge on C1\n",
        "charged-and-uncharged", "C1 is said to begin without charge, and with a voltage as well"),
    "more sought than given": (
        "I1: A (-E1+) (R1) (R2) A\nE1 = ?\nR1 = ?\nI1 = 1 A\nR2 = 1 ohm\n",
        "sought-not-matched", "2 (E1, R1) are sought, and 1 (I1) is given"),
    "given but nothing sought": (
        "I1: A (-E1+) (R1) A\nE1 = 9 V\nR1 = 3 ohm\nI1 = 1 A\n",
        "nothing-sought", "I1 is given, but nothing is sought"),
}  # fmt: skip
"""By what it is: the text, the code of the first diagnostic, and words of its message."""


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_told_in_its_own_words(kind: str) -> None:
    text, code, words = KINDS[kind]
    with pytest.raises(Rejected) as refused:
        prove(Source(kind, text))
    first = refused.value.diagnostics[0]
    assert first.code == code, first.message
    assert words in first.message
    assert first.hints
    assert first.span is not None


def test_there_are_many_kinds() -> None:
    assert len(KINDS) >= 25
    assert len({code for _, code, _ in KINDS.values()}) >= 20


ODD: dict[str, tuple[str, dict[str, float]]] = {
    "an open switch stops all": (
        "I1: A (-E1+) (open S1) B (R1) A\nE1 = 9 V\nR1 = 3 ohm\nask voltage across S1\n",
        {"voltage across S1": 9}),
    "a voltmeter in the row": (
        "I1: A (-E1+) (voltmeter M1) B (R1) A\nE1 = 9 V\nR1 = 3 ohm\nask reading of M1\n",
        {"reading of M1": 9}),
    "a capacitor across a battery": (
        "I1: A (-E1+) B\nI2: B (capacitor C1) A\nE1 = 9 V\nC1 = 2 F\nask charge on C1\n",
        {"charge on C1": 18}),
    "a capacitor across a wire": (
        LOOP + VALUES + ": A (capacitor C1) B\nI3: A B\nC1 = 2 F\nask charge on C1\n",
        {"charge on C1": 0}),
    "a switch that shorts a resistor": (
        LOOP + VALUES + "I3: B (closed S1) A\nask current in R1, R2\n",
        {"current in R1": 4.5, "current in R2": 0}),
    "a source shorted by a wire": (
        "I1: A (J1 ->) B\nI2: B A\nJ1 = 2 A\nask power of J1\n", {"power of J1": 0}),
    "a source that drives a battery": (
        "I1: A (J1 ->) B (-E1+) A\nJ1 = 1 A\nE1 = 2 V\nask power of E1, J1\n",
        {"power of E1": 2, "power of J1": -2}),
    "a dependent source with nothing to follow": (
        LOOP + VALUES + "I3: A (R3) (open S1) B\nI4: A (-E2+) (R4) B\nE2 = 2 ohm * I3\n"
        "R3 = 1 ohm\nR4 = 6 ohm\nask current in R4\n", {"current in R4": -0.75}),
}  # fmt: skip
"""Circuits that look wrong and have one solution, found on paper."""


@pytest.mark.parametrize("kind", ODD)
def test_what_only_looks_wrong_is_solved(kind: str) -> None:
    text, expected = ODD[kind]
    proved = prove(Source(kind, text))
    found = contract_of(proved.circuit, proved.derivation, proved.steps, ()).answers
    told = {a.ask: a.result.exact for a in found}
    assert {k: float(v) for k, v in told.items() if v is not None} == pytest.approx(expected)
