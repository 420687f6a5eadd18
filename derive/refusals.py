"""Questions that have no answer, told in the words of circuits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import get_args

from derive.algebra.term import symbols
from derive.analysis.charges import LongFormula
from derive.analysis.exchange.between import NothingBetween
from derive.analysis.laws import NoPath
from derive.analysis.loops import DependentLoops
from derive.analysis.matched import NoMatch, Unmatched
from derive.analysis.over_time import NoEfficiency
from derive.analysis.plan import Singular
from derive.analysis.preferred import NoPreferredValue
from derive.analysis.sought import NoSuchValue
from derive.analysis.tested import LongTest, NoVoltage
from derive.analysis.transient import NoDelay
from derive.circuit.floating import why_no_resistance, why_not_fixed
from derive.circuit.model import Circuit, Method
from derive.circuit.question import AskTransient
from derive.circuit.solvability import NoUniqueSolution
from derive.circuit.unfound import negative_resistance, no_such_resistance, not_fixed
from derive.circuit.valuation import Tie
from derive.circuit.values import letters_without_value
from derive.circuit.verdicts import why_not_solvable
from derive.diagnostic import Diagnostic


def give_values(letters: Sequence[str]) -> str:
    """Return the hint that names quantities without a value, the first of them if they are many."""
    return f"give values for {', '.join(letters[:6])}{', …' if len(letters) > 6 else ''}"


Fault = (
    DependentLoops
    | NoUniqueSolution
    | LongFormula
    | NoDelay
    | NoEfficiency
    | NoMatch
    | LongTest
    | NoVoltage
    | NothingBetween
    | NoPath
    | NoPreferredValue
    | NoSuchValue
    | Singular
)
"""What the analysis finds that leaves a question without an answer."""

FAULTS = get_args(Fault)


def refusal(circuit: Circuit, fault: Fault) -> Diagnostic:
    """Return a fault in the words of circuits, with the line and a way out."""
    match fault:
        case DependentLoops():
            spans = circuit.choices.loop_spans
            names = " and ".join(str(k + 1) for k in fault.others)
            return Diagnostic(
                "dependent-loops",
                f"this loop gives no new equation: it follows from loop {names}",
                spans[fault.index] if fault.index < len(spans) else None,
                ("choose a loop with a branch that no other loop has",),
            )
        case NoUniqueSolution():
            return why_not_solvable(circuit, fault.report)
        case LongFormula():
            told = (
                "in letters the voltages across the capacitors have a common denominator of "
                f"{fault.products:,} products, so they are not written out"
            )
            hint = give_values([symbol.name for symbol in fault.letters])
            return Diagnostic("formula-too-long", told, None, (hint,))
        case NoDelay():
            told = (
                f"no resistance lies on the way to {fault.capacitor}, so its voltage would have to "
                "jump, and a current without bound would flow"
            )
            hint = f"put the resistance of the leads in series with {fault.capacitor}"
            span = circuit.span_of(fault.capacitor)
            return Diagnostic("no-delay", told, span, (hint,))
        case NoEfficiency():
            told = f"{fault}, so it has no efficiency"
            hint = f"its powers can be asked: ask power of {fault.battery}"
            span = circuit.span_of(fault.battery)
            return Diagnostic("no-efficiency", told, span, (hint,))
        case NoMatch():
            told = f"no value of {fault.part} takes the most power: {fault.reason.value}"
            if fault.reason in (Unmatched.NO_FORMULA, Unmatched.SOUGHT, Unmatched.UNSURE):
                told = f"the matched load is not worked out here: {fault.reason.value}"
            span, hint = circuit.span_of(fault.part), f"you can ask: ask power in {fault.part}"
            if fault.reason is Unmatched.NO_FORMULA:
                hint = f"write: use method {Method.BRANCH_CURRENTS.value}"
            if fault.reason is Unmatched.UNSURE:
                load = circuit.element(fault.part).resistance
                left = (s.name for s in letters_without_value(circuit) if s != load)
                hint = give_values([*left])
            return Diagnostic("no-matched-load", told, span, (hint,))
        case LongTest():
            told = "in letters the resistance between the points is too long to be written out"
            hint = give_values([s.name for s in letters_without_value(circuit)])
            return Diagnostic("formula-too-long", told, None, (hint,))
        case NoVoltage():
            ends = f"{fault.tested.question.one} and {fault.tested.question.other}"
            source = circuit.dependent[0].name
            told = (
                f"there is no resistance between {ends}: {_followed(circuit)} just so that they "
                "keep each other up, or contradict each other, when a test source drives a current "
                "there"
            )
            hint = f"change the factor in the value of {source}"
            span = circuit.span_of(source)
            return Diagnostic("no-resistance", told, span, (hint,))
        case NothingBetween():
            return why_no_resistance(circuit, fault.ends)
        case NoPath():
            # A voltmeter with a resistance is no gap; made ideal, it is left without a path.
            where = dict(circuit.ideal).get(fault.part or "", circuit)
            found = why_not_fixed(where, fault.part, fault.points)
            if circuit.is_before and AskTransient(fault.part or "") in circuit.questions:
                said = f"or say what {fault.part} has at the start: initially V({fault.part}) = 0 V"
                found = replace(found, hints=(*found.hints, said))
            return found
        case NoPreferredValue():
            name = fault.symbol.name
            told = f"{name} comes out as zero, which is no preferred value of any series"
            hint = f"ask for the value alone: ask value of {name}"
            return Diagnostic("no-value", told, circuit.span_of(name), (hint,))
        case NoSuchValue():
            return _no_such_value(circuit, fault)
        case Singular():
            if circuit.sought:
                return not_fixed(circuit)
            # `solvability` finds such circuits beforehand and says more; this is the net below it.
            told = "Kirchhoff's rules do not fix every current of this circuit"
            hint = "give every battery an internal resistance, and every loop a resistor"
            if circuit.dependent:
                dependent = [symbol.name for symbol in circuit.dependent]
                told = (
                    f"{told}: {_followed(circuit)} just so that they keep each other up, or "
                    "contradict each other"
                )
                hint = f"change the factor in the value of {dependent[0]}"
            span = circuit.span_of(circuit.dependent[0].name) if circuit.dependent else None
            return Diagnostic("currents-not-fixed", told, span, (hint,))


def _no_such_value(circuit: Circuit, fault: NoSuchValue) -> Diagnostic:
    if fault.value is not None:
        return negative_resistance(circuit, fault.symbol, fault.value)
    return no_such_resistance(circuit, fault.symbol, fault.voltage, fault.current)


def _followed(circuit: Circuit) -> str:
    """Say of each dependent source what it follows."""
    found = []
    for symbol in circuit.dependent:
        tie = circuit.valuation(symbol)
        assert isinstance(tie, Tie)
        names = dict.fromkeys(s.name for s in symbols(tie.term))
        found.append(f"{symbol.name} follows {' and '.join(names)}")
    return ", ".join(found)


def unproved(reason: str) -> Diagnostic:
    """Return what is said where the checker refuses: a fault of the program."""
    return Diagnostic(
        "unproved",
        f"the derivation was not accepted by the checker, so nothing is written: {reason}",
        None,
        ("this is a fault of the program; please report the circuit",),
    )
