"""The passes, in order. Nothing unchecked leaves this file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from hashlib import sha256
from typing import TYPE_CHECKING

from derive.algebra.name import identifier
from derive.algebra.term import symbols
from derive.analysis.answers import derive
from derive.analysis.by_reduction import Irreducible, methods_for
from derive.analysis.charges import LongFormula
from derive.analysis.comparison import compare
from derive.analysis.exchange.between import NothingBetween
from derive.analysis.laws import NoPath
from derive.analysis.loops import DependentLoops, windows
from derive.analysis.matched import NoMatch, Unmatched
from derive.analysis.over_time import NoEfficiency
from derive.analysis.plan import Singular
from derive.analysis.preferred import NoPreferredValue
from derive.analysis.sought import NoSuchValue
from derive.analysis.start import LongStart, begun
from derive.analysis.tested import LongTest, NoVoltage
from derive.analysis.transient import NoDelay
from derive.bounds import MOST_LOOPS
from derive.checker.comparison import check_comparison
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.expansion import count_terms
from derive.circuit.figures import answer_figures
from derive.circuit.floating import why_no_resistance, why_not_fixed
from derive.circuit.model import Circuit, Event, Method, Tie
from derive.circuit.question import AskCurrents, AskMatchedLoad, AskResistance, AskTransient
from derive.circuit.solvability import NoUniqueSolution, SourceCut, solvability
from derive.circuit.switching import told
from derive.circuit.unfound import negative_resistance, no_such_resistance, not_fixed
from derive.circuit.values import letters_without_value
from derive.circuit.verdicts import why_not_solvable
from derive.contract import changes_of, contract_of
from derive.derivation.comparison import Comparison
from derive.derivation.step import (
    Conclude,
    Derivation,
)
from derive.diagnostic import Diagnostic, Rejected, Severity
from derive.document.model import Chain, Document
from derive.document.narrate import Detail, narrate, summary
from derive.document.switching_told import narrate_switching
from derive.drawing.reckoning import style_of
from derive.drawing.schematic import follows_bridge, follows_places
from derive.source import Source
from derive.writers.answers_json import Contract, Switched
from derive.writers.tex_text import unprintable

if TYPE_CHECKING:
    from derive.document.live import LiveDocument

__all__ = ["Detail", "Group", "Options", "Solution", "formula", "solve"]


_MOST_IN_LETTERS = 2000
_MOST_WITH_VALUES = 300
_LONG = 100
"""Products that are worth a word before the work begins."""


class Group(Enum):
    """How the numerators of the general formula are grouped."""

    BATTERY = "battery"
    LOOP = "loop"


@dataclass(frozen=True, slots=True)
class Options:
    """What the user of the command decides."""

    numbers_first: bool = False
    detail: Detail = Detail.FULL
    group: Group = Group.BATTERY
    expanded: bool = False
    """Formulas of a reduction as one fraction each, where that is not too long."""
    figures: int | None = None
    terms: int | None = None
    """Products in a denominator that are still written in letters; None: 2000, or 300 where all
    parts have values, so that numbers can go in first instead."""
    announce: Callable[[str], None] | None = None
    """Is told how long the formulas will be before a long one is worked out."""


@dataclass(frozen=True, slots=True)
class Solution:
    """A solved circuit. Its derivation has been accepted by the checker."""

    circuit: Circuit
    """Where switches change, the circuit after that; so are the derivation and the contract."""
    derivation: Derivation
    document: Document
    contract: Contract
    summary: tuple[Chain, ...]
    """The answers in a few lines for the terminal."""
    warnings: tuple[Diagnostic, ...]
    switching: Switching | None = None
    """What was before, where switches change."""
    summary_before: tuple[Chain, ...] = ()
    """The answers for the time before, in a few lines."""

    def live(self) -> LiveDocument | None:
        """Return how the numbers of the document follow other values; None where they do not.

        Where switches change they do not, nor where a test source is put in, since the document
        tells of two circuits.
        """
        from derive.document.live import follow  # for pages of the web alone

        if self.switching is not None or self.circuit.tested:
            return None
        return follow(self.document, self.circuit, self.derivation)


def solve(source: Source, options: Options = Options()) -> Solution:
    """Turn a circuit file into a checked solution. Raises Rejected."""
    proved = prove(source, options)
    circuit, derivation = proved.circuit, proved.derivation
    warnings = (*proved.warnings, *figure_doubts(circuit), *_type_doubts(circuit))
    was = proved.switching
    return Solution(
        circuit,
        derivation,
        _told(proved, digest_of(source), options.detail),
        _contract(proved, warnings),
        summary(circuit, derivation, ranges=was is None),
        warnings,
        proved.switching,
        () if was is None else summary(was.before.circuit, was.before.derivation, ranges=False),
    )


def before(solution: Solution, detail: Detail = Detail.FULL) -> Solution:
    """Return the solution for the time before switches change, as if nothing came after.

    Raises ValueError where no switch changes.
    """
    if solution.switching is None:
        raise ValueError("no switch changes")
    was = solution.switching.before
    circuit, derivation = was.circuit, was.derivation
    return Solution(
        circuit,
        derivation,
        _told(was, solution.document.digest, detail),
        _contract(was, solution.warnings),
        summary(circuit, derivation),
        solution.warnings,
    )


def _told(proved: Proved, digest: str, detail: Detail) -> Document:
    circuit, derivation = proved.circuit, proved.derivation
    style, switching = style_of(circuit), proved.switching
    if switching is None:
        return narrate(circuit, derivation, style, digest, detail)
    was = switching.before
    return narrate_switching(
        switching.event, (was.circuit, was.derivation), (circuit, derivation),
        switching.comparison, style, digest, detail,
    )  # fmt: skip


def _contract(proved: Proved, warnings: tuple[Diagnostic, ...]) -> Contract:
    found = contract_of(proved.circuit, proved.derivation, proved.steps, warnings)
    switching = proved.switching
    if switching is None:
        return found
    was = switching.before
    earlier = contract_of(was.circuit, was.derivation, was.steps, warnings)
    changes = changes_of(found, proved.derivation, switching.comparison)
    event = switching.event
    return replace(found, switching=Switched(event.closes, event.opens, earlier, *changes))


@dataclass(frozen=True, slots=True)
class Proved:
    """A derivation that the checker has accepted, not yet told."""

    circuit: Circuit
    derivation: Derivation
    steps: int
    """How many steps have been checked."""
    warnings: tuple[Diagnostic, ...]
    switching: Switching | None = None
    """What was before, where switches change; the other fields tell what is after."""


@dataclass(frozen=True, slots=True)
class Switching:
    """Switches that change, what was before, and what changes by it."""

    event: Event
    before: Proved
    comparison: Comparison


def prove(source: Source, options: Options = Options(), *, numbers_will_do: bool = True) -> Proved:
    """Turn a circuit file into a checked derivation, or two. Raises Rejected."""
    elaborated = load(source)
    event, before = elaborated.event, elaborated.before
    if event is None or before is None:
        asides = elaborated.warnings
        found = _prove(elaborated.circuit, options, asides, numbers_will_do=numbers_will_do)
        return replace(found, warnings=(*elaborated.warnings, *found.warnings))
    states: list[Proved] = []
    refused: list[Diagnostic] = []
    for when, circuit in (("before", before), ("after", elaborated.circuit)):
        try:
            if when == "after":
                if not states and any(isinstance(q, AskTransient) for q in circuit.questions):
                    continue  # it begins with what is not known
                circuit = _begun(circuit, states)
            states.append(_prove(circuit, options, (), numbers_will_do=numbers_will_do))
        except Rejected as rejected:
            state = f"{when} {told(event)}"
            refused += (replace(d, message=f"{state}: {d.message}") for d in rejected.diagnostics)
    if refused:
        raise Rejected([*refused, *elaborated.warnings])
    was, found = states
    figures = options.figures or answer_figures(found.circuit)
    comparison = compare(was.derivation, found.derivation, figures)
    verdict = check_comparison(
        event, (was.circuit, was.derivation), (found.circuit, found.derivation), comparison
    )
    if not verdict.accepted:
        raise Rejected([_unproved(str(verdict.refusal))])
    doubts = dict.fromkeys((*elaborated.warnings, *was.warnings, *found.warnings))
    return replace(found, warnings=tuple(doubts), switching=Switching(event, was, comparison))


def _prove(
    circuit: Circuit, options: Options, asides: tuple[Diagnostic, ...], *, numbers_will_do: bool
) -> Proved:
    """Turn one circuit into a checked derivation; `asides` are said where it has no solution."""
    doubts: tuple[Diagnostic, ...] = ()
    _refuse_transients(circuit)
    if any(isinstance(question, AskMatchedLoad) for question in circuit.questions):
        # Only a formula tells how a current follows the load.
        numbers_will_do, options = False, replace(options, numbers_first=False)
    if circuit.asks_for_currents:
        report = solvability(circuit)
        if report is not None:
            raise Rejected([why_not_solvable(circuit, report), *asides])
        _refuse_ideal_meters(circuit)
        if Method.BRANCH_CURRENTS in _methods(circuit, options, in_letters=not numbers_will_do):
            options, doubts = _within_bounds(circuit, options, numbers_will_do=numbers_will_do)
    _refuse_tests(circuit)
    derivation = _derive(circuit, options, in_letters=not numbers_will_do)
    verdict = check(circuit, derivation)
    if not verdict.accepted:
        raise Rejected([_unproved(str(verdict.refusal))])
    return Proved(circuit, derivation, verdict.steps, doubts)


def _refuse_ideal_meters(circuit: Circuit) -> None:
    """Refuse a loading error where the circuit has no solution with an ideal meter."""
    for meter, ideal in circuit.ideal:
        report = solvability(ideal)
        if report is not None:
            found = why_not_solvable(ideal, report)
            told = f"with {meter} made ideal, for its loading error: {found.message}"
            raise Rejected([replace(found, message=told)])


def _begun(circuit: Circuit, states: Sequence[Proved]) -> Circuit:
    """Return what switches lead to, with the voltages that capacitors begin with."""
    try:
        return begun(circuit, states[0].derivation) if states else circuit
    except LongStart as fault:
        told = f"in letters the voltage with which {fault.capacitor} begins is too long"
        letters = [s.name for s in letters_without_value(circuit)]
        span = circuit.span_of(fault.capacitor)
        raise Rejected(
            [Diagnostic("formula-too-long", told, span, (give_values(letters),))]
        ) from None


def _refuse_transients(circuit: Circuit) -> None:
    """Refuse transients where sources follow what flows."""
    dependent = [symbol.name for symbol in circuit.dependent]
    transients = [q.capacitor for q in circuit.questions if isinstance(q, AskTransient)]
    if dependent and transients:
        told = (
            f"the transient of {transients[0]} is not worked out yet where a source depends on a "
            f"current or a voltage, as {dependent[0]} does"
        )
        hint = f"ask for the voltage long after: ask voltage across {transients[0]}"
        raise Rejected([Diagnostic("not-solved-yet", told, circuit.span_of(dependent[0]), (hint,))])


def _refuse_many_loops(circuit: Circuit) -> None:
    """Refuse what would take minutes to be solved, and hours to be read."""
    loops = len(circuit.branches) - len(circuit.nodes) + 1
    if loops > MOST_LOOPS:
        told = (
            f"the circuit has {loops} independent loops; {MOST_LOOPS} are the most that are "
            "solved by Kirchhoff's rules"
        )
        hint = "a derivation of that size could not be read; solve a piece of the circuit"
        raise Rejected([Diagnostic("too-many-loops", told, None, (hint,))])


def _refuse_tests(circuit: Circuit) -> None:
    """Refuse a resistance where no circuit with a test source has a solution."""
    for tested in circuit.tested:
        _refuse_many_loops(tested.circuit)
        report = solvability(tested.circuit)
        if report is None:
            continue
        ends = tested.question.one, tested.question.other
        if isinstance(report, SourceCut) and len(report.sources) == 1:
            raise Rejected([why_no_resistance(circuit, ends)])
        found = why_not_solvable(tested.circuit, report)
        told = f"with a test source between {' and '.join(ends)}, for the resistance there: "
        raise Rejected([replace(found, message=f"{told}{found.message}")])


def _methods(circuit: Circuit, options: Options, *, in_letters: bool) -> tuple[Method, ...]:
    try:
        by_loop = options.group is Group.LOOP
        return methods_for(circuit, in_letters=in_letters, by_loop=by_loop)
    except Irreducible:
        chosen = circuit.choices
        span = chosen.method_spans[chosen.methods.index(Method.REDUCTION)]
        told = "no exchange known here leads on: batteries lie within a bridge of this circuit"
        if circuit.has_sources or circuit.dependent:
            told = "current sources and dependent sources are not merged with other parts here"
        hint = f"write: use method {Method.BRANCH_CURRENTS.value}"
        raise Rejected([Diagnostic("not-reducible", told, span, (hint,))]) from None


def _within_bounds(
    circuit: Circuit, options: Options, *, numbers_will_do: bool
) -> tuple[Options, tuple[Diagnostic, ...]]:
    """Say beforehand how long the formulas would be; numbers go first where that is too long."""
    _refuse_many_loops(circuit)
    if options.numbers_first:
        return options, ()
    terms = count_terms(circuit)
    letters = [s.name for s in letters_without_value(circuit)]
    must = bool(letters) or not numbers_will_do
    most = options.terms or (_MOST_IN_LETTERS if must else _MOST_WITH_VALUES)
    if terms <= most:
        if terms > _LONG and options.announce is not None:
            options.announce(f"the common denominator will have {terms:,} products")
        return options, ()
    told = f"in letters the common denominator has {terms:,} products, more than {most:,}"
    if must:
        hints = ["allow more with --terms"]
        if letters and numbers_will_do:
            hints.insert(0, give_values(letters))
        told = f"{told}, so it is not written out"
        raise Rejected([Diagnostic("formula-too-long", told, None, tuple(hints))])
    doubt = Diagnostic(
        "numbers-first", f"{told}; the numbers were put in first", None,
        ("allow more with --terms",), severity=Severity.WARNING,
    )  # fmt: skip
    return replace(options, numbers_first=True), (doubt,)


def give_values(letters: Sequence[str]) -> str:
    """Return the hint that names quantities without a value, the first of them if they are many."""
    return f"give values for {', '.join(letters[:6])}{', …' if len(letters) > 6 else ''}"


def figure_doubts(circuit: Circuit) -> tuple[Diagnostic, ...]:
    """Warn where the figure cannot be drawn as the author wants it."""
    doubts = []
    if circuit.looks.places and not follows_places(circuit, windows(circuit)):
        doubts.append(
            Diagnostic(
                "places-in-vain",
                "the figure is not drawn by your places: no wires along the grid can join them so",
                None,
                ("give a place to every point where branches meet, and leave room between them",),
                severity=Severity.WARNING,
            )
        )
    if not follows_bridge(circuit):
        doubts.append(
            Diagnostic(
                "no-diamond",
                "the circuit is not drawn as a diamond: that is for four points, each joined to "
                "each by one branch, with no internal resistance in the sides",
                None,
                ("leave `bridge diamond` out",),
                severity=Severity.WARNING,
            )
        )
    return tuple(doubts)


def _type_doubts(circuit: Circuit) -> tuple[Diagnostic, ...]:
    """Warn of words that cannot be printed."""
    missing = unprintable(circuit.title + circuit.statement)
    if not missing:
        return ()
    shown = " ".join(missing[:6]) + (" …" if len(missing) > 6 else "")
    first = f"U+{ord(missing[0]):04X}"
    told = f"the fonts of printed pages lack {shown}; there the code stands, such as [{first}]"
    hints = ("use other words in the title and the statement, or write html or text",)
    return (Diagnostic("no-type", told, None, hints, severity=Severity.WARNING),)


def digest_of(source: Source) -> str:
    """Return what tells a circuit file from every other, for the files made from it."""
    return sha256(source.text.encode()).hexdigest()


def formula(source: Source, options: Options = Options()) -> tuple[str, ...]:
    """Return ``I1 = …`` for every current, in letters that Python can read. Raises Rejected.

    The resistances that are asked for come after them, as ``R_A_B = …``, then courses in time, as
    ``v_C1 = …`` and ``i_C1 = …``. Where switches change, those of the time before come first; a
    comment says which are which.
    """
    proved = prove(source, replace(options, numbers_first=False), numbers_will_do=False)
    if proved.switching is None:
        return _formulas(proved)
    happens = told(proved.switching.event)
    before = _formulas(proved.switching.before)
    return (f"# before {happens}", *before, f"# after {happens}", *_formulas(proved))


def _formulas(proved: Proved) -> tuple[str, ...]:
    contract = contract_of(proved.circuit, proved.derivation, proved.steps, proved.warnings)
    further = (
        step
        for step in proved.derivation.steps
        if isinstance(step, Conclude) and not isinstance(step.question, AskCurrents)
    )
    named = [*contract.currents] + [
        (identifier(step.symbol.name), answer.result)
        for step, answer in zip(further, contract.answers, strict=True)
        if isinstance(step.question, AskResistance)
    ]
    courses = [
        (f"{letter}_{answer.ask.split()[-1]}", text)
        for answer in contract.transients
        for letter, text in (("v", answer.formula), ("i", answer.current))
    ]
    formulas = [(name, result.formula) for name, result in named] + courses
    return tuple(f"{name} = {text}" for name, text in formulas if text is not None)


def _derive(circuit: Circuit, options: Options, *, in_letters: bool) -> Derivation:
    try:
        return derive(
            circuit,
            numbers_first=options.numbers_first,
            figures=options.figures,
            by_loop=options.group is Group.LOOP,
            expanded=options.expanded,
            in_letters=in_letters,
        )
    except DependentLoops as fault:
        spans = circuit.choices.loop_spans
        names = " and ".join(str(k + 1) for k in fault.others)
        raise Rejected(
            [
                Diagnostic(
                    "dependent-loops",
                    f"this loop gives no new equation: it follows from loop {names}",
                    spans[fault.index] if fault.index < len(spans) else None,
                    ("choose a loop with a branch that no other loop has",),
                )
            ]
        ) from None
    except NoUniqueSolution as fault:
        raise Rejected([why_not_solvable(circuit, fault.report)]) from None
    except LongFormula as fault:
        told = (
            "in letters the voltages across the capacitors have a common denominator of "
            f"{fault.products:,} products, so they are not written out"
        )
        hint = give_values([symbol.name for symbol in fault.letters])
        raise Rejected([Diagnostic("formula-too-long", told, None, (hint,))]) from None
    except NoDelay as fault:
        told = (
            f"no resistance lies on the way to {fault.capacitor}, so its voltage would have to "
            "jump, and a current without bound would flow"
        )
        hint = f"put the resistance of the leads in series with {fault.capacitor}"
        span = circuit.span_of(fault.capacitor)
        raise Rejected([Diagnostic("no-delay", told, span, (hint,))]) from None
    except NoEfficiency as fault:
        told = f"no current flows in {fault.battery}, so it has no efficiency"
        if fault.reversed:
            told = (
                f"all that {fault.battery} gives, and more, is lost in its own internal "
                "resistance, so it has no efficiency"
            )
        hint = f"its powers can be asked: ask power of {fault.battery}"
        span = circuit.span_of(fault.battery)
        raise Rejected([Diagnostic("no-efficiency", told, span, (hint,))]) from None
    except NoMatch as fault:
        told = f"no value of {fault.part} takes the most power: {fault.reason.value}"
        if fault.reason in (Unmatched.NO_FORMULA, Unmatched.SOUGHT):
            told = f"the matched load is not worked out here: {fault.reason.value}"
        span, hint = circuit.span_of(fault.part), f"you can ask: ask power in {fault.part}"
        raise Rejected([Diagnostic("no-matched-load", told, span, (hint,))]) from None
    except LongTest:
        told = "in letters the resistance between the points is too long to be written out"
        hint = give_values([s.name for s in letters_without_value(circuit)])
        raise Rejected([Diagnostic("formula-too-long", told, None, (hint,))]) from None
    except NoVoltage as fault:
        ends = f"{fault.tested.question.one} and {fault.tested.question.other}"
        source = circuit.dependent[0].name
        told = (
            f"there is no resistance between {ends}: {_followed(circuit)} just so that they keep "
            "each other up, or contradict each other, when a test source drives a current there"
        )
        hint = f"change the factor in the value of {source}"
        span = circuit.span_of(source)
        raise Rejected([Diagnostic("no-resistance", told, span, (hint,))]) from None
    except NothingBetween as fault:
        raise Rejected([why_no_resistance(circuit, fault.ends)]) from None
    except NoPath as fault:
        # A voltmeter with a resistance is no gap: that it was made ideal leaves it without a path.
        where = dict(circuit.ideal).get(fault.part or "", circuit)
        found = why_not_fixed(where, fault.part, fault.points)
        if circuit.is_before and AskTransient(fault.part or "") in circuit.questions:
            said = f"or say what {fault.part} has at the start: initially V({fault.part}) = 0 V"
            found = replace(found, hints=(*found.hints, said))
        raise Rejected([found]) from None
    except NoPreferredValue as fault:
        name = fault.symbol.name
        told = f"{name} comes out as zero, which is no preferred value of any series"
        hint = f"ask for the value alone: ask value of {name}"
        raise Rejected([Diagnostic("no-value", told, circuit.span_of(name), (hint,))]) from None
    except NoSuchValue as fault:
        raise Rejected([_no_such_value(circuit, fault)]) from None
    except Singular:
        if circuit.sought:
            raise Rejected([not_fixed(circuit)]) from None
        # `solvability` finds such circuits beforehand and says more; this is the net below it.
        told = "Kirchhoff's rules do not fix every current of this circuit"
        hint = "give every battery an internal resistance, and every loop a resistor"
        if circuit.dependent:
            dependent = [symbol.name for symbol in circuit.dependent]
            told = (
                f"{told}: {_followed(circuit)} just so that they keep each other up, or contradict "
                "each other"
            )
            hint = f"change the factor in the value of {dependent[0]}"
        span = circuit.span_of(circuit.dependent[0].name) if circuit.dependent else None
        raise Rejected([Diagnostic("currents-not-fixed", told, span, (hint,))]) from None


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


def _unproved(reason: str) -> Diagnostic:
    return Diagnostic(
        "unproved",
        f"the derivation was not accepted by the checker, so nothing is written: {reason}",
        None,
        ("this is a fault of the program; please report the circuit",),
    )
