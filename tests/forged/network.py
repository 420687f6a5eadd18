"""How a forged reduction is written down: step by step, the last one at fault.

All steps before the last hold, so that the number of the step which is refused tells that the
forgery was seen where it is made. What is said to be false is so by Kirchhoff's rules and Ohm's law
(textbook knowledge); the circuits are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import (
    Equation,
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
    source_current,
)
from derive.checker.kernel import Refusal, check
from derive.circuit.elaborate import load
from derive.circuit.valuation import Given, Tie
from derive.derivation.algebra import Define
from derive.derivation.exchanges import Exchange, LeftBetween, Levels, LookAtAll, PutBack, Replace
from derive.derivation.laws import GivenValue
from derive.derivation.step import Derivation, Step
from derive.derivation.step_id import StepId
from derive.source import Source

KINDS = {"E": emf, "R": resistance, "r": resistance, "I": current}


def symbol(name: str) -> Symbol:
    """Return a symbol by the first letter of its name."""
    if name.startswith("I_s"):
        return source_current(name)
    if name[0] == "V":
        return Symbol(name, SymbolKind.VOLTAGE, VOLT)
    return KINDS[name[0]](name)


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

    def current_source(self, taken: str, made: Symbol) -> StepId:
        self.define(made, Quotient(*map(symbol, taken.split())))
        return self.put(Exchange.CURRENT_SOURCE, taken, made)

    def battery(self, taken: str, made: Symbol) -> StepId:
        self.define(made, Product(tuple(map(symbol, taken.split()))))
        return self.put(Exchange.BATTERY, taken, made)

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


E1, E2, E3, E_a = map(symbol, ("E1", "E2", "E3", "E_a"))
R1, R2, R3, R4, R5 = map(symbol, ("R1", "R2", "R3", "R4", "R5"))
R_a, R_b = map(symbol, ("R_a", "R_b"))
I1, I2, I3, I4 = map(symbol, ("I1", "I2", "I3", "I4"))
PAIR = "I1: A (-E1 r1+) B\nI2: B (R1) A\nI3: B (R2) A\n"
IDEAL = "I1: A (-E1+) B\nI2: A (R1) B\nI3: B (-E2+) (R2) A\nI4: B (R3) (R4) A\n"
BRIDGE = "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"
CELLS = "I1: A (-E1 r1+) B\nI2: A (-E2 r2+) B\nI3: B (R5) A\n"
