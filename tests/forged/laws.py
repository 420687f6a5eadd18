"""Forged laws: what is said of the circuit is not what the circuit says."""

from __future__ import annotations

from dataclasses import replace

from derive.algebra.dimension import VOLT
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Power,
    Product,
    Sum,
    Symbol,
    Term,
    auxiliary,
    negate,
    number,
)
from derive.checker.kernel import check
from derive.circuit.model import Hop, Loop
from derive.derivation.laws import (
    Change,
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    LoopRule,
    PartLaw,
    PartRule,
    PathRule,
    SameCurrent,
)
from derive.derivation.step import Derivation
from tests.checker.sound import (
    E1,
    E2,
    I1,
    I2,
    I3,
    I4,
    R1,
    R2,
    R3,
    drop,
    fall,
    gain,
    in_letters,
    numbers_first,
    ohms,
    one_loop,
    only_letters,
    power,
    r1,
    rise,
    voltage,
    volts,
)
from tests.forged.forgery import Forgery, added, altered, instead


def _loop(hops: tuple[Hop, ...], *rows: Crossing) -> LoopRule:
    """Return a loop rule whose sum agrees with its rows."""
    terms = tuple(row.change for row in rows)
    conclusion = Equation(Sum(terms) if len(terms) > 1 else ZERO, ZERO)
    return LoopRule(name="1", loop=Loop(hops), crossings=rows, conclusion=conclusion)


_SOUND = (rise("E1", E1), drop("R1", R1, I1), drop("R3", R3, I3))
_HOPS = (Hop(0, True), Hop(2, True))


def _loops() -> tuple[Forgery, ...]:
    proof = in_letters()
    emf_row, first, third = _SOUND
    cases = (
        ("a resistance with the wrong sign", _loop(_HOPS, emf_row, gain("R1", R1, I1), third)),
        ("an emf with the wrong sign", _loop(_HOPS, fall("E1", E1), first, third)),
        ("a right row with a wrong change",
         _loop(_HOPS, emf_row, replace(first, change=Product((R1, I1))), third)),
        ("a part left out", _loop(_HOPS, emf_row, third)),
        ("a part met twice", _loop(_HOPS, emf_row, first, first, third)),
        ("a part of another branch", _loop(_HOPS, emf_row, drop("R2", R2, I2), third)),
        ("the current of another branch", _loop(_HOPS, emf_row, drop("R1", R1, I2), third)),
        ("rows out of order", _loop(_HOPS, first, emf_row, third)),
        ("an emf under another name", _loop(_HOPS, replace(emf_row, part="E2"), first, third)),
    )  # fmt: skip
    found = [instead(name, proof, "loop 1", "parts met", step) for name, step in cases]
    both = (Hop(0, True), Hop(1, True))
    walks = (
        ("a loop that jumps", _loop(both, *_SOUND), "jumps"),
        ("a loop that is not closed", _loop((Hop(0, True),), *_SOUND[:2]), "ends at"),
        ("a loop there and back", _loop((Hop(0, True), Hop(0, False)), *_SOUND), "twice"),
        ("a loop of nothing", _loop(()), "no branch"),
        ("a branch that does not exist", _loop((Hop(7, True),), *_SOUND), "no branch"),
        ("a branch counted from the end", _loop((Hop(-1, True),), *_SOUND), "no branch"),
        ("a sum that forgets a row",
         replace(_loop(_HOPS, *_SOUND), conclusion=Equation(Sum((E1, Negative(R1))), ZERO)),
         "add up"),
        ("a sum that is not zero",
         replace(_loop(_HOPS, *_SOUND), conclusion=Equation(_loop(_HOPS, *_SOUND).conclusion.left,
                                                            E2)),
         "add up"),
    )  # fmt: skip
    found += [instead(name, proof, "loop 1", reason, step) for name, step, reason in walks]
    inner = _loop((Hop(0, True),), drop("E1", r1, I1), rise("E1", E1), drop("R1", R1, I1))
    name = "an internal resistance on the wrong side of its emf"
    found.append(instead(name, one_loop(), "loop 1", "parts met", inner))
    backwards = replace(
        _loop((Hop(0, False),), drop("R1", R1, I1), drop("E1", r1, I1), rise("E1", E1))
    )
    found.append(
        instead("a loop walked backwards with signs of forwards", one_loop(), "loop 1", "parts met",
                backwards)
    )  # fmt: skip
    return tuple(found)


