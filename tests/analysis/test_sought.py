"""Values that are sought: a value is hidden, and must come out of a current or a voltage.

The current or voltage is computed from the hidden value by an exact nodal analysis of our own,
which shares nothing with the package but the circuit model.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.dimension import AMPERE, VOLT
from derive.algebra.term import (
    Negative,
    Number,
    Product,
    Quantity,
    Symbol,
    Term,
    children,
    symbols,
    voltage,
)
from derive.analysis.answers import derive
from derive.analysis.plan import Singular
from derive.analysis.sought import NoSuchValue
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskValue
from derive.circuit.valuation import Given, Tie, Valuation
from derive.derivation.step import Conclude
from derive.diagnostic import Rejected
from derive.options import Options
from derive.source import Source
from tests.answering import answered
from tests.hidden_values import hide
from tests.random_circuits import random_circuit


def value(circuit: Circuit, symbol: Symbol) -> Fraction:
    known = circuit.valuation(symbol)
    if isinstance(known, Given):
        return known.value
    assert isinstance(known, Tie)
    return _value(circuit, known.term)


def _value(circuit: Circuit, term: Term) -> Fraction:
    match term:
        case Number(number):
            return number
        case Symbol():
            return value(circuit, term)
        case Negative(inner):
            return -_value(circuit, inner)
        case Product(factors):
            found = Fraction(1)
            for factor in factors:
                found *= _value(circuit, factor)
            return found
    raise TypeError


def potentials_and_currents(circuit: Circuit) -> tuple[dict[str, Fraction], list[Fraction]]:
    """Solve current balance at the nodes and V_tail − V_head + emf = R·I exactly."""
    place = {node.name: k for k, node in enumerate(circuit.nodes)}
    n, b = len(place), len(circuit.branches)
    rows = [[Fraction(0)] * (n + b + 1) for _ in range(n + b)]
    rows[0][0] = Fraction(1)  # the first node is at zero
    for k, branch in enumerate(circuit.branches):
        tail, head = place[branch.tail], place[branch.head]
        for node, sign in ((tail, -1), (head, 1)):
            if node:
                rows[node][n + k] += sign
        row = rows[n + k]
        row[tail] += 1
        row[head] -= 1
        row[n + k] -= sum((value(circuit, r) for r in branch.resistances), Fraction(0))
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                rise = value(circuit, passage.element.emf)
                row[-1] -= rise if passage.along else -rise
    found = _solved(rows)
    return {name: found[k] for name, k in place.items()}, found[n:]


def _solved(rows: list[list[Fraction]]) -> list[Fraction]:
    size = len(rows)
    for k in range(size):
        pivot = next(r for r in range(k, size) if rows[r][k])
        rows[k], rows[pivot] = rows[pivot], rows[k]
        rows[k] = [x / rows[k][k] for x in rows[k]]
        for r in range(size):
            if r != k and rows[r][k]:
                rows[r] = [x - rows[r][k] * y for x, y in zip(rows[r], rows[k], strict=True)]
    return [row[-1] for row in rows]


def hidden(rng: random.Random, whole: Circuit) -> tuple[Circuit, Symbol, Fraction] | None:
    """Hide a value, and give a current or a voltage instead."""
    tied = {s for v in whole.values if isinstance(v.value, Tie) for s in symbols(v.value.term)}
    choices = [
        v
        for v in whole.values
        if isinstance(v.value, Given) and v.symbol not in tied and v.value.value
    ]
    chosen = rng.choice(choices)
    potentials, currents = potentials_and_currents(whole)
    names = list(potentials)
    if rng.random() < 0.5 and len(names) > 1:
        to, origin = rng.sample(names, 2)
        symbol = voltage(to, origin)
        condition = Given(potentials[to] - potentials[origin], VOLT)
    else:
        walk = rng.choice(whole.walks)
        branch = whole.branches[walk.branch]
        if _bridges(whole, walk.branch):
            return None  # the junction rule alone says that no current flows there
        symbol = walk.current
        size = currents[walk.branch]
        condition = Given(size if walk.along else -size, AMPERE)
        assert branch.current == symbol or not walk.along or walk.current != branch.current
    values = tuple(v for v in whole.values if v != chosen)
    assert isinstance(chosen.value, Given)
    return (
        replace(
            whole,
            values=(*values, Valuation(symbol, condition)),
            sought=(chosen.symbol,),
            questions=(AskValue(chosen.symbol.name), AskCurrents()),
        ),
        chosen.symbol,
        chosen.value.value,
    )


def _bridges(circuit: Circuit, gone: int) -> bool:
    reached, grown = {circuit.nodes[0].name}, True
    while grown:
        grown = False
        for k, branch in enumerate(circuit.branches):
            if k != gone and (branch.tail in reached) != (branch.head in reached):
                reached |= {branch.tail, branch.head}
                grown = True
    return len(reached) < len(circuit.nodes)


@pytest.mark.parametrize("seed", range(40))
def test_a_hidden_value_comes_out(seed: int) -> None:
    rng = random.Random(seed)
    whole = random_circuit(rng, loops=(1, 4))
    made = hidden(rng, whole)
    if made is None:
        return
    circuit, symbol, secret = made
    for first in (True, False):
        try:
            derivation = derive(circuit, numbers_first=first)
        except (Singular, NoSuchValue):
            assert not _decides(whole, circuit, symbol, secret)
            continue
        verdict = check(circuit, derivation)
        assert verdict.accepted, verdict.refusal
        (step,) = (s for s in derivation.steps if isinstance(s, Conclude) and s.symbol == symbol)
        assert step.value is not None
        found = _value(circuit, _reduced(derivation.equation(step.value).right))
        assert found == secret


@pytest.mark.parametrize("seed", range(0, 48, 4))
def test_a_hidden_value_comes_out_of_all_parts(seed: int) -> None:
    fault = hide(seed)
    assert fault is None, fault


def _reduced(term: Term) -> Term:
    if isinstance(term, Negative):
        return Negative(_reduced(term.term))
    return Number(getattr(term, "value"))  # noqa: B009  (a number or a quantity)


def _decides(whole: Circuit, circuit: Circuit, symbol: Symbol, secret: Fraction) -> bool:
    """Tell whether another value of the hidden quantity changes the condition."""
    (condition,) = circuit.conditions
    seen = set()
    for factor in (1, 2, 3):
        given = Given(secret * factor, symbol.dimension)
        values = (Valuation(symbol, given) if v.symbol == symbol else v for v in whole.values)
        potentials, currents = potentials_and_currents(replace(whole, values=tuple(values)))
        if condition.symbol.dimension == VOLT:
            to, origin = condition.symbol.name[2:-1].split(",")
            seen.add(potentials[to] - potentials[origin])
        else:
            walk = next(w for w in whole.walks if w.current == condition.symbol)
            seen.add(currents[walk.branch])
    return len(seen) > 1


BRIDGE = """
I0: D (-E1+) A
I1: A (R1) B
I2: B (R2) D
I3: A (R3) C
I4: C (R4) D
I5: B (R5) C
"""


def formula(text: str, name: str) -> str | None:
    answers = {a.ask: a.result for a in answered(text).answers}
    return answers[f"value of {name}"].formula


def test_a_bridge_is_balanced_in_letters() -> None:
    """The bridge rule R4/R3 = R2/R1 (S. H. Christie, 1833; common practice)."""
    assert formula(BRIDGE + "R4 = ?; I5 = 0 A", "R4") == "R2*R3/R1"
    assert formula(BRIDGE + "R1 = ?; V(B,C) = 0 V", "R1") == "R2*R3/R4"


@pytest.mark.parametrize("text", ["R4 = ?; I5 = 0 A", "R1 = ?; V(B,C) = 2 V", "E1 = ?; I5 = 1 A"])
def test_formulas_in_letters_hold_no_numbers_with_units(text: str) -> None:
    circuit = load(Source("sought", BRIDGE + text)).circuit
    derivation = derive(circuit)
    formulas = [s.formula for s in derivation.steps if isinstance(s, Conclude) and s.formula]
    letters = [k for k in formulas if k and any(symbols(derivation.equation(k).right))]
    assert len(letters) >= 5
    for k in letters:
        assert not list(_quantities(derivation.equation(k).right))


def _quantities(term: Term) -> Iterator[Term]:
    if isinstance(term, Quantity):
        yield term
    for child in children(term):
        yield from _quantities(child)


def test_the_emf_that_stops_a_current() -> None:
    """With no current in the second battery its emf is the voltage of the divider."""
    text = "I1: A (-E1+) (R1) C\nI2: A (-E2+) (R2) C\nI3: C (R3) A\nE2 = ?; I2 = 0 A"
    assert formula(text, "E2") == "R3*E1/(R1 + R3)"


TWO = "I1: A (-E1+) (R1) C\nI2: A (-E2+) (R2) C\nI3: C (R3) A\nE1 = 12 V; R1 = 2 ohm; R2 = 3 ohm\n"


@pytest.mark.parametrize("first", [False, True])
@pytest.mark.parametrize(
    ("text", "code", "told"),
    [
        (TWO + "E2 = 9 V; R3 = ?; I3 = -1.2 A", "no-such-value",
         "R3 would have to be -10.2 ohm for I3 = -1.2 A, and no resistance is negative"),
        (TWO + "E2 = 9 V; R3 = ?; I3 = 0 A", "no-such-value",
         "no current could flow in R3, although there would be 10.8 V across it"),
        (BRIDGE + "E1 = 6 V; R1, R2, R3, R4 = 2 ohm; R5 = ?; I1 = 1.5 A", "value-not-fixed",
         "neither a current in R5 nor a voltage across it, so every value of R5 will do"),
        ("I1: A (-E1+) B\nI2: A (R1) B\nI3: A (R2) B\nE1 = 6 V; R2 = 3 ohm; R1 = ?; I3 = -2 A",
         "value-not-fixed", "I3 does not depend on R1"),
        ("I1: A (-E1+) B\nI2: A (R1) B\nI3: A (R2) B\nE1 = 6 V; R2 = 3 ohm; R1 = ?; I3 = -1 A",
         "value-not-fixed", "I3 does not depend on R1"),
    ],
)  # fmt: skip
def test_no_value_or_any(text: str, code: str, told: str, first: bool) -> None:
    with pytest.raises(Rejected) as caught:
        answered(text, Options(numbers_first=first))
    (diagnostic,) = caught.value.diagnostics
    assert diagnostic.code == code
    assert told in diagnostic.message
    assert diagnostic.hints
    assert diagnostic.span is not None


@pytest.mark.parametrize("first", [False, True])
def test_two_values_from_two_conditions(first: bool) -> None:
    """By hand: I3 = 1 A + 0.5 A, so R3 = 10 V/1.5 A, and E2 = 10 V + 3 ohm · 0.5 A."""
    text = TWO + "E2 = ?; R3 = ?; I2 = 0.5 A; V(C,A) = 10 V"
    options = Options(numbers_first=first)
    answers = {a.ask: a.result for a in answered(text, options).answers}
    assert answers["value of E2"].exact == Fraction(23, 2)
    assert answers["value of R3"].exact == Fraction(20, 3)


def test_conditions_that_say_the_same() -> None:
    text = TWO + "E2 = ?; R3 = ?; I1 = 1 A; V(C,A) = 10 V"
    with pytest.raises(Rejected, match="do not fix E2 and R3"):
        answered(text)


WHOLE = """I1: A (-E1 r1+) (R1) B
: B (R2) (capacitor C1) A
I3: B (R3) (ammeter M1) A
I4: B (lamp L1) A
: B (voltmeter M2) A
initially V(C1) = 0 V
ground A
R1 = 9 ohm; R2 = 5 ohm; C1 = 100 uF; M2 = 9 kohm
ask currents
ask transient of C1
ask resistance A B
ask efficiency of E1
ask energy in R3 over 2 h
ask charge of E1 over 30 min
ask energy in C1
ask potential B
ask reading of M2
ask power in L1
ask terminal voltage of E1
"""
HIDDEN = {"E1": "6 V", "r1": "1 ohm", "R3": "40 ohm", "M1": "1 ohm", "L1": "60 ohm"}


@pytest.mark.parametrize("sought", sorted(HIDDEN))
@pytest.mark.parametrize("given", ["I4", "V(B,A)"])
def test_every_other_answer_is_that_of_the_circuit_with_the_value(sought: str, given: str) -> None:
    known = "".join(f"{name} = {value}\n" for name, value in HIDDEN.items() if name != sought)
    first = answered(WHOLE + known + f"{sought} = {HIDDEN[sought]}\n")
    answers = {a.ask: a.result.exact for a in first.answers}
    exact = dict(first.currents)["I4"].exact if given == "I4" else answers["potential B"]
    condition = f"{given} = {exact} {'A' if given == 'I4' else 'V'}\n"
    back = answered(WHOLE + known + f"{sought} = ?\n" + condition)
    found = {a.ask: a.result.exact for a in back.answers}
    assert found.pop(f"value of {sought}") == Fraction(HIDDEN[sought].split()[0])
    assert found == answers
    assert {n: r.exact for n, r in back.currents} == {n: r.exact for n, r in first.currents}
