"""Courses in time that are not so are refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import islice
from typing import Any

import pytest

from derive.algebra.dimension import SECOND, VOLT
from derive.algebra.term import (
    ZERO,
    Equation,
    Exponential,
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
    constant,
    resistance,
    symbols,
)
from derive.analysis.answers import derive
from derive.checker.comparison import check_comparison
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie
from derive.derivation.course import Course, CourseAt, CourseOf, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import LeftBetween, LookFrom
from derive.derivation.step import Derivation, Round, Step
from derive.proving import prove
from derive.source import Source
from tests.checker.mutate import Mutant, mutants

WALKS = "I1: A (-E1+) (R1) B\nI2: B (R2) A\nI3: B (R3) (capacitor C1) A\n"
ASKS = "ask transient of C1\n"
TEXTS = {
    "numbers": WALKS + "E1 = 12 V; R1 = 2 kohm; R2 = 4 kohm; R3 = 1 kohm; C1 = 120 uF\n"
    "initially V(C1) = 2 V\n" + ASKS,
    "letters": WALKS + "initially V(C1) = 0 V\n" + ASKS,
    "discharge": ": A (R1) (capacitor C1) A\nR1 = 7 kohm; C1 = 3.3 uF\n"
    "initially V(C1) = -9 V\n" + ASKS,
}
KINDS = (InitialVoltage, LookFrom, Course, RoundedCourse, CourseAt)


@cache
def sound(name: str) -> tuple[Circuit, Derivation]:
    circuit = load(Source(name, TEXTS[name])).circuit
    return circuit, derive(circuit)


@pytest.mark.parametrize("name", TEXTS)
def test_sound_ones_are_accepted(name: str) -> None:
    verdict = check(*sound(name))
    assert verdict.accepted, verdict.refusal


# --- every single change -------------------------------------------------------------------------

VALUES = {
    "V_0": 2.0, "V_∞": 8.0, "V(C1)": 8.0, "R(C1)": 7000 / 3, "tau": 0.28, "E1": 12.0, "R1": 2000.0,
    "R2": 4000.0, "R3": 1000.0, "C1": 120e-6, "I1": 0.002, "I2": 0.002, "I3": 0.0, "t": 0.1,
}  # fmt: skip
STARTS = {"numbers": 2.0, "letters": 0.0, "discharge": -9.0}


def value(term: Term, known: dict[str, float]) -> float:
    """Return what a term is worth, without the project's own algebra."""
    match term:
        case Number(exact) | Quantity(exact, _):
            return float(exact)
        case Symbol(name):
            return known.get(name, 0.7321)
        case Negative(inner):
            return -value(inner, known)
        case Sum(terms):
            return sum(value(item, known) for item in terms)
        case Product(factors):
            return math.prod(value(factor, known) for factor in factors)
        case Quotient(above, below):
            return value(above, known) / value(below, known)
        case Power(base, exponent):
            return value(base, known) ** exponent
        case Parallel(terms):
            return 1 / sum(1 / value(item, known) for item in terms)
        case Exponential(exponent):
            return math.exp(value(exponent, known))


def known_values(name: str) -> dict[str, float]:
    if name == "discharge":
        return VALUES | {
            "V_0": -9.0, "V_∞": 0.0, "V(C1)": 0.0, "R(C1)": 7000.0, "R1": 7000.0, "C1": 3.3e-6,
            "tau": 0.0231, "t": 0.01,
        }  # fmt: skip
    return VALUES | {"V_0": STARTS[name]}


def numbers_of(derivation: Derivation) -> dict[str, float]:
    """Return the value of every symbol that a derivation says in numbers."""
    equations = (getattr(step, "conclusion", None) for step in derivation.steps)
    return {
        e.left.name: value(e.right, {}) for e in equations
        if e is not None and isinstance(e.left, Symbol) and not any(symbols(e.right))
    }  # fmt: skip


