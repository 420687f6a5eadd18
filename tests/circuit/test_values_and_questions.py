"""Values, ties, questions, choices and looks.

Decimal numbers are checked against `decimal.Decimal` of the standard library.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from derive.algebra.dimension import OHM
from derive.algebra.term import (
    Negative,
    Product,
    Quantity,
    Quotient,
    Sum,
    emf,
    number,
    resistance,
)
from derive.circuit import appearance as a
from derive.circuit import model as m
from derive.circuit import question as q
from derive.circuit.elaborate import elaborate, load
from derive.circuit.register import MOST_PARTS
from derive.diagnostic import Rejected
from derive.language.parser import parse
from derive.source import Source

_LOOP = ": A (-E1 r1+) B (R1) C (R2) D (-E2+) F (lamp L1) A\n"
_NET = "I1: A (-E1+) B (R1) C\nI2: C (R2) P (R3) A\nI3: A (R4) C\nI5: C (R5) D (R6) A\n"


def read(text: str) -> m.Circuit:
    return elaborate(parse(Source("x", text))).circuit


def codes(text: str) -> list[str]:
    try:
        elaborated = load(Source("x", text))
    except Rejected as rejected:
        return [diagnostic.code for diagnostic in rejected.diagnostics]
    return [diagnostic.code for diagnostic in elaborated.warnings]


@pytest.mark.parametrize(
    ("written", "digits"),
    [
        ("5 ohm", "5"), ("1.5 ohm", "1.5"), ("1.5e3 ohm", "1.5e3"), ("15e-1 ohm", "15e-1"),
        ("4.7 kohm", "4700"), ("4k7", "4700"), ("10k", "10000"), ("2M2", "2200000"),
        ("0.3 mΩ", "0.0003"), ("2 µohm", "0.000002"), ("2 uohm", "0.000002"), ("7 nΩ", "7e-9"),
        ("7 pΩ", "7e-12"), ("3 MΩ", "3e6"), ("3 GOhm", "3e9"), ("0 ohm", "0"), ("3/2 ohm", "1.5"),
        ("6 V / 4 A", "1.5"), ("2 ohm + 0.5 ohm", "2.5"), ("2 * 3 ohm", "6"), (".5 ohm", "0.5"),
        ("3 * (2 ohm - 1 ohm)", "3"), ("1 ohm / 8", "0.125"),
    ],
)  # fmt: skip
def test_a_value_is_exact(written: str, digits: str) -> None:
    circuit = read(_LOOP + f"R1 = {written}")
    given = circuit.valuation(resistance("R1"))
    assert given == m.Given(Fraction(Decimal(digits)), OHM)


@pytest.mark.parametrize(
    ("line", "written"),
    [
        ("E1 = 3.00 V", ("3.00", 0)), ("R1 = 4.70 kohm", ("4.70", 3)), ("R1 = 4k7", ("4.7", 3)),
        ("E1 = 100 mV", ("100", -3)), ("R1 = 10k", ("10", 3)), ("R1 = 2M20", ("2.20", 6)),
        ("R1 = .50 Ω", ("0.50", 0)), ("R1 = 0k47", ("0.47", 3)), ("R1 = (3.0 µΩ)", ("3.0", -6)),
        ("R1 = 007 ohm", ("7", 0)), ("R1 = 0.0 ohm", ("0.0", 0)), ("E1 = -3.0 V", ("-3.0", 0)),
        ("R1 = 5 ohm ± 5 %", ("5", 0)), ("decimal comma; R1 = 1,50 Mohm", ("1.50", 6)),
        ("R1 = 1.5e3 ohm", None), ("R1 = 3/2 ohm", None), ("R1 = 2 * 3 ohm", None),
        ("R1 = 6 V / 4 A", None), ("R1 = 1 ohm + 1 ohm", None), ("R1 = 3 ohm / 2", None),
    ],
)  # fmt: skip
def test_a_value_is_kept_as_written(line: str, written: tuple[str, int] | None) -> None:
    (valuation,) = read(_LOOP + line).values
    assert isinstance(valuation.value, m.Given)
    assert valuation.value.written == written
    if written is not None:
        digits, exponent = written
        assert valuation.value.value == Fraction(Decimal(digits).scaleb(exponent))


def test_tolerances_are_said_to_be_unused_once() -> None:
    assert codes(_LOOP + "R1 = 5 ohm ± 5 %\nR2, L1 = 5 ohm +- 1 %") == ["tolerance-not-used"]
    assert codes(_LOOP + "R1 = 2 R2 ± 5 %") == ["tolerance-of-tie"]


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ("use junction A, C", ["every-junction"]), ("use junction C\nuse junction A",
                                                    ["every-junction"]),
        ("use junction A", []), ("eliminate I5, I1, I3, I2", ["every-current-eliminated"]),
        ("eliminate I5, I1\neliminate I3, I2", ["every-current-eliminated"]),
        ("eliminate I5, I1, I3", []),
    ],
)  # fmt: skip
def test_what_is_named_last_is_left_out_where_all_are_named(lines: str, found: list[str]) -> None:
    assert codes(_NET + lines) == found
    choices = read(_NET + lines).choices
    named = [name.strip(",") for line in lines.split("\n") for name in line.split()[1:]]
    named = [name for name in named if name != "junction"]
    kept = (*choices.junctions, *(symbol.name for symbol in choices.eliminate))
    assert kept == tuple(named[: len(named) - len(found)])


def test_a_single_loop_has_nothing_to_eliminate() -> None:
    assert codes(_LOOP + "eliminate I1") == ["every-current-eliminated"]
    assert read(_LOOP + "eliminate I1").choices.eliminate == ()
    assert codes(": A (-E1+) (R1) A\n: A (R2) (-E2+) A\nuse junction A") == ["every-junction"]


def test_an_open_end_has_an_equation_too() -> None:
    text = "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) T\nask voltage T A\nuse junction B"
    assert codes(text) == []
    assert read(text).choices.junctions == ("B",)


def test_no_current_is_called_zero_that_may_be_any() -> None:
    assert codes("I1: A (R1) B; I2: B (R2) A") == ["no-battery"]
    assert codes("I1: A B; I2: B A") == []
    assert codes("I1: A (R1) B; I2: B (R2) A; R1, R2 = 0 ohm") == []


def test_a_third_stays_a_third() -> None:
    circuit = read(_LOOP + "R1 = 1/3 ohm ± 2.5 %")
    assert circuit.valuation(resistance("R1")) == m.Given(Fraction(1, 3), OHM, Fraction(1, 40))


def test_decimal_comma_holds_for_the_whole_file() -> None:
    circuit = read(_LOOP + "R1 = 1,5 ohm\nplace A at 0,5 -1\ndecimal comma")
    assert circuit.valuation(resistance("R1")) == m.Given(Fraction(3, 2), OHM)
    assert circuit.looks.decimal_comma
    assert circuit.looks.places == (("A", Fraction(1, 2), Fraction(-1)),)


def test_ties_keep_what_was_written() -> None:
    r1, r2 = resistance("R1"), resistance("R2")
    circuit = read(_LOOP + "R1 = 2 R2\nL1 = R1 + R2 - 1/2 ohm\nE2 = E1/2\nr1 = R2")
    assert [(v.symbol.name, v.value) for v in circuit.values] == [
        ("R1", m.Tie(Product((number(2), r2)))),
        ("L1", m.Tie(Sum((r1, r2, Negative(Quantity(Fraction(1, 2), OHM)))))),
        ("E2", m.Tie(Quotient(emf("E1"), number(2)))),
        ("r1", m.Tie(r2)),
    ]


def test_quantities_without_value_stay_letters() -> None:
    circuit = read(_LOOP + "R1 = 2 ohm")
    assert circuit.valuation(resistance("R2")) is None


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("R1 = 5", "missing-unit"), ("E1 = 5 ohm", "wrong-unit"), ("R1 = 2 E1", "wrong-unit"),
        ("R1 = R2 + 5 V", "unlike-sum"), ("R1 = -1 ohm", "negative-resistance"),
        ("R1 = 1 ohm - 2 ohm", "negative-resistance"), ("E1 = -1 V", "negative-emf"),
        ("R1 = R1", "tie-in-circle"), ("R1 = R2 * L1", "not-solved-yet"),
        ("R1 = 1 ohm / 0", "division-by-zero"), ("R1 = 1e40 ohm", "exponent-too-large"),
        ("R1 = R2 - L1", "resistance-may-be-negative"), ("A = 5 ohm", "wrong-kind"),
        ("R7 = 5 ohm", "unknown-quantity"), ("I1 = 3 A", "nothing-sought"),
        ("R1 = 2 ohm * I1 / 1 A", "depends-on-solution"),
        ("R1 = 2 R7", "unknown-quantity"), ("R1 = R2 * R2 / R2", "not-solved-yet"),
        ("R1 = " + " + ".join(["R2"] * 51), "value-too-long"),
        ("R1 = 1 ohm " + "* 1e30 " * 20, "value-too-long"),
        ("R1 = 5 ohm; R1 = 5 ohm", "value-twice"), ("R1, R1 = 5 ohm", "value-twice"),
        ("R1 = 5 W", "wrong-unit"),
    ],
)  # fmt: skip
def test_faults_of_values(line: str, code: str) -> None:
    assert codes(_LOOP + line) == [code]


def test_a_tie_to_negative_values_is_found_through_other_ties() -> None:
    assert codes(_LOOP + "R1 = 2 ohm; R2 = 2 R1; L1 = R2 - 5 ohm") == ["negative-resistance"]
    zero = "R1 = 2 ohm; R2 = 2 R1; L1 = R2 - 4 ohm"
    assert codes(_LOOP + zero) == ["resistance-comes-out-zero"]
    assert codes(_LOOP + "R1 = 0 ohm; R2 = 2 R1") == []


def test_a_long_chain_of_ties_is_followed() -> None:
    parts = " ".join(f"(R{k})" for k in range(1, MOST_PARTS))
    ties = "\n".join(f"R{k} = R{k + 1}" for k in range(1, MOST_PARTS - 1))
    assert codes(f": A (-E1+) {parts} A\n{ties}") == []
    assert codes(f": A (-E1+) {parts} A\n{ties}\nR{MOST_PARTS - 1} = R1") == ["tie-in-circle"]


def test_questions_in_file_order() -> None:
    text = (
        "ask power in R1, E1\nask voltage B A\nground A\nask potential D\nask power of E2\n"
        "ask currents\nask terminal voltage of E1\nask current in L1\nask voltage across E1"
    )
    assert read(_LOOP + text).questions == (
        q.AskPowerIn("R1"), q.AskPowerIn("E1"), q.AskVoltage("B", "A"), q.AskPotential("D"),
        q.AskPowerOf("E2"), q.AskCurrents(), q.AskTerminalVoltage("E1"), q.AskCurrentIn("L1"),
        q.AskVoltageAcross("E1"),
    )  # fmt: skip


def test_nothing_asked() -> None:
    assert read(_LOOP).questions == (q.AskReducible(), q.AskCurrents())


def hops(line: str) -> list[str]:
    (loop,) = read(_NET + line).choices.loops
    names = ("I1", "I2", "I3", "I5")
    return [("+" if hop.along else "-") + names[hop.branch] for hop in loop.hops]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("use loop A B C (R4) A", "+I1 -I3"),
        ("use loop C B A (R4) C", "-I1 +I3"),
        ("use loop A (R4) C P A", "+I3 +I2"),
        ("use loop A (R4) C (R2) A", "+I3 +I2"),
        ("use loop A R4 C R3 A", "+I3 +I2"),
        ("use loop P A D C P", "+I2 -I5"),
        ("use loop P A B C P", "+I2 +I1"),
        ("use loop B C (R4) A B", "+I1 -I3"),
        ("use loop (R1) (R4)", "+I1 -I3"),
        ("use loop (R4) (R2) (R3)", "+I3 +I2"),
        ("use loop (R6) (R1)", "+I5 +I1"),
        ("use loop A (I1) C (I3) A", "+I1 -I3"),
        ("use loop A (R1) (R5) D (R6) A", "+I1 +I5"),
    ],
)
def test_loops(line: str, expected: str) -> None:
    assert hops(line) == expected.split()


@pytest.mark.parametrize(
    ("line", "direction"),
    [
        ("use loop A B C A", True), ("use loop A C B A", False), ("use loop B C D B", True),
        ("use loop D C B D", False), ("use loop C D B C", True), ("use loop (R1) (R2) (L1)", True),
        ("use loop (L1) (R2) (R1)", False), ("use loop A A", True),
    ],
)  # fmt: skip
def test_a_single_loop_either_way(line: str, direction: bool) -> None:
    assert read(_LOOP + line).choices.loops == (m.Loop((m.Hop(0, direction),)),)


def test_points_in_the_wrong_order() -> None:
    assert codes(_LOOP + "use loop A C B D A") == ["loop-order"]
    assert codes(_NET + "use loop C (R3) P (R2) A (R4) C") == ["loop-order"]


def test_choices() -> None:
    choices = read(_NET + "use junction C\neliminate I5, I1\nuse method branch currents").choices
    assert choices.junctions == ("C",)
    assert [symbol.name for symbol in choices.eliminate] == ["I5", "I1"]
    assert choices.methods == (m.Method.BRANCH_CURRENTS,)


def test_two_methods_in_their_order() -> None:
    choices = read(_NET + "use method reduction\nuse method branch currents").choices
    assert choices.methods == (m.Method.REDUCTION, m.Method.BRANCH_CURRENTS)
    assert codes(_NET + "use method reduction\nuse method reduction") == ["said-twice"]


def test_the_current_of_a_second_walk_is_eliminated_as_that_of_its_branch() -> None:
    text = "Ia: A (-E1+) B\nIb: C (R1) B\nIc: C (R2) A\nId: A (R3) C\neliminate Ib"
    assert [symbol.name for symbol in read(text).choices.eliminate] == ["Ia"]


def test_looks_and_words() -> None:
    text = (
        'circuit "Lab"\nstatement "Find\n  the current."\nsymbols emf epsilon\nresistors zigzag\n'
        "batteries cells\nbridge diamond\nfigures 4\nplace A at 0 0"
    )
    circuit = read(text + "\n" + _LOOP)
    assert (circuit.title, circuit.statement) == ("Lab", "Find the current.")
    assert circuit.looks == a.Looks(
        emf=a.EmfSymbol.EPSILON,
        resistor=a.ResistorSymbol.ZIGZAG,
        battery=a.BatterySymbol.CELLS,
        bridge=a.BridgeShape.DIAMOND,
        figures=4,
        places=(("A", Fraction(0), Fraction(0)),),
    )
    assert read('title "Better"\n' + text + "\n" + _LOOP).title == "Better"


def test_faults_of_the_language_and_of_the_circuit_come_together() -> None:
    assert codes(_LOOP + "R1 = = 3 ohm\nR2 = 5 V\nask what\nask current in R9") == [
        "no-value", "wrong-unit", "question-unknown", "unknown-part",
    ]  # fmt: skip


def test_a_walk_that_cannot_be_read_hides_no_names() -> None:
    text = ": A (-E1+ B\n: A (R1) C\nE1 = 3 V\nR1 = 3 V\nask voltage B A"
    assert codes(text) == ["bracket-not-closed", "wrong-unit"]
