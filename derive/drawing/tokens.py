"""What sits on a branch, in the order of its arrow, and how much room each thing takes."""

from __future__ import annotations

from dataclasses import dataclass

from derive.algebra.dimension import NUMBER
from derive.algebra.term import Symbol as Letter
from derive.algebra.term import SymbolKind, constant
from derive.circuit.appearance import BatterySymbol, ResistorSymbol
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Meter,
    Resistor,
    Switch,
)
from derive.circuit.model import Branch, Circuit, Passage, WalkCurrent
from derive.circuit.valuation import Given, Tie
from derive.drawing.metrics import Metrics
from derive.drawing.model import PointNames, SymbolShape
from derive.drawing.reckoning import block_size, label_size, style_of
from derive.typesetting.style import Expression, Style
from derive.typesetting.values import as_written

_CORNER = 0.1
"""Least distance in millimetres of two parts on either side of a corner, across both wires."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One symbol with its lines of text."""

    shape: SymbolShape
    name: str
    along: bool
    """For a cell: True when the arrow enters at −. For a current source: True when its own arrow
    points the way of the branch's. True for the others."""
    length: float
    breadth: float
    lines: tuple[Expression, ...]
    text: tuple[float, float]
    """Width and height of the lines together."""


@dataclass(frozen=True, slots=True)
class Part:
    """An element: one symbol, or a cell and its internal resistance in a frame."""

    position: int
    """Which passage of the branch it is."""
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Arrow:
    """A current arrow with its letter."""

    letter: Letter
    along: bool
    """True when it points the way of the branch's own arrow."""
    index: int
    """0 for the branch's own, then the others."""
    text: tuple[float, float]
    between: tuple[int, int]
    """The stations of the branch between which its walk lies."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A named place on a branch."""

    station: int
    names: tuple[str, ...]
    text: tuple[float, float]


Token = Part | Arrow | Mark


def parts_of(
    circuit: Circuit, branch: int, metrics: Metrics, style: Style, values: bool, labels: bool
) -> tuple[Part, ...]:
    """Return the parts of a branch from tail to head."""
    return tuple(
        Part(k, _pieces(circuit, passage, metrics, style, values, labels))
        for k, passage in enumerate(circuit.branches[branch].passages)
    )


def arrows_of(circuit: Circuit, branch: int, metrics: Metrics, style: Style) -> tuple[Arrow, ...]:
    """Return the arrows of the walks that lie in a branch: that of its own current first."""
    own = circuit.branches[branch].current
    inside = [walk for walk in circuit.walks if walk.branch == branch]
    walks = sorted(inside, key=lambda walk: walk.current != own)
    return tuple(
        Arrow(
            walk.current,
            walk.along or walk.current == own,
            k,
            label_size(walk.current, metrics.text, style),
            _stations(circuit.branches[branch], walk, alone=len(walks) == 1),
        )
        for k, walk in enumerate(walks)
    )


def _stations(branch: Branch, walk: WalkCurrent, alone: bool) -> tuple[int, int]:
    """Return the stations between which a walk lies; a wire lies within one of several points."""
    met = [k for k, passage in enumerate(branch.passages) if passage.element.name in walk.parts]
    if alone:
        return 0, len(branch.passages)
    if met:
        return met[0], met[-1] + 1
    wired = next((k for k, points in enumerate(branch.stations) if len(points) > 1), None)
    return (0, len(branch.passages)) if wired is None else (wired, wired)


def marks_of(circuit: Circuit, metrics: Metrics) -> tuple[tuple[Mark, ...], ...]:
    """Return, for each branch, the named places on it; no point is named twice."""
    style = style_of(circuit)
    named = {node.name for node in circuit.nodes}
    for branch in circuit.branches:
        # Points that wires with a name join to a node stand with its own name.
        named.update(*(end for end in (branch.stations[0], branch.stations[-1]) if len(end) > 1))
    found = []
    for branch in circuit.branches:
        marks = []
        for k, station in enumerate(branch.stations):
            names = tuple(p for p in station if p not in named)
            if names:
                named.update(names)
                text = label_size(PointNames(names), metrics.text, style)
                marks.append(Mark(k, names, text))
        found.append(tuple(marks))
    return tuple(found)


def room(token: Token, horizontal: bool, metrics: Metrics) -> float:
    """Return how much of a wire a token takes, leads not counted."""
    if isinstance(token, Arrow):
        return max(metrics.arrow_room, token.text[0 if horizontal else 1] - metrics.lead)
    if isinstance(token, Mark):
        return max(metrics.dot * 2, token.text[0 if horizontal else 1] - metrics.lead)
    needs = [piece_room(piece, horizontal, metrics) for piece in token.pieces]
    if len(needs) == 1:
        return needs[0]
    inner = sum(needs) + metrics.lead * (len(needs) - 1) + 2 * metrics.frame
    return inner + 2 * apart(token, horizontal, metrics)


