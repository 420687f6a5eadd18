"""From a circuit file to a derivation that the checker has accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from derive.analysis.answers import derive
from derive.analysis.by_reduction import Irreducible, methods_for
from derive.analysis.comparison import compare
from derive.analysis.start import LongStart, begun
from derive.bounds import MOST_LOOPS
from derive.checker.comparison import check_comparison
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.expansion import count_terms
from derive.circuit.figures import answer_figures
from derive.circuit.floating import why_no_resistance
from derive.circuit.model import Circuit, Event, Method
from derive.circuit.question import AskMatchedLoad, AskTransient
from derive.circuit.solvability import SourceCut, solvability
from derive.circuit.switching import told
from derive.circuit.values import letters_without_value
from derive.circuit.verdicts import why_not_solvable
from derive.derivation.comparison import Comparison
from derive.derivation.step import Derivation
from derive.diagnostic import Diagnostic, Rejected, Severity
from derive.options import STANDARD, Group, Options
from derive.refusals import FAULTS, give_values, refusal, unproved
from derive.source import Source

_MOST_IN_LETTERS = 2000

_MOST_WITH_VALUES = 300

_LONG = 100
"""Products that are worth a word before the work begins."""


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


def prove(source: Source, options: Options = STANDARD, *, numbers_will_do: bool = True) -> Proved:
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
        raise Rejected([unproved(str(verdict.refusal))])
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
        raise Rejected([unproved(str(verdict.refusal))])
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
    except FAULTS as fault:
        raise Rejected([refusal(circuit, fault)]) from None