def _junctions() -> tuple[Forgery, ...]:
    proof = in_letters()

    def rule(flows_in: tuple[Symbol, ...], flows_out: tuple[Symbol, ...]) -> JunctionRule:
        left: Term = Sum(flows_in) if len(flows_in) > 1 else flows_in[0] if flows_in else ZERO
        right: Term = Sum(flows_out) if len(flows_out) > 1 else flows_out[0] if flows_out else ZERO
        conclusion = Equation(left, right)
        return JunctionRule(node="B", flows_in=flows_in, flows_out=flows_out, conclusion=conclusion)

    other = "other currents"
    return (
        instead("a current on the wrong side", proof, "junction", other, rule((I1,), (I2, I3))),
        instead("a current left out", proof, "junction", other, rule((I1,), (I3,))),
        instead("a current counted twice", proof, "junction", other, rule((I1, I2, I2), (I3,))),
        instead("in and out exchanged", proof, "junction", other, rule((I3,), (I1, I2))),
        altered("a node that does not exist", proof, "junction", "no node", node="Q"),
        altered(
            "right currents, wrong equation", proof, "junction", "not the junction rule",
            conclusion=Equation(Sum((I1, I3)), I2),
        ),
    )  # fmt: skip


def _values() -> tuple[Forgery, ...]:
    letters, tied, bare = in_letters(), numbers_first(), only_letters()
    three = Equation(R3, Product((number(3), R1)))
    return (
        altered("another value", letters, "given R1", "author's value",
                conclusion=Equation(R1, ohms(3))),
        altered("a value with another unit", letters, "given R1", "author's value",
                conclusion=Equation(R1, volts(2))),
        altered("a value without its unit", letters, "given R1", "author's value",
                conclusion=Equation(R1, number(2))),
        altered("a value for another letter", letters, "given R1", "author's value",
                conclusion=Equation(R3, ohms(2))),
        altered("a tie with another factor", tied, "given R3", "author's value",
                conclusion=three),
        added("a value for a letter that has none", bare, "no value for R1",
              GivenValue(symbol=R1, conclusion=Equation(R1, ohms(2)))),
        altered("a walk with the wrong sign", tied, "same", "current of the branch",
                conclusion=Equation(I4, I3)),
        altered("a walk in another branch", tied, "same", "current of the branch",
                conclusion=Equation(I4, Negative(I2))),
        added("a walk that does not exist", bare, "no walk",
              SameCurrent(walk=I4, conclusion=Equation(I4, I1))),
    )  # fmt: skip


def _paths() -> tuple[Forgery, ...]:
    proof = only_letters()

    def path(origin: str, to: str, *rows: Crossing) -> PathRule:
        terms = tuple(row.change for row in rows)
        right: Term = Sum(terms) if len(terms) > 1 else terms[0] if terms else ZERO
        conclusion = Equation(voltage(f"V({to},{origin})"), right)
        return PathRule(origin=origin, to=to, crossings=rows, conclusion=conclusion)

    down, back = drop("R1", R1, I1), gain("R2", R2, I2)
    return (
        added("a path that jumps", proof, "go on", path("M", "B", drop("R2", R2, I2))),
        added("a path that ends elsewhere", proof, "not end", path("M", "A", down)),
        added("a path that stops half way", proof, "not end", path("A", "B", fall("E1", E1))),
        added("a path with a wrong sign", proof, "not met",
              path("M", "B", replace(down, change=Product((R1, I1))))),
        added("a path walked the other way", proof, "go on", path("B", "M", down)),
        added("a path with a foreign part", proof, "not met", path("M", "B", drop("R1", R1, I2))),
        added("a path from nowhere", proof, "no point", path("Z", "B", down)),
        added("a path that forgets a part", proof, "go on", path("A", "B", down)),
        added("a path under the name of its reverse", proof, "add up",
              replace(path("M", "B", down), conclusion=Equation(voltage("V(M,B)"), down.change))),
        added("a path with a wrong sum", proof, "add up",
              replace(path("M", "A", down, back), conclusion=Equation(voltage("V(A,M)"), E1))),
    )  # fmt: skip


