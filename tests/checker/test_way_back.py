"""Forged reductions are refused where they are forged, and for the right reason."""

from __future__ import annotations

import pytest

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    current,
)
from derive.circuit.question import AskCurrentIn, AskResistance
from derive.derivation.algebra import PutInValues
from derive.derivation.exchanges import Exchange, LookBetween, PutBack, Replace
from derive.derivation.laws import PartLaw, PartRule
from derive.derivation.step import Conclude
from tests.forged import network_back, network_exchanges, network_levels, network_sources
from tests.forged.network import (
    E1,
    E2,
    FORGERIES,
    I1,
    I2,
    I3,
    R1,
    R2,
    R3,
    Draft,
    E_a,
    R_a,
    Writer,
    symbol,
)


@pytest.mark.parametrize(("write", "reason"), FORGERIES, ids=[w.__name__ for w, _ in FORGERIES])
def test_a_forged_step_is_refused(write: Writer, reason: str) -> None:
    draft = write()
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps) - 1, refusal
    assert reason in refusal.reason


def test_every_module_has_its_forgeries() -> None:
    modules = (network_back, network_exchanges, network_levels, network_sources)
    assert {write.__module__ for write, _ in FORGERIES} == {m.__name__ for m in modules}
    assert len({write.__name__ for write, _ in FORGERIES}) == len(FORGERIES)


def test_what_the_forgeries_begin_with_holds() -> None:
    draft, beside, _ = network_back.reduced()
    draft.back(beside, "R1", I2, Quotient(Product((R_a, I1)), R1))
    draft.back(beside, "R2", I3, Quotient(Product((R_a, I1)), R2))
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps)  # all hold; the answers are missing


def test_batteries_put_together_as_current_sources_give_their_currents_back() -> None:
    draft, merged, _ = network_sources.one_battery()
    voltage = Sum((E_a, Negative(Product((R_a, I3)))))
    draft.back(2, "R1", I1, Quotient(Sum((E1, Negative(voltage))), R1))
    draft.back(4, "R2", I2, Negative(Quotient(Sum((E2, voltage)), R2)))
    draft.back(merged, "R1", current("I_b"), Negative(Quotient(voltage, R1)))
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps)


def test_a_current_gets_its_first_name() -> None:
    draft, across = network_back.joined_in_the_middle()
    draft.back(across, "R_c", current("I_a"), Quotient(E1, symbol("R_c")))
    refusal = draft.refusal()
    assert refusal is not None
    assert refusal.step == len(draft.steps)


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
