"""What the figure of a problem shows, in the page and drawn by itself."""

from __future__ import annotations

from fractions import Fraction

import pytest

from derive.algebra.dimension import OHM
from derive.algebra.term import Quantity
from derive.drawing.model import Drawing
from derive.drawing.view import View
from derive.pictures import Subject, draw, illustrate
from derive.source import Source
from derive.typesetting.style import Decimal
from tests.drawing.test_stages import figures
from tests.drawing.test_terminals import GIVEN, LADDER, terminals

FOLLOWER = """
I1: A (R1) C
I2: C (R2) B
I3: C (-E1+) D (R3) B
E1 = 3 ohm * I1; R1 = 3 ohm; R2, R3 = 6 ohm
ask resistance A B
"""
TWICE_ASKED = """
: A (R1) B
: B (R2) A
: A (R3) C
: C (R4) A
R1, R2, R3, R4 = 6 ohm
ask resistance A B
ask resistance A C
"""
SWITCHED = """
I1: A (-E1+) B (R1) C
I2: C (R2) A
I3: C (lamp L1) (closes S1) A
E1 = 9 V; R1, R2 = 20 ohm; L1 = 15 ohm
ask currents
"""


def drawn(text: str, view: View | None = None) -> Drawing:
    return draw(Source("problem", text), view or View()).drawing


def letters(drawing: Drawing) -> set[str]:
    return {arrow.current for arrow in drawing.arrows}


def height(drawing: Drawing) -> float:
    ys = [point.y for wire in drawing.wires for point in wire.points]
    return max(ys) - min(ys)


def test_where_resistances_alone_are_asked_for_no_current_has_an_arrow() -> None:
    assert letters(drawn(f"{LADDER}{GIVEN}ask resistance A B\n")) == set()
    assert letters(drawn(f"{LADDER}{GIVEN}I: A (-E1+) B\nask resistance A B\n")) == set()
    assert letters(figures(f"{LADDER}{GIVEN}ask resistance A B\n")[0]) == set()
    assert letters(drawn("I1: A (-E1+) (R1) A\n")) == {"I1"}


def test_a_current_on_which_a_source_depends_has_its_arrow() -> None:
    assert letters(drawn(FOLLOWER)) == {"I1"}
    assert letters(figures(FOLLOWER)[0]) == {"I1"}
    assert letters(drawn(FOLLOWER, View(currents=False))) == set()
    assert letters(drawn(f"{FOLLOWER}ask resistance C B\nask current in R1\n")) > {"I1"}


def test_values_are_shown_as_they_are_given() -> None:
    text = (
        "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\n"
        "E1 = 4.50 V; R1 = 680 ohm; R2 = 50 mohm; R3 = 3/2 kohm\n"
    )
    shown = [label.content for label in drawn(text, View(values=True)).labels]
    decimals = {(d.digits, d.unit_exponent) for d in shown if isinstance(d, Decimal)}
    assert decimals == {("4.50", 0), ("680", 0), ("50", -3)}
    # What is no decimal is shown as it always was.
    assert [content for content in shown if isinstance(content, Quantity)] == [
        Quantity(Fraction(1500), OHM)
    ]


def test_both_states_of_a_switch_are_as_high_and_as_wide() -> None:
    after, before = illustrate(Source("switched", SWITCHED), (Subject.CIRCUIT,), View())
    assert height(before.drawing) == pytest.approx(height(after.drawing), abs=0.01)
    page = figures(SWITCHED)[:2]
    assert height(page[0]) == pytest.approx(height(page[1]), abs=0.01)


def test_a_narrow_figure_does_not_get_much_higher_where_it_is_widened() -> None:
    drawing = figures(TWICE_ASKED)[0]
    assert terminals(drawing) == {}
    assert drawing.height < 1.1 * drawing.width
