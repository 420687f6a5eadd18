"""Conventions of the trade, each with where it is from.

ISO 80000-1:2022 and the SI Brochure (9th ed., 5.4) are cited from memory.
"""

from fractions import Fraction

import pytest

from derive.algebra.dimension import AMPERE, NUMBER, OHM, SECOND, VOLT, WATT, Dimension
from derive.algebra.term import (
    Negative,
    Number,
    Power,
    Product,
    Quantity,
    Sum,
    Symbol,
    SymbolKind,
    auxiliary,
    current,
    emf,
    product,
    resistance,
)
from derive.circuit.appearance import EmfSymbol
from derive.document.model import Chain, PointName, PointPath, Relation, SignedTerm
from derive.typesetting.style import Decimal, Style
from derive.writers import tex_math, text_math
from derive.writers.notation import Content

POINT = Style()
COMMA = Style(decimal_comma=True)
R1, R2, R3 = resistance("R1"), resistance("R2"), resistance("R3")
I1, E1 = current("I1"), emf("E1")


def _symbol(name: str, kind: SymbolKind) -> Symbol:
    return Symbol(name, kind, VOLT)


@pytest.mark.parametrize(
    ("content", "tex", "text"),
    [
        # Subscripts: numerals upright, words upright, running letters italic (ISO 80000-1, 7.1.3).
        (resistance("R12"), "R_{12}", "R₁₂"),
        (resistance("R_load"), r"R_{\mathrm{load}}", "R_load"),
        (resistance("R_a"), "R_{a}", "R_a"),
        (resistance("R1_load"), r"R_{\mathrm{1},\mathrm{load}}", "R_1,load"),
        (current("I2'"), r"I_{2}^{\prime}", "I₂′"),
        (auxiliary("rho_1", OHM), r"\rho_{1}", "ρ₁"),
        (auxiliary("Delta", OHM), r"\Delta", "Δ"),
        # V_BA for V_B − V_A; a comma only where the names would run together: common practice.
        (_symbol("V(B,A)", SymbolKind.VOLTAGE), "V_{BA}", "V_BA"),
        (_symbol("V(B1,A)", SymbolKind.VOLTAGE), "V_{B_{1},A}", "V_B₁,A"),
        (_symbol("V(R1)", SymbolKind.VOLTAGE), "V_{R_{1}}", "V_R₁"),
        (_symbol("V(E)", SymbolKind.POTENTIAL), "V_{E}", "V_E"),
        (_symbol("P(R1)", SymbolKind.POWER), "P_{R_{1}}", "P_R₁"),
        (_symbol("Pd(E1)", SymbolKind.POWER), r"P_{\mathcal{E}_{1}}", "P_ℰ₁"),
        (PointName("A2"), "A_{2}", "A₂"),
        (PointPath(("A", "B", "A")), r"A\,B\,A", "A\xa0B\xa0A"),
        (SignedTerm(E1), r"+\,\mathcal{E}_{1}", "+\xa0ℰ₁"),
        (SignedTerm(Negative(product(R1, I1))), r"-\,R_{1}\,I_{1}", "−\xa0R₁·I₁"),
        # Products: numbers and like symbols close, unlike ones a thin space apart: common practice.
        (product(R1, R2, I1), r"R_{1}R_{2}\,I_{1}", "R₁·R₂·I₁"),
        (Product((Number(Fraction(2)), I1)), "2I_{1}", "2·I₁"),
        (Product((Sum((R1, R3)), I1)), r"(R_{1} + R_{3})\,I_{1}", "(R₁ + R₃)·I₁"),
        (Product((Quantity(Fraction(2), OHM), I1)), r"(2\,\Omega)\,I_{1}", "(2\xa0Ω)·I₁"),
        (Power(R1, 2), "R_{1}^{2}", "R₁²"),
        # A unit stays with its number, a space between, the symbol upright (SI Brochure 5.4.3).
        (Quantity(Fraction(3, 2), OHM), r"1.5\,\Omega", "1.5\xa0Ω"),
        (Decimal("-21.30", -3, AMPERE), r"-21.30\,\mathrm{mA}", "−21.30\xa0mA"),
        (Decimal("4.7", 3, OHM), r"4.7\,\mathrm{k}\Omega", "4.7\xa0kΩ"),
        (Decimal("2", -6, AMPERE), r"2\,\text{\textmu}\mathrm{A}", "2\xa0µA"),
        # A unit alone belongs to numbers before it; to what has a unit of its own it is a factor.
        (
            Product((Sum((Number(Fraction(2)), Number(Fraction(3)))), Quantity(Fraction(1), OHM))),
            r"(2 + 3)\,\Omega",
            "(2 + 3)\xa0Ω",
        ),
        (
            Product((Quantity(Fraction(27, 2), OHM), Quantity(Fraction(1), VOLT))),
            r"13.5\,\Omega  \cdot 1\,\mathrm{V}",
            "13.5\xa0Ω · 1\xa0V",
        ),
        (Product((R1, Quantity(Fraction(1), VOLT))), r"R_{1}\,(1\,\mathrm{V})", "R₁·(1\xa0V)"),
        (Decimal("1.20", 6, OHM**2), r"1.20\,\mathrm{k}\Omega^{2}", "1.20\xa0kΩ²"),
        (Decimal("5", 0, NUMBER), "5", "5"),
        (Decimal("5", 0, OHM * SECOND), r"5\,\Omega\,\mathrm{s}", "5\xa0Ω·s"),
        # Digits in groups of three from five digits on (SI Brochure 5.4.4).
        (Number(Fraction(1234)), "1234", "1234"),
        (Number(Fraction(1234567)), r"1\,234\,567", "1\xa0234\xa0567"),
        (Decimal("0.12345", 0, VOLT), r"0.123\,45\,\mathrm{V}", "0.123\xa045\xa0V"),
        # A value with no short decimal stays a fraction.
        (Quantity(Fraction(17, 12), AMPERE), r"\frac{17}{12}\,\mathrm{A}", "17/12\xa0A"),
        (Number(Fraction(1, 64)), "0.015\\,625", "0.015\xa0625"),
        (Number(Fraction(1234567, 7)), r"\frac{1\,234\,567}{7}", "1\xa0234\xa0567/7"),
    ],
)  # fmt: skip
def test_set_as_the_trade_does(content: Content, tex: str, text: str) -> None:
    assert tex_math.inline(content, POINT) == tex
    assert text_math.inline(content, POINT) == text


