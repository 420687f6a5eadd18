from derive.diagnostic import Diagnostic, Note, render
from derive.source import Source, Span


def test_caret_stands_under_the_fault() -> None:
    source = Source("heater.circuit", "I1: A (R1) B\nI2: A (R2( B\n")
    start = source.text.index("(R2(") + 3
    fault = Diagnostic("bracket", "a bracket opens here", Span(start, start + 1), ("write )",))
    lines = render(fault, source).splitlines()
    assert lines[0] == "heater.circuit:2:10: error: a bracket opens here"
    assert lines[1].index("(R2(") + 3 == lines[2].index("^")
    assert lines[3] == "  hint: write )"


def test_wide_and_combining_characters_keep_the_caret_in_place() -> None:
    source = Source("a", "中e\u0301x")
    lines = render(Diagnostic("x", "here", Span(3, 4)), source).splitlines()
    # 中 takes two columns, the accent none: x is the fourth column of the text.
    assert lines[2].index("^") == len("    1 | ") + 3


def test_control_characters_do_not_reach_the_terminal() -> None:
    source = Source("a", "x\x1b[31m y")
    shown = render(Diagnostic("x", "found \x1b[2J", Span(0, 1)), source)
    assert "\x1b" not in shown


def test_second_place_is_shown() -> None:
    source = Source("a", "R1 = 1 ohm\nR1 = 2 ohm\n")
    fault = Diagnostic("twice", "again", Span(11, 13), notes=(Note("first", Span(0, 2)),))
    assert "a:1:1: first" in render(fault, source)


def test_a_long_line_is_cut_around_the_fault() -> None:
    source = Source("a", "a" * 5000 + "!" + "b" * 5000)
    lines = render(Diagnostic("x", "here", Span(5000, 5001)), source).splitlines()
    assert len(lines[1]) < 120
    assert lines[1][lines[2].index("^")] == "!"