def harmless(known: dict[str, float], mutant: Mutant) -> bool:
    """Return whether a change of a course leaves what is said true for these values."""
    old, new, steps = mutant.old, mutant.new, mutant.derivation.steps
    if type(old) is not type(new):
        return False
    if isinstance(new, Course) and isinstance(old, Course):
        if (new.kind, new.capacitor, new.conclusion.left) != (
            old.kind, old.capacitor, old.conclusion.left,
        ):  # fmt: skip
            return False
        times = (known | {"t": share * known["tau"]} for share in (0.0, 0.4, 1.7))
        return all(
            math.isclose(value(new.conclusion.right, at), value(old.conclusion.right, at),
                         rel_tol=1e-9, abs_tol=1e-12)
            for at in times
        )  # fmt: skip
    if isinstance(new, RoundedCourse):
        told = steps[new.course]
        assert isinstance(told, Course)
        most = Fraction(10) ** (1 - new.figures) / 2
        times = (known | {"t": share * known["tau"]} for share in (0.0, 0.4, 1.7))
        return told.conclusion.left == new.conclusion.left and all(
            math.isclose(value(new.conclusion.right, at), value(told.conclusion.right, at),
                         rel_tol=3 * float(most))
            for at in times
        )  # fmt: skip
    if isinstance(new, CourseAt):
        told = steps[new.course]
        assert isinstance(told, Course)
        at = known | {"t": new.time_constants * known["tau"]}
        place = 10.0 ** (new.unit_exponent - new.decimals)
        true = value(told.conclusion.right, at)
        return abs(float(new.rounded) - true) <= place / 2 * (1 + 1e-9)
    return False


def refuse_changes(name: str, stride: int) -> int:
    """Check each change in `stride`; return how many were refused."""
    circuit, derivation = sound(name)
    seen: dict[type[Step], int] = {}
    changed = (m for m in mutants(circuit, derivation) if isinstance(m.old, KINDS))
    for mutant in islice(changed, 0, None, stride):
        if check(circuit, mutant.derivation).accepted:
            assert harmless(known_values(name), mutant), (
                f"{mutant.place}\n{mutant.old}\n{mutant.new}"
            )
        else:
            seen[type(mutant.old)] = seen.get(type(mutant.old), 0) + 1
    assert seen[Course] > 250 / stride
    assert seen.keys() == ({*KINDS} if name != "letters" else {InitialVoltage, LookFrom, Course})
    return sum(seen.values())


@pytest.mark.parametrize("name", TEXTS)
def test_a_changed_step_is_refused(name: str) -> None:
    assert refuse_changes(name, 5)


# --- forgeries -----------------------------------------------------------------------------------


def forged(name: str, kind: type[Step], change: Callable[[Step], Step]) -> str:
    """Change the first step of a kind; return why it is refused."""
    circuit, derivation = sound(name)
    steps = list(derivation.steps)
    place = next(k for k, step in enumerate(steps) if isinstance(step, kind))
    steps[place] = change(steps[place])
    verdict = check(circuit, Derivation(tuple(steps)))
    assert verdict.refusal is not None
    return verdict.refusal.reason


T, TAU = Symbol("t", SymbolKind.TIME, SECOND), Symbol("tau", SymbolKind.AUXILIARY, SECOND)
V0, END = (Symbol(name, SymbolKind.VOLTAGE, VOLT) for name in ("V_0", "V_∞"))
DECAY = Exponential(Negative(Quotient(T, TAU)))


def with_right(right: Term) -> Callable[[Step], Step]:
    def change(step: Step) -> Step:
        assert isinstance(step, Course)
        return replace(step, conclusion=Equation(step.conclusion.left, right))

    return change


def between(start: Term, end: Term, decay: Term = DECAY) -> Term:
    return Sum((end, Product((Sum((start, Negative(end))), decay))))


@pytest.mark.parametrize(
    ("right", "reason"),
    [
        (between(END, V0), "starts at another voltage"),
        (between(V0, ZERO), "does not solve"),
        (between(V0, END, Exponential(Quotient(T, TAU))), "exponent is not"),
        (
            between(V0, END, Exponential(Negative(Quotient(Product((Number(Fraction(2)), T)), TAU)))),
            "exponent is not",
        ),
        (Sum((between(V0, END), Product((END, DECAY)), Negative(END))), "does not solve"),
        (
            Sum((END, Product((Sum((V0, Negative(END))), DECAY, DECAY)))),
            "no sum with one exponential",
        ),
        (Sum((END, Product((Sum((V0, Negative(END))), Power(DECAY, 2))))), "in a power"),
        (Quotient(between(V0, END), Sum((Number(Fraction(1)), DECAY))), "below a fraction"),
        (
            Sum((V0, Product((Sum((END, Negative(V0))), Quotient(T, TAU))))),
            "time stands outside",
        ),
        (V0, "does not solve"),
        (Product((between(V0, END), resistance("R1"))), "another unit"),
        (between(V0, Symbol("V_x", SymbolKind.VOLTAGE, VOLT)), "has no meaning"),
    ],
)  # fmt: skip
def test_a_wrong_law_is_refused(right: Term, reason: str) -> None:
    assert reason in forged("numbers", Course, with_right(right))


