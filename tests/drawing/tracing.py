"""Reading a drawing back as a reader does: from wires, dots and symbols alone.

Nothing of the layout code is used. Two wires are joined where both end, or where one ends upon
the other at a dot; wires that merely cross are not joined.
"""

from __future__ import annotations

from itertools import pairwise

from derive.circuit.elements import Battery
from derive.circuit.model import Branch, Circuit
from derive.drawing.model import Drawing, Emphasis, Point, Symbol, SymbolShape, Wire

Spot = tuple[float, float]


def spot(point: Point) -> Spot:
    return round(point.x, 4), round(point.y, 4)


def segments(wires: tuple[Wire, ...] | list[Wire]) -> list[tuple[Spot, Spot]]:
    return [(spot(a), spot(b)) for wire in wires for a, b in pairwise(wire.points)]


def on(at: Spot, segment: tuple[Spot, Spot]) -> bool:
    (x1, y1), (x2, y2) = segment
    slack = 0.0 if x1 == x2 or y1 == y2 else 2e-4  # places aslant are rounded
    if not min(x1, x2) - slack <= at[0] <= max(x1, x2) + slack:
        return False
    if not min(y1, y2) - slack <= at[1] <= max(y1, y2) + slack:
        return False
    area = (x2 - x1) * (at[1] - y1) - (y2 - y1) * (at[0] - x1)
    return abs(area) <= slack * (abs(x2 - x1) + abs(y2 - y1))


def inside(at: Spot, segment: tuple[Spot, Spot]) -> bool:
    return on(at, segment) and at not in segment


def crossings(drawing: Drawing) -> int:
    """Count places where two wires cross without touching ends."""
    found = 0
    pieces = segments(drawing.wires)
    for k, one in enumerate(pieces):
        for other in pieces[:k]:
            flat, upright = (one, other) if one[0][1] == one[1][1] else (other, one)
            if flat[0][1] == flat[1][1] and upright[0][0] == upright[1][0]:
                at = (upright[0][0], flat[0][1])
                found += inside(at, flat) and inside(at, upright)
    return found


def overlaps(drawing: Drawing) -> int:
    """Count pairs of wires that run along each other."""
    found = 0
    pieces = segments(drawing.wires)
    for k, one in enumerate(pieces):
        for other in pieces[:k]:
            for axis in (0, 1):
                line = {p[1 - axis] for p in (*one, *other)}
                if len(line) == 1:
                    low = max(min(p[axis] for p in one), min(p[axis] for p in other))
                    high = min(max(p[axis] for p in one), max(p[axis] for p in other))
                    found += high - low > 1e-3
    return found


def along(symbol: Symbol, sign: float) -> Spot:
    """Return an end of a symbol: 1 the one its direction points to."""
    reach = sign * symbol.length / 2
    return spot(
        Point(
            symbol.centre.x + symbol.direction.dx * reach,
            symbol.centre.y + symbol.direction.dy * reach,
        )
    )


class Nets:
    """What is joined by bare wire."""

    def __init__(self, wires: list[Wire], dots: set[Spot]) -> None:
        self.parent: dict[Spot, Spot] = {}
        pieces = segments(wires)
        for a, b in pieces:
            self.join(a, b)
        for dot in dots:
            for piece in pieces:
                if on(dot, piece):
                    self.join(dot, piece[0])

    def find(self, at: Spot) -> Spot:
        self.parent.setdefault(at, at)
        while self.parent[at] != at:
            at = self.parent[at]
        return at

    def join(self, a: Spot, b: Spot) -> None:
        self.parent[self.find(a)] = self.find(b)


def names_of(branch: Branch) -> list[tuple[str, bool]]:
    """Return the symbols of a branch in order, each with the sense of its plates."""
    found = []
    for passage in branch.passages:
        found.append((passage.element.name, passage.along))
        if isinstance(passage.element, Battery) and passage.element.internal:
            found.append((passage.element.internal, True))
    return found


