"""A figure in words, for a reader who does not see it. Nothing that is asked is told.

Two levels: a sentence that says what the figure is for, and a description from which it can be
drawn: nodes first, then every branch from node to node with its parts in order.
"""

from __future__ import annotations

from collections import Counter

from derive.circuit.amounts import listed
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Resistor,
    Switch,
)
from derive.circuit.model import Branch, Circuit, Hop, Passage
from derive.drawing.drawn import as_drawn, seen_from_terminals, view_as_drawn
from derive.drawing.view import View

_MANY = {"battery": "batteries", "closed switch": "closed switches", "open switch": "open switches"}
"""Plurals that do not end in a plain s."""
_ORDER = (
    "battery", "current source", "dependent voltage source", "dependent current source", "resistor",
    "lamp", "open switch", "closed switch", "ammeter", "voltmeter", "capacitor",
)  # fmt: skip
"""The order in which parts are counted."""


def short(circuit: Circuit, view: View) -> str:
    """Return one sentence of alternative text for a figure."""
    return _short(as_drawn(circuit), view_as_drawn(circuit, view))


def _short(circuit: Circuit, view: View) -> str:
    if view.loop is None:
        return f"Circuit diagram: {_parts(circuit)}{_where(circuit)}."
    first = circuit.branches[view.loop.hops[0].branch]
    stops = [first.tail if view.loop.hops[0].along else first.head]
    for hop in view.loop.hops:
        stops += _stops(circuit.branches[hop.branch], hop)
    name = f"loop {view.loop_name}" if view.loop_name else "one loop"
    return f"Circuit diagram with {name} marked, walked in this order: {', '.join(stops)}."


def long(circuit: Circuit, crossings: int = 0) -> str:
    """Return the full description of a circuit: nodes, then branches from node to node.

    `crossings` is how often wires cross in its figure that are not joined.
    """
    terminals = circuit.terminals if seen_from_terminals(circuit) is not None else None
    circuit = as_drawn(circuit)
    sentences = [_nodes(circuit, () if terminals is None else (terminals.one, terminals.other))]
    for node in circuit.nodes:
        others = [point for point in node.points if point != node.name]
        if others:
            sentences.append(f"Plain wire joins {listed([node.name, *others])}.")
    for k, branch in enumerate(circuit.branches):
        sentences.append(_branch(circuit, k, branch))
    if circuit.ground is not None:
        sentences.append(f"The sign of earth stands at {circuit.ground}.")
    if crossings:
        places = _count(crossings, "place", "places")
        sentences.append(f"In {places} wires cross that are not joined; every joint has a dot.")
    return " ".join(sentences)


def _parts(circuit: Circuit) -> str:
    numbers = Counter(_kind(circuit, element) for element in circuit.elements)
    found = [
        _count(numbers[kind], kind, _MANY.get(kind, f"{kind}s")) for kind in _ORDER if numbers[kind]
    ]
    return listed(found) if found else "bare wire"


def _kind(circuit: Circuit, element: Element) -> str:
    match element:
        case Battery(emf=emf):
            return "dependent voltage source" if circuit.is_dependent(emf) else "battery"
        case CurrentSource(source=source):
            return "dependent current source" if circuit.is_dependent(source) else "current source"
        case Resistor(lamp=lamp):
            return "lamp" if lamp else "resistor"
        case Switch(is_closed=is_closed):
            return "closed switch" if is_closed else "open switch"
        case Instrument(meter=meter):
            return meter.value
        case Capacitor():
            return "capacitor"


def _where(circuit: Circuit) -> str:
    junctions = [node.name for node in circuit.junctions]
    branches = _count(len(circuit.branches), "branch", "branches")
    if not junctions:
        closed = circuit.branches[0].tail == circuit.branches[0].head
        return " in a single loop" if closed else " in a row"
    if len(junctions) == 1:
        return f" in {branches} at the junction {junctions[0]}"
    if len(junctions) == 2:
        return f" in {branches} between the junctions {listed(junctions)}"
    return f" in {branches} that meet at the junctions {listed(junctions)}"


def _nodes(circuit: Circuit, terminals: tuple[str, ...]) -> str:
    junctions = [node for node in circuit.nodes if node.degree >= 3]
    ends = [n.name for n in circuit.nodes if n.degree == 1 and n.name not in terminals]
    ends += terminals
    told = []
    if junctions:
        meeting = [f"{node.name}, where {node.degree} wires meet" for node in junctions]
        told.append(f"{_count(len(junctions), 'junction', 'junctions')}: {'; '.join(meeting)}.")
    else:
        told.append("No junction.")
    if ends:
        told.append(f"Open {'terminal' if len(ends) == 1 else 'terminals'}: {listed(ends)}.")
    return " ".join(told)


def _branch(circuit: Circuit, index: int, branch: Branch) -> str:
    met: list[str] = []
    own = {
        point
        for node in circuit.nodes
        if node.name in (branch.tail, branch.head)
        for point in node.points
    }
    for k, station in enumerate(branch.stations):
        met += [f"point {point}" for point in station if point not in own]
        if k < len(branch.passages):
            met.append(_passage(circuit, branch.passages[k]))
    way = (
        f"from {branch.tail} round to {branch.tail} again"
        if branch.tail == branch.head
        else f"from {branch.tail} to {branch.head}"
    )
    text = f"Branch {index + 1}, {way}{_arrows(circuit, index, branch)}"
    return f"{text}: {', then '.join(met) if met else 'plain wire'}."


def _arrows(circuit: Circuit, index: int, branch: Branch) -> str:
    walks = [walk for walk in circuit.walks if walk.branch == index]
    if not walks:
        return ", which has no arrow"
    own = any(walk.current == branch.current for walk in walks)
    text = f", which is also the way of the arrow of {branch.current.name}" if own else ""
    for walk in walks:
        if walk.current != branch.current:
            sense = "the same way" if walk.along else "the other way"
            text += f" (the arrow of {walk.current.name} points {sense})"
    return text


def _passage(circuit: Circuit, passage: Passage) -> str:
    element = passage.element
    told = f"{_kind(circuit, element)} {element.name}"
    match element:
        case Battery(internal=internal):
            inner = f" with internal resistance {internal}" if internal else ""
            return f"{told}{inner}, its {'minus' if passage.along else 'plus'} terminal first"
        case CurrentSource():
            return f"{told}, its arrow pointing {'forwards' if passage.along else 'backwards'}"
        case _:
            return told


def _stops(branch: Branch, hop: Hop) -> list[str]:
    """Return parts and the end of a branch in the order in which a walk meets them."""
    parts = [passage.element.name for passage in branch.passages]
    return [*parts, branch.head] if hop.along else [*reversed(parts), branch.tail]


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
