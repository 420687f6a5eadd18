"""The answers of a derivation for other programs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from fractions import Fraction

from derive.algebra.dimension import unit_of, unit_text
from derive.algebra.name import identifier
from derive.algebra.plain import plain
from derive.algebra.polynomial import Ring
from derive.algebra.term import Symbol, SymbolKind, Term, symbols
from derive.algebra.term import replace as substituted
from derive.analysis.reduction import judge
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskCharge,
    AskChargeOf,
    AskChargeThrough,
    AskCurrentIn,
    AskCurrents,
    AskEfficiency,
    AskEnergy,
    AskEnergyIn,
    AskEnergyOf,
    AskLoadingError,
    AskMatchedLoad,
    AskOpenCircuit,
    AskPotential,
    AskPotentials,
    AskPowerIn,
    AskPowerOf,
    AskPreferred,
    AskReading,
    AskResistance,
    AskShortCircuit,
    AskTerminalVoltage,
    AskTransient,
    AskValue,
    AskVoltage,
    AskVoltageAcross,
    Duration,
)
from derive.derivation.algebra import Define, PutInValues
from derive.derivation.comparison import Comparison
from derive.derivation.exchanges import Join, LeftBetween, PutBack, Replace
from derive.derivation.further import AgainstRating, Lasts, Load, PreferredValue
from derive.derivation.goal import Goal
from derive.derivation.sense import Dimensions, Limit, SenseStep, SpecialCase, Trend
from derive.derivation.spread import NoRange, Range, Shares
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId
from derive.diagnostic import Diagnostic
from derive.transient_contract import transients_of
from derive.writers.answers_json import (
    Answer,
    Contract,
    Preferred,
    RatedPart,
    Reach,
    Reducible,
    ReductionStep,
    Result,
    Tells,
)

_LONGEST_WRITTEN = 200
"""Letters of what is written out for programs."""


def contract_of(
    circuit: Circuit, derivation: Derivation, steps: int, warnings: tuple[Diagnostic, ...]
) -> Contract:
    """Return the answers, the verdict and the reduction."""
    verdict = judge(circuit)
    written = written_out(derivation)
    currents: dict[str, Result] = {}
    answers = []
    reaches = _reaches(derivation)
    for k, step in enumerate(derivation.steps):
        if not isinstance(step, Conclude):
            continue
        result = _result(circuit, derivation, step, written)
        result = replace(result, reach=reaches.get(k), preferred=_preferred(derivation, step))
        if isinstance(step.question, AskCurrents):
            currents[step.symbol.name] = result
        else:
            answers.append(Answer(_asked(step), result))
    return Contract(
        circuit=circuit.title,
        branches=len(circuit.branches),
        junctions=len(circuit.junctions),
        reducible=Reducible(
            verdict.reducible,
            verdict.text,
            verdict.test.value,
            tuple(_reduction(derivation)),
            tuple(_sees(derivation, written)),
        ),
        unknowns=tuple(b.current.name for b in circuit.branches if not b.sources),
        currents=tuple(
            (symbol.name, currents[symbol.name])
            for symbol in circuit.told_currents
            if symbol.name in currents
        ),
        answers=tuple(answers),
        checked=True,
        steps=steps,
        warnings=tuple(warning.message for warning in warnings),
        tells=tuple(_tells(derivation, written)),
        transients=tuple(transients_of(circuit, derivation, written)),
        ratings=tuple(_ratings(circuit, derivation)),
    )


def _ratings(circuit: Circuit, derivation: Derivation) -> Iterator[RatedPart]:
    """Yield each rated part with the power that it takes, where that is a number."""
    found = {s.part: s for s in derivation.steps if isinstance(s, AgainstRating)}
    for rating in circuit.ratings:
        step = found.get(rating.part)
        voltage = None if rating.voltage is None else rating.voltage.value
        taken = None if step is None else _exact(derivation.equation(step.power).right)
        over = None if step is None else step.load is Load.OVER
        yield RatedPart(rating.part, voltage, rating.power.value, taken, over)


def _reaches(derivation: Derivation) -> dict[StepId, Reach]:
    """Return how far each answer may lie from its nominal value, by its step."""
    ends = {s.answer: s for s in derivation.steps if isinstance(s, Range)}
    shares = {s.answer: s for s in derivation.steps if isinstance(s, Shares)}
    none = (s.answer for s in derivation.steps if isinstance(s, NoRange))
    return {
        k: Reach(
            ends[k].low.value if k in ends else None,
            ends[k].high.value if k in ends else None,
            tuple((s.letter.name, s.value) for s in shares[k].shares) if k in shares else (),
        )
        for k in (*ends, *none)
    }


def changes_of(
    contract: Contract, derivation: Derivation, comparison: Comparison
) -> tuple[tuple[tuple[str, Result], ...], tuple[Answer, ...]]:
    """Return by how much the currents and the other answers of a contract change."""
    currents: dict[str, Result] = {}
    answers = []
    for line in comparison:
        step = derivation.steps[line.after]
        assert isinstance(step, Conclude)
        exact = None if line.change is None else _exact(line.change.right)
        result = Result(None, exact, _unit(step.symbol))
        if isinstance(step.question, AskCurrents):
            currents[step.symbol.name] = result
        else:
            answers.append(Answer(_asked(step), result))
    told = tuple((name, currents[name]) for name, _ in contract.currents)
    return told, tuple(answers)


def _preferred(derivation: Derivation, answer: Conclude) -> Preferred | None:
    """Return the neighbours of a value in a series, where these are asked for."""
    step = None if answer.value is None else derivation.steps[answer.value]
    if not isinstance(step, PreferredValue):
        return None
    exact = _exact(derivation.equation(step.premise).right)
    assert exact is not None
    return Preferred(step.series.name, exact, step.below, step.above)


def _reduction(derivation: Derivation) -> Iterator[ReductionStep]:
    """Yield the exchanges that reduce the circuit."""
    formulas = {s.symbol: s.conclusion.right for s in derivation.steps if isinstance(s, Define)}
    for stage in derivation.stages:
        for k in stage.ids if stage.goal is Goal.REDUCTION else ():
            step = derivation.steps[k]
            if isinstance(step, Replace):
                made = tuple((identifier(s.name), plain(formulas[s])) for s in step.made)
                yield ReductionStep(step.exchange.value, tuple(s.name for s in step.taken), made)
            elif isinstance(step, Join):
                yield ReductionStep("points at one potential joined", step.points, ())


def _sees(
    derivation: Derivation, written: Mapping[Symbol, Term | None]
) -> Iterator[tuple[str, Result]]:
    """Yield what is left on each battery when the circuit has been reduced."""
    for stage in derivation.stages:
        for k in stage.ids if stage.goal is Goal.REDUCTION else ():
            law = derivation.steps[k]
            if not isinstance(law, LeftBetween):
                continue
            symbol = law.conclusion.left
            assert isinstance(symbol, Symbol)
            text, exact = _text(law.conclusion.right, written), None
            for step in derivation.steps[k + 1 : stage.stop]:
                if isinstance(step, PutInValues) and step.conclusion.left == symbol:
                    exact = _exact(step.conclusion.right)
            yield (
                symbol.name.removeprefix("R(").removesuffix(")"),
                Result(text, exact, _unit(symbol)),
            )


def written_out(derivation: Derivation) -> dict[Symbol, Term | None]:
    """Return what names stand for; those of an exchange in the letters of the circuit.

    None for what would be too long so.
    """
    written: dict[Symbol, Term | None] = {}
    names: dict[Symbol, Term] = {}
    sizes: dict[Symbol, int] = {}
    for step in derivation.steps:
        if not isinstance(step, Define | PutBack | Lasts):
            continue
        symbol, right = step.conclusion.left, step.conclusion.right
        assert isinstance(symbol, Symbol)
        if symbol.kind is not SymbolKind.AUXILIARY:
            sizes[symbol] = sum(sizes.get(s, 1) for s in symbols(right))
            if sizes[symbol] > _LONGEST_WRITTEN:
                written[symbol] = None
                continue
            right = substituted(right, names)
        names[symbol] = right
    return written | names


def _result(
    circuit: Circuit,
    derivation: Derivation,
    step: Conclude,
    written: Mapping[Symbol, Term | None],
) -> Result:
    formula = step.formula
    if formula is not None and not circuit.has_numbers:
        formula = step.value or formula  # with nothing but ties put in
    text = None if formula is None else _text(derivation.equation(formula).right, written)
    exact = None if step.value is None else _exact(derivation.equation(step.value).right)
    return Result(text, exact, _unit(step.symbol))


def _text(term: Term, written: Mapping[Symbol, Term | None]) -> str | None:
    found = in_letters(term, written)
    return None if found is None else plain(found)


def in_letters(term: Term, written: Mapping[Symbol, Term | None]) -> Term | None:
    """Return a term in the letters of the circuit; None where that would be too long.

    `written` is what `written_out` returns.
    """
    meant = {s: written[s] for s in symbols(term) if s in written}
    names = {s: found for s, found in meant.items() if found is not None}
    return substituted(term, names) if len(names) == len(meant) else None


def _exact(term: Term) -> Fraction | None:
    return None if any(True for _ in symbols(term)) else Ring(()).poly(term).constant_value


def _unit(symbol: Symbol) -> str | None:
    units = unit_of(symbol.dimension)
    return units[0][0] if len(units) == 1 else None


def _tells(derivation: Derivation, written: Mapping[Symbol, Term | None]) -> Iterator[Tells]:
    """Yield what the formulas tell."""
    for step in derivation.steps:
        if not isinstance(step, SenseStep):
            continue
        symbol = derivation.equation(step.premise).left
        assert isinstance(symbol, Symbol)
        match step:
            case Limit(letter=letter, to=to, limit=limit):
                text = None if limit is None else _text(limit, written)
                reached = (("letter", letter.name), ("to", to.value), ("formula", text))
                yield Tells("limit", symbol.name, reached)
            case SpecialCase(assumptions=assumptions, result=result):
                assumed = tuple((plain(e.left), plain(e.right)) for e in assumptions)
                text = _text(result, written)
                yield Tells("special case", symbol.name, (("if", assumed), ("formula", text)))
            case Trend(letter=letter, response=response):
                follows = (("letter", letter.name), ("response", response.value))
                yield Tells("trend", symbol.name, follows)
            case Dimensions(above=above, below=below):
                units = (("above", unit_text(above)), ("below", unit_text(below)))
                yield Tells("units", symbol.name, units)


_WORDS = {
    AskCurrentIn: "current in",
    AskVoltageAcross: "voltage across",
    AskVoltage: "voltage",
    AskPotential: "potential",
    AskPowerIn: "power in",
    AskPowerOf: "power of",
    AskTerminalVoltage: "terminal voltage of",
    AskReading: "reading of",
    AskCharge: "charge on",
    AskEnergy: "energy in",
    AskResistance: "resistance",
    AskValue: "value of",
    AskEnergyIn: "energy in",
    AskEnergyOf: "energy of",
    AskChargeThrough: "charge through",
    AskChargeOf: "charge of",
    AskTransient: "voltage across",
    AskShortCircuit: "short circuit current of",
    AskOpenCircuit: "open circuit voltage of",
    AskEfficiency: "efficiency of",
    AskMatchedLoad: "matched load",
}


def _asked(step: Conclude) -> str:
    """Return a question in the words of the circuit language, by what one answer is about."""
    question = step.question
    if isinstance(question, AskLoadingError):
        about = step.symbol.name.partition("(")[0]
        told = {"e": "loading error of", "δ": "relative loading error of"}
        return f"{told.get(about, 'ideal reading of')} {question.part}"
    if isinstance(question, AskPotentials):
        return f"potential {step.symbol.name.removeprefix('V(').removesuffix(')')}"
    if isinstance(question, AskPreferred):
        return f"{question.series.name} value of {question.part}"
    if isinstance(question, AskMatchedLoad) and step.symbol.kind is SymbolKind.POWER:
        return f"power in matched load {question.part}"
    values = (getattr(question, field.name) for field in fields(question))
    names = [f"over {v.written}" if isinstance(v, Duration) else str(v) for v in values]
    return " ".join([_WORDS[type(question)], *names])
