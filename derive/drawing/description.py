"""A figure in words, for a reader who does not see it. Nothing that is asked is told.

Two levels: a sentence that says what the figure is for, and a description from which it can be
drawn: nodes first, then every branch from node to node with its parts in order.
"""

from __future__ import annotations

from collections.abc import Sequence

from derive.circuit.model import Battery, Branch, Circuit, Hop, Passage, Resistor
from derive.drawing.view import View


def short(circuit: Circuit, view: View) -> str:
    """Return one sentence of alternative text for a figure."""
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
    sentences = [_nodes(circuit)]
    for node in circuit.nodes:
        others = [point for point in node.points if point != node.name]
        if others:
            sentences.append(f"Plain wire joins {_listed([node.name, *others])}.")
    for k, branch in enumerate(circuit.branches):
        sentences.append(_branch(circuit, k, branch))
    if circuit.ground is not None:
        sentences.append(f"The sign of earth stands at {circuit.ground}.")
    if crossings:
        places = _count(crossings, "place", "places")
        sentences.append(f"In {places} wires cross that are not joined; every joint has a dot.")
    return " ".join(sentences)


def _parts(circuit: Circuit) -> str:
    elements = circuit.elements
    counts = (
        (sum(isinstance(e, Battery) for e in elements), "battery", "batteries"),
        (sum(isinstance(e, Resistor) and not e.lamp for e in elements), "resistor", "resistors"),
        (sum(isinstance(e, Resistor) and e.lamp for e in elements), "lamp", "lamps"),
    )
    found = [_count(n, one, many) for n, one, many in counts if n]
    return _listed(found) if found else "bare wire"


def _where(circuit: Circuit) -> str:
    junctions = [node.name for node in circuit.junctions]
    branches = _count(len(circuit.branches), "branch", "branches")
    if not junctions:
        closed = circuit.branches[0].tail == circuit.branches[0].head
        return " in a single loop" if closed else " in a row"
    if len(junctions) == 1:
        return f" in {branches} at the junction {junctions[0]}"
    if len(junctions) == 2:
        return f" in {branches} between the junctions {_listed(junctions)}"
    return f" in {branches} that meet at the junctions {_listed(junctions)}"


def _nodes(circuit: Circuit) -> str:
    junctions = [node for node in circuit.nodes if node.degree >= 3]
    ends = [node.name for node in circuit.nodes if node.degree == 1]
    told = []
    if junctions:
        meeting = [f"{node.name}, where {node.degree} wires meet" for node in junctions]
        told.append(f"{_count(len(junctions), 'junction', 'junctions')}: {'; '.join(meeting)}.")
    else:
        told.append("No junction.")
    if ends:
        told.append(f"Open {'terminal' if len(ends) == 1 else 'terminals'}: {_listed(ends)}.")
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
            met.append(_passage(branch.passages[k]))
    way = (
        f"from {branch.tail} round to {branch.tail} again"
        if branch.tail == branch.head
        else f"from {branch.tail} to {branch.head}"
    )
    text = f"Branch {index + 1}, {way}, which is also the way of the arrow of {branch.current.name}"
    for walk in circuit.walks:
        if walk.branch == index and walk.current != branch.current:
            sense = "the same way" if walk.along else "the other way"
            text += f" (the arrow of {walk.current.name} points {sense})"
    return f"{text}: {', then '.join(met) if met else 'plain wire'}."


def _passage(passage: Passage) -> str:
    element = passage.element
    if isinstance(element, Resistor):
        return f"{'lamp' if element.lamp else 'resistor'} {element.name}"
    inner = f" with internal resistance {element.internal}" if element.internal else ""
    first = "minus" if passage.along else "plus"
    return f"battery {element.name}{inner}, its {first} terminal first"


def _stops(branch: Branch, hop: Hop) -> list[str]:
    """Return parts and the end of a branch in the order in which a walk meets them."""
    parts = [passage.element.name for passage in branch.passages]
    return [*parts, branch.head] if hop.along else [*reversed(parts), branch.tail]


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _listed(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"
