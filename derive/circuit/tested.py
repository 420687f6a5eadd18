"""The circuit by which a resistance is found where sources depend on currents or voltages.

A test source of 1 A drives its current in at one point and out at the other; every other source
that depends on nothing is set to zero. The circuit is made from the file once more, so that its
branches are found anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

from derive.algebra.name import unused_name
from derive.algebra.polynomial import Ring
from derive.algebra.term import ZERO, Symbol, SymbolKind, Term, symbols
from derive.algebra.term import replace as put_in
from derive.circuit.elements import Battery, CurrentSource, Element, is_gap
from derive.circuit.model import Circuit, Tested
from derive.circuit.primes import primed
from derive.circuit.question import AskResistance, AskVoltage
from derive.circuit.valuation import Tie
from derive.diagnostic import Diagnostic, Rejected
from derive.language.syntax import (
    Ask,
    BatteryStop,
    CurrentSourceStop,
    Eliminate,
    Initially,
    Measure,
    Name,
    NumberLiteral,
    Place,
    PointStop,
    QuestionKind,
    ResistorStop,
    Statement,
    Stop,
    SwitchStop,
    SyntaxFile,
    Text,
    UseJunction,
    UseLoop,
    UseMethod,
    ValueStatement,
    Walk,
)
from derive.source import Span

_DROPPED = (Ask, Eliminate, Initially, Place, UseJunction, UseLoop, UseMethod)


def with_test_sources(
    file: SyntaxFile, circuit: Circuit, read: Callable[[SyntaxFile], Circuit], *, switches: bool
) -> tuple[Tested, ...]:
    """Return the circuits with a test source, one for each resistance that needs one.

    `read` makes a circuit from a file; `switches` says whether switches change in it. Raises
    Rejected where a test source does not tell a resistance.
    """
    found = []
    for question in _resistances_to_test(circuit):
        untold = _why_not_tested(file, circuit, question, switches=switches)
        if untold is not None:
            raise Rejected([untold])
        changed, name = _with_test_source(file, circuit, question)
        try:
            other = read(changed)
        except Rejected as refused:
            raise Rejected([_not_read(circuit, question, refused.diagnostics[0])]) from None
        asked = AskVoltage(question.one, question.other)
        found.append(Tested(question, name, primed(replace(other, questions=(asked,)))))
    return tuple(found)


def _resistances_to_test(circuit: Circuit) -> tuple[AskResistance, ...]:
    """Return the questions that need a test source."""
    if not circuit.dependent:
        return ()
    asked = (q for q in circuit.questions if isinstance(q, AskResistance))
    return tuple(dict.fromkeys(asked))


def _why_not_tested(
    file: SyntaxFile, circuit: Circuit, question: AskResistance, *, switches: bool
) -> Diagnostic | None:
    """Tell why a test source does not tell a resistance; None where it does.

    `switches` says whether switches change.
    """
    source = circuit.dependent[0].name
    if switches:
        hint = "write the switch as it stands when the resistance is asked for: (closed S1)"
        return _untold(circuit, question, source, "where switches change", hint)
    if circuit.sought:
        hint = "find the value first, then ask for the resistance with it"
        return _untold(circuit, question, source, "where a value is sought", hint)
    for symbol in _not_proportional(circuit):
        hint = f"put a second source in a row with {symbol.name} for what depends on nothing"
        why = f"unless {symbol.name} is zero where no current flows"
        return _untold(circuit, question, symbol.name, why, hint)
    for symbol in _without_carrier(circuit):
        hint = "write a resistor on that walk, or let the source depend on another current"
        why = f"unless {symbol.name} flows in a resistance of its own walk"
        return _untold(circuit, question, source, why, hint)
    cut = _cut_control(file, circuit, question)
    if cut is not None:
        hint = f"end the walk of {cut[0]} at {cut[1]}, so that the source depends on one piece"
        why = f"if {cut[0]}, on which it depends, divides at {cut[1]}"
        return _untold(circuit, question, source, why, hint)
    return None


def _not_read(circuit: Circuit, question: AskResistance, fault: Diagnostic) -> Diagnostic:
    """Tell what is wrong with the circuit with a test source."""
    why = f"here. With a test source between them: {fault.message}"
    hint = "ask for the voltage between the points with and without a load there"
    return _untold(circuit, question, circuit.dependent[0].name, why, hint)


def _untold(
    circuit: Circuit, question: AskResistance, source: str, why: str, hint: str
) -> Diagnostic:
    told = (
        f"the resistance between {question.one} and {question.other} is not worked out with a "
        f"source that depends on a current or a voltage, as {source} does, {why}"
    )
    return Diagnostic("not-solved-yet", told, circuit.span_of(source), (hint,))


def _not_proportional(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the dependent sources that would deliver even with no current and no voltage."""
    found = []
    for symbol in circuit.dependent:
        tie = circuit.valuation(symbol)
        assert isinstance(tie, Tie)
        still: dict[Symbol, Term] = {
            s: ZERO
            for s in symbols(tie.term)
            if s in circuit.dependent or s.kind in (SymbolKind.CURRENT, SymbolKind.VOLTAGE)
        }
        rest = put_in(tie.term, still)
        if Ring(tuple(dict.fromkeys(symbols(rest)))).fraction(rest)[0]:
            found.append(symbol)
    return tuple(found)