def test_decimal_comma_comes_with_the_cross() -> None:
    # The dot is avoided as a sign of multiplication beside a decimal comma (ISO 80000-2).
    twice = Product((Number(Fraction(2)), Quantity(Fraction(3, 2), OHM)))
    assert tex_math.inline(twice, COMMA) == r"2 \times 1{,}5\,\Omega"
    assert text_math.inline(twice, COMMA) == "2 × 1,5\xa0Ω"
    assert tex_math.inline(twice, POINT) == r"2 \cdot 1.5\,\Omega"


@pytest.mark.parametrize(
    ("emf_symbol", "tex", "text"),
    [
        (EmfSymbol.SCRIPT, r"\mathcal{E}_{1}", "ℰ₁"),
        (EmfSymbol.ITALIC, "E_{1}", "E₁"),
        (EmfSymbol.EPSILON, r"\varepsilon_{1}", "ε₁"),
    ],
)
def test_the_author_chooses_the_emf_symbol(emf_symbol: EmfSymbol, tex: str, text: str) -> None:
    style = Style(emf=emf_symbol)
    assert tex_math.inline(E1, style) == tex
    assert text_math.inline(E1, style) == text
    # A battery called U1 keeps its name.
    assert tex_math.inline(emf("U1"), style) == "U_{1}"


@pytest.mark.parametrize(
    ("value", "dimension", "tex"),
    [
        ("12", VOLT, r"12\,\mathrm{V}"),
        ("4700", OHM, r"4.7\,\mathrm{k}\Omega"),
        ("0.0035", AMPERE, r"3.5\,\mathrm{mA}"),
        ("0.012", WATT, r"12\,\mathrm{mW}"),
        ("13500000", OHM**2, r"13.5\,\mathrm{k}\Omega^{2}"),
        ("9000", VOLT * OHM, r"9\,\mathrm{V}\,\mathrm{k}\Omega"),
    ],
)
def test_one_unit_system_for_exact_values(value: str, dimension: Dimension, tex: str) -> None:
    # kΩ and V go with mA: the numbers on the page are those a reader works with.
    assert tex_math.inline(Quantity(Fraction(value), dimension), Style(ohm_exponent=3)) == tex


def test_powers_of_ten_where_there_is_no_prefix() -> None:
    far = Style(volt_exponent=9, ohm_exponent=-9)
    assert tex_math.inline(Quantity(Fraction(47, 10), AMPERE), far) == r"4.7\,\mathrm{A}"
    tiny = Quantity(Fraction(47, 10**13), AMPERE)
    assert tex_math.inline(tiny, far) == r"4.7 \cdot 10^{-12}\,\mathrm{A}"
    assert tex_math.inline(Decimal("4.7", 5, OHM), POINT) == r"4.7 \cdot 10^{5}\,\Omega"
    assert tex_math.inline(Decimal("4.7e-30", 0, VOLT), POINT) == r"4.7 \cdot 10^{-30}\,\mathrm{V}"


def test_a_chain_reads_from_left_to_right() -> None:
    chain = Chain(
        (I1, Quantity(Fraction(17, 12), AMPERE), Decimal("1.42", 0, AMPERE)),
        (Relation.EQUAL, Relation.APPROXIMATE),
    )
    assert text_math.inline(chain, POINT) == "I₁ = 17/12\xa0A ≈ 1.42\xa0A"


def test_names_cannot_carry_commands() -> None:
    # The language would refuse such names; the writer does not rely on it.
    tex = tex_math.inline(resistance("R_é#$中"), POINT)
    assert r"\#" in tex
    assert r"\$" in tex
    assert "[U+4E2D]" in tex
