"""Exchanges in networks, and the way back: sound ones are accepted, every changed one is refused.

Which laws hold is textbook knowledge (series, parallel, delta and star: Kennelly 1899 and Rosen
1924; sources side by side: Millman 1940; quoted from memory). The circuits are invented.

Left out of the changes on purpose, because they say the same: parts of a row, of a parallel group
or of an idle piece in another order; the two ends of a view exchanged; the order of levels; the emf
and the resistance of one row, which have one current, exchanged in a `PutBack`; −0 for 0.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations, islice

import pytest

from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    current,
    number,
    resistance,
    symbols,
)
from derive.algebra.term import replace as put_for
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.derivation.algebra import Define, Isolate
from derive.derivation.exchanges import (
    Agree,
    Exchange,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    PutBack,
    Replace,
)
from derive.derivation.step import Derivation, Step
from derive.source import Source

MESH = "".join(f"I{k}: {a} (R{k}) {b}\n" for k, (a, b) in enumerate(combinations("ABCDE", 2), 1))
ARMS = "I2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"
REDUCE = "use method reduction\n"
TEXTS = {
    "ladder":
        "I1: A (R1) P\nI2: P (R2) B\nI3: P (R3) (R4) B\nI4: P (R5) X\nI5: X (R6) X\n"
        "ask resistance A B\n",
    "bridge between points": ARMS + "I1: A (-E1 r1+) B\nask resistance A B\n",
    "four ends": MESH + "ask resistance A B\n",
    "wire":
        "I1: A (R1) B\nI2: A (R2) P\nI3: P (R3) B\nI4: P (R4) B\nR3 = 0 ohm\n"
        "ask resistance A B\n",
    "battery":
        "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) (R4) A\nI4: B (R5) X\nI5: X (R6) X\n"
        + REDUCE,
    "bridge": ARMS + "I1: A (-E1+) (R6) B\n" + REDUCE,
    "balanced bridge": ARMS + "I1: A (-E1+) (R6) B\nR2 = R1; R4 = R3\n" + REDUCE,
    "star":
        MESH + "I11: A (-E1 r1+) B\nE1 = 6 V; r1, R1, R2 = 2 ohm; R3, R4 = 3 ohm; R5 = 4 ohm\n"
        "R6 = 5 ohm; R7, R8 = 6 ohm; R9 = 7 ohm; R10 = 8 ohm\n" + REDUCE,
    "joined":
        "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) F\n"
        "I7: D (R6) F\nI8: F (R7) A\nR1, R2, R3, R4, R5, R6, R7 = 2 ohm\n" + REDUCE,
    "side by side":
        "I1: A (-E1 r1+) B\nI2: B (-E2 r2+) A\nI3: A (R3) B\nI4: B (R4) (-E4+) C\n"
        "I5: C (-E5+) (R5) A\nI6: C (R6) A\n" + REDUCE,
    "cells":
        "I1: A (-E1 r1+) B\nI2: B (+E2 r2-) A\nI3: B (R1) A\nE1, E2 = 4 V; r1, r2 = 3 ohm\n"
        + REDUCE,
    "across":
        "I1: A (-E1+) B\nI2: A (R1) B\nI3: B (-E2+) (R2) A\nI4: B (R3) C\nI5: C (R4) A\n"
        "I6: C (-E3+) (R5) A\n" + REDUCE,
    "two ways":
        "I1: A (-E1 r1+) (-E2+) B\nI2: A (R2) B\nI3: A (R3) B\nE1 = 8 V; E2 = 2 V\n"
        "r1 = 3 ohm; R2 = 4 ohm; R3 = 12 ohm\n" + REDUCE + "use method branch currents\n",
}  # fmt: skip
BY_NETWORKS = (LookBetween, LookAtAll, Replace, Levels, Join, PutBack, LeftBetween, Agree)


@cache
def sound(name: str) -> tuple[Circuit, Derivation]:
    circuit = load(Source(name, TEXTS[name])).circuit
    return circuit, derive(circuit)


def accepts(circuit: Circuit, steps: tuple[Step, ...]) -> bool:
    return check(circuit, Derivation(steps)).accepted


@pytest.mark.parametrize("name", TEXTS)
def test_sound_ones_are_accepted(name: str) -> None:
    circuit, derivation = sound(name)
    verdict = check(circuit, derivation)
    assert verdict.accepted, verdict.refusal


def test_the_cases_hold_every_exchange_and_every_step() -> None:
    steps = [step for name in TEXTS for step in sound(name)[1].steps]
    assert {step.exchange for step in steps if isinstance(step, Replace)} == {*Exchange}
    assert {type(step) for step in steps} >= {*BY_NETWORKS}


# --- changes -------------------------------------------------------------------------------------

Changes = Iterator[tuple[str, Step]]


def changed(step: Step, steps: tuple[Step, ...]) -> Changes:
    """Yield steps that say something else."""
    match step:
        case LookBetween():
            yield "other point", replace(step, other="C" if step.other != "C" else "D")
            yield "no point", replace(step, one="Q9")
            yield "the same point", replace(step, one=step.other)
            yield "all of it", LookAtAll()
        case LookAtAll():
            yield "between points", LookBetween(one="A", other="B")
        case Replace():
            yield from changed_exchange(step, steps)
        case Levels():
            yield from changed_levels(step)
        case Join(points=points):
            yield "one point left out", Join(points=points[1:])
            yield "one point twice", Join(points=(*points, points[0]))
            yield "no such point", Join(points=(*points, "Q9"))
            yield "a point that is not level", Join(points=(*points, "A"))
            yield "the ends of the battery", Join(points=("A", "B"))
        case PutBack():
            yield from changed_back(step, steps)
        case LeftBetween(conclusion=Equation(left, right)):
            assert isinstance(left, Symbol)
            yield "twice as much", replace(step, conclusion=Equation(left, twice(right)))
            yield "the first part", replace(step, conclusion=Equation(left, resistance("R1")))
            for name in ("R(B,A)", "R(E2)", "R(E9)"):
                other = Symbol(name, left.kind, left.dimension)
                yield f"{name} instead", replace(step, conclusion=Equation(other, right))
        case Agree(one=one):
            symbol = conclusion_of(steps[one]).left
            for k, found in enumerate(steps):
                if isinstance(found, Agree) and found != step:
                    yield "about another current", replace(step, other=found.other)
                if isinstance(found, Isolate) and found.symbol == symbol and unknowns(found):
                    yield "an expression in unknowns", replace(step, other=k)
            yield "the same step twice", replace(step, other=one)
            yield "a step without equation", replace(step, other=0)
            yield "a step to come", replace(step, other=len(steps) - 1)
        case Define(symbol=symbol, conclusion=Equation(_, right)):
            yield "twice as much", replace(step, conclusion=Equation(symbol, twice(right)))
            yield "turned round", replace(step, conclusion=Equation(symbol, Negative(right)))
        case _:
            pass


def changed_exchange(step: Replace, steps: tuple[Step, ...]) -> Changes:
    parts = {found.symbol for found in steps if isinstance(found, Define)}
    taken, made = step.taken, step.made
    for kind in Exchange:
        # That a nested resistance is not zero may take minutes to see in letters.
        nested = kind is Exchange.WIRE and not parts.isdisjoint(taken)
        if kind is not step.exchange and not nested:
            yield f"as {kind.value}", replace(step, exchange=kind)
    for k, part in enumerate(taken):
        yield f"{part.name} left out", replace(step, taken=taken[:k] + taken[k + 1 :])
        yield f"{part.name} taken twice", replace(step, taken=(*taken, part))
    yield "a stranger is taken", replace(step, taken=(*taken, resistance("R77")))
    yield "what it makes is taken", replace(step, taken=(*taken, *(made or (current("I1"),))))
    if step.exchange in (Exchange.DELTA, Exchange.STAR):
        yield "two taken exchanged", replace(step, taken=(taken[1], taken[0], *taken[2:]))
    if step.exchange is Exchange.ALIKE:
        emf = next(symbol for symbol in taken if symbol.kind is SymbolKind.EMF)
        rest = tuple(symbol for symbol in taken if symbol != emf)
        yield "an emf moved behind the rest", replace(step, taken=(*rest, emf))
    if made:
        yield "nothing is made", replace(step, made=())
        yield "one more is made", replace(step, made=(*made, made[0]))
        yield "a stranger is made", replace(step, made=(resistance("R78"), *made[1:]))
        yield "what is there is made", replace(step, made=(taken[0], *made[1:]))
    else:
        yield "something is made", replace(step, made=(taken[0],))
    if len(made) > 1:
        yield "made in another order", replace(step, made=(*made[1:], made[0]))


def changed_levels(step: Levels) -> Changes:
    levels = step.levels
    one_level = tuple((point, ONE) for point, _ in levels)
    yield "no potential differs", Levels(levels=one_level)
    yield "nothing is said", Levels(levels=())
    for k, (point, term) in enumerate(levels):
        before, after = levels[:k], levels[k + 1 :]
        yield f"{point} left out", Levels(levels=before + after)
        yield f"{point} said twice", Levels(levels=(*levels, levels[k]))
        yield f"{point} renamed", Levels(levels=(*before, ("Q9", term), *after))
        higher = Sum((term, number(3)))
        yield f"{point} higher", Levels(levels=(*before, (point, higher), *after))
        unknown = Sum((term, current("I1")))
        yield f"{point} unknown", Levels(levels=(*before, (point, unknown), *after))
    exchanged = zip(levels, (*levels[1:], levels[0]), strict=True)
    yield "potentials exchanged", Levels(levels=tuple((p, t) for (p, _), (_, t) in exchanged))


def changed_back(step: PutBack, steps: tuple[Step, ...]) -> Changes:
    symbol, right = step.conclusion.left, step.conclusion.right
    exchange = steps[step.replaced]
    assert isinstance(exchange, Replace)
    assert isinstance(symbol, Symbol)
    for arm in (*exchange.taken, *exchange.made, resistance("R77")):
        if arm.kind is step.arm.kind and arm != step.arm:  # not the emf of the same row
            yield f"arm {arm.name}", replace(step, arm=arm)
    for k, other in enumerate(steps):
        if k != step.replaced and isinstance(other, Replace | Define | LookAtAll):
            yield f"of step {k}", replace(step, replaced=k)

    def says(left: Term, term: Term) -> Step:
        return replace(step, conclusion=Equation(left, term))

    if right == ZERO:
        yield "not zero", says(symbol, another_current(symbol))
    else:
        yield "sign turned", says(symbol, Negative(right))
        yield "twice as much", says(symbol, twice(right))
        yield "nothing", says(symbol, ZERO)
    yield "of another current", says(another_current(symbol), right)
    yield "of a resistance", says(resistance("R1"), right)
    yield "of no symbol", says(Negative(symbol), Negative(right))
    yield (
        "a name of another kind",
        says(Symbol("R99", SymbolKind.RESISTANCE, symbol.dimension), right),
    )
    yield "a name with parentheses", says(current("I(R1)"), right)


def another_current(besides: Symbol) -> Symbol:
    """Return another current that has a meaning."""
    return current("I1") if besides.name != "I1" else current("I2")


def unknowns(step: Isolate) -> bool:
    return any(s.kind is SymbolKind.CURRENT for s in symbols(step.conclusion.right))


def conclusion_of(step: Step) -> Equation:
    assert hasattr(step, "conclusion")
    found = step.conclusion
    assert isinstance(found, Equation)
    return found


def twice(term: Term) -> Term:
    return Product((number(2), term))


@pytest.mark.parametrize("name", TEXTS)
def test_every_changed_step_is_refused(name: str) -> None:
    circuit, derivation = sound(name)
    steps, count = derivation.steps, 0
    changes = ((k, *change) for k, step in enumerate(steps) for change in changed(step, steps))
    stride = 1 + (len(steps) // 100) ** 2  # each check takes long where there are many steps
    for k, what, other in islice(changes, 0, None, stride):
        assert not accepts(circuit, (*steps[:k], other, *steps[k + 1 :])), (k, steps[k], what)
        count += 1
    assert count > 40


@pytest.mark.parametrize("name", TEXTS)
def test_a_step_left_out_is_refused(name: str) -> None:
    """A step without effect stands in its place, so that all later citations stay right."""
    circuit, derivation = sound(name)
    steps = derivation.steps
    unused = resistance("R99")
    idle = Define(symbol=unused, conclusion=Equation(unused, resistance("R1")))
    for k, step in enumerate(steps):
        if isinstance(step, LookBetween | LookAtAll | Replace | Levels | Join):
            assert not accepts(circuit, (*steps[:k], idle, *steps[k + 1 :])), (k, step)


@pytest.mark.parametrize("name", TEXTS)
def test_another_part_in_an_exchange_is_refused(name: str) -> None:
    """What is in a row or side by side elsewhere is not so here, though its law is right."""
    circuit, derivation = sound(name)
    steps = derivation.steps
    rng = random.Random(name)
    resistances = [r for branch in circuit.branches for r in branch.resistances]
    for k, step in enumerate(steps):
        if not isinstance(step, Replace):
            continue
        out = rng.choice([s for s in step.taken if s.kind is SymbolKind.RESISTANCE] or step.taken)
        new = rng.choice([s for s in resistances if s not in step.taken])
        other = tuple(new if s == out else s for s in step.taken)
        forged = list(steps)
        forged[k] = replace(step, taken=other)
        for n, definition in enumerate(steps[:k]):
            if isinstance(definition, Define) and definition.symbol in step.made:
                right = put_for(definition.conclusion.right, {out: new})
                forged[n] = replace(definition, conclusion=Equation(definition.symbol, right))
        assert not accepts(circuit, tuple(forged)), (k, out, new)