def arrow_wire(drawing: Drawing, current: str) -> tuple[Wire, int]:
    """Return the wire an arrow stands on, and 1 when it points to the wire's last point."""
    arrow = next(a for a in drawing.arrows if a.current == current)
    tip = spot(arrow.tip)
    back = spot(
        Point(
            arrow.tip.x - arrow.direction.dx * arrow.length,
            arrow.tip.y - arrow.direction.dy * arrow.length,
        )
    )
    for wire in drawing.wires:
        for a, b in pairwise(wire.points):
            piece = (spot(a), spot(b))
            if on(tip, piece) and on(back, piece):
                forward = (b.x - a.x) * arrow.direction.dx + (b.y - a.y) * arrow.direction.dy
                return wire, 1 if forward > 0 else -1
    raise AssertionError(f"the arrow of {current} is not on a straight piece of wire")


def check_connections(circuit: Circuit, drawing: Drawing) -> None:
    """Assert that the drawing, read back, is the circuit: parts, order, polarity, arrows."""
    symbols = {symbol.part: symbol for symbol in drawing.symbols}
    assert len(symbols) == len(drawing.symbols)
    bare = [
        arrow_wire(drawing, branch.current.name)[0]
        for branch in circuit.branches
        if not branch.passages
    ]
    dots = {spot(dot.centre) for dot in drawing.dots}
    nets = Nets([wire for wire in drawing.wires if wire not in bare], dots)
    node_net: dict[str, Spot] = {}

    def at_node(name: str, place: Spot) -> None:
        assert node_net.setdefault(name, nets.find(place)) == nets.find(place), name

    for branch in circuit.branches:
        entries, exits = [], []
        for name, plates_along in names_of(branch):
            symbol = symbols.pop(name)
            sense = 1 if plates_along else -1
            sensed = (SymbolShape.CELL, SymbolShape.CURRENT_SOURCE)
            dependent = (SymbolShape.DEPENDENT_EMF, SymbolShape.DEPENDENT_CURRENT)
            if symbol.shape not in (*sensed, *dependent):
                assert plates_along
            entries.append(along(symbol, -sense))
            exits.append(along(symbol, sense))
        wire, sense = arrow_wire(drawing, branch.current.name)
        start, end = (wire.points[0], wire.points[-1])[::sense]
        if not entries:
            at_node(branch.tail, spot(start))
            at_node(branch.head, spot(end))
            continue
        at_node(branch.tail, entries[0])
        at_node(branch.head, exits[-1])
        for left, entered in zip(exits, entries[1:], strict=False):
            assert nets.find(left) == nets.find(entered)
        # The arrow's wire runs to a place where a part is entered, or from one where it is left.
        assert spot(end) in entries or spot(start) in exits
        assert spot(start) not in entries
        assert spot(end) not in exits
    assert not symbols
    assert len(set(node_net.values())) == len(circuit.nodes)


def strong_cycle(drawing: Drawing) -> list[Spot]:
    """Return the corners of what is drawn strong, which must be one closed line."""
    strong = [wire for wire in drawing.wires if wire.emphasis is Emphasis.STRONG]
    near: dict[Spot, list[Spot]] = {}
    links = segments(strong)
    links += [(along(s, -1), along(s, 1)) for s in drawing.symbols if s.emphasis is Emphasis.STRONG]
    for a, b in links:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    assert all(len(others) == 2 for others in near.values()), "not a closed line"
    start = min(near)
    line = [start, near[start][0]]
    while line[-1] != start:
        onward = [p for p in near[line[-1]] if p != line[-2]]
        line.append(onward[0])
    assert len(line) - 1 == len(near), "more than one closed line"
    return line[:-1]


def area(corners: list[Spot]) -> float:
    """Return the signed area of a polygon: positive when walked anticlockwise."""
    return (
        sum(
            a[0] * b[1] - b[0] * a[1]
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        )
        / 2
    )


def encloses(corners: list[Spot], at: Point) -> bool:
    inside_it = False
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        if (a[1] > at.y) != (b[1] > at.y):
            passed = a[0] + (b[0] - a[0]) * (at.y - a[1]) / (b[1] - a[1])
            inside_it ^= passed > at.x
    return inside_it