def _parts() -> tuple[Forgery, ...]:
    proof = one_loop()

    def rule(kind: PartLaw, part: str, left: Symbol, right: Term) -> PartRule:
        return PartRule(kind=kind, part=part, conclusion=Equation(left, right))

    inner = Product((r1, I1))
    relation = "relation of the part"
    return (
        instead("a terminal voltage above the emf of a loaded battery", proof, "V(E1) law",
                relation, rule(PartLaw.VOLTAGE, "E1", voltage("V(E1)"), Sum((E1, inner)))),
        instead("a terminal voltage without the internal resistance", proof, "V(E1) law",
                relation, rule(PartLaw.VOLTAGE, "E1", voltage("V(E1)"), E1)),
        instead("a power with the current not squared", proof, "P(R1) law", relation,
                rule(PartLaw.POWER_IN, "R1", power("P(R1)"), Product((R1, I1)))),
        instead("the power of another part", proof, "P(R1) law", relation,
                rule(PartLaw.POWER_IN, "R1", power("P(R1)"), Product((r1, Power(I1, 2))))),
        instead("power delivered as power taken in", proof, "P(E1) law", relation,
                rule(PartLaw.POWER_IN, "E1", power("P(E1)"), Product((E1, I1)))),
        added("the power that a resistor delivers", proof, "no part R1",
              rule(PartLaw.POWER_OF, "R1", power("Pd(R1)"), Product((R1, Power(I1, 2))))),
        added("a part that does not exist", proof, "no part R9",
              rule(PartLaw.VOLTAGE, "R9", voltage("V(R9)"), inner)),
        added("the symbol of another part", proof, relation,
              rule(PartLaw.VOLTAGE, "R1", voltage("V(r1)"), Product((R1, I1)))),
    )  # fmt: skip


def _counts() -> tuple[Forgery, ...]:
    proof = in_letters()
    sound = proof.steps[0]
    assert isinstance(sound, ChooseUnknowns)
    cases = {
        "the dependent junction equation counted": replace(
            sound, junction_equations=2, loop_equations=1
        ),
        "a branch counted twice": replace(sound, branches=4, loop_equations=3),
        "a bend counted as junction": replace(sound, junctions=3),
        "an unknown left out": replace(sound, unknowns=(I1, I2)),
        "a loop equation too many": replace(sound, loop_equations=3),
    }
    return tuple(instead(name, proof, "unknowns", "counts", step) for name, step in cases.items())


def _changes() -> tuple[Forgery, ...]:
    """Names for single changes on a walk."""
    proof = in_letters()
    rule = proof.steps[proof["loop 1"]]
    assert isinstance(rule, LoopRule)
    name = auxiliary("U", VOLT)

    def change(row: int, term: Term, symbol: Symbol = name, loop: str = "loop 1") -> Change:
        return Change(loop=proof[loop], row=row, conclusion=Equation(symbol, term))

    first, second = (crossing.change for crossing in rule.crossings[:2])
    longer = Derivation((*proof.steps, change(0, first), change(1, second, auxiliary("W", VOLT))))
    assert check(proof.circuit, longer).refusal is None
    return (
        added("the change of another row", proof, "another one", change(0, second)),
        added("a change with the other sign", proof, "another one", change(1, negate(second))),
        added("a row that is not there", proof, "no such part", change(9, first)),
        added("a change on no walk", proof, "no such part", change(0, first, loop="junction")),
        added("a change under a name that is taken", proof, "has a meaning", change(0, first, E1)),
    )


FORGERIES = (*_changes(), *_loops(), *_junctions(), *_values(), *_paths(), *_parts(), *_counts())
