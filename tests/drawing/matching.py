"""Compares what a figure shows with the circuit it is meant to show.

A reader knows from the text which names are parts, currents and points. Type names the part
whose symbol is nearest to it; where several are as near, the one whose middle line is nearest to the
middle of the type. A current's name belongs to the arrowhead nearest to it, a point's to the wire.
The nearest must be nearer than the next by `CLEAR`. Of several names nearest to one symbol the
closest has it, by `CLEAR` again, and the others go to the symbols that are left; else the figure is
refused as one that can be misread.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

from derive.algebra.dimension import AMPERE, FARAD, OHM, VOLT
from derive.circuit.appearance import ResistorSymbol
from derive.circuit.elements import (
    Battery,
    Capacitor,
    CurrentSource,
    Element,
    Instrument,
    Resistor,
    Switch,
)
from derive.circuit.model import Branch, Circuit, WalkCurrent
from derive.circuit.valuation import Given
from tests.drawing.joints import Joints
from tests.drawing.seeing import Part, Seen, middle
from tests.drawing.strokes import TOUCH, Line, Misdrawn, Spot, Type, gap, nearness

CLEAR = 0.3
"""How much nearer, in millimetres, a name is to what it names than to the next of its kind."""

_LEVEL = 0.5
"""Symbols nearer to a name than the nearest by less than this are taken to be as near."""

Outline = tuple[tuple[Spot, Spot], ...]

Shape = tuple[Outline, tuple[Spot, Spot]]
"""What a symbol reaches to, and the line through its middle."""

_SPACE = "\N{NO-BREAK SPACE}"
_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η",
    "theta": "θ", "lambda": "λ", "mu": "µ", "rho": "ρ", "sigma": "σ", "tau": "τ",
    "phi": "φ", "omega": "ω", "Delta": "Δ", "Omega": "Ω",
}  # fmt: skip
_PREFIXES = {"": 0, "p": -12, "n": -9, "µ": -6, "m": -3, "k": 3, "M": 6, "G": 9}


def spelled(name: str) -> str:
    """Return a name of the file as it is read in print: ``R_load`` as ``Rload``, primes last."""
    head = re.match(r"[^\W\d_]+", name)
    if head and head[0] in _GREEK:
        name = _GREEK[head[0]] + name[head.end() :]
    return _plain(name)


def _plain(text: str) -> str:
    text = re.sub(r"[_,\s]", "", text.replace("ℰ", "E").replace("ε", "E").replace("μ", "µ"))
    return text.replace("'", "") + "'" * text.count("'")


@dataclass
class Figure:
    """A figure whose names have been read."""

    seen: Seen
    joints: Joints
    parts: dict[str, int] = field(default_factory=dict)
    arrows: dict[str, int] = field(default_factory=dict)
    points: dict[str, int] = field(default_factory=dict)
    values: dict[str, tuple[str, ...]] = field(default_factory=dict)
    eliminated: int = 0
    """Names that were doubtful until the other symbols had theirs."""


def read_figure(circuit: Circuit, seen: Seen) -> Figure:
    """Give every symbol, arrow and place its name."""
    circuit = shown(circuit)
    figure = Figure(seen, Joints(seen))
    parts = {
        spelled(name) for branch in circuit.branches for name, _, _ in parts_of(circuit, branch)
    }
    currents = {spelled(walk.current.name) for walk in circuit.walks}
    points = {spelled(p) for b in circuit.branches for s in b.stations for p in s}
    points |= {spelled(p) for node in circuit.nodes for p in node.points}
    loose = [t for t in seen.types if t.text != "+"]
    outlines = [_outline(part, seen.frames) for part in seen.parts]
    shapes = list(zip(outlines, (part.ends for part in seen.parts), strict=True))
    heads = [(head.outline, (head.back, head.tip)) for head in seen.heads]
    of_parts: list[list[Type]] = []
    of_currents: list[list[Type]] = []
    for block in _blocks(loose, parts):
        name = _plain(block[0].text)
        if name in parts:
            of_parts.append(block)
            figure.values[name] = tuple(t.text for t in block[1:])
        elif name in currents and len(block) == 1:
            of_currents.append(block)
        elif all(_plain(word) in points for word in _words(block[0])) and len(block) == 1:
            net, clear = figure.joints.nearest_net(block[0])
            if clear < CLEAR:
                raise Misdrawn(f"doubtful at which wire {block[0].text} stands")
            for word in _words(block[0]):
                if figure.points.setdefault(_plain(word), net) != net:
                    raise Misdrawn(f"{word} stands at two places")
        else:
            raise Misdrawn(f"type that names nothing: {[t.text for t in block]}")
    figure.parts = _assigned(figure, of_parts, shapes)
    figure.arrows = _assigned(figure, of_currents, heads)
    return figure


def _words(type_: Type) -> list[str]:
    return type_.text.split("," + _SPACE)


def _blocks(types: Iterable[Type], parts: set[str]) -> list[list[Type]]:
    """Put lines together that stand close one below the other: a name, then what is said of it."""
    blocks: list[list[Type]] = []
    lines = sorted(types, key=lambda t: (-t.top, t.left))
    met = Counter(_plain(line.text) for line in lines)
    for line in lines:
        over = [b for b in blocks if _under(b[-1], line) and _plain(b[0].text) in parts]
        is_name = re.match(r"[^\W\d]", line.text) and re.search(r"[+·" + _SPACE + "]", line.text) is None  # fmt: skip
        # A name that stands below another is what that part is tied to, if it has a part elsewhere.
        if over and (not is_name or met[_plain(line.text)] > 1):
            over[-1].append(line)
        else:
            blocks.append([line])
    return blocks


def _under(one: Type, other: Type) -> bool:
    aligned = min(
        abs(one.left - other.left), abs(one.right - other.right),
        abs(one.centre[0] - other.centre[0]),
    )  # fmt: skip
    return aligned < 1.2 and -1.8 < one.bottom - other.top < 1.5


def _outline(part: Part, frames: list[Line]) -> Outline:
    """Return what a reader takes a part to reach: in a frame, its full breadth."""
    at = middle(*part.ends)
    for frame in frames:
        (x1, y1), (x2, y2) = frame.points[0], frame.points[2]
        left, right, low, high = min(x1, x2), max(x1, x2), min(y1, y2), max(y1, y2)
        if left < at[0] < right and low < at[1] < high:
            (a, b), (c, d) = part.ends
            xs, ys = ((left, right), sorted((b, d))) if abs(a - c) < TOUCH else (sorted((a, c)), (low, high))  # fmt: skip
            corners = [(xs[0], ys[0]), (xs[1], ys[0]), (xs[1], ys[1]), (xs[0], ys[1])]
            return tuple(pairwise([*corners, corners[0]]))
    return part.outline


def _assigned(figure: Figure, blocks: list[list[Type]], shapes: Sequence[Shape]) -> dict[str, int]:
    """Give each symbol its name: first the clear ones, then the doubtful among what is left."""
    if len(blocks) != len(shapes):
        raise Misdrawn(f"{len(shapes)} symbols, but {len(blocks)} names")
    named: dict[str, int] = {}
    waiting = blocks
    while waiting:
        free = [k for k in range(len(shapes)) if k not in named.values()]
        found = [(block, *_nearest(block, shapes, free)) for block in waiting]
        settled = [(block, best) for block, best, clear in found if clear >= CLEAR]
        settled = [_closest(best, settled, shapes) for best in sorted({k for _, k in settled})]
        if not settled:
            raise Misdrawn(f"doubtful what {waiting[0][0].text} names")
        for block, best in settled:
            name = _plain(block[0].text)
            if name in named:
                raise Misdrawn(f"{name} is there twice")
            named[name] = best
        waiting = [block for block in waiting if all(block is not done for done, _ in settled)]
        figure.eliminated += len(waiting)
    return named


def _closest(
    symbol: int, settled: list[tuple[list[Type], int]], shapes: Sequence[Shape]
) -> tuple[list[Type], int]:
    """Return the name that is clearly closest to a symbol, of those that are nearest to it."""
    near = sorted(
        ((_gap(block, shapes[symbol]), k) for k, (block, best) in enumerate(settled) if best == symbol)
    )  # fmt: skip
    if len(near) > 1 and near[1][0] - near[0][0] < CLEAR:
        twins = [settled[k][0][0].text for _, k in near]
        raise Misdrawn(f"two names nearest to one symbol: {twins}")
    return settled[near[0][1]]


def _gap(block: list[Type], shape: Shape) -> float:
    return min(gap(t, *side) for t in block for side in shape[0])


def _nearest(block: list[Type], shapes: Sequence[Shape], free: list[int]) -> tuple[int, float]:
    """Return the symbol a name is nearest to, and by how much it is so.

    Symbols as near as each other lie in one line; then it is the one the name is level with.
    """
    gaps = {k: _gap(block, shapes[k]) for k in free}
    nearest = [k for k, off in gaps.items() if off < min(gaps.values()) + _LEVEL]
    centre = middle((block[0].left, block[0].top), (block[0].right, block[-1].bottom))
    levels = sorted((nearness(centre, *shapes[k][1]), k) for k in nearest)
    return levels[0][1], levels[1][0] - levels[0][0] if len(levels) > 1 else 99.0


_SENSED = ("cell", "source", "diamond with signs", "diamond with an arrow")
"""Symbols with a first and a second end."""


def parts_of(circuit: Circuit, branch: Branch) -> list[tuple[str, str, bool]]:
    """Return name, kind and sense of the symbols of a branch, from tail to head."""
    followers = {symbol.name for symbol in circuit.dependent}
    found = []
    for passage in branch.passages:
        element = passage.element
        if isinstance(element, Battery):
            kind = "diamond with signs" if element.name in followers else "cell"
            found.append((element.name, kind, passage.along))
            if element.internal:
                found.append((element.internal, "resistor", True))
        else:
            kind = "diamond with an arrow" if element.name in followers else _kind(element)
            found.append((element.name, kind, passage.along))
    return found


def _kind(element: Element) -> str:
    match element:
        case Resistor(lamp=lamp):
            return "lamp" if lamp else "resistor"
        case CurrentSource():
            return "source"
        case Switch(is_closed=is_closed):
            return "closed switch" if is_closed else "open switch"
        case Instrument(meter=meter):
            return meter.value
        case Capacitor():
            return "capacitor"
        case Battery():
            return "cell"


def shown(circuit: Circuit) -> Circuit:
    """Return a circuit with what its figure shows as its own, and a walk for every arrow."""
    if circuit.drawn is not None:
        nodes, branches, walks = circuit.drawn.nodes, circuit.drawn.branches, circuit.drawn.walks
        return replace(circuit, nodes=nodes, branches=branches, walks=walks, idle=(), drawn=None)
    walked = {(walk.branch, walk.current) for walk in circuit.walks}
    own = (
        WalkCurrent(branch.current, k, along=True)
        for k, branch in enumerate(circuit.branches)
        if (k, branch.current) not in walked
    )
    return replace(circuit, walks=(*circuit.walks, *own))


def check_figure(circuit: Circuit, figure: Figure, *, values: bool) -> None:
    """Refuse a figure that does not show the circuit. Raises Misdrawn."""
    circuit = shown(circuit)
    arrows = {spelled(walk.current.name) for walk in circuit.walks}
    if set(figure.arrows) != arrows:
        raise Misdrawn(f"arrows {sorted(set(figure.arrows) ^ arrows)} too many or missing")
    names = {spelled(p) for node in circuit.nodes for p in node.points}
    names |= {spelled(p) for b in circuit.branches for s in b.stations for p in s}
    if set(figure.points) != names:
        raise Misdrawn(f"points {sorted(figure.points)} instead of {sorted(names)}")
    node_nets = [figure.points[spelled(node.name)] for node in circuit.nodes]
    if len(set(node_nets)) != len(circuit.nodes):
        raise Misdrawn("two nodes are joined")
    inner: set[int] = set(node_nets)
    for k in range(len(circuit.branches)):
        _Branch(circuit, k, figure).check(inner)
    for node in circuit.nodes:
        for point in node.points:
            # A wire with a name may join it to the node; then it has a net of its own.
            _at(figure, point, figure.points[spelled(node.name)], bool(figure.joints.bare))
    expected = {spelled(name) for b in circuit.branches for name, _, _ in parts_of(circuit, b)}
    if set(figure.parts) != expected:
        raise Misdrawn(f"parts {sorted(set(figure.parts) ^ expected)} too many or missing")
    _check_plus(figure)
    _check_frames(circuit, figure)
    _check_earth(circuit, figure)
    if values:
        _check_values(circuit, figure)


def _at(figure: Figure, point: str, net: int, wired: bool = False) -> None:
    if figure.points[spelled(point)] != net and not wired:
        raise Misdrawn(f"{point} stands at a wrong place")


@dataclass
class _Branch:
    circuit: Circuit
    index: int
    figure: Figure
    entries: list[tuple[int, int]] = field(default_factory=list)
    """For each symbol which part it is, and the end at which the branch comes in."""
    stations: list[int] = field(default_factory=list)
    """How many symbols have been passed at each station of the branch."""

    def check(self, inner: set[int]) -> None:
        branch, figure = self.circuit.branches[self.index], self.figure
        nets, joints = figure.joints.nets, figure.joints
        chain = parts_of(self.circuit, branch)
        tail, head = (figure.points[spelled(name)] for name in (branch.tail, branch.head))
        self.stations = [0]
        for passage in branch.passages:
            element = passage.element
            two = isinstance(element, Battery) and element.internal
            self.stations.append(self.stations[-1] + (2 if two else 1))
        place_of = {(part, end): place for place, (part, end) in joints.part_at.items()}
        net, passed = tail, [tail]
        for name, kind, _ in chain:
            part = figure.parts.get(spelled(name))
            if part is None:
                raise Misdrawn(f"no symbol is named {name}")
            self._is_kind(part, name, kind)
            ends = [nets[place_of[part, end]] for end in (0, 1)]
            if net not in ends:
                raise Misdrawn(f"{name} is not where branch {branch.current.name} goes on")
            entry = ends.index(net)
            if ends[0] == ends[1]:
                entry = self._entry_by_arrow(part)
            self.entries.append((part, entry))
            net = ends[1 - entry]
            passed.append(net)
        if chain and net != head:
            raise Misdrawn(f"branch {branch.current.name} does not end at {branch.head}")
        for between in passed[1:-1]:
            if between in inner:
                raise Misdrawn(f"something joins branch {branch.current.name} on its way")
            inner.add(between)
        for (name, kind, along), (_, entry) in zip(chain, self.entries, strict=True):
            # The first end of a cell is −; an arrow points to the second of a current source.
            if kind in _SENSED and (entry == 0) != along:
                raise Misdrawn(f"the terminals of {name} are the wrong way round")
        self._points(passed)
        self._arrows()

    def _is_kind(self, part: int, name: str, kind: str) -> None:
        zigzag = self.circuit.looks.resistor is ResistorSymbol.ZIGZAG
        wanted = ("zigzag" if zigzag else "box") if kind == "resistor" else kind
        if self.figure.seen.parts[part].kind != wanted:
            raise Misdrawn(f"{name} is drawn as a {self.figure.seen.parts[part].kind}")

    def _entry_by_arrow(self, part: int) -> int:
        """Return the end that the branch's own arrow shows: a part hung on one point alone."""
        branch = self.circuit.branches[self.index]
        head = self._head(branch.current.name)
        for met, inwards in ((self.figure.joints.ahead(head), True), (self.figure.joints.behind(head), False)):  # fmt: skip
            if met.part is not None and met.part[0] == part:
                return met.part[1] if inwards else 1 - met.part[1]
        raise Misdrawn(f"the arrow of {branch.current.name} is not beside its part")

    def _head(self, current: str):  # type: ignore[no-untyped-def]
        index = self.figure.arrows.get(spelled(current))
        if index is None:
            raise Misdrawn(f"no arrow is named {current}")
        return self.figure.seen.heads[index]

    def _points(self, passed: list[int]) -> None:
        branch = self.circuit.branches[self.index]
        nodes = {p for node in self.circuit.nodes for p in node.points}
        for count, station in zip(self.stations, branch.stations, strict=True):
            for point in station:
                if point not in nodes:
                    _at(self.figure, point, passed[count])

    def _arrows(self) -> None:
        branch = self.circuit.branches[self.index]
        walks = [w for w in self.circuit.walks if w.branch == self.index]
        for walk in walks:
            met = [k for k, p in enumerate(branch.passages) if p.element.name in walk.parts]
            low, high = (0, len(branch.passages)) if not met else (met[0], met[-1] + 1)
            along = walk.along or walk.current == branch.current
            self._arrow(walk.current.name, along, self.stations[low], self.stations[high])

    def _arrow(self, current: str, along: bool, low: int, high: int) -> None:
        """See that an arrow stands within its walk and points the way it goes."""
        joints, head = self.figure.joints, self._head(current)
        fore, back = joints.ahead(head), joints.behind(head)
        if not along:
            fore, back = back, fore
        count = None
        for k, (part, entry) in enumerate(self.entries):
            if fore.part == (part, entry):
                count = k
            if back.part == (part, 1 - entry):
                count = k + 1
        wrong = Misdrawn(f"the arrow of {current} is at a wrong place or the wrong way round")
        if fore.part is not None or back.part is not None:
            if count is None or not low <= count <= high:
                raise wrong
            return
        branch = self.circuit.branches[self.index]
        ends = [self.figure.points[spelled(name)] for name in (branch.tail, branch.head)]
        if self.entries or [joints.nets[back.joint], joints.nets[fore.joint]] != ends:
            raise wrong


