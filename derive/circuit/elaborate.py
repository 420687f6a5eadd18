"""From the syntax tree to the circuit, with all complaints at once.

Where switches change, one file describes two circuits: each is made as if its state were all there
is, but choices that fit one of them alone count for that one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from derive.circuit.answerable import refuse_unanswerable
from derive.circuit.choices import read_choices
from derive.circuit.complaints import Complaints
from derive.circuit.graph import Graph, build
from derive.circuit.ideal import meters_to_idealize, without_value
from derive.circuit.initials import check_transients, read_initials
from derive.circuit.islands import Region, clusters
from derive.circuit.looks import decimal_comma, read_looks, said_once
from derive.circuit.model import Circuit, Event
from derive.circuit.numbers import Numbers
from derive.circuit.primes import primed
from derive.circuit.questions import asks_for_resistances_alone, points_asked_for, read_questions
from derive.circuit.ratings import read_ratings
from derive.circuit.register import Kind, Register
from derive.circuit.remarks import _warn_of_no_battery, _warn_of_tolerances, warn
from derive.circuit.sought import check_sought
from derive.circuit.switching import event_of, told, walks_before
from derive.circuit.terminals import gap_between_terminals
from derive.circuit.tested import with_test_sources
from derive.circuit.valuation import CONDITIONS, Given, Initial
from derive.circuit.valuations import read_valuations
from derive.diagnostic import Diagnostic, Rejected, Severity
from derive.language.parser import MOST_DIAGNOSTICS, read
from derive.language.syntax import (
    Ask,
    Eliminate,
    Initially,
    Name,
    Place,
    PointStop,
    Rate,
    Statement,
    SyntaxFile,
    Uncharged,
    Unknown,
    UseJunction,
    UseLoop,
    ValueStatement,
    Walk,
    WordsKind,
)
from derive.source import Source


@dataclass(frozen=True, slots=True)
class Elaborated:
    """A circuit, and what its author may want to know about it."""

    circuit: Circuit
    """The circuit; where switches change, as it is after that."""
    warnings: tuple[Diagnostic, ...]
    event: Event | None = None
    """Which switches change; None where none does."""
    before: Circuit | None = None
    """The circuit before they change: the same parts, values, questions and names of currents."""


def load(source: Source) -> Elaborated:
    """Read a circuit file.

    Raises Rejected with every independent error of it, those of the language and those of the
    circuit. What depends on a statement that cannot be read is not complained of.
    """
    reading = read(source)
    if not reading.diagnostics:
        return elaborate(reading.file)
    complaints = Complaints()
    _circuits(reading.file, complaints, reading.broken)
    found = (*reading.diagnostics, *complaints.in_order(Severity.ERROR))
    ordered = sorted(found, key=lambda d: (d.span is None, d.span.start if d.span else 0))
    raise Rejected(ordered[:MOST_DIAGNOSTICS])


def elaborate(file: SyntaxFile) -> Elaborated:
    """Return the circuit that a file describes.

    Raises Rejected with every independent error; no error is told twice in other words.
    """
    complaints = Complaints()
    circuits = _circuits(file, complaints, None)
    errors = complaints.in_order(Severity.ERROR)
    if circuits is not None and not errors:
        _warn_of_tolerances(file, circuits[0], complaints)
    warnings = complaints.in_order(Severity.WARNING)
    if errors or circuits is None:
        raise Rejected((*errors, *warnings)[:MOST_DIAGNOSTICS])
    circuit, before = circuits
    event = None if before is None else event_of(_walks(file))
    tested = with_test_sources(
        file, circuit, lambda changed: elaborate(changed).circuit, switches=event is not None
    )
    circuit = replace(circuit, tested=tested)
    return Elaborated(_with_ideal_meters(file, circuit, event), warnings, event, before)


def _with_ideal_meters(file: SyntaxFile, circuit: Circuit, event: Event | None) -> Circuit:
    """Add the circuits by which loading errors are told. Raises Rejected where there is none."""
    found = []
    for meter in meters_to_idealize(circuit):
        span = circuit.span_of(meter)
        if event is not None:
            message = "a loading error is not worked out where switches change"
            hint = "write the switch as it stands when the meter is read: (closed S1)"
            raise Rejected([Diagnostic("not-solved-yet", message, span, (hint,))])
        if circuit.sought:
            message = "a loading error is not worked out where a value is sought"
            hint = "find the value first, then ask for the loading error with it"
            raise Rejected([Diagnostic("not-solved-yet", message, span, (hint,))])
        try:
            ideal = elaborate(without_value(file, meter)).circuit
        except Rejected as refused:
            told = f"with {meter} made ideal, for its loading error: "
            raise Rejected(
                [replace(d, message=f"{told}{d.message}") for d in refused.diagnostics]
            ) from None
        found.append((meter, primed(ideal)))
    return replace(circuit, ideal=tuple(found)) if found else circuit


def _walks(file: SyntaxFile) -> list[Walk]:
    return [statement for statement in file.statements if isinstance(statement, Walk)]


def _circuits(
    file: SyntaxFile, complaints: Complaints, broken: frozenset[str] | None
) -> tuple[Circuit, Circuit | None] | None:
    """Return the circuit, and what it was before if switches change; None for what is none.

    `broken` holds the words of unread statements, None when all are read.
    """
    walks = _walks(file)
    event = event_of(walks)
    if event is None:
        draft = _draft(file, walks, (), complaints, broken)
        circuit = draft.finished(file.statements)
        if circuit is not None:
            _warn_of_no_battery(circuit, complaints)
        return None if circuit is None else (circuit, None)
    _refuse_sought(file, event, complaints)
    earlier = walks_before(walks)
    after = _draft(file, walks, earlier, Complaints(), broken)
    before = _draft(file, earlier, walks, Complaints(), broken)
    circuits = [
        one.finished([s for s in file.statements if one.takes(s) or not other.takes(s)])
        for one, other in ((after, before), (before, after))
    ]
    complaints.add_both(before.complaints, after.complaints, told(event))
    found, was = circuits
    if found is None or was is None:
        return None
    _refuse_charges_of_before(found, was, complaints)
    return found, replace(was, is_before=True)


def _refuse_charges_of_before(after: Circuit, before: Circuit, complaints: Complaints) -> None:
    """Refuse islands whose charge need not be zero, since more leads there before."""
    kept = [plates for _, plates in _islands(before)]
    for region, plates in _islands(after):
        inside = [own for own in kept if own <= plates]
        if frozenset[tuple[str, bool]]().union(*inside) == plates:
            continue
        names = sorted({name for name, _ in plates})
        where = f"to {', '.join(region.points)}" if region.points else "between them"
        complaints.error(
            "charge-of-before",
            f"more than {', '.join(names)} leads {where} before the switches change, so a charge "
            "may be there afterwards; that is not solved yet",
            after.span_of(names[0]),
            "write the state you ask about in a file of its own",
        )


def _islands(circuit: Circuit) -> Iterator[tuple[Region, frozenset[tuple[str, bool]]]]:
    """Yield each island of uncharged capacitors with the plates on it."""
    for cluster in clusters(circuit):
        ends = [(p.capacitor, True, p.enter) for p in cluster.capacitors]
        ends += [(p.capacitor, False, p.leave) for p in cluster.capacitors]
        for region in cluster.regions[1:] if cluster.uncharged(circuit) else ():
            yield region, frozenset((n, k) for n, k, end in ends if end in region.stations)


def _refuse_sought(file: SyntaxFile, event: Event, complaints: Complaints) -> None:
    """Complain of a value that is sought where switches change: a condition holds in one state."""
    for statement in file.statements:
        if isinstance(statement, ValueStatement) and isinstance(statement.value, Unknown):
            name = (event.closes or event.opens)[0]
            complaints.error(
                "sought-while-switching",
                f"{told(event)}, and what is given would hold in one of the two states only",
                statement.span,
                f"write the state that is meant: (closed {name}) or (open {name})",
            )
            return


@dataclass(frozen=True, slots=True)
class _Draft:
    """A circuit without the author's choices."""

    circuit: Circuit | None
    graph: Graph | None
    register: Register
    complaints: Complaints

    def takes(self, statement: Statement) -> bool:
        """Tell whether a statement is no choice, or one that can be carried out here."""
        if not isinstance(statement, UseLoop | UseJunction | Eliminate):
            return True
        trial = Complaints()
        read_choices([statement], self.graph, self.register, trial)
        return not trial.in_order(Severity.ERROR)

    def finished(self, statements: Sequence[Statement]) -> Circuit | None:
        """Return the circuit with the choices among some statements."""
        choices = read_choices(statements, self.graph, self.register, self.complaints)
        return None if self.circuit is None else replace(self.circuit, choices=choices)