def _without_carrier(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return the currents on which sources depend that flow in no resistance of their walk.

    Where such a walk is left as a bare wire, its current need not be the same one. In one that a
    gap interrupts there is none, whatever else lies in it.
    """
    found = {walk.current: [circuit.element(part) for part in walk.parts] for walk in circuit.walks}
    found |= {b.current: [p.element for p in b.passages] for b in circuit.named_idle}
    return tuple(
        flow
        for flow, elements in found.items()
        if flow.name in _controls(circuit)
        and not any(_is_left(circuit, e) or is_gap(e) for e in elements)
    )


def _cut_control(
    file: SyntaxFile, circuit: Circuit, question: AskResistance
) -> tuple[str, str] | None:
    """Return a current on which a source depends and an end of the test source on its walk.

    The current divides there, so that the source would depend on two currents.
    """
    controls = _controls(circuit)
    for walk in file.statements:
        if isinstance(walk, Walk) and walk.name is not None and walk.name.text in controls:
            for stop in walk.stops[1:-1]:
                if isinstance(stop, PointStop) and stop.name.text in (question.one, question.other):
                    return walk.name.text, stop.name.text
    return None


def _is_left(circuit: Circuit, element: Element) -> bool:
    if isinstance(element, Battery | CurrentSource) and _strength(element) in circuit.dependent:
        return True
    return element.resistance is not None


def _controls(circuit: Circuit) -> set[str]:
    return {
        s.name
        for v in circuit.values
        if isinstance(v.value, Tie)
        for s in symbols(v.value.term)
        if s.kind is SymbolKind.CURRENT
    }


def _with_test_source(
    file: SyntaxFile, circuit: Circuit, question: AskResistance
) -> tuple[SyntaxFile, str]:
    """Return a file with a test source between two points and all others zero, and its name.

    It asks for the voltage of the first point over the second.
    """
    taken = {*circuit.points, *(e.name for e in circuit.elements)}
    taken |= {symbol.name for symbol in circuit.symbols}
    name = unused_name("J_test", taken)
    span = Span(0, 0)
    one, other, source = (Name(text, span) for text in (question.one, question.other, name))
    test = (
        Walk(
            None,
            (PointStop(other), CurrentSourceStop(source, along=True, span=span), PointStop(one)),
            span,
        ),
        ValueStatement(
            (source,), Measure(NumberLiteral("1", span), Text("A", span), span), None, span
        ),
        Ask(QuestionKind.VOLTAGE, (one, other), span),
    )
    return SyntaxFile((*_kept(file, circuit, question), *test)), name


def _kept(file: SyntaxFile, circuit: Circuit, question: AskResistance) -> Iterator[Statement]:
    zero = {
        element.name
        for element in circuit.elements
        if isinstance(element, Battery | CurrentSource)
        and _strength(element) not in circuit.dependent
    }
    controls = _controls(circuit)
    walks = [s for s in file.statements if isinstance(s, Walk)]
    met = Counter(stop.name.text for w in walks for stop in w.stops if isinstance(stop, PointStop))
    met.update((question.one, question.other))
    for statement in file.statements:
        match statement:
            case Walk(name=name, stops=stops):
                kept = tuple(stop for s in stops for stop in _without_source(s, zero))
                wire = all(isinstance(stop, PointStop) for stop in kept) and kept != stops
                cut = any(isinstance(s, PointStop) and met[s.name.text] > 1 for s in stops[1:-1])
                if (wire or cut) and name is not None and name.text not in controls:
                    name = None  # its current may divide there, and nobody asks for it
                yield replace(statement, name=name, stops=kept)
            case ValueStatement(targets=targets):
                left = tuple(t for t in targets if not isinstance(t, Name) or t.text not in zero)
                if left:
                    yield replace(statement, targets=left)
            case Ask(kind=QuestionKind.VOLTAGE | QuestionKind.POTENTIAL):
                yield statement  # so that its points may be open ends
            case Ask(kind=QuestionKind.RESISTANCE):
                yield replace(statement, kind=QuestionKind.VOLTAGE)
            case _:
                if not isinstance(statement, _DROPPED):
                    yield statement


def _without_source(stop: Stop, zero: Collection[str]) -> Iterator[Stop]:
    """Yield what stands in the place of a source that is zero: a wire or a gap."""
    match stop:
        case BatteryStop(name=name, internal=internal) if name.text in zero:
            if internal is not None:
                yield ResistorStop(internal, lamp=False, span=stop.span)
        case CurrentSourceStop(name=name) if name.text in zero:
            yield SwitchStop(name, closed=False, span=stop.span)
        case _:
            yield stop


def _strength(element: Battery | CurrentSource) -> Symbol:
    return element.emf if isinstance(element, Battery) else element.source
