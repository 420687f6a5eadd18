"""Forged answers: rounded wrongly, given to another question, missing, or not of this circuit."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import VOLT, WATT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
)
from derive.checker.kernel import check
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Hop, Loop, Node, Passage, WalkCurrent
from derive.circuit.question import (
    AskCurrents,
    AskPotential,
    AskPowerIn,
    AskVoltage,
    AskVoltageAcross,
)
from derive.derivation.algebra import Combine, Define, PutInValues, Scaled
from derive.derivation.further import PowerBalance
from derive.derivation.laws import JunctionRule, LoopRule
from derive.derivation.step import Conclude, Derivation, Step
from tests.checker.sound import (
    E1,
    E2,
    I1,
    I2,
    I3,
    Proof,
    amperes,
    fall,
    give,
    in_letters,
    numbers_first,
    one_loop,
    only_letters,
    power,
    rise,
    values,
    volts,
    watts,
)
from tests.forged.forgery import Forgery, added, altered, silenced


def _rounding() -> tuple[Forgery, ...]:
    proof = in_letters()
    label = f"round {AskCurrents()} I1"  # 17/7 A = 2.428… A
    exact = f"round {AskCurrents()} I1"
    return (
        altered("rounded down where up is right", proof, label, "wrong value",
                rounded=Fraction("2.42")),
        altered("rounded to the next", proof, label, "wrong value", rounded=Fraction("2.44")),
        altered("rounded with the wrong sign", proof, label, "wrong value",
                rounded=Fraction("-2.43")),
        altered("a rounded value called exact", proof, label, "exact", exact=True),
        altered("an exact value called rounded", one_loop(), exact, "exact", exact=False),
        altered("more digits than are told", proof, label, "more digits",
                rounded=Fraction("2.429")),
        altered("fewer places than digits", proof, label, "more digits", decimals=1),
        altered("milliamperes for amperes", proof, label, "wrong value", unit_exponent=-3),
        altered("a prefix that does not exist", proof, label, "prefix", unit_exponent=-2),
        altered("the value of another current", proof, label, "is about I1", symbol=I2),
        altered("another premise", proof, label, "is about I", premise=proof["I2"]),
        altered("a formula rounded", proof, label, "only a number", premise=proof["I1"]),
        altered("places before the point", proof, label, "prefix", decimals=-1,
                rounded=Fraction(0)),
    )  # fmt: skip


def _conclusions() -> tuple[Forgery, ...]:
    proof, bare, single = in_letters(), only_letters(), one_loop()
    first = f"conclude {AskCurrents()} I1"
    potential = f"conclude {AskPotential('B')} V(B)"
    third = f"conclude {AskCurrents()} I3"
    return (
        altered("the answer to another question", single,
                f"conclude {AskVoltageAcross('R1')} V(R1)", "another question",
                question=AskPowerIn("R1")),
        altered("a question that is not asked", proof, potential, "does not ask",
                question=AskVoltage("B", "A")),
        altered("a current for a voltage", proof, potential, "another question", symbol=I1,
                formula=proof["I1"], value=proof["I1 value"]),
        altered("the formula of another current", proof, first, "is about I2",
                formula=proof["I2"]),
        altered("the value of another current in the answer", proof, third, "is about I1",
                value=proof["I1 value"]),
        altered("a formula with unknowns", proof, potential, "unknowns", formula=proof["path"]),
        altered("values not put in", proof, first, "not put in", value=None, rounded=None),
        altered("a formula for a value", proof, first, "not put in", value=proof["I1"],
                rounded=None),
        altered("nothing said", proof, first, "nothing", formula=None, value=None, rounded=None),
        altered("the rounded value of another current", proof, first, "of another step",
                rounded=proof[f"round {AskCurrents()} I1"] - 1),
        altered("a rounded value that comes later", proof, first, "does not come before",
                rounded=proof[f"round {AskCurrents()} I2"]),
        altered("a value that comes later", bare, "conclude", "no equation before it",
                formula=99),
        altered("a reverse voltage", bare, "conclude", "another question",
                symbol=Symbol("V(M,C)", SymbolKind.VOLTAGE, VOLT)),
    )  # fmt: skip


def _missing() -> tuple[Forgery, ...]:
    def concludes_i2(step: Step) -> bool:
        return isinstance(step, Conclude) and step.symbol == I2

    def concludes_a_voltage(step: Step) -> bool:
        return isinstance(step, Conclude) and isinstance(step.question, AskVoltage)

    proof, late, reason = only_letters(), in_letters(), "not answered"
    return (
        silenced("no answer for one current", numbers_first(), reason, concludes_i2),
        silenced("no answer for one of many", late, reason, concludes_i2),
        silenced("a question without an answer", proof, reason, concludes_a_voltage),
        silenced("nothing at all", Proof("empty", proof.circuit), reason, concludes_a_voltage),
    )


def _balances() -> tuple[Forgery, ...]:
    proof = in_letters()
    sound = proof.steps[proof["balance"]]
    assert isinstance(sound, PowerBalance)
    right = sound.conclusion.right
    return (
        altered("a battery left out", proof, "balance", "leaves out Pd(E2)",
                taken=sound.taken[:-1]),
        altered("a resistor left out", proof, "balance", "leaves out P(R1)",
                taken=sound.taken[1:]),
        altered("a resistor counted twice", proof, "balance", "not to be counted",
                taken=(*sound.taken, sound.taken[0])),
        altered("a charged battery among those that deliver", proof, "balance", "wrong side",
                delivered=(*sound.delivered, sound.taken[-1]), taken=sound.taken[:-1]),
        altered("a delivering battery among the loads", proof, "balance", "wrong side",
                delivered=(), taken=(*sound.taken, *sound.delivered)),
        altered("a resistor that delivers", proof, "balance", "not to be counted",
                delivered=(*sound.delivered, sound.taken[0]), taken=sound.taken[1:]),
        altered("a charged battery counted with the wrong sign", proof, "balance", "add up",
                conclusion=Equation(sound.conclusion.left, watts(Fraction(106, 7)))),
        altered("a wrong sum of powers", proof, "balance", "add up",
                conclusion=Equation(watts(25), right)),
        altered("a current in a balance", proof, "balance", "not to be counted",
                delivered=(proof["I1 value"],)),
    )  # fmt: skip


def _totals() -> tuple[Forgery, ...]:
    """Names for sums of powers that stand for other sums of the same value or of another one."""
    proof = one_loop()
    total = Symbol("P_taken", SymbolKind.POWER, WATT)
    heat, inner = power("P(R1)"), power("P(r1)")
    right = Define(symbol=total, conclusion=Equation(total, Sum((heat, inner))))
    wrong = {
        "a part counted twice in the name of a sum": Sum((heat, heat)),
        "a part left out of the name of a sum": heat,
        "a name for the other sum of the same value": power("Pd(E1)"),
    }
    sound = proof.steps[proof["balance"]]
    assert isinstance(sound, PowerBalance)
    delivered = Symbol("P_delivered", SymbolKind.POWER, WATT)
    first = Define(symbol=delivered, conclusion=Equation(delivered, power("Pd(E1)")))
    here = len(proof.steps)
    balance = replace(sound, totals=(here, here + 1))
    longer = Derivation((*proof.steps, first, right, balance))
    assert check(proof.circuit, longer).refusal is None
    return tuple(
        added(name, proof, "another sum of powers", first,
              replace(right, conclusion=Equation(total, term)), balance)
        for name, term in wrong.items()
    )  # fmt: skip


def _contradiction() -> Proof:
    """Two ideal batteries of 10 V and 4 V side by side: from 6 V = 0 anything follows."""

    def leg(name: Symbol, source: str) -> Branch:
        return Branch(name, "A", "B", (Passage(Battery(source)),), (("A",), ("B",)))

    circuit = Circuit(
        title="A contradiction",
        statement="",
        nodes=(Node("A", ("A",), 3), Node("B", ("B",), 3)),
        branches=(
            leg(I1, "E1"),
            leg(I2, "E2"),
            Branch(I3, "B", "A", (Passage(Resistor("R3")),), (("B",), ("A",))),
        ),
        walks=(WalkCurrent(I1, 0, True), WalkCurrent(I2, 1, True), WalkCurrent(I3, 2, True)),
        values=values(E1=10, E2=4, R3=2),
        questions=(AskCurrents(),),
    )
    proof = Proof("contradiction", circuit)
    rows = (rise("E1", E1), fall("E2", E2))
    proof.add(
        "loop",
        LoopRule(
            name="1",
            loop=Loop((Hop(0, True), Hop(1, False))),
            crossings=rows,
            conclusion=Equation(Sum((E1, Negative(E2))), ZERO),
        ),
    )
    given = give(proof)
    proof.add(
        "absurd",
        PutInValues(premise=proof["loop"], values=given, conclusion=Equation(volts(6), ZERO)),
    )
    return proof


def _wishful(proof: Proof, **currents: int) -> Proof:
    """Conclude whatever currents are wished for, by multiples of 6 V = 0."""
    absurd = proof["absurd"]
    for name, value in currents.items():
        symbol = next(b.current for b in proof.circuit.branches if b.current.name == name)
        # symbol − value = m · (6 V − 0) with m = (symbol − value) / 6 V
        factor = Quotient(Sum((symbol, amperes(-value))), volts(6))
        step = proof.add(
            name,
            Combine(
                parts=(Scaled(multiplier=factor, premise=absurd),),
                eliminated=(),
                conclusion=Equation(symbol, amperes(value)),
            ),
        )
        proof.add(
            f"conclude {name}",
            Conclude(question=AskCurrents(), symbol=symbol, formula=None, value=step, rounded=None),
        )
    return proof


def _whole(name: str, proof: Proof, reason: str) -> Forgery:
    return Forgery(name, proof.circuit, proof.derivation, len(proof.steps), reason)


def _circuits() -> tuple[Forgery, ...]:
    junction = JunctionRule(
        node="B",
        flows_in=(I1, I2),
        flows_out=(I3,),
        conclusion=Equation(Sum((I1, I2)), I3),
    )
    half = _contradiction()
    half.add("junction", junction)
    return (
        _whole("currents that break the junction rule",
               _wishful(_contradiction(), I1=1, I2=1, I3=5), "violate the junction rule"),
        _whole("currents that break the loop rule",
               _wishful(_contradiction(), I1=3, I2=2, I3=5), "violate the loop rule"),
        _whole("currents that break a loop without a current",
               _wishful(half, I1=2, I2=0, I3=2), "violate the loop rule"),
    )  # fmt: skip


FORGERIES = (
    *_rounding(), *_conclusions(), *_missing(), *_balances(), *_totals(), *_circuits(),
)  # fmt: skip
