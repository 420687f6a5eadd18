"""What each statement of the language is read as."""

from __future__ import annotations

import pytest

from derive.diagnostic import Rejected
from derive.language import syntax as s
from derive.language.parser import LONGEST_FILE, parse, read
from derive.source import Source, Span

_NOWHERE = Span(0, 0)


def name(text: str) -> s.Name:
    return s.Name(text, _NOWHERE)


def number(text: str) -> s.NumberLiteral:
    return s.NumberLiteral(text, _NOWHERE)


def point(text: str) -> s.PointStop:
    return s.PointStop(name(text))


def one(text: str) -> s.Statement:
    (statement,) = parse(Source("x", text)).statements
    return statement


def measure(digits: str, unit: str | None) -> s.Measure:
    word = None if unit is None else s.Text(unit, _NOWHERE)
    return s.Measure(number(digits), word, _NOWHERE)


@pytest.mark.parametrize(
    ("bracket", "stop"),
    [
        ("(R1)", s.ResistorStop(name("R1"), False, _NOWHERE)),
        ("(lamp L1)", s.ResistorStop(name("L1"), True, _NOWHERE)),
        ("(-E1+)", s.BatteryStop(name("E1"), None, True, _NOWHERE)),
        ("(+E1-)", s.BatteryStop(name("E1"), None, False, _NOWHERE)),
        ("(−E1 r1+)", s.BatteryStop(name("E1"), name("r1"), True, _NOWHERE)),
        ("(+E1 r1-)", s.BatteryStop(name("E1"), name("r1"), False, _NOWHERE)),
        ("(J1 ->)", s.CurrentSourceStop(name("J1"), True, _NOWHERE)),
        ("(← J1)", s.CurrentSourceStop(name("J1"), False, _NOWHERE)),
        ("(open S1)", s.SwitchStop(name("S1"), False, _NOWHERE)),
        ("(closed S1)", s.SwitchStop(name("S1"), True, _NOWHERE)),
        ("(closes S1)", s.SwitchStop(name("S1"), True, _NOWHERE, changes=True)),
        ("(opens S1)", s.SwitchStop(name("S1"), False, _NOWHERE, changes=True)),
        ("(ammeter M1)", s.MeterStop(name("M1"), s.Meter.AMMETER, _NOWHERE)),
        ("(voltmeter M2)", s.MeterStop(name("M2"), s.Meter.VOLTMETER, _NOWHERE)),
        ("(capacitor C1)", s.CapacitorStop(name("C1"), _NOWHERE)),
        ("(opened)", s.ResistorStop(name("opened"), False, _NOWHERE)),
        ("(R')", s.ResistorStop(name("R'"), False, _NOWHERE)),
        ("(ℰ_α)", s.ResistorStop(name("ℰ_α"), False, _NOWHERE)),
    ],
)
def test_parts(bracket: str, stop: s.Stop) -> None:
    assert one(f"I1: A {bracket} B") == s.Walk(name("I1"), (point("A"), stop, point("B")), _NOWHERE)


def test_a_walk_goes_on_in_indented_lines() -> None:
    text = "I1: A (R1)  # first\n# a remark\n\n   (R2) B\n      C\n"
    assert one(text) == one("I1: A (R1) (R2) B C")


def test_the_margin_is_that_of_the_leftmost_line() -> None:
    text = "    I1: A (R1)\n        B\n    R1 = 5 ohm\n"
    assert len(parse(Source("x", text)).statements) == 2


def test_a_walk_needs_no_name_and_no_part() -> None:
    assert one(": A B") == s.Walk(None, (point("A"), point("B")), _NOWHERE)


