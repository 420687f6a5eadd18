"""Forged reductions, written by hand, and where they are refused.

Each ends with the step at fault: all before it hold, so that the number of the step which is
refused tells that the forgery was seen where it is made. What is said to be false is so by
Kirchhoff's rules and Ohm's law (textbook knowledge); the circuits are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import combinations

import pytest

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Parallel,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    current,
    emf,
    number,
    resistance,
)
from derive.checker.kernel import Refusal, check
from derive.circuit.elaborate import load
from derive.circuit.model import AskCurrentIn, AskResistance, Given, Tie
from derive.derivation.step import (
    Agree,
    Conclude,
    Define,
    Derivation,
    Exchange,
    GivenValue,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    PartLaw,
    PartRule,
    PutBack,
    PutInValues,
    Replace,
    Step,
    StepId,
)
from derive.source import Source

KINDS = {"E": emf, "R": resistance, "r": resistance, "I": current}


def symbol(name: str) -> Symbol:
    """Return a symbol by the first letter of its name."""
    if name[0] == "V":
        return Symbol(name, SymbolKind.VOLTAGE, VOLT)
    return KINDS[name[0]](name)


E1, E2, E3, E_a = map(symbol, ("E1", "E2", "E3", "E_a"))
R1, R2, R3, R4, R5 = map(symbol, ("R1", "R2", "R3", "R4", "R5"))
R_a, R_b = map(symbol, ("R_a", "R_b"))
I1, I2, I3, I4 = map(symbol, ("I1", "I2", "I3", "I4"))


class Draft:
    """A derivation under construction."""

    def __init__(self, text: str, question: str = "ask currents") -> None:
        self.circuit = load(Source("x", text + question)).circuit
        self.steps: list[Step] = []

    def add(self, step: Step) -> StepId:
        self.steps.append(step)
        return len(self.steps) - 1

    def given(self, names: str) -> None:
        for letter in map(symbol, names.split()):
            value = self.circuit.valuation(letter)
            assert isinstance(value, Given | Tie)
            right = value.term if isinstance(value, Tie) else constant(value.value, value.dimension)
            self.add(GivenValue(symbol=letter, conclusion=Equation(letter, right)))

    def all(self) -> None:
        self.add(LookAtAll())

    def define(self, name: Symbol, term: Term) -> StepId:
        return self.add(Define(symbol=name, conclusion=Equation(name, term)))

    def put(self, exchange: Exchange, taken: str, *made: Symbol) -> StepId:
        arms = tuple(map(symbol, taken.split()))
        return self.add(Replace(exchange=exchange, taken=arms, made=made))

    def series(self, taken: str, made: Symbol) -> StepId:
        self.define(made, Sum(tuple(map(symbol, taken.split()))))
        return self.put(Exchange.SERIES, taken, made)

    def parallel(self, taken: str, made: Symbol) -> StepId:
        self.define(made, Parallel(tuple(map(symbol, taken.split()))))
        return self.put(Exchange.PARALLEL, taken, made)

    def star(self, arms: tuple[Symbol, ...], *made: Symbol) -> StepId:
        for name, pair in zip(made, combinations(arms, 2), strict=True):
            self.define(name, Quotient(Product(pair), Parallel(arms)))
        return self.add(Replace(exchange=Exchange.STAR, taken=arms, made=made))

    def alike(self, taken: str, source: Symbol, inner: Symbol) -> StepId:
        first, second = map(symbol, taken.split()[:2])
        self.define(source, first)
        self.define(inner, Quotient(second, number(2)))
        return self.put(Exchange.ALIKE, taken, source, inner)

    def levels(self, **levels: Term) -> None:
        self.add(Levels(levels=tuple(levels.items())))

    def back(self, replaced: StepId, arm: str, name: Symbol, term: Term) -> StepId:
        law = Equation(name, term)
        return self.add(PutBack(replaced=replaced, arm=symbol(arm), conclusion=law))

    def left(self, seen: str, term: Term) -> StepId:
        name = Symbol(f"R({seen})", SymbolKind.RESISTANCE, OHM)
        return self.add(LeftBetween(conclusion=Equation(name, term)))

    def refusal(self) -> Refusal | None:
        return check(self.circuit, Derivation(tuple(self.steps))).refusal


Writer = Callable[[], Draft]
FORGERIES: list[tuple[Writer, str]] = []


def forged(reason: str = "") -> Callable[[Writer], Writer]:
    """Collect a forgery whose last step is at fault, and what is to be said of it."""

    def collect(write: Writer) -> Writer:
        FORGERIES.append((write, reason))
        return write

    return collect


PAIR = "I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) A\n"
IDEAL = "I1: A (-E1+) B\nI2: A (R1) B\nI3: B (-E2+) (R2) A\nI4: B (R3) (R4) A\n"
BRIDGE = "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"


# --- exchanges that change what lies outside -----------------------------------------------------


@forged("a current may flow in what is left out")
def a_live_arm_is_left_out() -> Draft:
    draft = Draft(PAIR)
    draft.all()
    draft.put(Exchange.IDLE, "R1")
    return draft


@forged("a current may flow in what is left out")
def a_ring_with_its_battery_is_left_out() -> Draft:
    draft = Draft(PAIR)
    draft.all()
    draft.put(Exchange.IDLE, "E1 r1 R1 R2")
    return draft


@forged("a current may flow in what is left out")
def two_of_three_ways_between_two_places_are_left_out() -> Draft:
    draft = Draft("I1: A (-E1 r1+) B\nI2: B (R1) C\nI3: C (R2) A\nI4: C (R3) A\n")
    draft.all()
    draft.put(Exchange.IDLE, "R2 R3")
    return draft


@forged("no emf without resistance lies beside it")
def a_part_across_a_battery_with_resistance_is_left_out() -> Draft:
    draft = Draft(PAIR)
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    return draft


@forged("no emf without resistance lies beside it")
def a_part_with_one_end_at_a_battery_is_left_out() -> Draft:
    draft = Draft(IDEAL)
    draft.all()
    draft.put(Exchange.ACROSS, "R3")
    return draft


@forged("an emf has no resistance in its row")
def an_emf_across_a_battery_is_left_out_without_its_resistance() -> Draft:
    draft = Draft(IDEAL)
    draft.all()
    draft.put(Exchange.ACROSS, "E2")
    return draft


@forged("no emf without resistance lies beside it")
def a_resistance_across_a_battery_is_left_out_without_its_emf() -> Draft:
    draft = Draft(IDEAL)
    draft.all()
    draft.put(Exchange.ACROSS, "R2")
    return draft


@forged("E_a is defined in another way")
def opposed_emfs_are_added() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) (+E2-) B\nI2: B (R2) A\nI3: B (R3) A\n")
    draft.all()
    draft.define(E_a, Sum((E1, E2)))
    draft.put(Exchange.EMFS, "E1 E2", E_a)
    return draft


@forged("they do not lie in one row, or something branches off between them")
def emfs_with_a_branching_point_between_them_are_added() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: B (-E2+) (R2) A\nI3: B (R3) A\n")
    draft.all()
    draft.define(E_a, Sum((E1, E2)))
    draft.put(Exchange.EMFS, "E1 E2", E_a)
    return draft


@forged("they do not lie in one row, or something branches off between them")
def resistances_with_a_branching_point_between_them_are_added() -> Draft:
    draft = Draft(BRIDGE)
    draft.all()
    draft.series("R1 R3", R_a)
    return draft


@forged("they do not lie in one row, or something branches off between them")
def resistances_on_both_sides_of_a_point_they_are_seen_from_are_added() -> Draft:
    draft = Draft("I1: A (R1) P (R2) B\nI2: B (R3) A\n", "ask resistance A P")
    draft.add(LookBetween(one="A", other="P"))
    draft.series("R2 R1", R_a)
    return draft


@forged("they do not lie between the same two places")
def resistances_with_one_end_in_common_are_side_by_side() -> Draft:
    draft = Draft(BRIDGE)
    draft.all()
    draft.parallel("R1 R2", R_a)
    return draft


@forged("they do not meet, alone, at one place")
def three_that_meet_with_a_fourth_are_a_star() -> Draft:
    draft = Draft(BRIDGE + "I7: C (R6) A\n")
    draft.all()
    draft.star((R1, R3, R5), *map(symbol, ("R_a", "R_b", "R_c")))
    return draft


@forged("E_a is defined in another way")
def a_reversed_battery_counts_forwards() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: A (+E2-) (R2) B\nI3: B (R3) A\n")
    draft.all()
    draft.define(R_a, Parallel((R1, R2)))
    driven = Sum((Quotient(E1, R1), Quotient(E2, R2)))
    draft.define(E_a, Product((R_a, driven)))
    draft.put(Exchange.SOURCES, "E1 R1 E2 R2", E_a, R_a)
    return draft


@forged("there is more, or less, in a row")
def a_row_holds_more_than_is_taken() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) (R4) B\nI3: B (R3) A\n")
    draft.all()
    draft.define(R_a, Parallel((R1, R2)))
    driven = Sum((Quotient(E1, R1), Quotient(E2, R2)))
    draft.define(E_a, Product((R_a, driven)))
    draft.put(Exchange.SOURCES, "E1 R1 E2 R2", E_a, R_a)
    return draft


CELLS = "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: B (R5) A\n"


@forged("they are not alike")
def cells_of_other_emf_are_alike() -> Draft:
    draft = Draft(CELLS + "E1 = 3 V; E2 = 2 V; r1, r2 = 1 ohm\n")
    draft.given("E1 E2 r1 r2")
    draft.all()
    draft.alike("E1 r1 E2 r2", E_a, R_a)
    return draft


@forged("they are not alike")
def opposed_cells_are_alike() -> Draft:
    draft = Draft(CELLS.replace("(-E2 r2+)", "(+E2 r2-)") + "E2 = E1; r2 = r1\n")
    draft.given("E2 r2")
    draft.all()
    draft.alike("E1 r1 E2 r2", E_a, R_a)
    return draft


@forged("a value that is needed has not been stated")
def cells_are_alike_by_values_that_were_not_stated() -> Draft:
    draft = Draft(CELLS + "E1, E2 = 3 V; r1, r2 = 1 ohm\n")
    draft.given("E1 E2 r1")
    draft.all()
    draft.alike("E1 r1 E2 r2", E_a, R_a)
    return draft


@forged()
def equal_cells_make_one_whose_value_was_not_stated() -> Draft:
    """That they are alike is known by ties; 0.5 Ω in a formula would hide the letter r1."""
    draft = Draft(CELLS + "E2 = E1; r2 = r1; r1 = 1 ohm\n")
    draft.given("E2 r2")
    draft.all()
    draft.define(E_a, E1)
    draft.define(R_a, constant(Fraction(1, 2), OHM))
    draft.put(Exchange.ALIKE, "E1 r1 E2 r2", E_a, R_a)
    return draft


@forged()
def the_same_names_are_made_twice() -> Draft:
    """Two pairs of cells would have one current, though one pair charges where the other gives."""
    draft = Draft(
        "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: B (R5) (-E5+) C\nI4: D (-E3+) (R3) C\n"
        "I5: D (-E4+) (R4) C\nI6: D (R6) A\nE1, E2, E3, E4 = 2 V; R1, R2, R3, R4 = 1 ohm\n"
    )
    draft.given("E1 E2 E3 E4 R1 R2 R3 R4")
    draft.all()
    draft.alike("E1 R1 E2 R2", E_a, R_a)
    draft.series("R_a R5", R_b)
    draft.define(symbol("E_b"), Sum((E_a, symbol("E5"))))
    draft.put(Exchange.EMFS, "E_a E5", symbol("E_b"))
    draft.put(Exchange.ALIKE, "E3 R3 E4 R4", E_a, R_a)
    return draft


@forged("R2 is not zero")
def a_resistance_that_is_not_zero_is_a_wire() -> Draft:
    draft = Draft(PAIR + "R2 = 1 ohm\n")
    draft.given("R2")
    draft.all()
    draft.put(Exchange.WIRE, "R2")
    return draft


@forged("a value that is needed has not been stated")
def a_zero_that_was_not_stated_makes_a_wire() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\nR2 = 0 ohm\n")
    draft.all()
    draft.put(Exchange.WIRE, "R2")
    return draft


# --- parts made of the wrong kind ----------------------------------------------------------------


def test_a_made_resistance_cannot_pass_for_an_emf() -> None:
    """It would make all that lies beside it a thing straight across a battery."""
    draft = Draft("I1: A (R1) (R2) B\nI2: A (R3) B\nI3: A (R4) B\n", "ask resistance A B")
    disguised = Symbol("R_a", SymbolKind.EMF, OHM)
    draft.add(LookBetween(one="A", other="B"))
    draft.series("R1 R2", disguised)
    draft.put(Exchange.ACROSS, "R3")
    draft.put(Exchange.ACROSS, "R4")
    answer = draft.left("A,B", disguised)
    asked = AskResistance("A", "B")
    name = Symbol("R(A,B)", SymbolKind.RESISTANCE, OHM)
    draft.add(Conclude(question=asked, symbol=name, formula=answer, value=None, rounded=None))
    assert draft.refusal() is not None


def test_a_made_emf_cannot_pass_for_a_resistance() -> None:
    """It would be left out with the rest, as there would be no emf to drive a current."""
    draft = Draft("I1: A (-E1+) (-E2+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\n", "ask current in R1")
    disguised = Symbol("R_a", SymbolKind.RESISTANCE, VOLT)
    draft.all()
    draft.define(disguised, Sum((E1, E2)))
    draft.add(Replace(exchange=Exchange.EMFS, taken=(E1, E2), made=(disguised,)))
    arms = (disguised, R1, R2, R3)
    gone = draft.add(Replace(exchange=Exchange.IDLE, taken=arms, made=()))
    draft.back(gone, "R1", I1, ZERO)
    conclude_current(draft)
    assert draft.refusal() is not None


def conclude_current(draft: Draft) -> None:
    """Conclude that the current in R1 is zero, as I1 is."""
    name = current("I(R1)")
    draft.add(PartRule(kind=PartLaw.CURRENT, part="R1", conclusion=Equation(name, I1)))
    zero = next(k for k, s in enumerate(draft.steps) if isinstance(s, PutBack))
    told = Equation(name, ZERO)
    step = draft.add(PutInValues(premise=len(draft.steps) - 1, values=(zero,), conclusion=told))
    asked = AskCurrentIn("R1")
    draft.add(Conclude(question=asked, symbol=name, formula=step, value=None, rounded=None))


# --- potentials ----------------------------------------------------------------------------------

DRIVER = "I1: A (-E1+) D (R1) B\nI2: A (R2) B\nI3: A (R3) B\n"
TWO_THIRDS = number(Fraction(2, 3))
BALANCED = BRIDGE + "R1, R2 = 2 ohm; R3, R4 = 4 ohm\n"


@forged("the junction rule fails with these potentials")
def potentials_that_break_the_junction_rule() -> Draft:
    draft = Draft(BRIDGE)
    draft.all()
    draft.levels(A=ZERO, B=ONE, C=TWO_THIRDS, D=TWO_THIRDS)
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


@forged()
def a_potential_in_the_row_of_the_battery() -> Draft:
    """Only E1 tells the potential of D; said to be that of B, R1 would be without current."""
    draft = Draft(DRIVER)
    draft.all()
    draft.levels(A=ZERO, B=ONE, D=ONE)
    return draft


@forged()
def a_potential_where_nothing_is_left() -> Draft:
    """A star has been exchanged for a mesh, and its middle C is gone."""
    draft = Draft(BRIDGE)
    draft.all()
    side, leg, far = map(symbol, ("R_a", "R_b", "R_c"))
    draft.star((R1, R3, R5), side, leg, far)  # from B to A, from B to D, from A to D
    to_b, to_a = Parallel((leg, R2)), Parallel((far, R4))
    draft.levels(A=ZERO, B=ONE, D=Quotient(to_a, Sum((to_a, to_b))), C=number(5))
    return draft


@forged()
def the_potential_of_a_point_within_a_row_that_was_drawn_together() -> Draft:
    """P lay between R1 and R2; it is not where the row of R1 + R2 ends."""
    draft = Draft("I1: A (R1) P (R2) B\nI2: A (R3) B\nI3: B (R4) A\n", "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    draft.series("R1 R2", R_a)
    draft.levels(A=ONE, P=ZERO)
    return draft


@forged()
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


@forged()
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


# --- what is seen --------------------------------------------------------------------------------


@forged()
def a_battery_sees_less_than_lies_across_it() -> Draft:
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n")
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    draft.left("E1", R2)
    return draft


@forged()
def a_battery_sees_nothing_of_another_row() -> Draft:
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: A (-E2+) (R2) B\n")
    draft.all()
    draft.put(Exchange.ACROSS, "E2 R2")
    draft.left("E1", R1)
    return draft


@forged("more than one resistance is left, or none")
def more_than_one_part_is_left() -> Draft:
    draft = Draft("I1: A (R1) B\nI2: A (R2) B\nI3: B (R3) A\n", "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    draft.parallel("R1 R2", R_a)
    draft.left("A,B", R_a)
    return draft


# --- the way back --------------------------------------------------------------------------------


def reduced() -> tuple[Draft, StepId, StepId]:
    """Return a sound reduction of two resistances side by side, with the current I1 found."""
    draft = Draft(PAIR)
    draft.all()
    beside = draft.parallel("R1 R2", R_a)
    draft.series("R_a r1", R_b)
    across = draft.put(Exchange.ACROSS, "R_b")
    draft.back(across, "R_b", I1, Quotient(E1, R_b))
    return draft, beside, across


def test_what_the_forgeries_begin_with_holds() -> None:
    draft, beside, _ = reduced()
    draft.back(beside, "R1", I2, Quotient(Product((R_a, I1)), R1))
    draft.back(beside, "R2", I3, Quotient(Product((R_a, I1)), R2))
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps)  # all hold; the answers are missing


@forged("another current follows from what was made")
def the_whole_current_flows_in_one_of_two() -> Draft:
    draft, beside, _ = reduced()
    draft.back(beside, "R1", I2, I1)
    return draft


@forged("another current follows from what was made")
def the_current_divides_like_the_resistances() -> Draft:
    draft, beside, _ = reduced()
    draft.back(beside, "R1", I2, Product((I1, Quotient(R1, Sum((R1, R2))))))
    return draft


@forged("another current follows from what was made")
def another_voltage_drives_the_current() -> Draft:
    draft, beside, _ = reduced()
    draft.define(symbol("V12"), Product((R_b, I1)))
    draft.back(beside, "R1", I2, Quotient(symbol("V12"), R1))
    return draft


@forged("another current follows from what was made")
def a_voltage_is_defined_by_what_it_is_to_give() -> Draft:
    draft, beside, _ = reduced()
    draft.define(symbol("V12"), Product((R1, I2)))
    draft.back(beside, "R1", I2, Quotient(symbol("V12"), R1))
    return draft


@forged("the current in R_a is not known")
def a_current_follows_from_one_that_is_not_known_yet() -> Draft:
    draft = Draft("I1: A (-E1 r1+) B\nI2: B (R1) C\nI3: B (R2) C\nI4: C (R3) A\nI5: C (R4) A\n")
    draft.all()
    beside = draft.parallel("R1 R2", R_a)
    draft.parallel("R3 R4", R_b)
    draft.back(beside, "R1", I2, Quotient(E1, R1))
    return draft


@forged("the current in R1 is I2")
def a_current_gets_a_second_name() -> Draft:
    draft, beside, _ = reduced()
    draft.back(beside, "R1", current("I_a"), Quotient(Product((R_a, I1)), R1))
    return draft


def joined_in_the_middle() -> tuple[Draft, StepId]:
    """Return a reduction in which R1 and R2 are put together, then their current gets a name."""
    draft = Draft(
        "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) C\nI4: C (R3) A\nI5: C (R4) A\nI6: B (R5) A\n"
    )
    draft.all()
    draft.parallel("R1 R2", R_a)
    draft.parallel("R3 R4", R_b)
    draft.series("R_a R_b", symbol("R_c"))
    return draft, draft.put(Exchange.ACROSS, "R_c")


def test_a_current_gets_its_first_name() -> None:
    draft, across = joined_in_the_middle()
    draft.back(across, "R_c", current("I_a"), Quotient(E1, symbol("R_c")))
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps)


@forged("the current needs a name of its own")
def a_new_current_gets_a_name_that_has_a_meaning() -> Draft:
    draft, across = joined_in_the_middle()
    draft.back(across, "R_c", I2, Quotient(E1, symbol("R_c")))
    return draft


@forged("the current needs a name of its own")
def a_new_current_gets_the_name_of_what_was_defined() -> Draft:
    draft, across = joined_in_the_middle()
    draft.define(current("I_a"), Quotient(E1, R5))
    draft.back(across, "R_c", current("I_a"), Quotient(E1, symbol("R_c")))
    return draft


@forged("the current needs a name of its own")
def a_new_current_is_a_voltage() -> Draft:
    draft, across = joined_in_the_middle()
    name = Symbol("V_c", SymbolKind.VOLTAGE, AMPERE)
    draft.back(across, "R_c", name, Quotient(E1, symbol("R_c")))
    return draft


@forged("the current in E1 is I3")
def the_battery_keeps_its_current_when_it_is_relieved() -> Draft:
    """What E1 delivers is more than what flows in E3 and R3, for R1 lay across it."""
    draft = Draft("I1: A (-E1+) B\nI2: A (R1) B\nI3: B (-E3+) (R3) A\n")
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    draft.define(E_a, Sum((E1, E3)))
    row = draft.put(Exchange.EMFS, "E1 E3", E_a)
    ring = draft.put(Exchange.ACROSS, "R3")
    draft.back(ring, "R3", I3, Quotient(E_a, R3))
    draft.back(row, "E1", I1, I3)
    return draft


@forged()
def a_relieved_battery_is_said_to_be_without_current() -> Draft:
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n")
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    draft.put(Exchange.ACROSS, "R2")
    rest = draft.put(Exchange.IDLE, "E1")
    draft.back(rest, "E1", current("I_a"), ZERO)
    return draft


@forged()
def a_current_by_what_is_idle_between_two_points() -> Draft:
    """Seen from A and B the battery is a wire; in the circuit there is a current in R1."""
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n", "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    idle = draft.put(Exchange.IDLE, "R1 R2")
    draft.back(idle, "R1", current("I_a"), ZERO)
    return draft


@forged("the current in R_a is not known")
def a_current_by_what_is_side_by_side_between_two_points() -> Draft:
    draft = Draft(PAIR, "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    beside = draft.parallel("R1 R2", R_a)
    draft.all()
    draft.back(beside, "R1", I2, Quotient(Product((R_a, Negative(I1))), R1))
    return draft


@forged("the current in a wire follows from nothing but the junction rule")
def the_current_in_a_wire() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) A\nR2 = 0 ohm\n")
    draft.given("R2")
    draft.all()
    wire = draft.put(Exchange.WIRE, "R2")
    draft.back(wire, "R2", I2, ZERO)
    return draft


@forged()
def a_cell_carries_its_share_for_one_value_only() -> Draft:
    """E1/6 V is one, but for other values of E1, by which the formula would be wrong, it is not."""
    draft = Draft(CELLS + "E2 = E1; r2 = r1; E1 = 6 V\n")
    draft.given("E2 r2")
    draft.all()
    alike = draft.alike("E1 r1 E2 r2", E_a, R_a)
    draft.series("R5 R_a", R_b)
    ring = draft.put(Exchange.ACROSS, "R_b")
    draft.back(ring, "R_b", I3, Quotient(E_a, R_b))
    one = Quotient(E1, constant(Fraction(6), VOLT))
    draft.back(alike, "r1", I1, Product((Quotient(I3, number(2)), one)))
    return draft


@forged("it does not follow from its premises")
def a_wrong_value_of_what_was_made() -> Draft:
    draft = Draft(PAIR + "R1 = 3 ohm; R2 = 6 ohm\n")
    draft.given("R1 R2")
    draft.all()
    draft.parallel("R1 R2", R_a)
    value = Equation(R_a, constant(Fraction(9), OHM))
    defined = next(k for k, step in enumerate(draft.steps) if isinstance(step, Define))
    draft.add(PutInValues(premise=defined, values=(0, 1), conclusion=value))
    return draft


@forged()
def two_ways_that_are_one() -> Draft:
    draft, _, _ = reduced()
    found = len(draft.steps) - 1
    draft.add(Agree(one=found, other=found))
    return draft


@pytest.mark.parametrize(("write", "reason"), FORGERIES, ids=[w.__name__ for w, _ in FORGERIES])
def test_a_forged_step_is_refused(write: Writer, reason: str) -> None:
    draft = write()
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps) - 1, refusal
    assert reason in refusal.reason
