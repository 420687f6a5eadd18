"""Inputs with which long runs of `bench/fuzz_language.py` found a fault; each ended in a traceback."""

import pytest

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

FOUND = [
    (FOLLOWER, Options(group=Group.LOOP)),
]


@pytest.mark.parametrize(("circuit", "options"), FOUND)
def test_is_solved(circuit: str, options: Options) -> None:
    assert "Answers" in text.write(solve(Source("found.circuit", circuit), options).document)