@pytest.mark.parametrize(
    ("right", "value"),
    [
        ("12 V", measure("12", "V")),
        ("12V", measure("12", "V")),
        ("1.5e3 ohm", measure("1.5e3", "ohm")),
        ("3/2 kΩ", measure("3/2", "kΩ")),
        ("3 / 2 ohm", measure("3/2", "ohm")),
        ("4k7", measure("4k7", None)),
        ("1,5 mA", measure("1,5", "mA")),
        ("2 R1", s.Multiple(number("2"), name("R1"), _NOWHERE)),
        ("2E1", s.Multiple(number("2"), name("E1"), _NOWHERE)),
        ("2R1", s.Multiple(number("2"), name("R1"), _NOWHERE)),
        ("3/2 R1", s.Multiple(number("3/2"), name("R1"), _NOWHERE)),
        (
            "E1/2/3",
            s.ProductOf(
                (
                    s.Factor(False, name("E1")),
                    s.Factor(True, measure("2", None)),
                    s.Factor(True, measure("3", None)),
                ),
                _NOWHERE,
            ),
        ),
        (
            "2 ohm * I1",
            s.ProductOf(
                (s.Factor(False, measure("2", "ohm")), s.Factor(False, name("I1"))), _NOWHERE
            ),
        ),
        (
            "R1 - R2 + 1 ohm",
            s.SumOf(
                (
                    s.Addend(False, name("R1")),
                    s.Addend(True, name("R2")),
                    s.Addend(False, measure("1", "ohm")),
                ),
                _NOWHERE,
            ),
        ),
        (
            "2 V(B,A)",
            s.Multiple(number("2"), s.VoltageName(name("B"), name("A"), _NOWHERE), _NOWHERE),
        ),
        ("?", s.Unknown(_NOWHERE)),
    ],
)
def test_values(right: str, value: s.Expression | s.Unknown) -> None:
    assert one(f"X = {right}") == s.ValueStatement((name("X"),), value, None, _NOWHERE)


@pytest.mark.parametrize("sign", ["±", "+-", "+/-"])
def test_a_tolerance(sign: str) -> None:
    assert one(f"R1, R2 = 5 ohm {sign} 5 %") == s.ValueStatement(
        (name("R1"), name("R2")), measure("5", "ohm"), number("5"), _NOWHERE
    )


def test_a_given_voltage() -> None:
    assert one("V(B,A) = 5 V") == s.ValueStatement(
        (s.VoltageName(name("B"), name("A"), _NOWHERE),), measure("5", "V"), None, _NOWHERE
    )


@pytest.mark.parametrize(
    ("text", "kind", "names"),
    [
        ("ask reducible", s.QuestionKind.REDUCIBLE, ""),
        ("ask currents", s.QuestionKind.CURRENTS, ""),
        ("ask current in R1", s.QuestionKind.CURRENT_IN, "R1"),
        ("ask  current   in R1,R2", s.QuestionKind.CURRENT_IN, "R1 R2"),
        ("ask voltage across R1", s.QuestionKind.VOLTAGE_ACROSS, "R1"),
        ("ask voltage B A", s.QuestionKind.VOLTAGE, "B A"),
        ("ask potential B", s.QuestionKind.POTENTIAL, "B"),
        ("ask potentials", s.QuestionKind.POTENTIALS, ""),
        ("ask power in R1", s.QuestionKind.POWER_IN, "R1"),
        ("ask power of E1", s.QuestionKind.POWER_OF, "E1"),
        ("ask terminal voltage of E1", s.QuestionKind.TERMINAL_VOLTAGE, "E1"),
        ("ask loading error of M1", s.QuestionKind.LOADING_ERROR, "M1"),
        ("ask charge on C1", s.QuestionKind.CHARGE_ON, "C1"),
        ("ask energy in C1", s.QuestionKind.ENERGY_IN, "C1"),
        ("ask resistance A B", s.QuestionKind.RESISTANCE, "A B"),
        ("ask value of E2", s.QuestionKind.VALUE_OF, "E2"),
    ],
)
def test_questions(text: str, kind: s.QuestionKind, names: str) -> None:
    assert one(text) == s.Ask(kind, tuple(map(name, names.split())), _NOWHERE)