def _draft(
    file: SyntaxFile,
    walks: Sequence[Walk],
    otherwise: Sequence[Walk],
    complaints: Complaints,
    broken: frozenset[str] | None,
) -> _Draft:
    """Return the circuit of some walks, which have switches in other states `otherwise`."""
    if not walks and broken is None:
        complaints.error(
            "no-walk",
            "the file has no walk, so there is no circuit",
            None,
            "a walk names points and the parts between them: I1: A (-E1+) B (R1) A",
        )
    register = Register(walks, complaints, broken or frozenset())
    said = said_once(file.statements, complaints)
    comma = decimal_comma(said, complaints)
    numbers = Numbers(comma, complaints)
    graph = _graph(file, walks, otherwise, register, complaints, complete=broken is None)
    asks = [statement for statement in file.statements if isinstance(statement, Ask)]
    given = (statement for statement in file.statements if isinstance(statement, ValueStatement))
    rates = (statement for statement in file.statements if isinstance(statement, Rate))
    ratings, rated = read_ratings(rates, register, numbers, complaints)
    values, sought = read_valuations(given, rated, register, numbers, complaints)
    conditions = [value for value in values if value.symbol.kind in CONDITIONS]
    if not complaints.in_order(Severity.ERROR):  # else what is missing may stand where the fault is
        check_sought(graph, sought, conditions, values, complaints)
    starts = (statement for statement in file.statements if isinstance(statement, Initially))
    initials = read_initials(starts, register, numbers, complaints)
    check_transients(
        asks, initials, register, complaints,
        readable=broken is None, switching=bool(otherwise),
    )  # fmt: skip
    wanted = tuple(item.symbol for item in sought)
    questions = read_questions(asks, said.ground is not None, numbers, register, complaints, wanted)
    if said.ground is not None:
        register.find(said.ground.point, "a point", (Kind.POINT,))
    uncharged = _uncharged(file.statements, register, initials, complaints)
    places = (statement for statement in file.statements if isinstance(statement, Place))
    looks = read_looks(said, places, numbers, register, complaints, comma)
    if graph is None:
        return _Draft(None, None, register, complaints)
    words = {kind: said.words[kind].text.text if kind in said.words else "" for kind in WordsKind}
    circuit = Circuit(
        title=words[WordsKind.TITLE] or words[WordsKind.CIRCUIT],
        statement=words[WordsKind.STATEMENT],
        nodes=graph.nodes,
        branches=graph.branches,
        walks=graph.walks,
        values=values,
        questions=questions,
        ground=said.ground.point.text if said.ground is not None else None,
        uncharged=uncharged,
        looks=looks,
        initials=initials,
        ratings=ratings,
        sought=wanted,
        idle=graph.idle,
        drawn=graph.drawn,
        terminals=graph.terminals,
        spans=register.spans,
    )
    refuse_unanswerable(circuit, asks, complaints)
    return _Draft(circuit, graph, register, complaints)


