"""Exchanges that change what lies outside of them."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import OHM
from derive.algebra.term import (
    Sum,
    constant,
)
from derive.derivation.exchanges import Exchange, LookBetween
from tests.forged.network import (
    BRIDGE,
    CELLS,
    E1,
    E2,
    IDEAL,
    PAIR,
    R1,
    R3,
    R5,
    Draft,
    E_a,
    R_a,
    R_b,
    forged,
    symbol,
)


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


@forged("there is more, or less, in a row")
def a_row_of_an_equal_cell_holds_more() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) (R4) B\nI3: B (R3) A\nE1 = E2\nR1 = R2\n")
    draft.given("E1 R1")
    draft.all()
    draft.alike("E1 R1 E2 R2", E_a, R_a)
    return draft


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


@forged("R_a is defined in another way")
def equal_cells_make_one_whose_value_was_not_stated() -> Draft:
    """That they are alike is known by ties; 0.5 Ω in a formula would hide the letter r1."""
    draft = Draft(CELLS + "E2 = E1; r2 = r1; r1 = 1 ohm\n")
    draft.given("E2 r2")
    draft.all()
    draft.define(E_a, E1)
    draft.define(R_a, constant(Fraction(1, 2), OHM))
    draft.put(Exchange.ALIKE, "E1 r1 E2 r2", E_a, R_a)
    return draft


@forged("E_a has been there already")
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