def test_choices() -> None:
    assert one("use loop A (R4) C A") == s.UseLoop(
        tuple(s.Landmark(name(n), n == "R4") for n in ("A", "R4", "C", "A")), _NOWHERE
    )
    assert one("use junction C, D") == s.UseJunction((name("C"), name("D")), _NOWHERE)
    assert one("eliminate I3, I1") == s.Eliminate((name("I3"), name("I1")), _NOWHERE)
    assert one("use method mesh currents") == s.UseMethod(
        s.Text("mesh currents", _NOWHERE), _NOWHERE
    )
    assert one("ground A") == s.Ground(name("A"), _NOWHERE)


def test_looks() -> None:
    zero, two = s.Coordinate(False, number("0")), s.Coordinate(True, number("2"))
    assert one("place A at 0 -2") == s.Place(name("A"), zero, two, _NOWHERE)
    script = s.Setting(s.SettingKind.EMF_SYMBOL, name("script"), _NOWHERE)
    assert one("symbols emf script") == script
    assert one("figures 3") == s.Figures(number("3"), _NOWHERE)


@pytest.mark.parametrize(
    "text",
    ['title "a # b; c"', "title “a # b; c”", "title „a # b; c“", 'title "a # b;\n    c"  # d'],
)
def test_words(text: str) -> None:
    words = s.Text("a # b; c", _NOWHERE)
    assert one(text) == s.Words(s.WordsKind.TITLE, words, _NOWHERE)


def test_words_of_the_language_are_names_elsewhere() -> None:
    assert one("I1: ask (lamp use) ground (title) at") == s.Walk(
        name("I1"),
        (
            point("ask"),
            s.ResistorStop(name("use"), True, _NOWHERE),
            point("ground"),
            s.ResistorStop(name("title"), False, _NOWHERE),
            point("at"),
        ),
        _NOWHERE,
    )


def test_spans_are_places_in_the_source() -> None:
    text = "\ufeffI1: A (R1) B\r\n\r\nR1 = 5 ohm  # five\r\n  ; E = 3 V"
    walk, first, second = parse(Source("x", text)).statements
    assert isinstance(walk, s.Walk)
    assert [text[stop.name.span.start : stop.name.span.end] for stop in walk.stops] == [
        "A", "R1", "B",
    ]  # fmt: skip
    assert text[first.span.start : first.span.end] == "R1 = 5 ohm"
    assert text[second.span.start : second.span.end] == "E = 3 V"


def test_each_faulty_statement_is_told_of_and_the_others_are_read() -> None:
    reading = read(Source("x", "I1: A (R1\nR1 = 5 ohm\nask what\nE1 = = 3 V; R2 = 2 ohm"))
    codes = [diagnostic.code for diagnostic in reading.diagnostics]
    assert codes == ["bracket-not-closed", "question-unknown", "no-value"]
    assert len(reading.file.statements) == 2
    assert {"I1", "A", "R1", "E1"} <= reading.broken


@pytest.mark.parametrize("ending", ["", "\n", "\r\n", "  ", "\n\n# end"])
def test_a_fault_at_the_end_is_marked_behind_the_last_word(ending: str) -> None:
    (diagnostic,) = read(Source("x", "R1 =" + ending)).diagnostics
    assert diagnostic.span == Span(4, 4)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("title \0", "control-character"),
        ("I1: A\x1b[2J", "control-character"),
        ("I1: A\rB", "control-character"),
        ("I1: \ud800", "control-character"),
        ("#" * (LONGEST_FILE + 1), "file-too-large"),
        ("R1 = " + "(" * 30, "brackets-too-deep"),
        ("I1: " + "A " * 20_000, "statement-too-long"),
        ("figures 3\n" * 5_001, "too-many-statements"),
        ("I1: Ａ (R1) B", "alien-character"),
        ("R1 = ८ ohm", "alien-character"),
    ],
)
def test_texts_that_are_refused_at_once(text: str, code: str) -> None:
    with pytest.raises(Rejected) as caught:
        parse(Source("x", text))
    assert [diagnostic.code for diagnostic in caught.value.diagnostics] == [code]


def test_the_number_of_diagnostics_is_bounded() -> None:
    assert len(read(Source("x", "x\n" * 5_000)).diagnostics) == 50


def test_an_empty_file_has_no_statements() -> None:
    assert parse(Source("x", "\n# nothing\n")).statements == ()
