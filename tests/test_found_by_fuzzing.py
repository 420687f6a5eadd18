"""Inputs with which `bench/fuzz_language.py`, or a hostile hand, found a fault.

Each ended in a traceback, in a derivation that was not accepted, or after minutes.
"""

import pytest

from derive.diagnostic import Rejected
from derive.options import Group, Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text

FOLLOWER = """\
I1: A  (-E1+)  (R1)  B
I2: B  (R2)  A
I3: C  (R3)  B
I4: A  (-E2+)  (R4)  C
I5: C  (R5)  A
E2 = 20 ohm * I1
"""
"""A dependent source has a formula and is no current of a loop."""

SWITCHED = """\
I1: A  (-E1+)  B  (R1)  C
: C  (capacitor C1)  A
: C  (opens S1)  (R2)  A
use junction Tap
"""
"""After the switch opens no current can flow, so there is no junction; nor is there a Tap."""

TINY = """\
I1: A  (-E1+)  B  (R1)  A
E1 = 1e-20 V; R1 = 1e20 ohm
ask power in R1
"""
"""No prefix of a unit is that small."""

ROW = "I1: A (-E1+) " + " ".join(f"P{k} (R{k})" for k in range(1, 50)) + " A"
"""The ways to lay so many parts along four stretches of wire are not counted out."""

RUNGS = "\n".join(f": P{k} (Ra{k}) P{k + 1}\n: P{k + 1} (Rb{k}) G" for k in range(3))
FADING = f"""\
: G (-E1+) P0
{RUNGS}
E1 = 12 V; {"; ".join(f"Ra{k} = 1e15 ohm; Rb{k} = 1e-15 ohm" for k in range(3))}
"""
"""The last rung takes a share of the power with more than a hundred noughts."""

BRACKETS = f"""\
statement "{"(" * 30}"
I1: A  (-E1+)  B  (R1)  A
"""
"""Brackets in words are not those of a value."""

FOUND = [
    (FOLLOWER, Options(group=Group.LOOP)),
    (TINY, Options()),
    (ROW, Options()),
    (FADING, Options()),
    (BRACKETS, Options()),
]


@pytest.mark.parametrize(("circuit", "options"), FOUND)
def test_is_solved(circuit: str, options: Options) -> None:
    assert "Answers" in text.write(solve(Source("found.circuit", circuit), options).document)


def test_a_tiny_value_is_written_as_a_power_of_ten() -> None:
    told = text.write(solve(Source("found.circuit", TINY)).document)
    assert "1.00 · 10⁻⁶⁰ W" in told  # (10⁻²⁰ V)²/10²⁰ Ω


SIDE_BY_SIDE = "\n".join(f": A (-E{k} r{k}+) B" for k in range(34))
EACH_TO_EACH = "\n".join(f": P{a} (R{a}_{b}) P{b}" for a in range(11) for b in range(a))
NUMBERS = "\n".join(f"R{a}_{b} = {a + b} ohm" for a in range(11) for b in range(a))


@pytest.mark.parametrize(
    ("circuit", "code"),
    [
        (SWITCHED, "unknown-point"),
        (f'title "{"W " * 501}"\n{FOLLOWER}', "words-too-long"),
        (f'statement "{"a b " * 1251}"\n{TINY}', "words-too-long"),
        (SIDE_BY_SIDE, "too-many-loops"),
        (f"{EACH_TO_EACH}\n{NUMBERS}\nask resistance P0 P1", "too-many-crossings"),
    ],
)
def test_is_refused(circuit: str, code: str) -> None:
    with pytest.raises(Rejected) as caught:
        solve(Source("found.circuit", circuit))
    assert code in {diagnostic.code for diagnostic in caught.value.diagnostics}
