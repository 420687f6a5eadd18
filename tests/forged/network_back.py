"""What is left between two points, and currents that do not follow from what was made."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    constant,
    current,
    number,
)
from derive.derivation.algebra import Define, PutInValues
from derive.derivation.exchanges import Agree, Exchange, LookBetween
from derive.derivation.step_id import StepId
from tests.forged.network import (
    CELLS,
    E1,
    E3,
    I1,
    I2,
    I3,
    PAIR,
    R1,
    R2,
    R3,
    R5,
    Draft,
    E_a,
    R_a,
    R_b,
    forged,
    symbol,
)


@forged("something that it saw has been left out")
def a_battery_sees_less_than_lies_across_it() -> Draft:
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n")
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    draft.left("E1", R2)
    return draft


@forged("something that it saw has been left out")
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


def reduced() -> tuple[Draft, StepId, StepId]:
    """Return a sound reduction of two resistances side by side, with the current I1 found."""
    draft = Draft(PAIR)
    draft.all()
    beside = draft.parallel("R1 R2", R_a)
    draft.series("R_a r1", R_b)
    across = draft.put(Exchange.ACROSS, "R_b")
    draft.back(across, "R_b", I1, Quotient(E1, R_b))
    return draft, beside, across


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


@forged("the voltage between these places is not known")
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


@forged("there is no E1 in what is left")
def a_relieved_battery_is_said_to_be_without_current() -> Draft:
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n")
    draft.all()
    draft.put(Exchange.ACROSS, "R1")
    draft.put(Exchange.ACROSS, "R2")
    draft.put(Exchange.IDLE, "E1")
    return draft


@forged("no current is driven in this network")
def a_current_by_what_is_idle_between_two_points() -> Draft:
    """Seen from A and B the battery is a wire; in the circuit there is a current in R1."""
    draft = Draft("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\n", "ask resistance A B")
    draft.add(LookBetween(one="A", other="B"))
    idle = draft.put(Exchange.IDLE, "R1 R2")
    draft.back(idle, "R1", current("I_a"), ZERO)
    return draft


@forged("no current is driven in this network")
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


@forged("another current follows from what was made")
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


@forged("a line agrees with itself")
def two_ways_that_are_one() -> Draft:
    draft, _, _ = reduced()
    found = len(draft.steps) - 1
    draft.add(Agree(one=found, other=found))
    return draft
