"""What the formulas tell, against sympy's nodal equations, limits and derivatives.

The currents that sympy works with are its own (`sympy_currents`): they share nothing with the
formulas of the derivation.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace as replace_in

import pytest
import sympy

from derive.algebra.interchange import to_sympy
from derive.algebra.term import Symbol, SymbolKind, Term, replace, symbols
from derive.analysis.answers import derive
from derive.analysis.plan import Singular
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.circuit.solvability import NoUniqueSolution
from derive.circuit.valuation import Tie
from derive.derivation.algebra import Define
from derive.derivation.sense import (
    Dimensions,
    Limit,
    Response,
    SenseStep,
    SpecialCase,
    Toward,
    Trend,
)
from derive.derivation.step import Derivation
from derive.diagnostic import Rejected
from derive.source import Source
from tests import random_parts
from tests.checker import truth
from tests.random_circuits import random_circuit, sympy_currents
from tests.random_parts import Scene


def told(derivation: Derivation) -> list[SenseStep]:
    return [step for step in derivation.steps if isinstance(step, SenseStep)]


def subject(derivation: Derivation, step: SenseStep) -> str:
    symbol = derivation.equation(step.premise).left
    assert isinstance(symbol, Symbol)
    return symbol.name


def written(derivation: Derivation, term: Term) -> sympy.Expr:
    """Return a term for sympy, the names of the derivation put in."""
    names = {s.symbol: s.conclusion.right for s in derivation.steps if isinstance(s, Define)}
    return to_sympy(replace(term, names))


def same(one: sympy.Expr, other: sympy.Expr) -> bool:
    """Compare two fractions exactly, at points too large for other ones to agree by chance."""
    letters = sorted(one.free_symbols | other.free_symbols, key=str)
    for seed in (1, 2):
        rng = random.Random(seed)
        point = {s: sympy.Integer(rng.randint(10**8, 10**9)) for s in letters}
        if one.xreplace(point) != other.xreplace(point):
            return False
    return True


def agree(derivation: Derivation, currents: dict[str, sympy.Expr]) -> Counter[str]:
    """Compare every step with sympy; return how many of each kind there were."""
    counted: Counter[str] = Counter()
    rng = random.Random(len(derivation.steps))
    for step in told(derivation):
        current = currents[subject(derivation, step)]
        counted[type(step).__name__] += 1
        match step:
            case Limit(letter=letter, to=to, limit=limit):
                at = sympy.oo if to is Toward.INFINITY else 0
                found = sympy.limit(sympy.cancel(current), to_sympy(letter), at)
                if limit is None:
                    assert found.has(sympy.oo, -sympy.oo)
                else:
                    assert same(found, written(derivation, limit))
            case SpecialCase(assumptions=assumptions, result=result):
                put = {to_sympy(s): to_sympy(t) for s, t in map(truth.solved, assumptions)}
                assert same(current.subs(put), written(derivation, result))
            case Trend(letter=letter, response=response, rate=rate):
                slope = sympy.diff(current, to_sympy(letter))
                size = written(derivation, rate)
                wanted = size if response is Response.RISES else -size
                assert same(slope, wanted * current if response is Response.WEAKENS else wanted)
                for _ in range(3):
                    point = {s: sympy.Rational(rng.randint(1, 99), 7) for s in size.free_symbols}
                    assert size.xreplace(point) > 0
            case Dimensions():
                assert (step.above / step.below).ohm == -1
    return counted


@pytest.mark.parametrize("block", range(10))
def test_sympy_agrees_on_random_circuits_in_letters(block: int) -> None:
    counted: Counter[str] = Counter()
    for seed in range(10 * block, 10 * block + 10):
        circuit = random_circuit(random.Random(seed), loops=(1, 2), letters=True)
        derivation = derive(circuit)
        assert check(circuit, derivation).accepted
        if told(derivation):
            counted += agree(derivation, sympy_currents(circuit))
    assert counted["Limit"] > 20
    assert counted["Trend"] > 20
    assert counted["Dimensions"] > 5


def test_no_letter_that_is_tied_moves_alone() -> None:
    moved = 0
    for seed in range(150):
        circuit = random_circuit(random.Random(seed), loops=(1, 2), letters=True)
        ties = [v for v in circuit.values if isinstance(v.value, Tie)]
        if not ties:
            continue
        derivation = derive(circuit)
        bound = {v.symbol for v in ties} | {s for v in ties for s in symbols(v.value.term)}
        for step in told(derivation):
            if isinstance(step, Limit | Trend):
                assert step.letter not in bound
                moved += 1
            elif isinstance(step, SpecialCase):
                assert bound.isdisjoint(truth.solved(e)[0] for e in step.assumptions)
    assert moved > 20


# --- circuits of all kinds of parts --------------------------------------------------------------


def in_letters(made: Scene) -> str:
    """Return the text of a scene in which batteries, sources and resistors have no values."""
    kept = ("battery", "source", "resistor", "lamp")
    bare = {
        name: [replace_in(p, value=None) if p.kind in kept and not p.control else p for p in walk]
        for name, walk in made.walks.items()
    }
    return Scene(bare).text


def with_value(made: Scene, values: dict[str, float]) -> Scene:
    return Scene(
        {
            name: [replace_in(p, value=values.get(p.name, p.value)) for p in walk]
            for name, walk in made.walks.items()
        }
    )


def follows(made: Scene, derivation: Derivation, step: SenseStep) -> bool:
    """Tell by nodal analysis in numbers whether a step is true for the values of a scene."""
    name = subject(derivation, step)
    sizes = {p.name: float(p.value) for p in made.parts if p.value is not None and not p.control}

    def current(**values: float) -> float:
        return random_parts.solve(with_value(made, values)).currents[name]

    def size(term: Term, **values: float) -> float:
        found = written(derivation, term)
        known = sizes | values
        return float(found.xreplace({s: sympy.Float(known[str(s)]) for s in found.free_symbols}))

    match step:
        case Limit(letter=letter, to=to, limit=limit):
            near = 1e9 if to is Toward.INFINITY else 1e-9
            found = current(**{letter.name: sizes[letter.name] * near})
            if limit is None:
                return abs(found) > 1e4
            return found == pytest.approx(size(limit), rel=1e-3, abs=1e-5)
        case SpecialCase(assumptions=assumptions, result=result):
            assumed = {s.name: size(t) for s, t in map(truth.solved, assumptions)}
            found = current(**assumed)
            return found == pytest.approx(size(result, **assumed), rel=1e-6, abs=1e-9)
        case Trend(letter=letter, response=response, rate=rate):
            here, there = sizes[letter.name] * (1 - 1e-5), sizes[letter.name] * (1 + 1e-5)
            found = current(**{letter.name: there}) - current(**{letter.name: here})
            wanted = size(rate) * (there - here) * (1 if response is Response.RISES else -1)
            wanted *= current() if response is Response.WEAKENS else 1
            return size(rate) > 0 and found == pytest.approx(wanted, rel=1e-3, abs=1e-9)
    return True


@pytest.mark.parametrize("dependent", [False, True])
def test_numbers_agree_on_circuits_of_all_parts(dependent: bool) -> None:
    counted: Counter[str] = Counter()
    for seed in range(16):
        rng = random.Random(seed)
        made = random_parts.scene(rng)
        if dependent:
            made = random_parts.with_dependent_sources(made, rng)
        try:
            circuit = load(Source("scene", in_letters(made))).circuit
            derivation = derive(circuit)
        except (Rejected, Singular, NoUniqueSolution):
            continue
        assert check(circuit, derivation).accepted
        for step in told(derivation):
            if subject(derivation, step).startswith("I"):
                assert follows(made, derivation, step), (seed, step)
                counted[type(step).__name__] += 1
    assert min(counted[kind] for kind in ("Limit", "Trend")) > 20, counted


# --- known facts ---------------------------------------------------------------------------------


def solved(text: str) -> tuple[Circuit, Derivation]:
    circuit = load(Source("test", text)).circuit
    derivation = derive(circuit)
    assert check(circuit, derivation).accepted
    return circuit, derivation


def limits(text: str) -> dict[tuple[str, str, Toward], sympy.Expr | None]:
    _, derivation = solved(text)
    return {
        (subject(derivation, s), s.letter.name, s.to): (
            None if s.limit is None else written(derivation, s.limit)
        )
        for s in told(derivation)
        if isinstance(s, Limit)
    }


def letter(name: str) -> sympy.Expr:
    kind = {"E": SymbolKind.EMF}.get(name[0], SymbolKind.RESISTANCE)
    return (
        sympy.Symbol(name, positive=True)
        if kind is SymbolKind.RESISTANCE
        else sympy.Symbol(name, real=True)
    )


E, E1, E2, r, r1, r2, R, R1, R2 = map(letter, ("E", "E1", "E2", "r", "r1", "r2", "R", "R1", "R2"))
TWO_CELLS = "I1: A (-E1 r1+) C\nI2: A (-E2 r2+) C\nI3: C (R) A\n"


def test_a_cell_with_a_load() -> None:
    """I = E/(R + r): OpenStax, University Physics Vol. 2, sec. 10.1 (text read).

    Its short-circuit current E/r and its open terminal voltage E are common practice, no source.
    """
    found = limits("I: A (-E r+) B (R) A\nuse method branch currents\nask terminal voltage of E\n")
    assert found["I", "R", Toward.ZERO] == E / r
    assert found["I", "R", Toward.INFINITY] == 0
    assert found["V(E)", "R", Toward.INFINITY] == E


def test_two_cells_in_parallel() -> None:
    """The formulas are classical (Maxwell, Treatise I, ch. VI; from memory).

    That without a load (E1 − E2)/(r1 + r2) goes round is common practice, no source.
    """
    found = limits(TWO_CELLS)
    assert same(found["I1", "R", Toward.INFINITY], (E1 - E2) / (r1 + r2))
    assert found["I3", "R", Toward.INFINITY] == 0
    assert found["I1", "R", Toward.ZERO] == E1 / r1
    _, derivation = solved(TWO_CELLS)
    responses = {
        (subject(derivation, s), s.letter.name): s.response
        for s in told(derivation)
        if isinstance(s, Trend)
    }
    assert responses["I3", "E1"] is responses["I3", "E2"] is Response.RISES
    assert responses["I1", "E2"] is responses["I1", "R"] is Response.FALLS
    assert responses["I1", "r1"] is Response.WEAKENS
    assert ("I3", "r1") not in responses  # falls or rises, as cell 1 delivers or is charged


def test_equal_cells_in_parallel_share_inversely() -> None:
    """I1 : I2 = r2 : r1, common practice, no source."""
    _, derivation = solved(TWO_CELLS)
    cases = {
        subject(derivation, s): written(derivation, s.result)
        for s in told(derivation)
        if isinstance(s, SpecialCase)
    }
    assert same(cases["I1"] / cases["I2"], r2 / r1)


def test_a_balanced_bridge() -> None:
    """I_G = V (Q R − P S)/…: classical (Maxwell, Treatise I, art. 347-349; from memory)."""
    _, derivation = solved(
        "I: C (-E+) A\nI1: A (P) B\nI2: B (Q) C\nI3: A (R) D\nI4: D (S) C\nI5: B (G) D\n"
    )
    (case,) = (s for s in told(derivation) if isinstance(s, SpecialCase))
    ((assumed),) = case.assumptions
    assert subject(derivation, case) == "I5"
    assert to_sympy(case.result) == 0
    letters = {name: sympy.Symbol(name, positive=True) for name in "PQRS"}
    apart = to_sympy(assumed.left) - to_sympy(assumed.right)
    classical = letters["Q"] * letters["R"] - letters["P"] * letters["S"]
    assert sympy.expand(apart + classical) == 0


def test_a_loaded_divider() -> None:
    """Open, it gives E R2/(R1 + R2): OpenStax, University Physics Vol. 2, ch. 10 (formula classical)."""
    found = limits(
        "I1: G (-E+) P (R1) Q\nI2: Q (R2) G\nI3: Q (RL) G\n"
        "use method branch currents\nask voltage across RL\n"
    )
    assert same(found["V(RL)", "RL", Toward.INFINITY], E * R2 / (R1 + R2))
    assert found["I1", "RL", Toward.ZERO] == E / R1


def test_a_battery_without_resistance_is_short_circuited() -> None:
    """Nothing limits the current of an ideal battery through a wire; common practice, no source."""
    found = limits("I1: A (-E1+) B\nI2: B (R1) A\nI3: B (R2) A\nuse method branch currents\n")
    unbounded = [key for key, limit in found.items() if limit is None]
    assert unbounded == [("I2", "R1", Toward.ZERO)]


@pytest.mark.parametrize("value", ["E1 = -3 V", "R = 0 ohm"])
def test_letters_that_are_not_positive_tell_nothing(value: str) -> None:
    _, derivation = solved(f"{TWO_CELLS}{value}\n")
    assert not told(derivation)


def test_a_value_that_is_sought_tells_nothing() -> None:
    """The voltage across the load is given and stays as it is, however small the load gets."""
    _, derivation = solved(
        TWO_CELLS.replace("I3: C (R) A", "I3: C (R) A\nI4: C (R4) A") + "R4 = ?\nV(C,A) = 5 V\n"
    )
    assert not told(derivation)


def test_numbers_that_go_in_first_tell_nothing() -> None:
    values = "E1 = 3 V; E2 = 2 V; r1, r2 = 1 ohm; R = 5 ohm\n"
    circuit, derivation = solved(TWO_CELLS + values)
    assert told(derivation)
    assert not told(derive(circuit, numbers_first=True))


def test_a_current_source_drives_what_is_left() -> None:
    """Two cases by hand: all of J1 goes the one way that is left, or past a short circuit."""
    found = limits("I1: A (-E1 r1+) B\nI2: A (J1 ->) B\nI3: B (R1) A\n")
    j1 = sympy.Symbol("J1", real=True)
    assert found["I1", "R1", Toward.INFINITY] == -j1
    assert found["I1", "R1", Toward.ZERO] == E1 / r1
    assert found["I3", "r1", Toward.INFINITY] == j1


def test_a_divisor_that_may_be_zero_tells_nothing() -> None:
    """I = E1/(R1 − 2 Ω), since the second source follows the current."""
    loop = "I: A (-E1+) B (R1) C (-E2+) A\nE2 = 2 ohm * I\n"
    _, derivation = solved(loop)
    assert {type(step) for step in told(derivation)} <= {Dimensions}
    _, against = solved(loop.replace("(-E2+)", "(+E2-)"))
    assert any(isinstance(step, Trend) for step in told(against))
