"""Names that one file may hold never look the same in print or become one in a formula.

What is printed is asked of the TeX writer, in each of the three ways to set an emf; what
a formula holds, of Python's parser.
"""

from __future__ import annotations

import ast
from itertools import combinations

import pytest

from derive.algebra.name import unused_name
from derive.algebra.plain import plain
from derive.algebra.term import Symbol, emf, resistance
from derive.circuit.appearance import EmfSymbol
from derive.circuit.elaborate import load
from derive.diagnostic import Rejected
from derive.source import Source
from derive.typesetting.style import Style
from derive.writers.tex_math import inline

_NAMES = (
    "R1", "R_1", "R1'", "R1_prime", "R1_2", "R_1_2", "R12", "E1", "E_1", "ℰ1", "ε1", "epsilon_1",
    "ϵ1", "alpha", "α", "Delta", "Δ", "Delta'", "R_A", "R_Α", "Rin", "R_in", "in", "in_",
)  # fmt: skip


def codes(text: str) -> list[str]:
    try:
        return [found.code for found in load(Source("x", text)).warnings]
    except Rejected as rejected:
        return [found.code for found in rejected.diagnostics]


def in_python(symbol: Symbol) -> str:
    node = ast.parse(plain(symbol), mode="eval").body
    assert isinstance(node, ast.Name)
    return node.id


def alike(one: Symbol, other: Symbol) -> bool:
    if in_python(one) == in_python(other):
        return True
    styles = [Style(symbol) for symbol in EmfSymbol]
    return any(inline(one, style) == inline(other, style) for style in styles)


@pytest.mark.parametrize(("one", "other"), list(combinations(_NAMES, 2)))
def test_names_that_cannot_be_told_apart_are_refused(one: str, other: str) -> None:
    twins = {one, other} == {"R_A", "R_Α"}  # the same shape, though not the same letter
    for first, a in ((f"({one})", resistance(one)), (f"(-{one}+)", emf(one))):
        for second, b in ((f"({other})", resistance(other)), (f"(-{other}+)", emf(other))):
            found = codes(f": A (-E9+) {first} {second} A")
            assert found == (["names-look-alike"] if twins or alike(a, b) else []), (first, second)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (": A (-E1+) (R_x) (Rx) A", "look the same in print"),
        (": A (-E1+) (R') (R_prime) A", "become the same name, `R_prime`, in a formula"),
        (": A (-E1+) (-ℰ1+) (R1) A", "look the same in print"),
        (": A (-ε1+) (-E1+) (R1) A",
         "would look the same in print with `symbols emf epsilon`"),
        (": A_1 (-E1+) (A1) A_1", "look the same in print"),
        (": B' (-E1+) B_prime (R1) B'", "become the same name, `B_prime`, in a formula"),
    ],
)  # fmt: skip
def test_the_message_says_in_what_they_agree(text: str, words: str) -> None:
    with pytest.raises(Rejected) as caught:
        load(Source("x", text))
    (found,) = caught.value.diagnostics
    assert found.message.split("` ", 1)[1].endswith(words)
    name = found.hints[0].rsplit(" ", 1)[1]
    assert found.span is not None
    mended = text[: found.span.start] + name + text[found.span.end :]
    assert codes(mended) == []


def test_a_point_that_is_a_word_does_not_look_like_a_resistor() -> None:
    assert codes(": Rx (-E1+) (R_x) Rx") == []


def test_the_current_of_an_unnamed_walk_does_not_look_like_a_part() -> None:
    walks = load(Source("x", ": A (-E1+) (I_1) B\n: B (I2) A\n: B (R1) A")).circuit.walks
    assert [walk.current.name for walk in walks] == ["I3", "I4", "I5"]


@pytest.mark.parametrize(
    ("wish", "taken", "name"),
    [
        ("Delta", ["R1"], "Delta"), ("Delta", ["Δ"], "Delta'"), ("a1", ["a_1"], "a1'"),
        ("a1", ["a1", "a1_prime"], "a1''"), ("u1", ["υ1"], "u1"),
    ],
)  # fmt: skip
def test_a_made_name_is_like_no_name_of_the_file(wish: str, taken: list[str], name: str) -> None:
    assert unused_name(wish, taken) == name
