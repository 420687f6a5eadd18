"""What a formula tells: sound steps are accepted, every changed and every forged one is refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from random import Random

import pytest
import sympy

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.interchange import to_sympy
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Quotient,
    Sum,
    Symbol,
    Term,
    auxiliary,
    current,
    emf,
    number,
    resistance,
)
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.checker.polynomial import Expansion, minus, powers, sign, slope, times
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.algebra import BackSubstitute, PutInValues
from derive.derivation.laws import GivenValue
from derive.derivation.sense import (
    Dimensions,
    Limit,
    Response,
    SenseStep,
    SpecialCase,
    Toward,
    Trend,
)
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId
from derive.source import Source
from tests.checker.mutate import Mutant, mutants
from tests.checker.truth import is_true

TWO_CELLS = "I1: A (-E1+) (R1) C\nI2: A (-E2+) (R2) C\nI3: C (R3) A\nask currents\n"
IDEAL = "I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\nuse method branch currents\n"
BRIDGE = "I: C (-E1+) A\nI1: A (R1) B\nI2: B (R2) C\nI3: A (R3) D\nI4: D (R4) C\nI5: B (R5) D\n"
ROW = "I: A (-E1 r1+) (R1) B (R2) A\n"
TIED = TWO_CELLS + "R2 = 2 R1\n"
E1, E2 = emf("E1"), emf("E2")
R1, R2, R3, r1 = (resistance(name) for name in ("R1", "R2", "R3", "r1"))
DELTA = auxiliary("Delta", OHM**2)


@dataclass(frozen=True)
class Proof:
    circuit: Circuit
    derivation: Derivation

    def formula(self, name: str) -> StepId:
        """Return the step with the general formula of a current."""
        for step in self.derivation.steps:
            if isinstance(step, Conclude) and step.symbol == current(name):
                assert step.formula is not None
                return step.formula
        raise KeyError(name)

    def refusal(self, step: SenseStep) -> str | None:
        """Return why a step added at the end is refused; None when it is accepted."""
        steps = (*self.derivation.steps, step)
        refusal = check(self.circuit, Derivation(steps)).refusal
        if refusal is None:
            return None
        assert refusal.step == len(steps) - 1
        return refusal.reason


def proof(text: str) -> Proof:
    circuit = load(Source("test", text)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    return Proof(circuit, derivation)


CELLS = proof(TWO_CELLS)


# --- every change of a sound step ----------------------------------------------------------------


def changes(proved: Proof) -> Iterator[Mutant]:
    for mutant in mutants(proved.circuit, proved.derivation):
        if isinstance(mutant.old, SenseStep):
            yield mutant


STRIDES = {TWO_CELLS: 7, IDEAL: 3, ROW: 3, BRIDGE: 97}


@pytest.mark.parametrize("text", STRIDES, ids=["cells", "ideal", "row", "bridge"])
def test_every_changed_step_is_refused_unless_it_is_true(text: str) -> None:
    proved = proof(text)
    tried = kept = 0
    for mutant in islice(changes(proved), 0, None, STRIDES[text]):
        tried += 1
        if check(proved.circuit, mutant.derivation).accepted:
            new = mutant.new
            assert isinstance(new, SenseStep)
            assert is_true(mutant.derivation, new), f"accepted: {mutant.place}\n{new}"
            kept += 1
    assert tried > 100
    assert kept < tried / 10


def test_all_four_kinds_are_changed() -> None:
    kinds = {type(m.old) for text in (TWO_CELLS, IDEAL) for m in changes(proof(text))}
    assert kinds == {Limit, SpecialCase, Trend, Dimensions}


# --- forgeries -----------------------------------------------------------------------------------


def limit(
    name: str, letter: Symbol, to: Toward, value: Term | None, of: Proof = CELLS
) -> str | None:
    return of.refusal(Limit(premise=of.formula(name), letter=letter, to=to, limit=value))


def test_forged_limits_are_refused() -> None:
    around = Quotient(Sum((E1, Negative(E2))), Sum((R1, R2)))
    away, near = Toward.INFINITY, Toward.ZERO
    assert limit("I1", R3, away, around) is None
    assert limit("I1", R3, away, Quotient(E1, R1)) == "the limit is another one"
    assert limit("I1", R3, away, Negative(around)) == "the limit is another one"
    assert limit("I1", R3, near, around) == "the limit is another one"
    assert limit("I3", R3, away, Quotient(E1, R3)) == "R3 is still there"
    numerator = Sum((Product((R2, E1)), Product((R1, E2))))
    assert limit("I3", R3, away, Quotient(numerator, DELTA)) == "R3 is still there"
    assert limit("I1", R3, away, None) == "I1 stays finite"
    assert limit("I3", R3, away, None) == "I3 stays finite"
    assert limit("I1", E1, away, ZERO) == "E1 is no resistance"
    assert limit("I1", r1, away, ZERO) == "r1 is no letter of the circuit"
    assert limit("I1", R3, away, Sum((E1, Negative(E2)))) == "it has another unit"
    assert limit("I1", R3, away, current("I2")) == "it holds unknowns"
    assert limit("I1", R3, away, Quotient(E1, Sum((R1, Negative(R1))))) == "it divides by zero"


def test_what_grows_without_bound_has_no_limit() -> None:
    ideal = proof(IDEAL)
    assert limit("I2", R1, Toward.ZERO, None, ideal) is None
    assert limit("I2", R1, Toward.ZERO, ZERO, ideal) == "I2 has no limit"
    assert limit("I3", R1, Toward.ZERO, Quotient(E1, R2), ideal) == "I3 does not depend on R1"


def test_a_difference_of_emfs_may_be_zero() -> None:
    """Between two ideal batteries a current has no limit, but it may be zero all the way."""
    row = proof("I: A (-E1+) (R1) B (+E2-) A\nuse method branch currents\n")
    assert limit("I", R1, Toward.ZERO, None, row) == "I stays finite"
    assert limit("I", R1, Toward.ZERO, ZERO, row) == "I has no limit"


def test_a_limit_is_nothing_to_cite() -> None:
    step = Limit(premise=CELLS.formula("I3"), letter=R3, to=Toward.INFINITY, limit=ZERO)
    steps = (*CELLS.derivation.steps, step)
    told = len(steps) - 1
    i3 = current("I3")
    later = (
        BackSubstitute(premise=told, definitions=(), conclusion=Equation(i3, ZERO)),
        PutInValues(premise=told, values=(), conclusion=Equation(i3, ZERO)),
        Limit(premise=told, letter=R3, to=Toward.ZERO, limit=ZERO),
        Trend(premise=told, letter=R3, response=Response.RISES, rate=ONE),
    )
    for forged in later:
        refusal = check(CELLS.circuit, Derivation((*steps, forged))).refusal
        assert refusal is not None
        assert refusal.reason == f"no equation before it is step {told}"
    concluded = next(s for s in steps if isinstance(s, Conclude) and s.symbol == i3)
    refusal = check(CELLS.circuit, Derivation((*steps, replace(concluded, formula=told)))).refusal
    assert refusal is not None
    assert refusal.reason == f"no equation before it is step {told}"


def special(result: Term, *assumptions: Equation, of: Proof = CELLS) -> str | None:
    step = SpecialCase(premise=of.formula("I1"), assumptions=assumptions, result=result)
    return of.refusal(step)


def test_forged_special_cases_are_refused() -> None:
    equal, shared = Equation(E2, E1), Quotient(Product((R2, E1)), DELTA)
    assert special(shared, equal) is None
    assert special(Quotient(Product((R1, E1)), DELTA), equal) == "it becomes something else"
    assert special(shared) == "nothing is assumed"
    assert special(shared, equal, equal) == "E2 is assumed twice"
    opposite = Equation(E2, Negative(E1))
    assert special(shared, opposite) == "E2 may not be positive then"
    assert special(shared, Equation(E2, Sum((E1, E1, Negative(E1))))) is None
    assert (
        special(shared, Equation(E2, E2)) == "it is told by a letter for which something is assumed"
    )
    assert special(shared, Equation(E2, R1)) == "it has another unit"
    assert special(shared, Equation(Sum((E2, E1)), E1)) == "an assumption is about one letter"
    assert special(shared, Equation(current("I2"), ZERO)) == "I2 is no letter of the circuit"
    assert special(shared, Equation(DELTA, Power(R1, 2))) == "Delta is no letter of the circuit"
    half = Equation(Product((number(2), E2)), E1)
    left = Quotient(Product((Sum((R2, R2, R3)), E1)), Product((number(2), DELTA)))
    assert special(left, half) is None
    assert special(shared, half) == "it becomes something else"
    assert (
        special(ZERO, Equation(Product((R3, E2)), Product((R2, E1)))) == "it becomes something else"
    )
    whole = Equation(Product((R3, E2)), Product((Sum((R2, R3)), E1)))
    assert special(ZERO, whole) is None
    assert special(ZERO, Equation(Product((R3, Negative(E2))), whole.right)) == (
        "an assumption is about one letter"
    )
    twice = Equation(Product((E2, E2)), Product((E1, E1)))
    assert special(shared, twice) == "it is told by a letter for which something is assumed"
    balanced = Equation(R1, Quotient(Product((R2, R2)), R3))
    assert special(ZERO, balanced) == "it becomes something else"


def trend(response: Response, letter: Symbol, rate: Term, name: str = "I1") -> str | None:
    return CELLS.refusal(
        Trend(premise=CELLS.formula(name), letter=letter, response=response, rate=rate)
    )


def test_forged_trends_are_refused() -> None:
    with_e1 = Quotient(Sum((R2, R3)), DELTA)
    assert trend(Response.RISES, E1, with_e1) is None
    assert trend(Response.FALLS, E1, with_e1) == "the rate is another one"
    assert trend(Response.RISES, E1, Quotient(R2, DELTA)) == "the rate is another one"
    assert trend(Response.WEAKENS, E1, Quotient(ONE, E1)) == "the rate is another one"
    assert trend(Response.FALLS, E1, Negative(with_e1)) == "the rate may have either sign"
    assert trend(Response.RISES, E1, ZERO) == "the rate has the wrong unit"
    assert trend(Response.RISES, E1, with_e1.numerator) == "the rate has the wrong unit"
    own = with_e1  # of the size: the slope of Δ by R1, over Δ
    assert trend(Response.WEAKENS, R1, own) is None
    assert trend(Response.WEAKENS, R2, own) == "the rate is another one"


def test_no_sign_is_told_where_it_depends_on_the_values() -> None:
    """I3 falls or rises with R1, as the first battery delivers or is charged."""
    drive = Sum((Product((Sum((R2, R3)), E1)), Negative(Product((R3, E2)))))
    rate = Quotient(Product((R2, drive)), Power(DELTA, 2))
    assert trend(Response.FALLS, R1, rate, "I3") == "the rate may have either sign"
    assert trend(Response.RISES, R1, Negative(rate), "I3") == "the rate may have either sign"


def test_what_is_tied_does_not_move_alone() -> None:
    tied = proof(TIED)
    for letter in (R1, R2):
        assert (
            limit("I3", letter, Toward.INFINITY, ZERO, tied)
            == f"{letter.name} is tied to something else"
        )
    rate = Quotient(ONE, R1)
    step = Trend(premise=tied.formula("I1"), letter=R1, response=Response.WEAKENS, rate=rate)
    assert tied.refusal(step) == "R1 is tied to something else"
    assert not any(isinstance(s, Limit) and s.letter in (R1, R2) for s in tied.derivation.steps)


def test_a_formula_bent_by_a_given_value_tells_nothing() -> None:
    """With R1 = 2 Ω the line I = E1/(2 R1 − 2 Ω) is true, but it is no formula in R1."""
    row = proof("I: A (-E1+) B (R1) A\nR1 = 2 ohm\nE1 = 6 V\nuse method branch currents\n")
    (given,) = (
        k
        for k, s in enumerate(row.derivation.steps)
        if isinstance(s, GivenValue) and s.symbol == R1
    )
    value = row.derivation.equation(given).right
    bent = Quotient(E1, Sum((R1, R1, Negative(value))))
    line = BackSubstitute(
        premise=row.formula("I"),
        definitions=(),
        rewriting=(given,),
        conclusion=Equation(current("I"), bent),
    )
    steps = (*row.derivation.steps, line)
    assert check(row.circuit, Derivation(steps)).accepted
    told = Limit(
        premise=len(steps) - 1, letter=R1, to=Toward.ZERO, limit=Negative(Quotient(E1, value))
    )
    refusal = check(row.circuit, Derivation((*steps, told))).refusal
    assert refusal is not None
    assert refusal.reason == f"step {len(steps) - 1} holds for some values only"


def test_forged_units_are_refused() -> None:
    premise = CELLS.formula("I1")
    assert CELLS.refusal(Dimensions(premise=premise, above=VOLT * OHM, below=OHM**2)) is None
    other = "a term has another unit"
    assert CELLS.refusal(Dimensions(premise=premise, above=VOLT, below=OHM**2)) == other
    assert CELLS.refusal(Dimensions(premise=premise, above=VOLT * OHM**2, below=OHM**3)) == other
    loop = Dimensions(premise=1, above=AMPERE, below=OHM)
    assert CELLS.refusal(loop) == "this is no fraction for one symbol"


# --- the polynomials -----------------------------------------------------------------------------


def test_powers_and_slopes_of_polynomials() -> None:
    """Taken apart and put together again; the derivative against sympy's."""
    rng = Random(5)
    letters = [R1, R2, R3]
    for _ in range(30):
        items: list[Term] = []
        for _ in range(rng.randint(1, 5)):
            factors = [
                number(rng.choice((-3, -1, 1, 2))),
                *rng.choices(letters, k=rng.randint(0, 4)),
            ]
            items.append(Product(tuple(factors)))
        term = Sum(tuple(items))
        expansion = Expansion()
        polynomial, _ = expansion.fraction(term)
        place = expansion.place(R1)
        letter, _ = expansion.fraction(R1)
        whole: dict[int, int] = {}
        for exponent, part in powers(polynomial, place).items():
            for _ in range(exponent):
                part = times(part, letter)
            whole = minus(whole, minus({}, part))
        assert whole == polynomial
        derived = sympy.Poly(sympy.diff(to_sympy(term), to_sympy(R1)), *map(to_sympy, letters))
        wanted = {m: int(c) for m, c in derived.terms() if c}
        places = [expansion.place(s) for s in letters]
        found = {
            tuple(m >> p & 0xFFFF for p in places): c for m, c in slope(polynomial, place).items()
        }
        assert found == wanted
        values = polynomial.values()
        assert sign(polynomial) == (bool(values) and min(values) > 0) - (
            bool(values) and max(values) < 0
        )
