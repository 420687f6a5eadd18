"""When series and parallel steps lead to one resistor, and which test says so.

The cases are common practice, no source, but for the bridge: a two-terminal network reduces by
series and parallel steps exactly when its graph, the terminals joined, holds no K4 (Duffin 1965,
quoted from memory), and the single source for one pair of nodes (Millman 1940, from memory).
The resistances in the answers are worked by hand.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.algebra.plain import plain
from derive.algebra.term import Symbol, replace, symbols
from derive.analysis.reduction import Criterion, PointLabel, ReductionVerdict, judge, may_change
from derive.circuit.elaborate import load
from derive.circuit.values import Values, evaluate
from derive.source import Source

_BRIDGE = ": A (-E1+) D\n: A (R1) B\n: A (R2) C\n: B (R3) D\n: C (R4) D\n: B (R5) C\n"


def verdict(text: str) -> ReductionVerdict:
    return judge(load(Source("x", text)).circuit)


def loops(found: ReductionVerdict) -> list[str]:
    """Return what is left as ``+E1-E2: resistance``."""
    return [
        "".join(("+" if along else "-") + symbol.name for symbol, along in loop.emfs)
        + f": {plain(loop.resistance)}"
        for loop in found.reduced
    ]


@pytest.mark.parametrize(
    ("text", "test", "left"),
    [
        # Batteries in one branch, after series and parallel steps.
        (": A (-E1+) B (R1) (R2) A", Criterion.ONE_BRANCH, ["+E1: R1 + R2"]),
        (": A (-E1 r1+) B (-E2+) C (R1) A", Criterion.ONE_BRANCH, ["+E1+E2: r1 + R1"]),
        (": A (-E1+) B (R1) C (+E2-) (R2) A", Criterion.ONE_BRANCH, ["+E1-E2: R1 + R2"]),
        # Two branches in all are one loop, so that they are in series.
        (": A (-E1+) (R1) B\n: A (-E2+) (R2) B", Criterion.ONE_BRANCH, ["+E1-E2: R1 + R2"]),
        (": A (-E1+) B\n: A (R1) B\n: B (R2) A", Criterion.ONE_BRANCH, ["+E1: R1*R2/(R2 + R1)"]),
        (": A (-E1+) B\n: B (R1) C\n: B (R2) C\n: C (-E2+) A", Criterion.ONE_BRANCH,
         ["+E1+E2: R1*R2/(R2 + R1)"]),
        # Behind nodes of equal potential: a wire with a current of its own joins them.
        ("I1: A (-E1+) B\nI2: B B2\nI3: B2 (-E2+) C\nI4: C (R1) A", Criterion.ONE_BRANCH,
         ["+E1+E2: R1"]),
        ("I1: A (-E1+) B\nI2: B C\nI3: C (R1) A\nI4: B (R2) A\nI5: C (R3) A",
         Criterion.ONE_BRANCH, None),
        # An ideal battery across two nodes decouples what lies beside it.
        (": A (-E1+) B\n: A (R1) B\n: A (-E2+) (R2) B", Criterion.IDEAL_BATTERY,
         ["+E1: R1", "+E1-E2: R2"]),
        (": A (-E1+) B\n: A (R1) B\n: B (-E2+) C\n: B (R2) C\n: A (R3) C",
         Criterion.IDEAL_BATTERY, ["+E1: R1", "+E1+E2: R3", "+E2: R2"]),
        (": A (-E1 r1+) B\n: A (R1) B\n: A (-E2+) (R2) B\nr1 = 0 ohm", Criterion.IDEAL_BATTERY,
         None),
        # Equal cells side by side.
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: B (R1) A\nE2 = E1; r2 = r1", Criterion.EQUAL_CELLS,
         None),
        (": A (-E1 r1+) B\n: B (+E2 r2-) A\n: B (R1) A\nE1, E2 = 2 V; r1, r2 = 1 ohm",
         Criterion.EQUAL_CELLS, None),
        # Parts that hang together by one point, or by a branch without a way back.
        (": A (-E1+) B (R1) A\n: A (R2) C (-E2+) A", Criterion.SEPARABLE,
         ["+E1: R1", "+E2: R2"]),
        (": A (-E1+) B (R1) A\n: A (R5) X\n: X (R2) C (-E2+) X", Criterion.SEPARABLE,
         ["+E1: R1", "+E2: R2"]),
        # Dead and shorted parts.
        (": A (-E1+) B\n: B (R1) A\n: B (-E2+) T\nask voltage T A", Criterion.DEAD_PARTS,
         ["+E1: R1"]),
        ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C A", Criterion.DEAD_PARTS, ["+E1: R1"]),
        (": A (-E1+) B (R1) A\n: A (R2) X\n: X (R3) Y\n: X (R4) Y", Criterion.DEAD_PARTS,
         ["+E1: R1"]),
        ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C (R3) A\nR3 = 0 ohm", Criterion.DEAD_PARTS,
         ["+E1: R1"]),
        # A bridge that values or ties prove to be balanced.
        (_BRIDGE + "R2 = R1\nR4 = R3", Criterion.BALANCED_BRIDGE, None),
        (_BRIDGE + "R1 = 2 ohm; R2 = 4 ohm; R3 = 3 ohm; R4 = 6 ohm", Criterion.BALANCED_BRIDGE,
         None),
        (_BRIDGE + "R3 = 3 R1\nR4 = 3 R2", Criterion.BALANCED_BRIDGE, None),
    ],
)  # fmt: skip
def test_what_reduces(text: str, test: Criterion, left: list[str] | None) -> None:
    found = verdict(text)
    assert (found.reducible, found.test) == (True, test), found.text
    assert found.opening.startswith("Yes")
    assert "Kirchhoff" not in found.text
    assert left is None or loops(found) == left


@pytest.mark.parametrize(
    ("text", "test"),
    [
        ("I1: A (-E1+) (R1) C\nI2: A (R4) (-E2+) (R2) C\nI3: C (R3) A", Criterion.NODE_PAIR),
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: A (-E3 r3+) B\n: B (R1) A\n"
         "E1, E2, E3 = 2 V\nr1, r2 = 1 ohm", Criterion.NODE_PAIR),
        # The same emf is not enough, and neither is the same resistance.
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: B (R1) A\nE2 = E1", Criterion.NODE_PAIR),
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: B (R1) A\nr2 = r1", Criterion.NODE_PAIR),
        # Equal cells, one of them the other way round, do not act as one.
        (": A (-E1 r1+) B\n: A (+E2 r2-) B\n: B (R1) A\nE2 = E1; r2 = r1", Criterion.NODE_PAIR),
        (": A (-E1+) (R1) B\n: B (R2) C\n: B (-E2+) (R3) A\n: C (-E3+) (R4) A\n: C (R5) A",
         Criterion.SEVERAL_BRANCHES),
        # The converse trap: one battery, and yet not one resistor (K4; Duffin 1965).
        (_BRIDGE, Criterion.UNBALANCED_BRIDGE),
        (_BRIDGE + "R1, R2, R3 = 2 ohm\nR4, R5 = 6 ohm", Criterion.UNBALANCED_BRIDGE),
        (_BRIDGE.replace("(-E1+)", "(-E1+) (R6) (-E2+)"), Criterion.UNBALANCED_BRIDGE),
        (_BRIDGE.replace("(R5)", "(R5) (-E2+)"), Criterion.SEVERAL_BRANCHES),
        # The part beside an ideal battery may itself be a bridge.
        (_BRIDGE + ": A (-E2+) (R6) D", Criterion.IDEAL_BATTERY),
        (": A (R1) B (R2) A", Criterion.NO_CURRENT),
        (": A (R1) B\n: B (R2) A\n: A (-E1+) T\nask voltage T A", Criterion.NO_CURRENT),
    ],
)  # fmt: skip
def test_what_does_not_reduce(text: str, test: Criterion) -> None:
    found = verdict(text)
    assert (found.reducible, found.test) == (False, test), found.text
    assert not found.reduced


def test_balance_is_not_claimed_for_a_battery_of_zero_volts() -> None:
    found = verdict(_BRIDGE + "E1 = 0 V")
    assert found.test is Criterion.UNBALANCED_BRIDGE


def ohms(text: str) -> Fraction:
    """Return the value of the one resistor that is left."""
    circuit = load(Source("x", text)).circuit
    values = Values(circuit)
    (loop,) = judge(circuit).reduced
    known = {symbol: values.actual(symbol) for symbol in symbols(loop.resistance)}
    return evaluate(replace(loop.resistance, known))


def test_resistance_by_hand() -> None:
    # (2 + 3) ohm beside (4 + 6) ohm: 10/3 ohm; nothing flows in R5, which stays a letter.
    balanced = _BRIDGE + "R1 = 2 ohm; R2 = 4 ohm; R3 = 3 ohm; R4 = 6 ohm"
    assert ohms(balanced) == Fraction(10, 3)
    # Three cells of 6 ohm side by side, with 5 ohm: 6/3 + 5 = 7 ohm.
    cells = (
        ": A (-E1 r1+) B\n: A (-E2 r2+) B\n: A (-E3 r3+) B\n: B (R1) A\n"
        "E1 = 3 V; E2, E3 = E1\nr1 = 6 ohm; r2, r3 = r1; R1 = 5 ohm"
    )
    assert ohms(cells) == 7


def test_names_stay_symbols_and_points() -> None:
    found = verdict(_BRIDGE)
    names = [piece.name for piece in found.pieces if isinstance(piece, Symbol)]
    points = [piece.name for piece in found.pieces if isinstance(piece, PointLabel)]
    assert (names, points) == (["E1", "R5"], ["B", "C"])
    assert not any(isinstance(p, str) and "R5" in p for p in found.pieces)
    assert found.reason in found.text


def test_the_reason_says_what_may_be_added() -> None:
    text = "I1: A (-E1+) (R1) C\nI2: A (R4) (-E2+) (R2) C\nI3: C (R3) A\nI4: C (R5) A"
    reason = verdict(text).reason
    assert "R2 and R4 carry the same current and may be added." in reason
    assert "R3 and R5 are in parallel" in reason
    assert "because E1 and E2 stand between them in two different branches" in reason
    assert "Millman" in reason
    assert "from A to C" in reason


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("I1: A (-E1+) B (R1) C\nI2: C (R2) A\nI3: C A",
         "R2 has both its ends at one potential: no current flows there."),
        (": A (-E1+) B (R1) A\n: A (R5) X\n: X (R2) C (-E2+) X",
         "R5 leads to points from which no other way comes back: no current flows there."),
        (": A (-E1+) B (R1) A\n: A (R2) C (-E2+) A", "hang together only at the point A"),
        (_BRIDGE + "R2 = R1\nR4 = R3", "R1 times R4 equals R2 times R3"),
        (_BRIDGE, "nothing says that it is balanced"),
        (_BRIDGE + "R1, R2, R3 = 2 ohm\nR4, R5 = 6 ohm", "it is not balanced"),
        (": A (-E1 r1+) B (-E2+) C (R1) A", "More than one battery does no harm here."),
    ],
)  # fmt: skip
def test_words(text: str, words: str) -> None:
    assert words in verdict(text).reason


def test_an_endless_ladder() -> None:
    # With R = 1 ohm everywhere a long ladder comes close to the golden ratio, its exact value
    # being a quotient of Fibonacci numbers (known from memory): F(2n + 1) / F(2n) for n rungs.
    rungs = 40
    lines = [f": P{k} (R{2 * k}) P{k + 1}\n: P{k + 1} (R{2 * k + 1}) Q" for k in range(rungs)]
    names = ", ".join(f"R{k}" for k in range(2 * rungs))
    text = ": Q (-E1+) P0\n" + "\n".join(lines) + f"\n{names} = 1 ohm"
    fibonacci = [0, 1]
    while len(fibonacci) < 2 * rungs + 2:
        fibonacci.append(fibonacci[-1] + fibonacci[-2])
    assert ohms(text) == Fraction(fibonacci[2 * rungs + 1], fibonacci[2 * rungs])


_CUBE = [(a, a | bit) for a in range(8) for bit in (1, 2, 4) if not a & bit]


@pytest.mark.parametrize(
    ("far", "part", "test"),
    # A cube of equal resistors, between the ends of an edge, of a face diagonal and of a space
    # diagonal: 7/12, 3/4 and 5/6 of one resistance (textbook values, from memory).
    [
        (1, Fraction(7, 12), Criterion.EQUAL_POTENTIALS),
        (3, Fraction(3, 4), Criterion.BALANCED_BRIDGE),
        (7, Fraction(5, 6), Criterion.EQUAL_POTENTIALS),
    ],
)
@pytest.mark.parametrize("letter", [False, True])
def test_a_cube_of_equal_resistors(far: int, part: Fraction, test: Criterion, letter: bool) -> None:
    lines = [f": P{a} (R{k}) P{b}" for k, (a, b) in enumerate(_CUBE)]
    names = ", ".join(f"R{k}" for k in range(1, 12))
    text = f": P0 (-E1+) P{far}\n" + "\n".join(lines) + f"\n{names} = R0\n"
    found = verdict(text if letter else text + "R0 = 6 ohm\nE1 = 1 V")
    assert (found.reducible, found.test) == (True, test), found.text
    assert ohms(text + "R0 = 6 ohm\nE1 = 1 V") == 6 * part
    # Two letters, or a resistance apart from the others: nothing is at equal potentials.
    apart = text.replace("R5, ", "")
    assert verdict(apart).test is Criterion.UNBALANCED_BRIDGE


def test_no_part_of_a_decoupled_circuit_reduces() -> None:
    part = "(-E{0}+) (R{0}) X{1}\n: A (-E{2}+) (R{2}) X{1}\n: X{1} (R{3}) B\n: A "
    text = ": A (-E9+) B\n: A " + part.format(1, 1, 2, 3) + part.format(4, 2, 5, 6)
    found = verdict(text.removesuffix(": A "))
    assert (found.reducible, found.test) == (False, Criterion.IDEAL_BATTERY)
    assert found.opening == "Not to a resistor alone."
    assert "  " not in found.text


@pytest.mark.parametrize(
    ("text", "may"),
    [
        (_BRIDGE, True),  # as soon as it is balanced
        (_BRIDGE + "R2 = R1; R4 = R3\n", False),  # balanced whatever the values are
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: B (R3) A\n", True),  # as soon as both are alike
        (": A (-E1 r1+) B\n: A (-E2 r2+) B\n: B (R3) A\nE2 = E1; r2 = r1\n", False),
        (": A (-E1 r1+) (R1) B\n: A (R2) B\n: A (R3) B\n", False),
        (": A (-E1+) B\n: A (-E2 r2+) B\n: B (R3) A\n", False),  # one without resistance
        (": A (-E1+) B\n: B (R1) C\n: B (-E2 r2+) C\n: B (-E3 r3+) C\n: C (R4) A\n", True),
        (": A (J1 ->) B\n: A (-E2 r2+) B\n: B (R3) A\n", False),
    ],
)
def test_which_verdicts_other_values_may_change(text: str, may: bool) -> None:
    assert may_change(load(Source("x", f'circuit "x"\n{text}')).circuit) is may