def _uncharged(
    statements: Sequence[Statement],
    register: Register,
    initials: Sequence[Initial],
    complaints: Complaints,
) -> tuple[str, ...]:
    """Return the capacitors that the author says begin without charge, each once."""
    names = (name for s in statements if isinstance(s, Uncharged) for name in s.capacitors)
    wanted = (Kind.CAPACITOR,)
    found = [n for n in names if register.find(n, "a capacitor", wanted, wanted) is not None]
    zeros = [i for i in initials if isinstance(i.value, Given) and not i.value.value]
    charged = {initial.capacitor for initial in initials if initial not in zeros}
    for name in found:
        if name.text in charged:
            complaints.error(
                "charged-and-uncharged",
                f"{name.text} is said to begin without charge, and with a voltage as well",
                name.span,
                f"keep one of the two; without charge it is: initially V({name.text}) = 0 V",
            )
    return tuple(dict.fromkeys(name.text for name in found))


def _graph(
    file: SyntaxFile,
    walks: Sequence[Walk],
    otherwise: Sequence[Walk],
    register: Register,
    complaints: Complaints,
    *,
    complete: bool,
) -> Graph | None:
    sound = [_check_walk(walk, complaints) for walk in walks]
    if not all(sound) or not complete or register.too_large or not walks:
        register.missing_currents = True
        return None
    points = points_asked_for(file.statements)
    closed = not asks_for_resistances_alone(file.statements)
    given = (s for s in file.statements if isinstance(s, ValueStatement))
    valued = {t.text for s in given for t in s.targets if isinstance(t, Name)}
    graph = build(
        walks, points, register, complaints, closed=closed, real=valued, otherwise=otherwise,
        gap=gap_between_terminals(file.statements, walks),
    )  # fmt: skip
    if graph is not None:
        warn(graph, register, complaints)
    return graph


def _check_walk(walk: Walk, complaints: Complaints) -> bool:
    """Complain of a walk that does not lead from point to point."""
    first, last = walk.stops[0], walk.stops[-1]
    for stop, verb in ((first, "begins with"), (last, "ends in")):
        if not isinstance(stop, PointStop):
            complaints.error(
                "walk-without-end",
                f"the walk {verb} the part {stop.name.text}, not at a point",
                stop.span,
                "a walk begins and ends at points: I1: A (R1) B",
            )
            return False
    if len(walk.stops) < 2:
        complaints.error(
            "walk-too-short",
            "the walk has one point only, so it leads nowhere",
            walk.span,
            "name the parts it meets and the point where it ends: I1: A (R1) B",
        )
        return False
    wire = all(isinstance(stop, PointStop) for stop in walk.stops)
    repeats = (after for before, after in pairwise(walk.stops) if before == after)
    twice = next((stop for stop in repeats if isinstance(stop, PointStop)), None)
    if twice is None and wire and first == last and isinstance(last, PointStop):
        twice = last
    if twice is not None:
        complaints.error(
            "wire-to-itself",
            f"this wire leads from the point {twice.name.text} back to itself",
            twice.name.span,
            "name the part between, or another point: I1: A (R1) B",
        )
        return False
    return True