def test_a_voltage_at_the_start_that_nobody_gave() -> None:
    def more(step: Step) -> Step:
        assert isinstance(step, InitialVoltage)
        value = constant(Fraction(3), VOLT)
        return replace(step, conclusion=Equation(step.conclusion.left, value))

    def taken(step: Step) -> Step:
        assert isinstance(step, InitialVoltage)
        name = Symbol("E1", SymbolKind.VOLTAGE, VOLT)
        return replace(step, conclusion=Equation(name, step.conclusion.right))

    assert "another voltage" in forged("numbers", InitialVoltage, more)
    assert "has a meaning already" in forged("numbers", InitialVoltage, taken)


def test_seen_from_what_is_no_gap() -> None:
    assert "no gap" in forged("numbers", LookFrom, lambda _: LookFrom(part="R2"))
    assert "no part" in forged("numbers", LookFrom, lambda _: LookFrom(part="C9"))


def test_a_course_before_the_resistance_is_known() -> None:
    circuit, derivation = sound("discharge")
    steps = tuple(
        derivation.steps[0] if isinstance(s, LeftBetween) else s for s in derivation.steps
    )
    verdict = check(circuit, Derivation(steps))
    assert not verdict.accepted


def test_numbers_have_to_be_put_in() -> None:
    circuit, derivation = sound("numbers")
    gone = [
        k for k, s in enumerate(derivation.steps)
        if isinstance(s, RoundedCourse | CourseAt)
        or (isinstance(s, Course) and s.kind is CourseOf.VOLTAGE and s.rewriting)
    ]  # fmt: skip
    filler = derivation.steps[1]
    steps = tuple(filler if k in gone else s for k, s in enumerate(derivation.steps))
    verdict = check(circuit, Derivation(steps))
    assert verdict.refusal is not None
    assert "is not answered" in verdict.refusal.reason


def test_another_capacitor_changes_with_it() -> None:
    _, derivation = sound("discharge")
    two = TEXTS["discharge"].replace(ASKS, ": A (capacitor C2) A\n")
    circuit = load(Source("two", two)).circuit
    course = next(s for s in derivation.steps if isinstance(s, Course))
    place = derivation.steps.index(course)
    verdict = check(circuit, Derivation((*derivation.steps[: place + 1],)))
    assert verdict.refusal is not None
    assert verdict.refusal.step == place
    assert "not one capacitor alone" in verdict.refusal.reason


def test_rounding_is_told_by_the_course_alone() -> None:
    def of_another(step: Step) -> Step:
        assert isinstance(step, RoundedCourse)
        return replace(step, course=0)

    assert "tells no course" in forged("numbers", RoundedCourse, of_another)
    circuit, derivation = sound("numbers")
    assert any(isinstance(step, Round) for step in derivation.steps)
    assert check(circuit, derivation).accepted


# --- what a capacitor begins with when switches change --------------------------------------------

SWITCHED = (
    "I1: A (-E1+) (R1) B\nI2: B (closes S1) (R2) A\nI3: B (R3) (capacitor C1) A\n"
    "E1 = 12 V; R1 = 2 kohm; R2 = 4 kohm; R3 = 1 kohm; C1 = 120 uF\n" + ASKS
)


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"value": Given(Fraction(11), VOLT)}, "begins with another voltage"),
        ({"value": Tie(resistance("R1"))}, "begins with another voltage"),
        ({"is_steady": False}, "the author says something else"),
        ({"capacitor": "C9"}, "nothing tells what C9 begins with"),
    ],
)
def test_another_start_than_before_is_refused(changes: dict[str, Any], reason: str) -> None:
    proved = prove(Source("switched", SWITCHED))
    was = proved.switching
    assert was is not None
    before, after = (was.before.circuit, was.before.derivation), proved.circuit
    forged_start = replace(after, initials=(replace(after.initials[0], **changes),))
    for circuit, accepted in ((after, True), (forged_start, False)):
        verdict = check_comparison(was.event, before, (circuit, proved.derivation), was.comparison)
        assert verdict.accepted is accepted
    assert verdict.refusal is not None
    assert reason in verdict.refusal.reason


def test_the_state_before_comes_first() -> None:
    proved = prove(Source("switched", SWITCHED))
    was = proved.switching
    assert was is not None
    before = replace(was.before.circuit, is_before=False), was.before.derivation
    verdict = check_comparison(
        was.event, before, (proved.circuit, proved.derivation), was.comparison
    )
    assert verdict.refusal is not None
    assert "which state comes first" in verdict.refusal.reason
