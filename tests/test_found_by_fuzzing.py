"""Inputs with which long runs of `bench/fuzz_language.py` found a fault; each ended in a traceback."""

import pytest

from derive.diagnostic import Rejected
from derive.pipeline import Group, Options, solve
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

FOUND = [
    (FOLLOWER, Options(group=Group.LOOP)),
]


@pytest.mark.parametrize(("circuit", "options"), FOUND)
def test_is_solved(circuit: str, options: Options) -> None:
    assert "Answers" in text.write(solve(Source("found.circuit", circuit), options).document)


@pytest.mark.parametrize(("circuit", "code"), [(SWITCHED, "unknown-point")])
def test_is_refused(circuit: str, code: str) -> None:
    with pytest.raises(Rejected) as caught:
        solve(Source("found.circuit", circuit))
    assert code in {diagnostic.code for diagnostic in caught.value.diagnostics}
