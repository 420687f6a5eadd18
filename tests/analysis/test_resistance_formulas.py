"""How the formula of a resistance between two points is told: nested, as a fraction, or by names."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from derive.algebra.term import Number, symbols
from derive.algebra.term import replace as put_in
from derive.derivation.algebra import Define
from derive.derivation.step import Conclude
from derive.document.model import AnswerLine, Box
from derive.options import Options
from derive.pipeline import solve
from derive.proving import prove
from derive.source import Source
from derive.typesetting.style import Decimal
from tests.analysis.test_resistance import _plain, answer, value

BRIDGE = ": A (R1) C (R2) B\n: A (R3) D (R4) B\n: C (R5) D\n"


def bridge(values: Sequence[Fraction]) -> Fraction:
    """Return the resistance of a bridge from A to B by its spanning trees (Maxwell 1873)."""
    r1, r2, r3, r4, r5 = values
    above = r1 * r2 * (r3 + r4) + r3 * r4 * (r1 + r2) + r5 * (r1 + r2) * (r3 + r4)
    return above / ((r1 + r3) * (r2 + r4) + r5 * (r1 + r2 + r3 + r4))


def test_what_has_no_short_nested_formula_is_one_fraction() -> None:
    letters = [f"R{k}" for k in range(1, 6)]
    document = solve(Source("bridge", f"{BRIDGE}ask resistance A B\n")).document
    (box,) = [b for s in document.sections for b in s.blocks if isinstance(b, Box)]
    (line,) = [b for b in box.blocks if isinstance(b, AnswerLine)]
    told = line.chains[0].sides[-1]
    assert not isinstance(told, Decimal)
    assert {s.name for s in symbols(told)} == set(letters)
    values = [Fraction(k) for k in (2, 3, 5, 7, 11)]
    known = dict(zip(letters, map(Number, values), strict=True))
    assert _plain(put_in(told, {s: known[s.name] for s in symbols(told)})) == bridge(values)


def test_equal_letters_leave_the_arm_across_out() -> None:
    # Balanced: the arm across carries nothing, and (R1 + R2)/2 is left.
    text = f"{BRIDGE}R3 = R1; R4 = R2\nask resistance A B\n"
    formula, _ = answer(text)
    assert formula is not None
    found = value(formula, {"R1": Fraction(3), "R2": Fraction(8)})
    assert found == Fraction(11, 2)


def test_what_is_too_long_for_a_fraction_keeps_its_names() -> None:
    # A fraction would have as many products as a Fibonacci number with index 52 says.
    walks = "".join(f": P{k} (R{k}) P{k + 1} (S{k}) G\n" for k in range(25))
    proved = prove(Source("ladder", f"{walks}ask resistance P0 G\n"), Options(expanded=True))
    (conclusion,) = (s for s in proved.derivation.steps if isinstance(s, Conclude))
    assert conclusion.formula is not None
    right = proved.derivation.equation(conclusion.formula).right
    assert all("_" in symbol.name for symbol in symbols(right))


def test_names_of_what_is_made_cannot_be_taken_for_numbers() -> None:
    walks = "".join(f": P{k} (R{k}') P{k + 1} (S{k}) G\n" for k in range(25))
    proved = prove(Source("ladder", f"{walks}ask resistance P0 G\n"))
    made = [s.symbol.name for s in proved.derivation.steps if isinstance(s, Define)]
    assert "R_h" in made
    assert not {"R_i", "R_l", "R_o"} & set(made)


def test_numbers_in_names_ascend() -> None:
    text = ": A (R3) P (R1) A\n: A (R2) P\n: P (R4) B\nR1, R2, R3, R4 = 6 ohm\n"
    proved = prove(Source("ascending", f"{text}ask resistance A B\n"))
    made = [s.symbol.name for s in proved.derivation.steps if isinstance(s, Define)]
    assert made[0] == "R123"
