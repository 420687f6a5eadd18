"""A document of our own that holds every kind of block, inline, relation and term."""

from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import AMPERE, OHM, VOLT, WATT, Dimension
from derive.algebra.term import (
    ZERO,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    current,
    emf,
    product,
    resistance,
)
from derive.document.model import (
    Align,
    AnswerLine,
    Box,
    BoxKind,
    Caution,
    Chain,
    Display,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    PointPath,
    Reference,
    Relation,
    Row,
    Section,
    SideBySide,
    SignedTerm,
    Strong,
    Table,
    Text,
    Values,
)
from derive.drawing.model import Box as Bounds
from derive.drawing.model import Drawing, Point, Wire
from derive.typesetting.style import Decimal, Expression, Style

E1, E2 = emf("E1"), emf("E2")
R1, R2, R3, R_LOAD = (resistance(name) for name in ("R1", "R2", "R3", "R_load"))
I1, I2, I3 = (current(name) for name in ("I1", "I2", "I3'"))
V_BA = Symbol("V(B,A)", SymbolKind.VOLTAGE, VOLT)
P_R1 = Symbol("P(R1)", SymbolKind.POWER, WATT)
DELTA = auxiliary("Delta", OHM**2)


def quantity(value: str, dimension: Dimension) -> Quantity:
    return Quantity(Fraction(value), dimension)


def equal(left: Expression, *others: Expression) -> Chain:
    return Chain((left, *others), (Relation.EQUAL,) * len(others))


def long_sum(count: int) -> Sum:
    """A sum of products of three resistances."""
    return Sum(
        tuple(Product(tuple(resistance(f"R{k + j}") for j in range(3))) for k in range(1, count))
    )


CORNERS = tuple(Point(x, y) for x, y in ((0, 0), (0, 30), (50, 30), (50, 0), (0, 0)))
DRAWING = Drawing((Wire(CORNERS),), (), (), (), (), None, (), Bounds(-1, -1, 51, 31))
FIGURE = Figure(
    DRAWING,
    (Text("Loop "), Math(PointPath(("A", "B", "C", "A")))),
    "A rectangle of wire.",
    "A rectangle of wire with the points A, B and C. It holds nothing else.",
)


def _crossing(symbol: Symbol, words: str, arrow: Symbol | None, end: str, change: Term):
    middle: tuple[Inline, ...] = (Math(arrow),) if arrow else ()
    return ((Math(symbol),), (Text(words), *middle, Text(end)), (SignedTerm(change),))


TABLE = Table(
    ((Text("part"),), (Text("how it is met"),), (Text("change"),)),
    (
        _crossing(E1, "from − to +: a rise", None, "", E1),
        _crossing(R1, "along the arrow of ", I1, ": a fall", Negative(product(R1, I1))),
    ),
    (Align.LEFT, Align.STRETCH, Align.RIGHT),
    "two changes",
)
PLAIN_TABLE = Table(
    ((Text("what"),), (Text("value"),)),
    (((Text("voltage"),), (Math(Decimal("12.5", 3, VOLT)),)),),
    (Align.LEFT, Align.RIGHT),
    "one value",
)
FORMULA = Quotient(Sum((Product((Sum((R2, R3)), E1)), Negative(product(R3, E2)))), DELTA)
SECTIONS = (
    Section(
        (),
        (
            SideBySide(
                (
                    Paragraph((Text("A frost heater "), Math(R3), Text(" has two batteries."))),
                    Values(
                        (
                            equal(E1, quantity("12", VOLT)),
                            equal(E2, quantity("9", VOLT)),
                            equal(R1, quantity("2", OHM)),
                            equal(R2, quantity("1", OHM)),
                            equal(R_LOAD, quantity("3/2", OHM)),
                        )
                    ),
                ),
                (replace(FIGURE, caption=()),),
                Fraction(2, 5),
            ),
        ),
    ),
    Section(
        (Text("Junction rule at "), Math(PointName("C"))),
        (
            Paragraph((Strong((Text("In and out: "), Math(I1))), Text(" and more."))),
            Display((Row(equal(Sum((I1, I2)), I3), 1),)),
        ),
    ),
    Section(
        (Text("Loop rule"),),
        (
            Paragraph((Text("One loop."),)),
            SideBySide((FIGURE,), (TABLE,), Fraction(1, 3)),
            Display((Row(equal(Sum((E1, Negative(product(R1, I1)))), ZERO), 2),)),
            TABLE,
            Display((Row(equal(long_sum(30), ZERO), 3, (Text("from "), Reference(2))),)),
        ),
    ),
    Section(
        (Text("Solve"),),
        (
            Display(
                (
                    Row(equal(DELTA, long_sum(20)), 4, (Reference(1), Text(" in "), Reference(2))),
                    Row(equal(Product((long_sum(18), I1)), Product((long_sum(12), E1))), 5),
                    Row(
                        equal(I2, FORMULA),
                        6,
                        (Text("a very long source that cannot stand beside its equation " * 2),),
                    ),
                )
            ),
            Display(
                (
                    Row(equal(I1, Quotient(long_sum(30), long_sum(15))), 7),
                    Row(Chain((I1, V_BA), (Relation.NOT_EQUAL,))),
                    Row(Chain((P_R1, ZERO), (Relation.GREATER,))),
                    Row(Chain((I1, ZERO), (Relation.TENDS,)), None, (Text("as R → ∞"),)),
                    Row(Chain((P_R1, Parallel((R1, R2))), (Relation.LESS,)), None, (Text("why"),)),
                )
            ),
        ),
    ),
    Section(
        (Text("Formula and answers"),),
        (
            Box(
                BoxKind.FORMULA,
                (Text("The formula"),),
                (Display((Row(equal(I1, FORMULA)), Row(equal(DELTA, long_sum(12))))),),
            ),
            Box(BoxKind.FORMULA, (), (Display((Row(equal(I1, FORMULA), 8),)), PLAIN_TABLE)),
            PLAIN_TABLE,
            Caution((Text("Charging "), Math(E2), Text(" may harm it."))),
            AnswerLine((equal(I1, Decimal("3.00", 0, AMPERE)),), ()),
            Box(
                BoxKind.ANSWERS,
                (Text("Answers"),),
                (
                    AnswerLine(
                        (
                            Chain(
                                (I1, Quantity(Fraction(17, 12), AMPERE), Decimal("1.42", 0, AMPERE)),
                                (Relation.EQUAL, Relation.APPROXIMATE),
                            ),
                            equal(I2, Decimal("-21.3", -3, AMPERE)),
                            equal(I3, long_sum(25)),
                            equal(Power(I3, 2), Number(Fraction(2))),
                        ),
                        (Text("as drawn"),),
                    ),
                ),
            ),
        ),
    ),
    Section((Text("Tall"),), (Box(
        BoxKind.FORMULA, (), (Display(tuple(Row(equal(I1, FORMULA)) for _ in range(30))),)
    ),)),
)  # fmt: skip
DOCUMENT = Document(
    "Two batteries & a heater", "Worked solution", SECTIONS, Style(), "en", "ab" * 32
)
