"""Circuits without one solution: the text, the code of the diagnostic and its message."""

from __future__ import annotations

PAIR = "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (R1) A\n"
"""Two ideal batteries side by side."""

REFUSED: list[tuple[str, str, str]] = [
    (PAIR + "E1 = 12 V; E2 = 9 V; R1 = 1 ohm", "emfs-contradict",
     "the loop A B A holds only the batteries E1 and E2 and no resistance: the loop rule asks "
     "E1 − E2 = 0, but E1 − E2 = 12 V − 9 V = 3 V"),
    (PAIR, "emfs-contradict",
     "the loop A B A holds only the batteries E1 and E2 and no resistance: the loop rule asks "
     "E1 − E2 = 0, and nothing says that it is so"),
    ("I1: A (-E1 r1+) B\nI2: B (-E2+) A\nI3: B (R1) A\nE1 = 12 V; E2 = 9 V; r1 = 0 ohm",
     "emfs-contradict",
     "the loop A B A holds only the batteries E1 and E2 and no resistance (r1 is 0 ohm): the loop "
     "rule asks E1 + E2 = 0, but E1 + E2 = 12 V + 9 V = 21 V"),
    ("I1: A (-E1+) B\nI2: B (-E2+) C\nI3: A (-E3+) C\nI4: C (R1) A\nI5: B (R2) C\n"
     "E1 = 1 V; E2 = 2 V; E3 = 4 V", "emfs-contradict",
     "the loop A B C A holds only the batteries E1, E2 and E3 and no resistance: the loop rule "
     "asks E1 + E2 − E3 = 0, but E1 + E2 − E3 = 1 V + 2 V − 4 V = −1 V"),
    (PAIR + "E1, E2 = 12 V; R1 = 2 ohm", "currents-not-fixed",
     "the loop A B A holds only the batteries E1 and E2 and no resistance, and "
     "E1 − E2 = 12 V − 12 V = 0 holds whatever the currents are. So I1 and I2 are not fixed: "
     "a current of any size may go round in the loop"),
    ("I1: A (-E1+) B\nI2: B A\nI3: B (R1) A\nE1 = 3 V", "short-circuit",
     "the battery E1 is short-circuited: the loop A B A leads from its + terminal to its − "
     "terminal and holds no resistance. The loop rule asks E1 = 0, but E1 = 3 V"),
    (": A (-E1+) B (R1) A\n: A B", "short-circuit",
     "the battery E1 is short-circuited: the loop A B A leads from its + terminal to its − "
     "terminal and holds no resistance. The loop rule asks E1 = 0"),
    ("I1: A (-E1+) A", "short-circuit",
     "the battery E1 is short-circuited: the loop from A back to A leads from its + terminal to "
     "its − terminal and holds no resistance. The loop rule asks E1 = 0"),
    ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) A\nE1 = 3 V; R1, R3 = 0 ohm",
     "short-circuit",
     "the battery E1 is short-circuited: the loop A B C A leads from its + terminal to its − "
     "terminal and holds no resistance (R1 and R3 are 0 ohm). The loop rule asks E1 = 0, "
     "but E1 = 3 V"),
    ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) A\nR2 = R1 - 5 ohm\nR1 = 5 ohm\nR3 = 0 ohm",
     "currents-not-fixed",
     "the loop C A C holds no resistance (R2 and R3 are 0 ohm). So I2 and I3 are not fixed: "
     "a current of any size may go round in the loop"),
    ("I1: A (-E1+) B (R1) C\nI2: C A\nI3: C A\nE1 = 3 V; R1 = 2 ohm", "currents-not-fixed",
     "the loop C A C is nothing but wire. So I2 and I3 are not fixed: a current of any size may "
     "go round in the loop"),
    ("I1: A B\nI2: B A", "currents-not-fixed",
     "the loop A B A is nothing but wire. So I1 is not fixed: a current of any size may go round "
     "in the loop"),
    ("I1: A (J1 ->) B\nI2: B (<- J2) C\nI3: C (R1) A\nJ1 = 1 A; J2 = 2 A", "sources-contradict",
     "J1 and J2 follow each other in one branch, which has one current: that asks J1 = −J2, but "
     "the values say otherwise"),
    ("I1: A (J1 ->) B\nI2: B (J2 ->) C\nI3: C (R1) A", "sources-contradict",
     "J1 and J2 follow each other in one branch, which has one current: that asks J1 = J2, and "
     "nothing says that it is so"),
    ("I1: A (J1 ->) B\nI2: B (J2 ->) C\nI3: C (R1) A\nJ1 = 1 A; J2 = J1",
     "source-voltages-not-fixed",
     "J1 and J2 follow each other in one branch, which has one current: that asks J1 = J2, and so "
     "it is, but nothing fixes how the voltage is shared between them"),
    ("I1: A (J1 ->) B\nI2: B (R1) C\nI3: B (R2) C\nI4: C (J2 ->) D\nI5: D (R3) A\nI6: D (R4) A\n"
     "J1 = 1 A; J2 = 3 A", "sources-contradict",
     "only J1 and J2 drive current to or from B and C: the junction rule asks −J1 + J2 = 0, but "
     "the values say otherwise"),
    (": A B\nI1: A B", "currents-not-fixed",
     "the loop A B A is nothing but wire. So I1 is not fixed: a current of any size may go round "
     "in the loop"),
]  # fmt: skip
