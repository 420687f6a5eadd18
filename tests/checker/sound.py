"""Sound derivations written by hand, step by step; invented circuits and numbers.

Each is a circuit with a list of labelled steps, so that a test can speak of ``"loop 1"`` instead of
a number. The answers were worked out on paper and are checked by the derivations themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from derive.algebra.dimension import AMPERE, OHM, VOLT, WATT
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
    constant,
    current,
    emf,
    number,
    potential,
    product,
    resistance,
)
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Hop, Loop, Node, Passage, WalkCurrent
from derive.circuit.question import (
    AskCurrentIn,
    AskCurrents,
    AskPotential,
    AskPowerIn,
    AskPowerOf,
    AskReducible,
    AskTerminalVoltage,
    AskVoltage,
    AskVoltageAcross,
    Question,
)
from derive.circuit.valuation import Given, Tie, Valuation
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
from derive.derivation.further import PowerBalance
from derive.derivation.laws import (
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    LoopRule,
    PartLaw,
    PartRule,
    PathRule,
    PotentialRule,
    SameCurrent,
)
from derive.derivation.step import Conclude, Derivation, Round, Step
from derive.derivation.step_id import StepId

E1, E2 = emf("E1"), emf("E2")
R1, R2, R3, R4, R5, r1 = (resistance(name) for name in ("R1", "R2", "R3", "R4", "R5", "r1"))
I1, I2, I3, I4 = (current(name) for name in ("I1", "I2", "I3", "I4"))


@dataclass
class Proof:
    """A circuit and the labelled steps of its derivation."""

    name: str
    circuit: Circuit
    steps: list[Step] = field(default_factory=list)
    labels: dict[str, StepId] = field(default_factory=dict)

    def add(self, label: str, step: Step) -> StepId:
        """Append a step under a label."""
        assert label not in self.labels
        self.labels[label] = len(self.steps)
        self.steps.append(step)
        return self.labels[label]

    def __getitem__(self, label: str) -> StepId:
        """Return the number of a step."""
        return self.labels[label]

    @property
    def derivation(self) -> Derivation:
        """The steps as a derivation."""
        return Derivation(tuple(self.steps))

    def answer(self, question: Question, symbol: Symbol, formula: str, value: str) -> None:
        """Round a value to two places and conclude."""
        exact = numeric(self.derivation.equation(self[value]).right)
        rounded = Fraction(round(exact * 100), 100)
        step = self.add(
            f"round {question} {symbol.name}",
            Round(
                premise=self[value],
                symbol=symbol,
                rounded=rounded,
                unit_exponent=0,
                decimals=2,
                exact=rounded == exact,
            ),
        )
        self.add(
            f"conclude {question} {symbol.name}",
            Conclude(
                question=question,
                symbol=symbol,
                formula=self[formula] if formula else None,
                value=self[value],
                rounded=step,
            ),
        )


def numeric(term: Term) -> Fraction:
    """Return the value of a quantity with its sign."""
    if isinstance(term, Negative):
        return -numeric(term.term)
    assert hasattr(term, "value")
    value = term.value
    assert isinstance(value, Fraction)
    return value


def volts(value: int | Fraction) -> Term:
    return constant(Fraction(value), VOLT)


def ohms(value: int | Fraction) -> Term:
    return constant(Fraction(value), OHM)


def amperes(value: int | Fraction) -> Term:
    return constant(Fraction(value), AMPERE)


def watts(value: int | Fraction) -> Term:
    return constant(Fraction(value), WATT)


def values(**numbers: Fraction | int) -> tuple[Valuation, ...]:
    """Return given values; names that start with E are emfs, others resistances."""
    found = []
    for name, value in numbers.items():
        symbol = emf(name) if name.startswith("E") else resistance(name)
        found.append(Valuation(symbol, Given(Fraction(value), symbol.dimension)))
    return tuple(found)


def rise(part: str, source: Symbol) -> Crossing:
    return Crossing(part=part, quantity=source, current=None, along=True, change=source)


def fall(part: str, source: Symbol) -> Crossing:
    change = Negative(source)
    return Crossing(part=part, quantity=source, current=None, along=False, change=change)


def drop(part: str, r: Symbol, flow: Symbol) -> Crossing:
    change = Negative(Product((r, flow)))
    return Crossing(part=part, quantity=r, current=flow, along=True, change=change)


def gain(part: str, r: Symbol, flow: Symbol) -> Crossing:
    return Crossing(part=part, quantity=r, current=flow, along=False, change=Product((r, flow)))


def give(proof: Proof) -> tuple[StepId, ...]:
    """Add the values of the circuit as steps."""
    found = []
    for valuation in proof.circuit.values:
        known = valuation.value
        right = known.term if isinstance(known, Tie) else constant(known.value, known.dimension)
        step = GivenValue(symbol=valuation.symbol, conclusion=Equation(valuation.symbol, right))
        found.append(proof.add(f"given {valuation.symbol.name}", step))
    return tuple(found)


def power(name: str) -> Symbol:
    return Symbol(name, SymbolKind.POWER, WATT)


def voltage(name: str) -> Symbol:
    return Symbol(name, SymbolKind.VOLTAGE, VOLT)


# --- one loop --------------------------------------------------------------------------------


def one_loop() -> Proof:
    """A battery of 6 V and ½ Ω on a resistor of 2½ Ω: 2 A."""
    circuit = Circuit(
        title="One loop",
        statement="",
        nodes=(Node("A", ("A",), 2),),
        branches=(
            Branch(
                I1,
                "A",
                "A",
                (Passage(Battery("E1", "r1")), Passage(Resistor("R1"))),
                (("A",), ("B",), ("A",)),
            ),
        ),
        walks=(WalkCurrent(I1, 0, True),),
        values=values(E1=6, r1=Fraction(1, 2), R1=Fraction(5, 2)),
        questions=(
            AskReducible(),
            AskCurrents(),
            AskCurrentIn("R1"),
            AskTerminalVoltage("E1"),
            AskVoltageAcross("R1"),
            AskVoltage("B", "A"),
            AskPowerIn("R1"),
            AskPowerIn("E1"),
            AskPowerOf("E1"),
        ),
    )
    proof = Proof("one loop", circuit)
    proof.add(
        "unknowns",
        ChooseUnknowns(
            branches=1, junctions=0, unknowns=(I1,), junction_equations=0, loop_equations=1
        ),
    )
    rows = (rise("E1", E1), drop("E1", r1, I1), drop("R1", R1, I1))
    loop = proof.add(
        "loop 1",
        LoopRule(
            name="1",
            loop=Loop((Hop(0, True),)),
            crossings=rows,
            conclusion=Equation(Sum(tuple(row.change for row in rows)), ZERO),
        ),
    )
    both = Sum((R1, r1))
    tidy = proof.add(
        "tidy",
        Collect(premise=loop, factor=number(-1), conclusion=Equation(Product((both, I1)), E1)),
    )
    proof.add(
        "I1",
        Isolate(
            premise=tidy,
            symbol=I1,
            factor=Quotient(ONE, both),
            conclusion=Equation(I1, Quotient(E1, both)),
        ),
    )
    give(proof)
    given = tuple(proof[label] for label in ("given E1", "given r1", "given R1"))
    proof.add(
        "I1 in units",
        PutInValues(
            premise=proof["I1"],
            values=given,
            conclusion=Equation(
                I1, Quotient(volts(6), Sum((ohms(Fraction(5, 2)), ohms(Fraction(1, 2)))))
            ),
        ),
    )
    proof.add(
        "I1 value",
        Collect(premise=proof["I1 in units"], conclusion=Equation(I1, amperes(2))),
    )
    proof.answer(AskCurrents(), I1, "I1", "I1 value")
    _one_loop_parts(proof, given, both)
    _one_loop_balance(proof)
    return proof


def _one_loop_parts(proof: Proof, given: tuple[StepId, ...], both: Term) -> None:
    """Add law, formula and value for each part that is asked about."""
    square = Power(both, 2)
    terminal = Sum((E1, Negative(Product((r1, I1)))))
    external = Quotient(Product((R1, E1)), both)
    asked: tuple[tuple[Question, PartLaw, str, Symbol, Term, Term, Term], ...] = (
        (AskCurrentIn("R1"), PartLaw.CURRENT, "R1", current("I(R1)"), I1, Quotient(E1, both),
         amperes(2)),
        (AskTerminalVoltage("E1"), PartLaw.VOLTAGE, "E1", voltage("V(E1)"), terminal, external,
         volts(5)),
        (AskVoltageAcross("R1"), PartLaw.VOLTAGE, "R1", voltage("V(R1)"), Product((R1, I1)),
         external, volts(5)),
        (AskPowerIn("R1"), PartLaw.POWER_IN, "R1", power("P(R1)"), Product((R1, Power(I1, 2))),
         Quotient(Product((R1, Power(E1, 2))), square), watts(10)),
        (AskPowerIn("E1"), PartLaw.POWER_IN, "E1", power("P(E1)"),
         Negative(Product((terminal, I1))),
         Negative(Quotient(Product((R1, Power(E1, 2))), square)), watts(-10)),
        (AskPowerOf("E1"), PartLaw.POWER_OF, "E1", power("Pd(E1)"), Product((E1, I1)),
         Quotient(Power(E1, 2), both), watts(12)),
    )  # fmt: skip
    for question, kind, part, symbol, law, formula, value in asked:
        name = symbol.name
        proof.add(f"{name} law", PartRule(kind=kind, part=part, conclusion=Equation(symbol, law)))
        proof.add(
            name,
            BackSubstitute(
                premise=proof[f"{name} law"],
                definitions=(proof["I1"],),
                conclusion=Equation(symbol, formula),
            ),
        )
        proof.add(
            f"{name} value",
            PutInValues(premise=proof[name], values=given, conclusion=Equation(symbol, value)),
        )
        proof.answer(question, symbol, name, f"{name} value")
    rows = (rise("E1", E1), drop("E1", r1, I1))
    symbol = voltage("V(B,A)")
    proof.add(
        "path",
        PathRule(
            origin="A",
            to="B",
            crossings=rows,
            conclusion=Equation(symbol, Sum(tuple(row.change for row in rows))),
        ),
    )
    proof.add(
        "path value",
        PutInValues(
            premise=proof["path"],
            values=(*given, proof["I1 value"]),
            conclusion=Equation(symbol, volts(5)),
        ),
    )
    proof.answer(AskVoltage("B", "A"), symbol, "", "path value")


def _one_loop_balance(proof: Proof) -> None:
    lost = power("P(r1)")
    proof.add(
        "P(r1) law",
        PartRule(
            kind=PartLaw.POWER_IN,
            part="r1",
            conclusion=Equation(lost, Product((r1, Power(I1, 2)))),
        ),
    )
    proof.add(
        "P(r1) value",
        PutInValues(
            premise=proof["P(r1) law"],
            values=(proof["given r1"], proof["I1 value"]),
            conclusion=Equation(lost, watts(2)),
        ),
    )
    proof.add(
        "balance",
        PowerBalance(
            delivered=(proof["Pd(E1) value"],),
            taken=(proof["P(R1) value"], proof["P(r1) value"]),
            conclusion=Equation(watts(12), Sum((watts(10), watts(2)))),
        ),
    )


# --- two batteries ---------------------------------------------------------------------------


def two_battery_circuit(given: tuple[Valuation, ...]) -> Circuit:
    """Two batteries, each with a resistor, side by side on a third resistor."""

    def leg(name: Symbol, source: str, part: str) -> Branch:
        passages = (Passage(Battery(source)), Passage(Resistor(part)))
        return Branch(name, "A", "B", passages, (("A",), (), ("B",)))

    return Circuit(
        title="Two batteries",
        statement="",
        nodes=(Node("A", ("A",), 3), Node("B", ("B",), 3)),
        branches=(
            leg(I1, "E1", "R1"),
            leg(I2, "E2", "R2"),
            Branch(I3, "B", "A", (Passage(Resistor("R3")),), (("B",), ("A",))),
        ),
        walks=(WalkCurrent(I1, 0, True), WalkCurrent(I2, 1, True), WalkCurrent(I3, 2, True)),
        values=given,
        questions=(AskReducible(), AskCurrents(), AskPotential("B")),
        ground="A",
    )


def _two_battery_laws(proof: Proof) -> None:
    proof.add(
        "unknowns",
        ChooseUnknowns(
            branches=3,
            junctions=2,
            unknowns=(I1, I2, I3),
            junction_equations=1,
            loop_equations=2,
        ),
    )
    proof.add(
        "junction",
        JunctionRule(
            node="B",
            flows_in=(I1, I2),
            flows_out=(I3,),
            conclusion=Equation(Sum((I1, I2)), I3),
        ),
    )
    for label, branch, source, r, flow in (("1", 0, E1, R1, I1), ("2", 1, E2, R2, I2)):
        rows = (rise(source.name, source), drop(r.name, r, flow), drop("R3", R3, I3))
        proof.add(
            f"loop {label}",
            LoopRule(
                name=label,
                loop=Loop((Hop(branch, True), Hop(2, True))),
                crossings=rows,
                conclusion=Equation(Sum(tuple(row.change for row in rows)), ZERO),
            ),
        )
    proof.add(
        "I3 open",
        Isolate(
            premise=proof["junction"],
            symbol=I3,
            factor=number(-1),
            conclusion=Equation(I3, Sum((I1, I2))),
        ),
    )


def in_letters() -> Proof:
    """Two batteries in letters, with Δ; the numbers are put in last."""
    proof = Proof("in letters", two_battery_circuit(values(E1=10, E2=4, R1=2, R2=1, R3=4)))
    _two_battery_laws(proof)
    proof.add(
        "substituted 1",
        Substitute(
            premise=proof["loop 1"],
            definitions=(proof["I3 open"],),
            factor=number(-1),
            conclusion=Equation(Sum((Product((Sum((R1, R3)), I1)), Product((R3, I2)))), E1),
        ),
    )
    proof.add(
        "substituted 2",
        Substitute(
            premise=proof["loop 2"],
            definitions=(proof["I3 open"],),
            factor=number(-1),
            conclusion=Equation(Sum((Product((R3, I1)), Product((Sum((R2, R3)), I2)))), E2),
        ),
    )
    delta = auxiliary("Delta", OHM**2)
    spelt = Sum((Product((R1, R2)), Product((R1, R3)), Product((R2, R3))))
    proof.add("Delta", Define(symbol=delta, conclusion=Equation(delta, spelt)))
    above = {
        I1: Sum((Product((Sum((R2, R3)), E1)), Negative(Product((R3, E2))))),
        I2: Sum((Product((Sum((R1, R3)), E2)), Negative(Product((R3, E1))))),
        I3: Sum((Product((R2, E1)), Product((R1, E2)))),
    }
    multipliers: dict[Symbol, tuple[Term, Term]] = {
        I1: (Sum((R2, R3)), Negative(R3)),
        I2: (Negative(R3), Sum((R1, R3))),
    }
    for unknown, gone in ((I1, I2), (I2, I1)):
        first, second = multipliers[unknown]
        proof.add(
            f"combined {unknown.name}",
            Combine(
                parts=(
                    Scaled(multiplier=first, premise=proof["substituted 1"]),
                    Scaled(multiplier=second, premise=proof["substituted 2"]),
                ),
                eliminated=(gone,),
                rewriting=(proof["Delta"],),
                conclusion=Equation(Product((delta, unknown)), above[unknown]),
            ),
        )
        proof.add(
            unknown.name,
            Isolate(
                premise=proof[f"combined {unknown.name}"],
                symbol=unknown,
                factor=Quotient(ONE, delta),
                conclusion=Equation(unknown, Quotient(above[unknown], delta)),
            ),
        )
    proof.add(
        "I3",
        BackSubstitute(
            premise=proof["I3 open"],
            definitions=(proof["I1"], proof["I2"]),
            conclusion=Equation(I3, Quotient(above[I3], delta)),
        ),
    )
    given = (*give(proof), proof["Delta"])
    for symbol, value in ((I1, Fraction(17, 7)), (I2, Fraction(-8, 7)), (I3, Fraction(9, 7))):
        proof.add(
            f"{symbol.name} value",
            PutInValues(
                premise=proof[symbol.name],
                values=given,
                conclusion=Equation(symbol, amperes(value)),
            ),
        )
        proof.answer(AskCurrents(), symbol, symbol.name, f"{symbol.name} value")
    _potential(proof, delta)
    _two_battery_balance(proof)
    return proof


def _potential(proof: Proof, delta: Symbol) -> None:
    symbol = potential("B")
    proof.add(
        "path",
        PotentialRule(
            start="A",
            point="B",
            crossings=(gain("R3", R3, I3),),
            conclusion=Equation(symbol, Product((R3, I3))),
        ),
    )
    top = Product((R3, Sum((Product((R2, E1)), Product((R1, E2))))))
    proof.add(
        "potential",
        BackSubstitute(
            premise=proof["path"],
            definitions=(proof["I3"],),
            conclusion=Equation(symbol, Quotient(top, delta)),
        ),
    )
    proof.add(
        "potential value",
        PutInValues(
            premise=proof["path"],
            values=(proof["given R3"], proof["I3 value"]),
            conclusion=Equation(symbol, volts(Fraction(36, 7))),
        ),
    )
    proof.answer(AskPotential("B"), symbol, "potential", "potential value")


def _two_battery_balance(proof: Proof) -> None:
    powers = (
        ("Pd(E1)", PartLaw.POWER_OF, "E1", Product((E1, I1)), (E1, I1), Fraction(170, 7)),
        ("Pd(E2)", PartLaw.POWER_OF, "E2", Product((E2, I2)), (E2, I2), Fraction(-32, 7)),
        ("P(R1)", PartLaw.POWER_IN, "R1", Product((R1, Power(I1, 2))), (R1, I1),
         Fraction(578, 49)),
        ("P(R2)", PartLaw.POWER_IN, "R2", Product((R2, Power(I2, 2))), (R2, I2),
         Fraction(64, 49)),
        ("P(R3)", PartLaw.POWER_IN, "R3", Product((R3, Power(I3, 2))), (R3, I3),
         Fraction(324, 49)),
    )  # fmt: skip
    for name, kind, part, law, (letter, flow), value in powers:
        symbol = power(name)
        proof.add(f"{name} law", PartRule(kind=kind, part=part, conclusion=Equation(symbol, law)))
        proof.add(
            name,
            PutInValues(
                premise=proof[f"{name} law"],
                values=(proof[f"given {letter.name}"], proof[f"{flow.name} value"]),
                conclusion=Equation(symbol, watts(value)),
            ),
        )
    proof.add(
        "balance",
        PowerBalance(
            delivered=(proof["Pd(E1)"],),
            taken=(proof["P(R1)"], proof["P(R2)"], proof["P(R3)"], proof["Pd(E2)"]),
            conclusion=Equation(watts(Fraction(170, 7)), watts(Fraction(170, 7))),
        ),
    )


# --- numbers first, with a tie and two walks in one branch -----------------------------------


def numbers_first() -> Proof:
    """The same numbers put in early; R3 is tied to R1, and a second walk runs against I3."""
    plain = two_battery_circuit(
        (
            *values(E1=10, E2=4, R1=2, R2=1),
            Valuation(R3, Tie(Product((number(2), R1)))),
        )
    )
    circuit = Circuit(
        title="Numbers first",
        statement="",
        nodes=plain.nodes,
        branches=plain.branches,
        walks=(*plain.walks, WalkCurrent(I4, 2, False)),
        values=plain.values,
        questions=(AskCurrents(),),
    )
    proof = Proof("numbers first", circuit)
    _two_battery_laws(proof)
    given = give(proof)
    lines = (
        ("1", Sum((Product((number(6), I1)), Product((number(4), I2)))), 10),
        ("2", Sum((Product((number(4), I1)), Product((number(5), I2)))), 4),
    )
    for label, left, right in lines:
        proof.add(
            f"put in {label}",
            PutInValues(
                premise=proof[f"loop {label}"],
                values=(*given, proof["I3 open"]),
                factor=Negative(Quotient(ONE, ohms(1))),
                conclusion=Equation(left, amperes(right)),
            ),
        )
    proof.add(
        "combined",
        Combine(
            parts=(
                Scaled(multiplier=number(5), premise=proof["put in 1"]),
                Scaled(multiplier=number(-4), premise=proof["put in 2"]),
            ),
            eliminated=(I2,),
            conclusion=Equation(Product((number(14), I1)), amperes(34)),
        ),
    )
    proof.add(
        "I1 value",
        Isolate(
            premise=proof["combined"],
            symbol=I1,
            factor=number(Fraction(1, 14)),
            conclusion=Equation(I1, amperes(Fraction(17, 7))),
        ),
    )
    proof.add(
        "I2 value",
        Isolate(
            premise=proof["put in 2"],
            symbol=I2,
            factor=number(Fraction(1, 5)),
            definitions=(proof["I1 value"],),
            conclusion=Equation(I2, amperes(Fraction(-8, 7))),
        ),
    )
    proof.add(
        "I3 value",
        BackSubstitute(
            premise=proof["I3 open"],
            definitions=(proof["I1 value"], proof["I2 value"]),
            conclusion=Equation(I3, amperes(Fraction(9, 7))),
        ),
    )
    proof.add("same", SameCurrent(walk=I4, conclusion=Equation(I4, Negative(I3))))
    proof.add(
        "I4 value",
        BackSubstitute(
            premise=proof["same"],
            definitions=(proof["I3 value"],),
            conclusion=Equation(I4, amperes(Fraction(-9, 7))),
        ),
    )
    for symbol in (I1, I2, I3, I4):
        proof.answer(AskCurrents(), symbol, "", f"{symbol.name} value")
    return proof


# --- letters only, with the parallel sign ----------------------------------------------------


def only_letters() -> Proof:
    """One battery on a resistor and two in parallel, all letters; one potential is asked."""
    circuit = Circuit(
        title="Only letters",
        statement="",
        nodes=(Node("A", ("A",), 3), Node("B", ("B", "C"), 3)),
        branches=(
            Branch(
                I1,
                "A",
                "B",
                (Passage(Battery("E1"), along=False), Passage(Resistor("R1"))),
                (("A",), ("M",), ("B", "C")),
            ),
            Branch(I2, "A", "B", (Passage(Resistor("R2")),), (("A",), ("B",))),
            Branch(I3, "A", "B", (Passage(Resistor("R3")),), (("A",), ("C",))),
        ),
        walks=tuple(WalkCurrent(s, k, True) for k, s in enumerate((I1, I2, I3))),
        values=(),
        questions=(AskVoltage("C", "M"),),
    )
    proof = Proof("only letters", circuit)
    proof.add(
        "junction",
        JunctionRule(
            node="A",
            flows_in=(),
            flows_out=(I1, I2, I3),
            conclusion=Equation(Sum((I1, I2, I3)), ZERO),
        ),
    )
    for label, branch, r, flow in (("2", 1, R2, I2), ("3", 2, R3, I3)):
        rows = (fall("E1", E1), drop("R1", R1, I1), gain(r.name, r, flow))
        proof.add(
            f"loop {label}",
            LoopRule(
                name=label,
                loop=Loop((Hop(0, True), Hop(branch, False))),
                crossings=rows,
                conclusion=Equation(Sum(tuple(row.change for row in rows)), ZERO),
            ),
        )
        proof.add(
            f"{flow.name} open",
            Isolate(
                premise=proof[f"loop {label}"],
                symbol=flow,
                factor=Quotient(ONE, r),
                conclusion=Equation(flow, Quotient(Sum((E1, Product((R1, I1)))), r)),
            ),
        )
    below = Sum((R1, Parallel((R2, R3))))
    proof.add(
        "I1",
        Isolate(
            premise=proof["junction"],
            symbol=I1,
            factor=Quotient(Parallel((R2, R3)), below),
            definitions=(proof["I2 open"], proof["I3 open"]),
            conclusion=Equation(I1, Negative(Quotient(E1, below))),
        ),
    )
    for flow, r in ((I2, R2), (I3, R3)):
        right = Quotient(Product((E1, Parallel((R2, R3)))), Product((r, below)))
        proof.add(
            flow.name,
            BackSubstitute(
                premise=proof[f"{flow.name} open"],
                definitions=(proof["I1"],),
                conclusion=Equation(flow, right),
            ),
        )
    symbol = voltage("V(C,M)")
    proof.add(
        "path",
        PathRule(
            origin="M",
            to="C",
            crossings=(drop("R1", R1, I1),),
            conclusion=Equation(symbol, Negative(Product((R1, I1)))),
        ),
    )
    proof.add(
        "answer",
        BackSubstitute(
            premise=proof["path"],
            definitions=(proof["I1"],),
            conclusion=Equation(symbol, Quotient(product(R1, E1), below)),
        ),
    )
    proof.add(
        "conclude",
        Conclude(
            question=AskVoltage("C", "M"),
            symbol=symbol,
            formula=proof["answer"],
            value=None,
            rounded=None,
        ),
    )
    return proof


def all_proofs() -> Iterator[Proof]:
    """Yield every derivation of this module."""
    yield one_loop()
    yield in_letters()
    yield numbers_first()
    yield only_letters()
