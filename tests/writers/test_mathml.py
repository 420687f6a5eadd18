"""MathML: only what browsers set by themselves.

Elements and attributes are those of MathML Core (W3C, Working Draft of 2023, from memory).
"""

from fractions import Fraction
from xml.etree import ElementTree

from hypothesis import given, settings

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import Quantity, current, emf, resistance
from derive.circuit.appearance import EmfSymbol
from derive.document.model import PointPath, SignedTerm
from derive.typesetting.layout import Bracket, Letter, Lines, Operator, Over, Sign
from derive.typesetting.style import Decimal, Style
from derive.writers import mathml
from tests.writers.test_notation_means_the_term import _STYLES, _TERMS

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


@settings(max_examples=200, deadline=None)
@given(_TERMS, _STYLES)
def test_no_term_needs_more(term, style) -> None:
    # What it says is tested with the other formats: `test_notation_means_the_term`.
    check_core(ElementTree.fromstring(mathml.inline(term, style)))


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
