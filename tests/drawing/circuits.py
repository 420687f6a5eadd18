"""Circuits for the tests of figures, written as walks; invented data."""

from __future__ import annotations

import random
import re
from collections import Counter
from fractions import Fraction

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import current
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Node, Passage, WalkCurrent
from derive.circuit.valuation import Given, Valuation


def circuit(*walks: str) -> Circuit:
    """Build a circuit from walks between nodes, one branch a walk: ``A (-E1 r1+) B (R1) C``."""
    branches = []
    for k, walk in enumerate(walks, 1):
        stations: list[list[str]] = [[]]
        passages = []
        for word in re.findall(r"\([^)]*\)|\S+", walk):
            if word.startswith("("):
                passages.append(_passage(word[1:-1]))
                stations.append([])
            else:
                stations[-1].append(word)
        branches.append(
            Branch(
                current(f"I{k}"),
                stations[0][0],
                stations[-1][-1],
                tuple(passages),
                tuple(map(tuple, stations)),
            )
        )
    degrees = Counter(end for b in branches for end in (b.tail, b.head))
    return Circuit(
        title="A test",
        statement="",
        nodes=tuple(Node(name, (name,), degree) for name, degree in degrees.items()),
        branches=tuple(branches),
        walks=tuple(WalkCurrent(b.current, k, along=True) for k, b in enumerate(branches)),
        values=_values(branches),
        questions=(),
    )


def _passage(text: str) -> Passage:
    if text[0] in "+-":
        name, _, internal = text[1:-1].partition(" ")
        return Passage(Battery(name, internal or None), along=text[0] == "-")
    return Passage(Resistor(text.removeprefix("lamp "), lamp=text.startswith("lamp ")))


def _values(branches: list[Branch]) -> tuple[Valuation, ...]:
    values = []
    for k, passage in enumerate((p for b in branches for p in b.passages), 3):
        if isinstance(passage.element, Battery):
            values.append(Valuation(passage.element.emf, Given(Fraction(3 * k, 2), VOLT)))
        if passage.element.resistance is not None:
            values.append(Valuation(passage.element.resistance, Given(Fraction(47 * k, 4), OHM)))
    return tuple(values)


def _pairs(pairs: list[tuple[str, str]]) -> Circuit:
    """Put a resistor on every edge of a graph, and a battery on every third."""
    battery = "(-E{k}+) "
    return circuit(
        *(
            f"{a} {battery.format(k=k) if k % 3 == 1 else ''}(R{k}) {b}"
            for k, (a, b) in enumerate(pairs, 1)
        )
    )


def complete(points: str) -> Circuit:
    return _pairs([(a, b) for i, a in enumerate(points) for b in points[i + 1 :]])


def wheel(points: str) -> Circuit:
    rim = list(zip(points, points[1:] + points[0], strict=True))
    return _pairs([("M", a) for a in points] + rim)


def ladder(rungs: int) -> Circuit:
    walks = ["G (-E1+) (R1) P1"]
    for k in range(1, rungs - 1):
        walks.append(f"P{k} (S{k}) G")
        onward = f"P{k + 1}" if k < rungs - 2 else "(lamp L1) G"
        walks.append(f"P{k} (T{k}) {onward}")
    return circuit(*walks)


def rungs(count: int, rng: random.Random) -> Circuit:
    """Return two nodes joined by branches of every make."""
    makes = [
        "(-E{k}+) (R{k})",
        "(R{k})",
        "(+E{k}- ) (R{k}) X{k} (S{k})",
        "(R{k}) (-E{k} r{k}+)",
        "",
    ]
    walks = []
    for k in range(1, count + 1):
        make = rng.choice(makes[:-1] if k < count else makes).format(k=k).replace("- )", "-)")
        a, b = rng.sample("AC", 2)
        walks.append(f"{a} {make} {b}")
    return circuit(*walks)


SINGLE = circuit("A (-E1+) B (R1) C (R2) (+E2-) (R3) A")
TWO = circuit("A (-E1+) B (R1) C", "A (R4) (-E2+) (R2) C", "C (R3) A")
THREE = circuit(
    "A (-E1+) B (R1) (R2) (R7) C", "A (-E2+) (R3) C", "A (R4) (+E3-) (R5) C", "C (R6) A"
)
BRIDGE = circuit(
    "A (-E1+) (R1) B", "B (R2) C", "B (R3) D", "C (R4) A", "D (R5) A", "C (-E2+) (R6) D"
)
INTERNAL = circuit("A (-E1 r1+) B (R1) C", "A (+E2 r2-) C", "C (lamp L3) A")
FRAMES = circuit("A (-E1 r1+) P (+E2 r2-) Q (R1) B", "A (R2) B", "B (-E3+) (R3) A")
FOUR = circuit(
    "A (-E1+) (R1) B", "B (R2) C", "C (R3) (-E2+) D", "D (R4) A", "B (R5) M", "M (R6) D",
    "M (R7) C", "A (-E3+) M",
)  # fmt: skip
WIRED = circuit("A (-E1+) (R1) B", "B (R2) A", "B D", "D (R3) A", "D (R4) (+E2-) A")
HINGED = circuit(
    "A (-E1+) (R1) B", "B (R2) A", "B (R3) (-E2+) B", "B (R4) C", "C (R5) (-E3+) C", "A (R6) D"
)
TERMINALS = circuit("A (R1) P", "P (R2) Q", "P (R3) Q", "Q (R4) B")
ONE_PART = circuit("A (R1) B")
LONELY = circuit("A (R1) (-E1+) A")

PLANAR = {
    "single": SINGLE, "frames": FRAMES, "two": TWO, "three": THREE, "bridge": BRIDGE, "internal": INTERNAL,
    "four": FOUR, "wired": WIRED, "hinged": HINGED, "terminals": TERMINALS,
    "one part": ONE_PART, "lonely": LONELY, "ladder of 5": ladder(5), "ladder of 8": ladder(8),
    "wheel of 5": wheel("ABCDE"), "complete on 4": complete("ABCD"),
}  # fmt: skip
NOT_PLANAR = {
    "complete on 5": complete("ABCDE"),
    "three houses": _pairs([(a, b) for a in "ABC" for b in "XYZ"]),
    "complete on 6": complete("ABCDEF"),
    "complete on 7": complete("ABCDEFG"),
    "three and four": _pairs([(a, b) for a in "ABC" for b in "UXYZ"]),
    "four and four": _pairs([(a, b) for a in "ABCD" for b in "UXYZ"]),
    "Petersen": _pairs(
        [
            pair
            for k in range(5)
            for pair in (
                ("ABCDE"[k], "ABCDE"[k - 1]),
                ("ABCDE"[k], "FGHKL"[k]),
                ("FGHKL"[k], "FGHKL"[k - 2]),
            )
        ]
    ),
}
