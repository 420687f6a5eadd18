"""Batteries that are put together as current sources, and what does not follow from that."""

from __future__ import annotations

from derive.algebra.term import (
    ONE,
    ZERO,
    Negative,
    Product,
    Quotient,
    Sum,
    current,
)
from derive.derivation.exchanges import Exchange
from derive.derivation.step_id import StepId
from tests.forged.network import (
    E1,
    E2,
    I1,
    I3,
    R1,
    R2,
    Draft,
    E_a,
    R_a,
    forged,
    symbol,
)

TWO = "I1: A (-E1+) (R1) B\nI2: A (+E2-) (R2) B\nI3: B (R3) A\n"
"""The second battery is the other way round."""
I_s, I_s1, I_s2 = map(symbol, ("I_s", "I_s1", "I_s2"))


def current_sources() -> Draft:
    """Return two current sources, each beside its resistance."""
    draft = Draft(TWO)
    draft.all()
    draft.current_source("E1 R1", I_s1)
    draft.current_source("E2 R2", I_s2)
    return draft


def one_current_source() -> tuple[Draft, StepId]:
    """Return one current source beside one resistance, and where the resistances were merged."""
    draft = current_sources()
    draft.define(I_s, Sum((I_s1, Negative(I_s2))))
    draft.put(Exchange.CURRENTS, "I_s1 I_s2", I_s)
    return draft, draft.parallel("R1 R2", R_a)


def one_battery() -> tuple[Draft, StepId, StepId]:
    """Return the battery that is made of two, with the current I3 found.

    Also where the resistances were merged, and where the current source was turned back.
    """
    draft, merged = one_current_source()
    turned = draft.battery("I_s R_a", E_a)
    draft.series("R_a R3", symbol("R_b"))
    ring = draft.put(Exchange.ACROSS, "R_b")
    draft.back(ring, "R_b", I3, Quotient(E_a, symbol("R_b")))
    return draft, merged, turned


@forged("I_s1 is defined in another way")
def a_current_source_flows_to_the_minus_terminal() -> Draft:
    draft = Draft(TWO)
    draft.all()
    draft.define(I_s1, Negative(Quotient(E1, R1)))
    draft.put(Exchange.CURRENT_SOURCE, "E1 R1", I_s1)
    return draft


@forged("there is more, or less, in the row")
def a_battery_with_one_of_two_resistances_is_a_current_source() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) (R4) B\nI3: B (R3) A\n")
    draft.all()
    draft.current_source("E2 R2", I_s2)
    return draft


@forged("there is more, or less, in the row")
def a_battery_with_a_resistance_elsewhere_is_a_current_source() -> Draft:
    draft = Draft(TWO)
    draft.all()
    draft.current_source("E1 R2", I_s1)
    return draft


@forged("the row is closed")
def all_there_is_becomes_a_current_source() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) A\n")
    draft.all()
    draft.current_source("E1 R1", I_s1)
    return draft


@forged("it is no battery with one resistance")
def two_batteries_are_a_current_source() -> Draft:
    draft = Draft("I1: A (-E1+) (-E2+) B\nI2: A (R1) B\nI3: A (R2) B\n")
    draft.all()
    draft.define(I_s1, Quotient(E1, R1))
    draft.put(Exchange.CURRENT_SOURCE, "E1 E2", I_s1)
    return draft


@forged("I_s is defined in another way")
def a_current_the_other_way_is_added() -> Draft:
    draft = current_sources()
    draft.define(I_s, Sum((I_s1, I_s2)))
    draft.put(Exchange.CURRENTS, "I_s1 I_s2", I_s)
    return draft


@forged("they do not lie between the same two places")
def currents_between_other_places_are_added() -> Draft:
    draft = Draft(
        "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) C\nI3: B (R3) A\nI4: C (R4) B\nI5: C (R5) A\n"
    )
    draft.all()
    draft.current_source("E1 R1", I_s1)
    draft.current_source("E2 R2", I_s2)
    draft.define(I_s, Sum((I_s1, I_s2)))
    draft.put(Exchange.CURRENTS, "I_s1 I_s2", I_s)
    return draft