def _check_plus(figure: Figure) -> None:
    """See that each cell has its sign beside the long plate, beyond it."""
    cells = [part for part in figure.seen.parts if part.kind == "cell"]
    signs = [t for t in figure.seen.types if t.text == "+"]
    found = []
    for sign in signs:
        offs = sorted((gap(sign, *cell.ends), k) for k, cell in enumerate(cells))
        if len(offs) > 1 and offs[1][0] - offs[0][0] < CLEAR:
            raise Misdrawn("doubtful of which cell a plus sign is")
        found.append(offs[0][1])
        minus, plus = cells[offs[0][1]].ends
        way = plus[0] - minus[0], plus[1] - minus[1]
        beyond = (sign.centre[0] - plus[0]) * way[0] + (sign.centre[1] - plus[1]) * way[1]
        if beyond <= 0:
            raise Misdrawn(f"a plus sign is at the wrong plate at {plus}")
    if sorted(found) != list(range(len(cells))):
        raise Misdrawn(f"{len(cells)} cells have {len(signs)} plus signs")


def _check_frames(circuit: Circuit, figure: Figure) -> None:
    """See that a frame goes round each battery with its internal resistance, and nothing else."""
    inside = set()
    for frame in figure.seen.frames:
        xs, ys = zip(*frame.points, strict=True)
        held = {
            name
            for name, part in figure.parts.items()
            if min(xs) < middle(*figure.seen.parts[part].ends)[0] < max(xs)
            and min(ys) < middle(*figure.seen.parts[part].ends)[1] < max(ys)
        }
        inside.add(frozenset(held))
    wanted = {
        frozenset((spelled(p.element.name), spelled(p.element.internal)))
        for branch in circuit.branches
        for p in branch.passages
        if isinstance(p.element, Battery) and p.element.internal
    }
    if inside != wanted or len(inside) != len(figure.seen.frames):
        raise Misdrawn(f"frames round {[sorted(held) for held in inside]}")


