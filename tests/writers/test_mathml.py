"""MathML: only what browsers set by themselves, and what it says is the term.

Elements and attributes are those of MathML Core (W3C, Working Draft of 2023, from memory).
"""

import re
from fractions import Fraction
from xml.etree import ElementTree

from hypothesis import given, settings

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import Quantity, Sum, current, emf, product, resistance
from derive.circuit.appearance import EmfSymbol
from derive.document.model import PointPath, SignedTerm
from derive.typesetting.layout import Bracket, Letter, Lines, Operator, Over, Sign
from derive.typesetting.style import Decimal, Style
from derive.writers import mathml
from tests.writers.reading_back import read_tex
from tests.writers.test_notation_means_the_term import _STYLES, _TERMS, _VALUES, _value

_CORE = {
    "math": {"displaystyle"},
    "mi": {"mathvariant"},
    "mn": set(),
    "mtext": set(),
    "mo": {"form", "stretchy", "lspace", "rspace", "separator"},
    "mspace": {"width"},
    "mrow": set(),
    "mfrac": set(),
    "msub": set(),
    "msup": set(),
    "msubsup": set(),
    "mtable": {"class"},
    "mtr": set(),
    "mtd": set(),
}
_CHILDREN = {"mfrac": 2, "msub": 2, "msup": 2, "msubsup": 3}
_OPERATORS = {"⋅": r"\cdot ", "×": r"\times ", "∥": r"\parallel ", "\u2062": " ", "−": "-"}


def check_core(element: ElementTree.Element) -> None:
    allowed = _CORE[element.tag]
    assert set(element.keys()) <= allowed, (element.tag, element.keys())
    if element.tag in _CHILDREN:
        assert len(element) == _CHILDREN[element.tag]
    if element.tag in ("mi", "mn", "mo", "mtext"):
        assert len(element) == 0
        assert element.text
    else:
        assert not (element.text or "").strip()
    if element.tag == "mi":
        # Only a lone letter is slanted by itself, and only that may be told not to be.
        assert "mathvariant" not in element.attrib or len(element.text or "") == 1
    for child in element:
        assert not (child.tail or "").strip()
        check_core(child)


def as_tex(element: ElementTree.Element) -> str:
    """Say the same in TeX, which `reading_back` reads."""
    text = element.text or ""
    inner = [as_tex(child) for child in element]
    match element.tag:
        case "mn":
            return text.replace("\u202f", "").replace(",", ".")
        case "mi":
            upright = len(text) > 1 or "mathvariant" in element.attrib
            if upright and re.fullmatch("[pnµmkMG]?[VΩAWS]", text):
                return _unit(text)
            return {"ℰ": "E", "ε": "E"}.get(text, text)
        case "mo":
            return _OPERATORS.get(text, text)
        case "mspace":
            return r"\,"
        case "mfrac":
            return rf"\frac{{{inner[0]}}}{{{inner[1]}}}"
        case "msub":
            return f"{inner[0]}_{{{inner[1]}}}"
        case "msup":
            return f"{inner[0]}^{{{inner[1]}}}"
        case "msubsup":
            return f"{inner[0]}_{{{inner[1]}}}^{{{inner[2]}}}"
        case _:
            return "".join(inner)


def _unit(text: str) -> str:
    return rf"\mathrm{{{text}}}"


def read(markup: str) -> Fraction:
    tree = ElementTree.fromstring(markup)
    check_core(tree)
    return read_tex(as_tex(tree), _VALUES)


@settings(max_examples=300, deadline=None)
@given(_TERMS, _STYLES)
def test_read_back_gives_the_value_of_the_term(term, style) -> None:
    expected = _value(term)
    assert read(mathml.inline(term, style)) == expected


def test_the_reader_tells_different_formulas_apart() -> None:
    r1, r12, i1 = resistance("R1"), resistance("R12"), current("I1")
    loose, held = Sum((r1, product(r12, i1))), product(Sum((r1, r12)), i1)
    assert read(mathml.inline(loose, Style())) != read(mathml.inline(held, Style()))


def spelled(content, style: Style | None = None) -> str:
    return mathml.inline(content, style or Style())


def test_units_are_upright_and_quantities_are_not() -> None:
    volts = spelled(Quantity(Fraction(12), VOLT))
    assert '<mi mathvariant="normal">V</mi>' in volts
    assert "<mi>kΩ</mi>" in spelled(Decimal("4.70", 3, OHM))
    assert "<mi>I</mi>" in spelled(current("I1"))
    squared = spelled(Quantity(Fraction(2), OHM**2))
    assert '<msup><mi mathvariant="normal">Ω</mi><mn>2</mn></msup>' in squared


def test_subscripts() -> None:
    assert "<msub><mi>R</mi><mi>load</mi></msub>" in spelled(resistance("R_load"))
    assert "<msub><mi>ℰ</mi><mn>1</mn></msub>" in spelled(emf("E1"))
    assert "<mi>ε</mi>" in spelled(emf("E1"), Style(emf=EmfSymbol.EPSILON))
    assert '<mo lspace="0" rspace="0">′</mo>' in spelled(current("I1'"))


def test_digits_are_grouped_and_the_marker_is_the_author_s() -> None:
    assert "<mn>14\u202f450.5</mn>" in spelled(Decimal("14450.5", 0, AMPERE))
    assert "<mn>0,5</mn>" in spelled(Decimal("0.5", 0, AMPERE), Style(decimal_comma=True))


def test_a_sign_that_belongs_to_what_follows_is_a_prefix() -> None:
    assert '<mo form="prefix" lspace="0" rspace="0">−</mo>' in spelled(Decimal("-1", 0, AMPERE))
    assert 'form="prefix"' in spelled(SignedTerm(emf("E1")))


def test_only_tall_parentheses_stretch() -> None:
    tall = (Bracket(True, True), Over((Letter("a"),), (Letter("b"),)), Bracket(False, True))
    assert mathml.spell(tall).count('stretchy="true"') == 2
    assert 'stretchy="true"' not in mathml.spell((Bracket(True, False), Letter("a")))


def test_lines_of_a_long_numerator() -> None:
    lines = Lines(((Letter("a"),), (Operator(Sign.PLUS), Letter("b"))))
    tree = ElementTree.fromstring(f"<math>{mathml.spell((Over((lines,), (Letter('c'),)),))}</math>")
    check_core(tree)
    assert len(tree.findall(".//mtr")) == 2


def test_names_from_the_file_stay_names() -> None:
    path = spelled(PointPath(("A", "B<i>", "C&D")))
    tree = ElementTree.fromstring(path)
    check_core(tree)
    assert "".join(tree.itertext()).replace(" ", "") == "AB<i>C&D"
