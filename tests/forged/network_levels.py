"""Potentials that are not so, and what is concluded from them."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Parallel,
    Quotient,
    Sum,
    constant,
    current,
    number,
)
from derive.circuit.question import AskCurrentIn
from derive.derivation.algebra import PutInValues
from derive.derivation.exchanges import Exchange, Join, LookBetween
from derive.derivation.laws import PartLaw, PartRule
from derive.derivation.step import Conclude
from tests.forged.network import (
    BRIDGE,
    R1,
    R2,
    R3,
    R4,
    R5,
    Draft,
    R_a,
    forged,
    symbol,
)

DRIVER = "I1: A (-E1+) D (R1) B\nI2: A (R2) B\nI3: A (R3) B\n"
TWO_THIRDS = number(Fraction(2, 3))
BALANCED = BRIDGE + "R1, R2 = 2 ohm; R3, R4 = 4 ohm\n"


@forged("the junction rule fails with these potentials")
def potentials_that_break_the_junction_rule() -> Draft:
    draft = Draft(BRIDGE)
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    return draft


@forged("a potential is told of what hangs on the rest no more")
def potentials_of_what_hung_on_a_part_that_was_left_out() -> Draft:
    """C and D hang on A, and B has another potential; nothing would tell theirs any longer."""
    draft = Draft(
        "I1: A (-E1+) (R1) B\nI2: B (R5) A\nI3: B (R6) A\n"
        "I4: A (R3) C\nI5: A (R4) C\nI6: C (R7) D\nI7: C (R8) D\n"
    )
    draft.all()
    draft.parallel("R3 R4", R_a)
    draft.put(Exchange.IDLE, "R_a")
    draft.levels(A=ZERO, B=ONE, C=ONE, D=ONE)
    return draft


@forged("a value that is needed has not been stated")
def potentials_by_values_that_were_not_stated() -> Draft:
    draft = Draft(BALANCED)
    draft.given("R1 R2 R3")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    return draft


@forged("there is not one emf alone")
def potentials_with_two_batteries() -> Draft:
    draft = Draft(BALANCED.replace("(R5)", "(R5) (-E2+)"))
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    return draft


@forged("a potential is told where nothing can be known of it")
def a_potential_in_the_row_of_the_battery() -> Draft:
    """Only E1 tells the potential of D; said to be that of B, R1 would be without current."""
    draft = Draft(DRIVER)
    draft.all()
    draft.levels(A=ZERO, B=ONE, D=ONE)
    return draft


@forged("a potential is told where nothing can be known of it")
def a_potential_where_nothing_is_left() -> Draft:
    """A star has been exchanged for a mesh, and its middle C is gone."""
    draft = Draft(BRIDGE)
    draft.all()
    side, leg, far = map(symbol, ("R_a", "R_b", "R_c"))
    draft.star((R1, R3, R5), side, leg, far)  # from B to A, from B to D, from A to D
    to_b, to_a = Parallel((leg, R2)), Parallel((far, R4))
    draft.levels(A=ZERO, B=ONE, D=Quotient(to_a, Sum((to_a, to_b))), C=number(5))
    return draft


@forged("a potential is missing")
def the_potential_of_a_point_within_a_row_that_was_drawn_together() -> Draft:
    """P lay between R1 and R2; it is not where the row of R1 + R2 ends."""
    draft = Draft("I1: A (R1) P (R2) B\nI2: A (R3) B\nI3: B (R4) A\n", "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    draft.series("R1 R2", R_a)
    draft.levels(A=ONE, P=ZERO)
    return draft


@forged("a potential is told by a pure number here")
def potentials_of_mixed_units() -> Draft:
    draft = Draft(BALANCED)
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=constant(Fraction(1), VOLT), C=TWO_THIRDS, D=TWO_THIRDS)
    return draft


@forged("no potentials are known")
def points_are_joined_by_potentials_of_another_network() -> Draft:
    """One exchange later they are not known any more."""
    draft = Draft(BALANCED + "I7: B (R6) A\nI8: B (R7) A\n")
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    draft.parallel("R6 R7", R_a)
    draft.add(Join(points=("C", "D")))
    return draft


@forged("its ends are not known to be level")
def a_part_between_unequal_potentials_is_left_out() -> Draft:
    draft = Draft(BALANCED)
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    draft.put(Exchange.LEVEL, "R5 R1")
    return draft


@forged("the formula holds for some values only")
def a_formula_that_holds_for_the_given_values_only() -> Draft:
    draft = Draft(BALANCED, "ask current in R5")
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    zero = draft.back(draft.put(Exchange.LEVEL, "R5"), "R5", current("I6"), ZERO)
    name = current("I(R5)")
    law = Equation(name, current("I6"))
    rule = draft.add(PartRule(kind=PartLaw.CURRENT, part="R5", conclusion=law))
    told = Equation(name, ZERO)
    formula = draft.add(PutInValues(premise=rule, values=(zero,), conclusion=told))
    asked = AskCurrentIn("R5")
    draft.add(Conclude(question=asked, symbol=name, formula=formula, value=None, rounded=None))
    return draft


@forged("the formula holds for some values only")
def a_formula_in_a_current_that_is_known_for_the_given_values_only() -> Draft:
    draft = Draft(BALANCED, "ask current in R5")
    draft.given("R1 R2 R3 R4")
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
    draft.back(draft.put(Exchange.LEVEL, "R5"), "R5", current("I6"), ZERO)
    name = current("I(R5)")
    law = Equation(name, current("I6"))
    rule = draft.add(PartRule(kind=PartLaw.CURRENT, part="R5", conclusion=law))
    asked = AskCurrentIn("R5")
    draft.add(Conclude(question=asked, symbol=name, formula=rule, value=None, rounded=None))
    return draft