def _check_earth(circuit: Circuit, figure: Figure) -> None:
    wanted = [] if circuit.ground is None else [figure.points[spelled(circuit.ground)]]
    joints = figure.joints
    if [joints.nets[place] for place in joints.earthed] != wanted:
        raise Misdrawn("the sign of earth is missing or at a wrong place")


def _check_values(circuit: Circuit, figure: Figure) -> None:
    for valuation in circuit.values:
        lines = figure.values.get(spelled(valuation.symbol.name))
        if lines is None:
            continue
        if len(lines) != 1:
            raise Misdrawn(f"{valuation.symbol.name} has {len(lines)} lines of value")
        if isinstance(valuation.value, Given):
            unit = {VOLT: "V", OHM: "Ω", AMPERE: "A", FARAD: "F"}[valuation.value.dimension]
            if read_value(lines[0], unit) != valuation.value.value:
                raise Misdrawn(f"{valuation.symbol.name} is said to be {lines[0]}")


def read_value(text: str, unit: str) -> Fraction:
    """Read a number with its unit, in SI base units.

    >>> read_value("4.7\\xa0kΩ", "Ω"), read_value("12\\xa0000\\xa0V", "V"), read_value("1/3\\xa0V", "V")
    (Fraction(4700, 1), Fraction(12000, 1), Fraction(1, 3))
    """
    number = r"\d+(?:" + _SPACE + r"\d+)*(?:[.,]\d+(?:" + _SPACE + r"\d+)*)?(?:/\d+)?"
    found = re.fullmatch(rf"({number}){_SPACE}?(\w?){unit}", text)
    if not found or found[2] not in _PREFIXES:
        raise Misdrawn(f"no value in {unit}: {text}")
    digits = found[1].replace(_SPACE, "").replace(",", ".")
    above, _, below = digits.partition("/")
    return Fraction(above) / Fraction(below or 1) * Fraction(10) ** _PREFIXES[found[2]]
