"""Why a circuit has no solution, or more than one, told in terms of its batteries and points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from derive.algebra.dimension import VOLT
from derive.algebra.term import Symbol, source_current, symbols
from derive.circuit.amounts import listed, shown
from derive.circuit.elements import Battery, Instrument, Switch
from derive.circuit.model import Circuit, Hop, Loop
from derive.circuit.remainder import what_is_fixed
from derive.circuit.solvability import Report, SourceCut, Undetermined, branch_emfs
from derive.circuit.values import MissingValue, Values
from derive.diagnostic import Diagnostic, Note

_MOST_POINTS = 12
"""A longer loop is told by its junctions."""
_DANGER = (
    "do not build it: next to nothing limits the current there, so that wires and batteries "
    "get hot and a battery may burst"
)


def why_not_solvable(circuit: Circuit, report: Report) -> Diagnostic:
    """Return what stands in the way of one solution, with the parts concerned."""
    if isinstance(report, SourceCut):
        return _sources_alone(circuit, report)
    if isinstance(report, Undetermined):
        return _open(circuit, report)
    walk = _Walk.along(circuit, report.loop)
    return _short_circuit(circuit, walk) if len(walk.emfs) == 1 else _conflict(circuit, walk)


@dataclass(frozen=True, slots=True)
class _Walk:
    """A loop without resistance, travelled from its first battery in the file, which is a rise."""

    path: str
    """``the loop A B A``"""
    emfs: tuple[tuple[Symbol, bool], ...]
    zeros: tuple[str, ...]
    """The resistances on the loop, which amount to nothing."""
    cancel: bool
    """Whether some of them are not zero, but cancel each other by their ties."""
    meters: tuple[str, ...]
    """The ideal ammeters on the loop."""
    switches: tuple[str, ...]
    """The closed switches on it."""
    branches: tuple[int, ...]

    @staticmethod
    def along(circuit: Circuit, loop: Loop) -> _Walk:
        hops = _turned(circuit, loop.hops)
        emfs = _emfs(circuit, hops)
        met = [r for hop in hops for r in circuit.branches[hop.branch].resistances]
        passed = [p.element for hop in hops for p in circuit.branches[hop.branch].passages]
        values = Values(circuit)
        return _Walk(
            _path(circuit, hops),
            emfs,
            tuple(r.name for r in met),
            any(True for r in met for _ in symbols(values.actual(r))),
            tuple(e.name for e in passed if isinstance(e, Instrument) and not e.is_real),
            tuple(e.name for e in passed if isinstance(e, Switch)),
            tuple(hop.branch for hop in hops),
        )

    @property
    def sum(self) -> str:
        """The emfs with their signs, a rise plus and a fall minus."""
        return _signed((symbol.name, rises) for symbol, rises in self.emfs)

    @property
    def zero_words(self) -> str:
        """What is on the loop instead of a resistance, in brackets."""
        found = []
        if self.zeros:
            verb = "cancel to" if self.cancel else "is" if len(self.zeros) == 1 else "are"
            found.append(f"{listed(self.zeros)} {verb} 0 ohm")
        if self.meters:
            one = len(self.meters) == 1
            found.append(f"{listed(self.meters)} {'is an' if one else 'are'} ideal "
                         f"ammeter{'' if one else 's'}")  # fmt: skip
        if self.switches:
            found.append(f"{listed(self.switches)} {'is' if len(self.switches) == 1 else 'are'} "
                         "closed")  # fmt: skip
        return f" ({', '.join(found)})" if found else ""

    @property
    def cures(self) -> tuple[str, ...]:
        """What may be done with the meters and switches on the loop."""
        found = []
        if self.meters:
            found.append(
                "an ammeter stands in a row with what it measures, not across it: give "
                f"{listed(self.meters)} another place, or a resistance of its own: "
                f"{self.meters[0]} = 0.1 ohm"
            )
        if self.switches:
            found.append(f"open {listed(self.switches)}, or put a resistor in series")
        return tuple(found)


def _sources_alone(circuit: Circuit, report: SourceCut) -> Diagnostic:
    """Tell of current sources that have no way round them."""
    names = [symbol.name for symbol, _ in report.sources]
    span = circuit.span_of(max(names, key=lambda name: _place(circuit, name)))
    verb = "drives" if len(names) == 1 else "drive"
    if report.points:
        where = listed(report.points)
        place = f"only {listed(names)} {verb} current to or from {where}"
        rule = f"the junction rule asks {_signed(iter((s.name, w) for s, w in report.sources))} = 0"
    else:
        place = f"{listed(names)} follow each other in one branch, which has one current"
        (first, way), *others = report.sources
        rule = "that asks " + " and ".join(
            f"{first.name} = {'' if along == way else '−'}{other.name}" for other, along in others
        )
    if not report.cancels:
        why = "but the values say otherwise"
        if _amounts(circuit, names) is None:
            why = "and nothing says that it is so"
        return Diagnostic(
            "sources-contradict", f"{place}: {rule}, {why}", span,
            ("give such a current a way round the source: a resistor beside it",
             "or tie the source currents to each other so that the rule holds"),
        )  # fmt: skip
    return Diagnostic(
        "source-voltages-not-fixed",
        f"{place}: {rule}, and so it is, but nothing fixes how the voltage is shared between them",
        span,
        ("leave one of them out", "or put a resistor beside one"),
    )


def _amounts(circuit: Circuit, names: Sequence[str]) -> list[Fraction] | None:
    """Return the currents of some sources; None when one is a letter."""
    values = Values(circuit)
    try:
        return [values.number(source_current(name)) for name in names]
    except MissingValue:
        return None


def _short_circuit(circuit: Circuit, walk: _Walk) -> Diagnostic:
    battery = walk.emfs[0][0]
    value = _numbers(circuit, walk)
    known = "" if value is None else f", but {battery.name} = {shown(value[0], VOLT)}"
    others = (circuit.branches[k] for k in walk.branches)
    wires = [branch.current.name for branch in others if not branch.batteries]
    return Diagnostic(
        "short-circuit",
        f"the battery {battery.name} is short-circuited: {walk.path} leads from its + terminal to "
        f"its − terminal and holds no resistance{walk.zero_words}. The loop rule asks "
        f"{battery.name} = 0{known}",
        circuit.span_of(battery.name),
        (
            *walk.cures,
            _cure(circuit, walk, [battery]),
            "or put the missing resistor into the loop",
            _DANGER,
        ),
        _notes(circuit, [(k, "this way back holds no resistance") for k in wires]),
    )


def _conflict(circuit: Circuit, walk: _Walk) -> Diagnostic:
    batteries = [symbol for symbol, _ in walk.emfs]
    names = [symbol.name for symbol in batteries]
    values = _numbers(circuit, walk)
    cures = [_cure(circuit, walk, batteries)]
    if values is None:
        why = ", and nothing says that it is so"
        if len(batteries) == 2 and walk.sum.count("−") == 1:
            cures.append(
                f"emfs that are meant to be equal are tied: {names[1]} = {names[0]} (how the two "
                "share their current is then still open)"
            )
    else:
        amounts = _signed(
            (shown(abs(value), VOLT), rises == (value >= 0))
            for value, (_, rises) in zip(values, walk.emfs, strict=True)
        )
        total = sum(v if rises else -v for v, (_, rises) in zip(values, walk.emfs, strict=True))
        why = f", but {walk.sum} = {amounts} = {_minus(shown(Fraction(total), VOLT))}"
    later = max(names, key=lambda name: _place(circuit, name))
    return Diagnostic(
        "emfs-contradict",
        f"{walk.path} holds only the batteries {listed(names)} and no resistance"
        f"{walk.zero_words}: the loop rule asks {walk.sum} = 0{why}",
        circuit.span_of(later),
        (*cures, _DANGER),
        _notes(circuit, [(name, f"{name} is on the loop too") for name in names if name != later]),
    )


def _open(circuit: Circuit, report: Undetermined) -> Diagnostic:
    currents = [circuit.branches[k].current.name for k in report.branches]
    left = f"{listed(currents)} {'is' if len(currents) == 1 else 'are'} not fixed"
    walks = [_Walk.along(circuit, loop) for loop in report.loops]
    fixed = tuple(
        Note(words, span)
        for name, words in what_is_fixed(circuit, report)
        if (span := circuit.span_of(name)) is not None
    )
    if not walks:
        return Diagnostic(
            "currents-not-fixed",
            f"resistances that are tied to others as differences cancel each other, so that {left}",
            circuit.span_of(currents[0]),
            ("look at the signs of the ties: a resistance is zero or positive",),
        )
    reasons = [_freedom(circuit, walk) for walk in walks[:3]]
    batteries = list(dict.fromkeys(symbol for walk in walks for symbol, _ in walk.emfs))
    names = [symbol.name for symbol in batteries] or currents
    return Diagnostic(
        "currents-not-fixed",
        f"{'; '.join(reasons)}. So {left}: a current of any size may go round in the loop",
        circuit.span_of(max(names, key=lambda name: _place(circuit, name))),
        _freedom_hints(circuit, walks, batteries),
        fixed,
    )


def _freedom(circuit: Circuit, walk: _Walk) -> str:
    if not walk.emfs:
        if walk.zero_words:
            return f"{walk.path} holds no resistance{walk.zero_words}"
        return f"{walk.path} is nothing but wire"
    names = listed([symbol.name for symbol, _ in walk.emfs])
    values = _numbers(circuit, walk)
    if len(walk.emfs) == 1:
        rule = f"{names} = 0"
    elif values is None:
        rule = f"{walk.sum} = 0"
    else:
        amounts = zip(values, walk.emfs, strict=True)
        pairs = ((shown(abs(v), VOLT), rises == (v >= 0)) for v, (_, rises) in amounts)
        rule = f"{walk.sum} = {_signed(pairs)} = 0"
    noun = "battery" if len(walk.emfs) == 1 else "batteries"
    return (
        f"{walk.path} holds only the {noun} {names} and no resistance{walk.zero_words}, and "
        f"{rule} holds whatever the currents are"
    )


def _freedom_hints(
    circuit: Circuit, walks: Sequence[_Walk], batteries: Sequence[Symbol]
) -> tuple[str, ...]:
    cures = walks[0].cures
    if len(batteries) == 1:
        return (*cures, _cure(circuit, walks[0], batteries))
    if batteries:
        return (
            *cures,
            _cure(circuit, walks[0], batteries),
            "with equal internal resistances, equal batteries share the current equally",
        )
    if walks[0].zeros:
        return (*cures, f"give {listed(walks[0].zeros)} a value above zero, or leave a part out")
    if cures:
        return cures
    return (
        "take one of the wires away",
        "a wire whose current does not matter needs no name, and joins its points to one: `: A B`",
    )


def _cure(circuit: Circuit, walk: _Walk, batteries: Sequence[Symbol]) -> str:
    inner = {
        element.name: element.internal
        for element in circuit.elements
        if isinstance(element, Battery)
    }
    zeros = [name for name in (inner[battery.name] for battery in batteries) if name]
    if zeros:
        return f"a real battery has an internal resistance: give {listed(zeros)} a value above 0"
    if walk.zeros:
        return f"give {listed(walk.zeros)} a value above zero"
    sign = "a real battery has" if len(batteries) == 1 else "real batteries have"
    forms = listed([f"(-{b.name} {_internal_name(circuit, b.name)}+)" for b in batteries])
    return f"{sign} an internal resistance, which limits the current; it is written {forms}"


def _internal_name(circuit: Circuit, battery: str) -> str:
    name = f"r{battery.lstrip('E')}"
    return name if circuit.span_of(name) is None else f"r_{battery}"


def _numbers(circuit: Circuit, walk: _Walk) -> list[Fraction] | None:
    """Return the emfs of a loop; None when one is a letter."""
    values = Values(circuit)
    try:
        return [values.number(symbol) for symbol, _ in walk.emfs]
    except MissingValue:
        return None


def _turned(circuit: Circuit, hops: tuple[Hop, ...]) -> tuple[Hop, ...]:
    """Return the loop from its first branch in the file, if there is one with a battery."""
    first = min(hops, key=lambda hop: (not circuit.branches[hop.branch].batteries, hop.branch))
    met = branch_emfs(circuit, first.branch)
    if (met[0][1] if met else True) != first.along:
        hops = tuple(Hop(hop.branch, not hop.along) for hop in reversed(hops))
    start = [hop.branch for hop in hops].index(first.branch)
    return hops[start:] + hops[:start]


def _emfs(circuit: Circuit, hops: Sequence[Hop]) -> tuple[tuple[Symbol, bool], ...]:
    found = []
    for hop in hops:
        met = branch_emfs(circuit, hop.branch)
        for symbol, along in met if hop.along else met[::-1]:
            found.append((symbol, along == hop.along))
    return tuple(found)


def _path(circuit: Circuit, hops: Sequence[Hop]) -> str:
    """Return a loop by the points on it: ``the loop A B A``."""
    points: list[str] = []
    nodes: list[str] = []
    for hop in hops:
        branch = circuit.branches[hop.branch]
        nodes.append(branch.tail if hop.along else branch.head)
        met = [point for station in branch.stations for point in station]
        points.extend(met if hop.along else reversed(met))
    for names in (points, nodes):
        names.append(names[0])
        names[:] = [name for name, _ in groupby(names)]
    shown_points = points if len(points) <= _MOST_POINTS else nodes
    if len(shown_points) < 3:
        return f"the loop from {points[0]} back to {points[0]}"
    return f"the loop {' '.join(shown_points)}"


def _notes(circuit: Circuit, told: Sequence[tuple[str, str]]) -> tuple[Note, ...]:
    spans = ((words, circuit.span_of(name)) for name, words in told)
    return tuple(Note(words, span) for words, span in spans if span is not None)


def _place(circuit: Circuit, name: str) -> int:
    span = circuit.span_of(name)
    return -1 if span is None else span.start


def _signed(items: Iterator[tuple[str, bool]]) -> str:
    text = ""
    for name, plus in items:
        text += (" + " if plus else " − ") if text else ("" if plus else "−")
        text += name
    return text


def _minus(text: str) -> str:
    return text.replace("-", "−")