@forged("they do not lie between the same two places")
def a_current_source_turns_back_with_a_resistance_elsewhere() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: B (R2) C\nI3: C (R3) A\nI4: C (R4) A\nI5: B (R5) C\n")
    draft.all()
    draft.current_source("E1 R1", I_s1)
    draft.battery("I_s1 R3", E_a)
    return draft


@forged("E_a is defined in another way")
def a_battery_made_of_a_current_source_is_the_other_way_round() -> Draft:
    draft, _ = one_current_source()
    draft.define(E_a, Negative(Product((I_s, R_a))))
    draft.put(Exchange.BATTERY, "I_s R_a", E_a)
    return draft


@forged("it is no current source with one resistance")
def a_current_source_stands_behind_its_resistance() -> Draft:
    draft, _ = one_current_source()
    draft.define(E_a, Product((I_s, R_a)))
    draft.put(Exchange.BATTERY, "R_a I_s", E_a)
    return draft


@forged("I_s1 is no resistance")
def a_current_source_is_left_out_as_dead() -> Draft:
    draft = current_sources()
    draft.put(Exchange.IDLE, "I_s1")
    return draft


@forged("I_s1 is no resistance")
def a_current_source_is_merged_with_a_resistance() -> Draft:
    draft = current_sources()
    draft.define(R_a, Sum((R1, R2)))
    draft.put(Exchange.PARALLEL, "I_s1 R1", R_a)
    return draft


@forged("there is another source")
def potentials_are_told_of_a_network_with_a_current_source() -> Draft:
    draft = Draft("I1: A (-E1+) (R1) B\nI2: B (R3) A\nI3: A (-E2+) (R2) C\nI4: C (R4) B\n")
    draft.all()
    draft.current_source("E1 R1", I_s1)
    draft.levels(A=ZERO, B=ONE, C=ONE)
    return draft


@forged("the current needs a name of its own")
def beside_its_source_a_resistance_has_the_current_of_its_row() -> Draft:
    draft, merged, _ = one_battery()
    draft.back(merged, "R1", I1, Quotient(Sum((Product((R_a, I3)), Negative(E_a))), R1))
    return draft


@forged("another current follows from what was made")
def a_row_has_the_current_of_its_resistance_beside_the_source() -> Draft:
    draft, _, _ = one_battery()
    draft.back(2, "R1", I1, Quotient(Sum((Product((R_a, I3)), Negative(E_a))), R1))
    return draft


@forged("another current follows from what was made")
def the_voltage_of_the_battery_that_was_made_is_turned_round() -> Draft:
    draft, _, _ = one_battery()
    voltage = Sum((E_a, Negative(Product((R_a, I3)))))
    draft.back(2, "R1", I1, Quotient(Sum((E1, voltage)), R1))
    return draft


@forged("another current follows from what was made")
def a_battery_the_other_way_round_drives_forwards() -> Draft:
    draft, _, _ = one_battery()
    voltage = Sum((E_a, Negative(Product((R_a, I3)))))
    draft.back(4, "R2", current("I2"), Quotient(Sum((E2, Negative(voltage))), R2))
    return draft


@forged("the voltage between these places is not known")
def a_current_is_found_before_the_sources_are_turned_back() -> Draft:
    draft = current_sources()
    draft.back(2, "R1", I1, Quotient(E1, R1))
    return draft


@forged("the current of a current source is its own")
def a_current_source_that_was_turned_back_has_another_current() -> Draft:
    draft, _, turned = one_battery()
    draft.back(turned, "I_s", current("I_b"), I3)
    return draft


@forged("the voltage between these places is not known")
def a_voltage_is_read_off_before_the_current_behind_it_is_known() -> Draft:
    draft, merged = one_current_source()
    draft.battery("I_s R_a", E_a)
    draft.back(merged, "R1", current("I_b"), Quotient(E_a, R1))
    return draft
