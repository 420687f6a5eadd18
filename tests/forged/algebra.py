"""Forged algebra: the step does not follow, or follows by a division that is not allowed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Parallel,
    Power,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    current,
    number,
)
from derive.derivation.algebra import (
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Scaled,
    Substitute,
)
from tests.checker.sound import (
    E1,
    E2,
    I1,
    I2,
    I3,
    R1,
    R2,
    R3,
    Proof,
    amperes,
    in_letters,
    numbers_first,
    ohms,
    one_loop,
    only_letters,
    volts,
)
from tests.forged.forgery import Forgery, added, altered, instead


def _multipliers() -> tuple[Forgery, ...]:
    proof, numbers = in_letters(), numbers_first()
    combined = proof.steps[proof["combined I1"]]
    assert isinstance(combined, Combine)
    first, second = combined.parts
    other = "does not follow"

    def parts(*found: Scaled) -> Combine:
        return replace(combined, parts=found)

    return (
        instead("a wrong multiplier", proof, "combined I1", other,
                parts(replace(first, multiplier=R2), second)),
        instead("a multiplier with the wrong sign", proof, "combined I1", other,
                parts(first, replace(second, multiplier=R3))),
        instead("a multiplier with the wrong unit", proof, "combined I1", "wrong unit",
                parts(first, replace(second, multiplier=Power(R3, 2)))),
        instead("a number with a unit as multiplier", numbers, "combined", "wrong unit",
                replace(_combine(numbers, "combined"), parts=(
                    Scaled(multiplier=ohms(5), premise=numbers["put in 1"]),
                    Scaled(multiplier=number(-4), premise=numbers["put in 2"])))),
        instead("a premise left out", proof, "combined I1", other, parts(first)),
        instead("no premise", proof, "combined I1", "no premise holds",
                replace(combined, parts=())),
        instead("no premise and nothing eliminated", proof, "combined I1", "from nothing",
                replace(combined, parts=(), eliminated=())),
        instead("an equation multiplied by zero", proof, "combined I1", "by zero",
                parts(first, second, Scaled(multiplier=Sum((R1, Negative(R1))),
                                            premise=proof["junction"]))),
        altered("a whole equation multiplied by zero", proof, "substituted 1", "by zero",
                factor=ZERO, conclusion=Equation(ZERO, ZERO)),
        altered("both sides zero", one_loop(), "tidy", "does not follow",
                conclusion=Equation(ZERO, ZERO)),
        altered("an eliminated unknown still there", proof, "combined I1", "still there",
                eliminated=(I1,)),
        altered("an eliminated unknown never there", proof, "combined I1", "no premise holds",
                eliminated=(I3,)),
        altered("a letter called eliminated", proof, "combined I1", "no unknown",
                eliminated=(R1,)),
        altered("a definition left out", proof, "combined I1", other, rewriting=()),
        altered("a term lost on the way", proof, "substituted 1", other,
                conclusion=Equation(Product((Sum((R1, R3)), I1)), E1)),
        altered("a sign lost on the way", proof, "I3 open", other,
                conclusion=Equation(I3, Sum((I1, Negative(I2))))),
    )  # fmt: skip


def _combine(proof: Proof, label: str) -> Combine:
    step = proof.steps[proof[label]]
    assert isinstance(step, Combine)
    return step


def _divisions() -> tuple[Forgery, ...]:
    proof, tied, bare = in_letters(), numbers_first(), only_letters()
    nothing = Sum((R1, R2, Negative(R1), Negative(R2)))
    spelt = Sum((Product((R1, R2)), Product((R1, R3)), Product((R2, R3))))
    delta = auxiliary("Delta", OHM**2)
    spread = Sum((R3, Negative(Product((number(2), R1)))))

    def collect(premise: int, factor: Term, conclusion: Equation) -> Collect:
        return Collect(premise=premise, factor=factor, conclusion=conclusion)

    loop = bare["loop 2"]
    sum_of_changes = bare.derivation.equation(loop).left
    return (
        added("division by the zero polynomial", bare, "by zero",
              collect(loop, Quotient(R1, nothing), Equation(ZERO, ZERO))),
        added("division by a difference that is zero by a definition", proof, "by zero",
              collect(proof["loop 1"], Quotient(R1, Sum((delta, Negative(spelt)))),
                      Equation(ZERO, ZERO))),
        added("division by what the values make zero", proof, "by zero",
              collect(proof["loop 1"], Quotient(R1, Sum((R1, Negative(Product((number(2), R2)))))),
                      Equation(ZERO, ZERO))),
        added("division by what a tie makes zero", tied, "by zero",
              collect(tied["loop 1"], Quotient(R1, spread), Equation(ZERO, ZERO))),
        added("division by an unknown", bare, "by an unknown",
              collect(loop, Quotient(ONE, I2), Equation(Quotient(sum_of_changes, I2), ZERO))),
        added("division by unknowns that cancel", bare, "by an unknown",
              collect(loop, Quotient(R1, Sum((I1, I2, I3))), Equation(ZERO, ZERO))),
        added("zero in a parallel sign", bare, "by zero",
              collect(loop, Parallel((ONE, nothing)), Equation(ZERO, ZERO))),
        added("opposites in a parallel sign", bare, "by zero",
              collect(loop, Parallel((R1, Negative(R1))), Equation(ZERO, ZERO))),
        added("a denominator in the conclusion that is zero", bare, "by zero",
              collect(loop, ONE, Equation(
                  Sum((sum_of_changes, Product((ZERO, Quotient(E1, nothing))))), ZERO))),
        added("a fraction with the bare zero below", bare, "by zero",
              collect(loop, Quotient(ONE, ZERO), Equation(ZERO, ZERO))),
        added("a power with no exponent", bare, "exponent",
              Define(symbol=auxiliary("x", AMPERE),
                     conclusion=Equation(auxiliary("x", AMPERE), Power(E1, 0)))),
    )  # fmt: skip


def _citations() -> tuple[Forgery, ...]:
    proof = in_letters()
    here = len(proof.steps)
    wish = Equation(I1, amperes(100))
    citing = "no equation before it"
    return (
        added("a step that cites itself", proof, citing, Collect(premise=here, conclusion=wish)),
        added("a step that cites the next one", proof, citing,
              Collect(premise=here + 1, conclusion=wish)),
        added("a step counted from the end", proof, citing, Collect(premise=-1, conclusion=wish)),
        added("a count cited as an equation", proof, citing,
              Collect(premise=proof["unknowns"], conclusion=wish)),
        added("a step that rewrites by itself", proof, citing,
              Collect(premise=proof["I1"], rewriting=(here,), conclusion=wish)),
        altered("values from a later step", proof, "I1 value", citing,
                values=(proof["I2 value"],)),
        altered("a substitution by a later step", proof, "substituted 1", citing,
                definitions=(proof["I3"],)),
        added("a substitution by a sum", proof, "no expression",
              Substitute(premise=proof["loop 1"], definitions=(proof["junction"],),
                         conclusion=wish)),
        added("two replacements for one symbol", proof, "replaced twice",
              BackSubstitute(premise=proof["path"], definitions=(proof["I3"], proof["I3 value"]),
                             conclusion=proof.derivation.equation(proof["potential"]))),
        _circle(),
    )  # fmt: skip


def _circle() -> Forgery:
    """I2 = (E1 + R1 I1) / R2, and I1 from the same equation."""
    proof = only_letters()
    right = Quotient(Sum((Product((R2, I2)), Negative(E1))), R1)
    inverse = Isolate(
        premise=proof["I2 open"],
        symbol=I1,
        factor=Negative(Quotient(R2, R1)),
        conclusion=Equation(I1, right),
    )
    definitions = (proof["I2 open"], proof.add("inverse", inverse))
    return added(
        "replacements in a circle",
        proof,
        "circle",
        Substitute(
            premise=proof["junction"], definitions=definitions, conclusion=Equation(I3, ZERO)
        ),
    )


def _shapes() -> tuple[Forgery, ...]:
    proof, numbers = in_letters(), numbers_first()
    both = Sum((I1, I2))
    return (
        altered("an unknown on both sides", proof, "I3 open", "both sides",
                conclusion=Equation(I3, Sum((I1, I2, I3, Negative(I3))))),
        altered("another unknown isolated", proof, "I3 open", "does not give",
                symbol=I1),
        altered("no unknown isolated", proof, "I3 open", "no expression",
                factor=ONE, conclusion=Equation(both, I3)),
        altered("what was substituted still there", proof, "substituted 1", "still there",
                conclusion=Equation(Sum((Product((R1, I1)), Product((R3, I3)))), E1)),
        altered("an equation cited that is not put in", numbers, "I3 value", "not there",
                definitions=(numbers["I1 value"], numbers["I2 value"], numbers["given E1"])),
        altered("an equation cited for nothing", one_loop(), "V(R1)", "not there",
                definitions=(one_loop()["I1"], one_loop()["I(R1)"])),
        altered("another unknown than before", proof, "I3", "does not give",
                conclusion=Equation(I1, proof.derivation.equation(proof["I3"]).right)),
        altered("a letter with a value still there", proof, "I1 value", "still there",
                conclusion=Equation(I1, Quotient(Product((E1, amperes(Fraction(17, 7)))), E1))),
        altered("a value put in wrongly", proof, "I1 value", "does not follow",
                conclusion=Equation(I1, amperes(Fraction(18, 7)))),
        altered("kiloohms for ohms", numbers, "put in 1", "does not follow",
                conclusion=Equation(Sum((Product((number(6000), I1)), Product((number(4), I2)))),
                                    amperes(10))),
    )  # fmt: skip


def _symbols() -> tuple[Forgery, ...]:
    proof, bare = in_letters(), only_letters()
    delta = auxiliary("Delta", OHM**2)
    other = Symbol("R1", SymbolKind.RESISTANCE, VOLT)
    voltage = Symbol("V(A,B)", SymbolKind.VOLTAGE, VOLT)

    def define(symbol: Symbol, right: Term) -> Define:
        return Define(symbol=symbol, conclusion=Equation(symbol, right))

    x, y = auxiliary("x", OHM), auxiliary("y", OHM)
    return (
        added("a name given twice", proof, "meaning already", define(delta, Product((R1, R2)))),
        added("a letter of the circuit defined anew", proof, "meaning already",
              define(R1, Product((number(3), R2)))),
        added("a current defined", proof, "meaning already", define(I3, amperes(1))),
        added("a current defined as something else", proof, "meaning already",
              define(auxiliary("I3", AMPERE), amperes(1))),
        added("the voltage between two points defined", proof, "meaning already",
              define(voltage, volts(5))),
        added("a definition by itself", bare, "no meaning", define(x, Product((number(2), x)))),
        added("a definition by a later one", bare, "no meaning", define(x, y)),
        altered("a definition for another symbol", proof, "Delta", "another symbol", symbol=x),
        added("a symbol from nowhere", bare, "no meaning",
              Collect(premise=bare["I1"], conclusion=Equation(I1, current("I9")))),
        added("a letter with another unit", bare, "no meaning",
              Collect(premise=bare["I1"], conclusion=Equation(I1, Quotient(E1, other)))),
        added("ohms added to volts", bare, "adds", define(x, Sum((R1, E1)))),
        added("volts set against ohms", bare, "adds", define(x, E1)),
        added("a symbol that cancels itself", bare, "no meaning",
              Collect(premise=bare["loop 2"],
                      conclusion=Equation(Sum((*_terms(bare), x, Negative(x))), ZERO))),
        added("a bare number for a current", proof, "adds",
              PutInValues(premise=proof["I1"], values=(proof["I1 value"],),
                          conclusion=Equation(E2, number(1)))),
    )  # fmt: skip


def _terms(proof: Proof) -> tuple[Term, ...]:
    left = proof.derivation.equation(proof["loop 2"]).left
    assert isinstance(left, Sum)
    return left.terms


FORGERIES = (*_multipliers(), *_divisions(), *_citations(), *_shapes(), *_symbols())
