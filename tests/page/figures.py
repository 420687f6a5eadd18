"""Whether what is said of figures agrees with the circuit, and is the same in every format.

A description of a circuit is turned back into walks, as a reader would; then its junctions,
branches, parts, polarities and arrows are compared with the circuit model. Levels of a graph and
pieces of the bars are compared with the checked values.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Resistor,
    Switch,
)
from derive.circuit.model import Branch, Circuit, Loop
from derive.derivation.laws import LoopRule
from derive.derivation.step import Derivation
from derive.drawing.drawn import as_drawn, view_as_drawn
from derive.drawing.view import View
from tests.page import names
from tests.page.items import Page, plain
from tests.page.known import Known
from tests.page.worth import print_of

States = list[tuple[Circuit, Derivation]]
_PREFIXES = {"p": -12, "n": -9, "µ": -6, "μ": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}
_AMOUNT = r"−?\d+(?:[.,]\d+)?(?: · 10⁻?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)? [pnµμmkMG]?[VWs]"


# --- the same in every format -------------------------------------------------------------------


def told_alike(pages: dict[str, Page], text: list[str]) -> Iterator[str]:
    """Yield formats that tell of a figure otherwise than the page for the web."""
    figures = [(_flat(f.short), _flat(f.long)) for f in pages["html"].figures()]
    wanted = {
        "latex": [short for short, _ in figures],
        "fragment": [short for short, _ in figures],
        "typst": [f"{short} {long}".strip() for short, long in figures],
        "markdown": [f"{short} {long}".strip() for short, long in figures],
    }
    for kind, expected in wanted.items():
        if kind not in pages:
            continue
        found = [f"{_flat(f.short)} {_flat(f.long)}".strip() for f in pages[kind].figures()]
        if kind in ("latex", "fragment"):
            # No command can stand in the alternative text of a TikZ picture.
            found, expected = (list(map(_words, texts)) for texts in (found, expected))
        if found != expected:
            yield f"{kind}: figures are told as {found}, not {expected}"
    longs = [long for _, long in figures if long]
    if [_flat(t) for t in text] != longs:
        yield f"text: figures are told as {text}, not {longs}"


def _words(text: str) -> str:
    return " ".join(re.findall(r"[A-Za-z0-9]+", text))


def _flat(text: str | None) -> str:
    return plain(text or "").strip()


# --- against the circuits -----------------------------------------------------------------------


def faults(page: Page, states: States, known: Known, *, comma: bool) -> Iterator[str]:
    """Yield descriptions that no circuit of the page has."""
    for figure in page.figures():
        short, long = _flat(figure.short), _flat(figure.long)
        for text in (short, long):
            wrong = r"\d\.\d" if comma else r"\d,\d"
            if re.search(wrong, text):
                yield f"a decimal marker of another kind: {text}"
        if short.startswith("Circuit diagram with"):
            if not any(_marks(short, circuit, d) for circuit, d in states):
                yield f"no such walk: {short}"
        elif short.startswith("Circuit diagram:"):
            circuits = [c for c, _ in states] + [t.circuit for c, _ in states for t in c.tested]
            circuits += [ideal for c, _ in states for _, ideal in c.ideal]
            # What carries no current with a test source is left out of that figure.
            circuits += [replace(c, idle=(), drawn=None) for c in circuits]
            if not any(_counts(short, as_drawn(circuit)) for circuit in circuits):
                yield f"no such circuit: {short}"
            if long and not any(describes(long, circuit) for circuit in circuits):
                yield f"no such circuit: {long}"
        elif short.startswith("Graph of the potential"):
            yield from _potential(short, long, states, known)
        elif short.startswith("Two bars"):
            yield from _bars(short, long, known)
        elif short.startswith("Graph of the voltage"):
            yield from _course(long, known)
        elif short.startswith("Network of"):
            yield from _network(short, states)
        else:
            yield f"an unknown figure: {short}"


def _kind(circuit: Circuit, element: Element) -> str:
    match element:
        case Battery(emf=emf):
            return "dependent voltage source" if circuit.is_dependent(emf) else "battery"
        case CurrentSource(source=source):
            return "dependent current source" if circuit.is_dependent(source) else "current source"
        case Resistor(lamp=lamp):
            return "lamp" if lamp else "resistor"
        case Switch(is_closed=closed):
            return "closed switch" if closed else "open switch"
        case Instrument(meter=meter):
            return meter.value
        case Capacitor():
            return "capacitor"


def _counts(short: str, circuit: Circuit) -> bool:
    """Tell whether the parts are counted and the junctions named as they are."""
    told = re.fullmatch(r"Circuit diagram: (.*?)( in .*)?\.", short)
    if told is None:
        return False
    found = {
        re.sub(r"(batter)ies|(switch)es|s$", lambda m: f"{m[1]}y" if m[1] else m[2] or "", kind): int(n)
        for n, kind in re.findall(r"(\d+) ([a-z ]+?)(?=,| and|$)", told[1])
    }  # fmt: skip
    wanted = Counter(_kind(circuit, element) for element in circuit.elements)
    junctions = {node.name for node in circuit.nodes if node.degree >= 3}
    where = told[2] or ""
    count = re.match(r" in (\d+) branch", where)
    named = set(
        re.findall(r"[^ ,]+", where.partition("junction")[2].lstrip("s").replace(" and ", " "))
    )
    branches = int(count[1]) if count else 1
    fits = not junctions or (named == junctions and branches == len(circuit.branches))
    return found == dict(wanted) and fits


def _marks(short: str, circuit: Circuit, derivation: Derivation) -> bool:
    told = re.fullmatch(
        r"Circuit diagram with (?:loop (\S+)|one loop) marked, walked in this order: (.*)\.", short
    )
    if told is None:
        return False
    for step in derivation.steps:
        if isinstance(step, LoopRule) and told[1] in (step.name, None):
            view = view_as_drawn(circuit, View(loop=step.loop))
            assert view.loop is not None
            if told[2].split(", ") == _stops(as_drawn(circuit), view.loop):
                return True
    return False


def _stops(circuit: Circuit, loop: Loop) -> list[str]:
    first = circuit.branches[loop.hops[0].branch]
    stops = [first.tail if loop.hops[0].along else first.head]
    for hop in loop.hops:
        branch = circuit.branches[hop.branch]
        parts = [passage.element.name for passage in branch.passages]
        stops += parts if hop.along else parts[::-1]
        stops.append(branch.head if hop.along else branch.tail)
    return stops


def describes(long: str, given: Circuit) -> bool:
    """Tell whether a description is that of a circuit, part by part."""
    circuit = as_drawn(given)
    meeting = {n: int(k) for n, k in re.findall(r"(\S+), where (\d+) wires meet", long)}
    if meeting != {n.name: n.degree for n in circuit.nodes if n.degree >= 3}:
        return False
    ends = re.search(r"Open terminals?: ([^.]*)\.", long)
    open_ends = set(re.split(r", | and ", ends[1])) if ends else set()
    alone = {node.name for node in circuit.nodes if node.degree == 1}
    if given.terminals is not None and not given.looks.places:
        alone |= {given.terminals.one, given.terminals.other}
    if open_ends != alone:
        return False
    joined = [
        set(re.split(r", | and ", m)) for m in re.findall(r"Plain wire joins ([^.]*)\.", long)
    ]
    if joined != [set(n.points) for n in circuit.nodes if len(set(n.points) | {n.name}) > 1]:
        return False
    earth = re.search(r"The sign of earth stands at (\S+?)\.", long)
    if (earth[1] if earth else None) != circuit.ground:
        return False
    branches = re.findall(r"Branch (\d+), (.*?)\.(?= |$)", long)
    if [int(k) for k, _ in branches] != list(range(1, len(circuit.branches) + 1)):
        return False
    return all(
        text == _branch(circuit, k, branch)
        for k, ((_, text), branch) in enumerate(zip(branches, circuit.branches, strict=True))
    )


def _branch(circuit: Circuit, place: int, branch: Branch) -> str:
    """Say a branch in words: from where to where, its arrows, then what is met on the way."""
    way = f"to {branch.head}" if branch.tail != branch.head else f"round to {branch.tail} again"
    arrows = [walk for walk in circuit.walks if walk.branch == place]
    said = ""
    if branch.current in [walk.current for walk in arrows]:
        said = f", which is also the way of the arrow of {branch.current.name}"
    for walk in arrows:
        if walk.current != branch.current:
            sense = "the same way" if walk.along else "the other way"
            said += f" (the arrow of {walk.current.name} points {sense})"
    if not arrows:
        said = ", which has no arrow"
    ends = {p for n in circuit.nodes if n.name in (branch.tail, branch.head) for p in n.points}
    met: list[str] = []
    for k, station in enumerate(branch.stations):
        met += [f"point {point}" for point in station if point not in ends]
        if k < len(branch.passages):
            passage = branch.passages[k]
            element = passage.element
            text = f"{_kind(circuit, element)} {element.name}"
            if isinstance(element, Battery):
                if element.internal:
                    text += f" with internal resistance {element.internal}"
                text += f", its {'minus' if passage.along else 'plus'} terminal first"
            if isinstance(element, CurrentSource):
                text += f", its arrow pointing {'forwards' if passage.along else 'backwards'}"
            met.append(text)
    return f"from {branch.tail} {way}{said}: {', then '.join(met) if met else 'plain wire'}"


# --- graphs -------------------------------------------------------------------------------------


_RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


def _amount(text: str) -> tuple[Fraction, Fraction]:
    """Return a value and the worth of one in the third of its significant figures."""
    number, *power, unit = text.replace("−", "-").replace(",", ".").split(" ")
    size = Fraction(10) ** _PREFIXES[unit[:-1]]
    if power:  # 8.7 · 10⁻¹⁴ W, where there is no prefix
        _, tens = power
        size *= Fraction(10) ** int(tens.removeprefix("10").translate(_RAISED))
    value = Fraction(number) * size
    step = Fraction(1)
    while value and abs(value) / step >= 1000:
        step *= 10
    while value and abs(value) / step < 100:
        step /= 10
    return value, step


def _near(text: str, exact: Fraction) -> bool:
    value, step = _amount(text)
    return abs(value - exact) * 2 <= step if exact else not value


def _values(known: Known, name: str) -> list[Fraction]:
    return [worth.value for worth in known.values.get(print_of(("name", name)), ())]


def _potential(short: str, long: str, states: States, known: Known) -> Iterator[str]:
    """Follow the graph change by change."""
    legs = re.findall(
        rf"At (\S+) it (?:(steps|slopes) (up|down) by ({_AMOUNT}) to|stays at) ({_AMOUNT})", long
    )
    met = re.search(r"past (.*): it ends", short)
    if met is None or met[1].split(", ") != [leg[0] for leg in legs]:
        yield f"the walk of {short} is not that of {long}"
        return
    for _, derivation in states:
        for step in derivation.steps:
            if isinstance(step, LoopRule) and [c.quantity.name for c in step.crossings] == [
                leg[0] for leg in legs
            ]:
                by_one = Known(known.emf)
                by_one.add(derivation)
                if all(_legs(legs, step, by_one)):
                    return
    yield f"levels of {long}"


def _legs(legs: list[tuple[str, ...]], step: LoopRule, known: Known) -> Iterator[bool]:
    level = Fraction(0)
    for (_, way, sense, size, end), crossing in zip(legs, step.crossings, strict=True):
        values = {*_values(known, names.symbol(crossing.quantity, known.emf))}
        if len(values) > 1:
            return  # a dependent source has another value in the circuit with a test source
        change = next(iter(values), None)
        if change is None:
            yield False
            return
        if crossing.current is not None:
            flows = {*_values(known, names.symbol(crossing.current, known.emf))}
            (flow,) = flows if len(flows) == 1 else {Fraction(0)}
            change = -change * flow if crossing.along else change * flow
        elif way == "steps" and not crossing.along:
            change = -change
        elif not way and crossing.current is None:
            change = Fraction(0)
        level += change
        yield _near(end, level)
        if way:
            yield _near(size, abs(change))
            yield (sense == "up") == (change > 0)
        else:
            yield not change


def _bars(short: str, long: str, known: Known) -> Iterator[str]:
    """Compare every piece with the power of its part."""
    total = re.match(rf"Two bars of the same height, ({_AMOUNT})", long)
    sides = re.search(
        r"Delivered, from top to bottom: (.*?)\. Taken in, from top to bottom: (.*)\.$", long
    )
    if total is None or sides is None:
        yield f"bars {long}"
        return
    told = re.fullmatch(
        r"Two bars .*: the power delivered by (.*), and the power taken in by (.*)\.", short
    )
    for place, side in enumerate(sides.groups()):
        pieces = [piece.split(", ") for piece in side.split("; ")]
        if told is None or re.split(r", | and ", told[place + 1]) != [p[0] for p in pieces]:
            yield f"{short} has other parts than {long}"
        whole = Fraction(0)
        for part, *_, power in pieces:
            looks = [names.below(names.quantity(part, letter)) for letter in ("", "ℰ", "ε")]
            exact = [v for look in looks for v in _values(known, f"P_{look}")]
            if not any(_near(power, abs(value)) for value in exact):
                yield f"{part} with {power} in {long}"
            whole += _amount(power)[0]
        if abs(whole - _amount(total[1])[0]) * 100 > abs(whole):
            yield f"the pieces of {side} make {float(whole)}, not {total[1]}"


def _course(long: str, known: Known) -> Iterator[str]:
    told = re.search(
        rf"the voltage across (\S+) is ({_AMOUNT})\. It (rises|falls) .* comes near to ({_AMOUNT}), .*"
        rf"time constant, ({_AMOUNT});.* time constants, ({_AMOUNT})\.",
        long,
    )
    if told is None:
        yield f"a course: {long}"
        return
    part, start, way, end, constant, span = told.groups()
    taus = [
        w
        for looks in ("τ", f"τ_{names.below(names.quantity(part))}")
        for w in _values(known, looks)
    ]
    if not any(_near(constant, tau) and _near(span, 5 * tau) for tau in taus):
        yield f"time constant of {long}"
    numbers = [value for value, _ in known.numbers] + [Fraction(0)]
    for level in (start, end):
        value = level.lstrip("−")
        if not any(_near(value, number) for number in numbers):
            yield f"level {level} of {long}"
    if (_amount(end)[0] > _amount(start)[0]) != (way == "rises"):
        yield f"the way of {long}"


def _network(short: str, states: States) -> Iterator[str]:
    told = re.fullmatch(
        r"Network of (?:the parts |resistances between the points (\S+) and (\S+): "
        r"|resistances seen from (\S+): )(.*?)\.(?: (.*) stands? out\.)?",
        short,
    )
    if told is None:
        yield f"a network: {short}"
        return
    held = told[4].split(", ")
    marked = told[5].split(", ") if told[5] else []
    if not set(marked) <= set(held):
        yield f"what stands out is not there: {short}"
    if told[5] and (len(marked) == 1) != ("stands out" in short):
        yield f"one or many: {short}"
    points = {p for c, _ in states for b in c.branches for s in b.stations for p in s}
    points |= {p for c, _ in states for n in c.nodes for p in n.points}
    points |= {p for c, _ in states for b in c.idle for s in b.stations for p in s}
    for point in (told[1], told[2]):
        if point and point not in points:
            yield f"no such point: {short}"