def apart(token: Part, horizontal: bool, metrics: Metrics) -> float:
    """Return how much more wire than a lead is left bare at each end of a level frame.

    An upright frame round the corner reaches as far to the side as this keeps free.
    """
    if not horizontal or len(token.pieces) == 1:
        return 0.0
    broad = max(piece.breadth for piece in token.pieces) / 2 + metrics.frame
    return max(0.0, broad + metrics.gap - metrics.lead)


def piece_room(piece: Piece, horizontal: bool, metrics: Metrics) -> float:
    """Return the extent of a symbol along a wire, or of its label if that is longer."""
    # A part round the corner may reach as far to the side as this keeps free.
    beyond = max(0.0, _broad(piece, metrics) / 2 + _CORNER - metrics.lead)
    if piece.shape.has_plates:
        # The sign beside the long plate; the same on the other side keeps the cell in the middle.
        beyond = max(beyond, metrics.plus)
    length = piece.length + 2 * beyond
    # Neighbours have a lead between them, of which their texts leave this much free.
    between = 2.0 if horizontal else 1.2
    return max(length, piece.text[0 if horizontal else 1] + between - metrics.lead)


def _broad(piece: Piece, metrics: Metrics) -> float:
    """Return the breadth for which there has to be room: a switch may close or open."""
    return metrics.switch[1] if piece.shape is SymbolShape.CLOSED_SWITCH else piece.breadth


def reach(token: Token, metrics: Metrics) -> tuple[float, float]:
    """Return how far a token on an upright wire reaches at its label side and at the other."""
    if isinstance(token, Arrow):
        return metrics.arrow / 2, metrics.arrow / 2 + metrics.gap + token.text[0]
    if isinstance(token, Mark):
        return 0.0, metrics.gap + token.text[0]
    framed = metrics.frame if len(token.pieces) > 1 else 0.0
    far = max(_broad(p, metrics) / 2 for p in token.pieces)
    near = max(_broad(p, metrics) / 2 + metrics.gap + p.text[0] for p in token.pieces) + framed
    return near, far + framed


def thickness(token: Token, metrics: Metrics) -> tuple[float, float]:
    """Return how far a token on a level wire reaches below and above it."""
    if isinstance(token, Arrow | Mark):
        return metrics.arrow / 2, metrics.arrow / 2 + metrics.gap + token.text[1]
    framed = metrics.frame if len(token.pieces) > 1 else 0.0
    below = max(_broad(piece, metrics) / 2 for piece in token.pieces) + framed
    return below, below + metrics.gap + max(piece.text[1] for piece in token.pieces)


def _pieces(
    circuit: Circuit, passage: Passage, metrics: Metrics, style: Style, values: bool, labels: bool
) -> tuple[Piece, ...]:
    pieces = []
    for shape, letter in _symbols(circuit, passage.element):
        lines = _lines(circuit, letter, values) if labels else ()
        text = block_size(lines, metrics.text, style)
        along = passage.along or shape.is_resistor
        pieces.append(Piece(shape, letter.name, along, *metrics.size(shape), lines, text))
    return tuple(pieces)


def _symbols(circuit: Circuit, element: Element) -> list[tuple[SymbolShape, Letter]]:
    """Return the symbols of a part, each with the quantity or the name that stands beside it."""
    looks = circuit.looks
    boxed = looks.resistor is ResistorSymbol.BOX
    resistor = SymbolShape.RESISTOR_BOX if boxed else SymbolShape.RESISTOR_ZIGZAG
    match element:
        case Resistor():
            return [(SymbolShape.LAMP if element.lamp else resistor, element.resistance)]
        case Battery():
            several = looks.battery is BatterySymbol.CELLS
            cell = SymbolShape.CELLS if several else SymbolShape.CELL
            if circuit.is_dependent(element.emf):
                cell = SymbolShape.DEPENDENT_EMF
            inner = element.resistance
            return [(cell, element.emf), *([] if inner is None else [(resistor, inner)])]
        case CurrentSource():
            dependent = circuit.is_dependent(element.source)
            shape = SymbolShape.DEPENDENT_CURRENT if dependent else SymbolShape.CURRENT_SOURCE
            return [(shape, element.source)]
        case Capacitor():
            return [(SymbolShape.CAPACITOR, element.capacitance)]
        case Switch():
            switch = SymbolShape.CLOSED_SWITCH if element.is_closed else SymbolShape.OPEN_SWITCH
            return [(switch, _name(element.name))]
        case Instrument():
            amperes = element.meter is Meter.AMMETER
            shape = SymbolShape.AMMETER if amperes else SymbolShape.VOLTMETER
            return [(shape, element.resistance or _name(element.name))]


def _name(part: str) -> Letter:
    """Return the name of a part that has no quantity, set as a quantity is."""
    return Letter(part, SymbolKind.AUXILIARY, NUMBER)


def _lines(circuit: Circuit, letter: Letter, values: bool) -> tuple[Expression, ...]:
    known = circuit.valuation(letter) if values else None
    match known:
        case Given(value, dimension):
            return letter, as_written(known) or constant(value, dimension)
        case Tie(term):
            return letter, term
        case None:
            return (letter,)
