"""Terms, questions and circuits as plain data, which JSON can hold."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields
from enum import Enum
from typing import Any, assert_never

from derive.algebra.term import (
    Equation,
    Exponential,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
    constant,
)
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Resistor,
    Switch,
    is_gap,
)
from derive.circuit.model import Branch, Circuit
from derive.circuit.question import Duration, Question
from derive.circuit.valuation import Given, Tie

Data = Any
"""What `json` writes: texts, whole numbers, truth values, None, lists and dictionaries of these."""


def term(found: Term) -> Data:
    """Return a symbol as its name, any other term as a list that begins with what it is."""
    match found:
        case Symbol(name):
            return name
        case Number(value):
            return ["number", str(value)]
        case Quantity(value, unit):
            return ["quantity", str(value), [unit.volt, unit.ohm, unit.second]]
        case Negative(inner):
            return ["-", term(inner)]
        case Sum(terms):
            return ["+", *map(term, terms)]
        case Product(factors):
            return ["*", *map(term, factors)]
        case Quotient(above, below):
            return ["/", term(above), term(below)]
        case Power(base, exponent):
            return ["^", term(base), exponent]
        case Parallel(terms):
            return ["parallel", *map(term, terms)]
        case Exponential(exponent):
            return ["exp", term(exponent)]
        case _:
            assert_never(found)


def equation(found: Equation) -> Data:
    """Return both sides."""
    return [term(found.left), term(found.right)]


def question(found: Question) -> Data:
    """Return what is asked, ``["voltage across", "R1"]``."""
    words = re.sub(r"(?<!^)(?=[A-Z])", " ", type(found).__name__.removeprefix("Ask")).lower()
    return [words, *(_said(getattr(found, field.name)) for field in fields(found))]


def _said(value: str | Duration | Enum) -> str:
    if isinstance(value, Duration):
        return value.text
    return value.name if isinstance(value, Enum) else value


def circuit(found: Circuit) -> Data:
    """Return a circuit: its walks as paths from place to place, and what is known of it."""
    places = _places(found)
    branches = (*found.branches, *found.idle)
    return {
        "branches": [
            {
                "current": branch.current.name,
                "from": places.get(branch.tail, branch.tail),
                "to": places.get(branch.head, branch.head),
                "idle": k >= len(found.branches),
            }
            for k, branch in enumerate(branches)
        ],
        "parts": [
            part for k, branch in enumerate(branches) for part in _parts(found, k, branch, places)
        ],
        "points": places,
        "nodes": [node.name for node in found.nodes],
        "walks": {w.current.name: [w.branch, w.along] for w in found.walks},
        "values": {v.symbol.name: _known(v.value) for v in found.values},
        "tolerances": {
            v.symbol.name: str(v.value.tolerance)
            for v in found.values
            if isinstance(v.value, Given) and v.value.tolerance
        },
        "sought": [symbol.name for symbol in found.sought],
        "questions": [question(asked) for asked in found.questions],
        "ground": found.ground,
        "uncharged": [*found.uncharged],
        "initially": {
            i.capacitor: {"voltage": _known(i.value), "is_steady": i.is_steady}
            for i in found.initials
        },
        "ratings": {
            r.part: {
                "power": _known(r.power),
                "voltage": None if r.voltage is None else _known(r.voltage),
            }
            for r in found.ratings
        },
        "is_before": found.is_before,
    }


def _known(value: Given | Tie) -> Data:
    return term(value.term if isinstance(value, Tie) else constant(value.value, value.dimension))


def _places(found: Circuit) -> dict[str, str]:
    """Return the place of every point: points that plain wire joins are at one place."""
    places = {point: node.name for node in found.nodes for point in node.points}
    for branch in found.branches:
        for names in branch.stations[1:-1]:
            places |= {name: names[0] for name in names if name not in places}
    for branch in found.idle:
        for names in branch.stations:
            known = next((places[name] for name in names if name in places), None)
            own = known or (names[0] if names else None)
            places |= {name: own for name in names if own is not None}
    return places


def _parts(
    found: Circuit, k: int, branch: Branch, places: dict[str, str]
) -> Iterator[dict[str, Data]]:
    """Yield the parts of a branch with their own arrows.

    The arrow of a battery leads from − to +, that of a source as its current flows, all others lead
    along the walk on which they lie. An internal resistance lies behind the emf.
    """
    path = [
        names[0] if names else f"{branch.current.name}.{n}"
        for n, names in enumerate(branch.stations)
    ]
    path[0], path[-1] = branch.tail, branch.head
    path = [places.get(place, place) for place in path]
    if not branch.passages:
        ends = branch.tail, branch.head
        yield _part(f"wire {k}", "wire", k, ends, along=True, walk=True)
        return
    for passage, tail, head in zip(branch.passages, path[:-1], path[1:], strict=True):
        element, name = passage.element, passage.element.name
        walk = k >= len(found.branches) or found.walk_of(name).along
        kind, along = _KINDS.get(type(element)), walk
        middle = head
        if isinstance(element, Battery | CurrentSource):
            along = passage.along
        if isinstance(element, Battery) and element.internal is not None:
            middle = f"within {name}"
            yield _part(element.internal, "resistor", k, (middle, head), along=walk, walk=walk)
        if kind is None:
            kind = "resistor" if element.resistance else "gap" if is_gap(element) else "wire"
        part = _part(name, kind, k, (tail, middle), along=along, walk=walk)
        match element:
            case Battery(internal=internal):
                part["internal"] = internal
            case Resistor(lamp=True):
                part["is"] = "lamp"
            case Switch():
                part["is"] = "switch"
            case Instrument(meter=meter):
                part["is"] = meter.value
            case _:
                pass
        yield part


_KINDS: dict[type[Element], str] = {
    Battery: "battery", CurrentSource: "source", Capacitor: "capacitor", Resistor: "resistor",
}  # fmt: skip


def _part(
    name: str, kind: str, branch: int, ends: tuple[str, str], *, along: bool, walk: bool
) -> dict[str, Data]:
    """Return a part; `ends` are told along the branch, as are the two truth values."""
    tail, head = ends if along else ends[::-1]
    return {
        "name": name, "kind": kind, "from": tail, "to": head,
        "branch": branch, "along": along, "walk": along == walk,
    }  # fmt: skip
