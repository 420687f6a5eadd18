"""Random networks as plain lists of parts, and the same networks said in other words.

Nothing here knows the package: a network is written as a text, and its currents come from
`oracle.py`. Changes that must not change a result (other names, other order, reversed walks) and
changes whose effect is known (other scale, sources off) are made on the same plain records.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

_RESISTANCES = [Fraction(n) for n in (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 22, 47, 100)] + [
    Fraction(1, 2), Fraction(3, 2), Fraction(5, 2), Fraction(33, 10), Fraction(2, 3),
]  # fmt: skip
_EMFS = [Fraction(n) for n in (1, 2, 3, 4, 5, 6, 9, 10, 12, 15, 24, 230)] + [Fraction(3, 2)]
_CURRENTS = [Fraction(n, 2) for n in range(1, 9)] + [Fraction(1, 10), Fraction(1, 3)]


@dataclass(frozen=True)
class Part:
    """A resistor, a battery with or without internal resistance, or a current source."""

    kind: str
    """``R``, ``E`` or ``J``."""
    name: str
    value: Fraction
    along: bool = True
    """A battery: minus first. A source: arrow along."""
    inside: str | None = None
    """Name of the internal resistance of a battery."""
    inner: Fraction = Fraction(0)

    @property
    def text(self) -> str:
        """Return the part as it stands in a walk."""
        if self.kind == "R":
            return f"({self.name})"
        if self.kind == "J":
            return f"({self.name} ->)" if self.along else f"(<- {self.name})"
        own = self.name if self.inside is None else f"{self.name} {self.inside}"
        return f"(-{own}+)" if self.along else f"(+{own}-)"

    @property
    def resistance(self) -> Fraction:
        """Return the ohms in it."""
        return self.value if self.kind == "R" else self.inner

    @property
    def rise(self) -> Fraction:
        """Return the emf along the walk."""
        return Fraction(0) if self.kind != "E" else self.value if self.along else -self.value


@dataclass(frozen=True)
class Walk:
    """One current: parts from a junction to a junction."""

    name: str
    tail: str
    head: str
    parts: tuple[Part, ...]

    @property
    def source(self) -> Part | None:
        """Return the current source that sets it."""
        return next((part for part in self.parts if part.kind == "J"), None)


@dataclass(frozen=True)
class Net:
    """Walks, in the order of the file."""

    walks: tuple[Walk, ...]

    @property
    def parts(self) -> list[Part]:
        """Return the parts of all walks."""
        return [part for walk in self.walks for part in walk.parts]

    @property
    def points(self) -> list[str]:
        """Return the ends of walks in the order in which they are met."""
        return list(dict.fromkeys(p for walk in self.walks for p in (walk.tail, walk.head)))

    @property
    def loops(self) -> int:
        """Return the number of independent loops of a network that hangs together."""
        return len(self.walks) - len(self.points) + 1

    def text(self, *further: str, values: bool = True) -> str:
        """Return the network in the circuit language, with further lines."""
        return "\n".join([*self.lines(values=values), *further, ""])

    def lines(self, *, values: bool = True) -> list[str]:
        """Return one statement a line."""
        found = []
        for walk in self.walks:
            stops = [walk.tail]
            for number, part in enumerate(walk.parts):
                # Points between parts are named, so that reversing a walk needs no care.
                stops += [part.text, f"{walk.name}_{number}"]
            stops[-1] = walk.head
            found.append(f"{walk.name}: {' '.join(stops)}")
        units = {"R": "ohm", "E": "V", "J": "A"}
        for part in self.parts if values else ():
            found.append(f"{part.name} = {part.value} {units[part.kind]}")
            if part.inside is not None:
                found.append(f"{part.inside} = {part.inner} ohm")
        return found


class _Maker:
    """Makes parts with fresh names."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.counts: dict[str, int] = {}

    def name(self, letter: str) -> str:
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def resistor(self) -> Part:
        return Part("R", self.name("R"), self.rng.choice(_RESISTANCES))

    def battery(self, *, real: bool) -> Part:
        along = self.rng.random() < 0.6
        own = Part("E", self.name("E"), self.rng.choice(_EMFS), along)
        if not real:
            return own
        return replace(own, inside=self.name("r"), inner=self.rng.choice(_RESISTANCES) / 10)

    def source(self) -> Part:
        along = self.rng.random() < 0.6
        return Part("J", self.name("J"), self.rng.choice(_CURRENTS), along)

    def chain(self, *, ideal: bool) -> tuple[Part, ...]:
        rng = self.rng
        if ideal:
            return (self.battery(real=False),)
        resistors = rng.choice((0, 1, 1, 1, 1, 2, 2))
        batteries = rng.choice((0, 0, 0, 1, 1, 1, 2)) or int(not resistors)
        parts = [self.resistor() for _ in range(resistors)]
        for _ in range(batteries):
            lonely = not any(part.resistance for part in parts)
            parts.append(self.battery(real=lonely or rng.random() < 0.3))
        rng.shuffle(parts)
        return tuple(parts)


def _graph(rng: random.Random, loops: int) -> list[tuple[int, int]]:
    """Return the edges of a graph with that many loops in which every point lies on a loop."""
    if loops == 1:
        return [(0, 1), (1, 0)] if rng.random() < 0.5 else [(0, 0)]
    edges = [(0, 1), (0, 1), (0, 1)]
    nodes = 2

    def foot() -> int:
        nonlocal nodes
        if rng.random() < 0.45:
            return rng.randrange(nodes)
        a, b = edges.pop(rng.randrange(len(edges)))
        edges.extend([(a, nodes), (nodes, b)])
        nodes += 1
        return nodes - 1

    for _ in range(loops - 2):
        edges.append((foot(), foot()))
    rng.shuffle(edges)
    return edges


def _forest(edges: list[tuple[int, int]], order: list[int]) -> set[int]:
    """Return the numbers of edges of a spanning tree, taken in an order."""
    leader = {node: node for edge in edges for node in edge}

    def find(node: int) -> int:
        while leader[node] != node:
            node = leader[node]
        return node

    taken = set()
    for k in order:
        a, b = find(edges[k][0]), find(edges[k][1])
        if a != b:
            leader[a] = b
            taken.add(k)
    return taken


def random_net(rng: random.Random, loops: int, *, sources: bool = True, ideal: bool = True) -> Net:
    """Return a network with one solution: ideal batteries on a tree, sources off another one."""
    edges = _graph(rng, loops)
    order = list(range(len(edges)))
    rng.shuffle(order)
    tree = _forest(edges, order)
    make = _Maker(rng)
    walks = []
    for k, (a, b) in enumerate(edges):
        tail, head = (a, b) if rng.random() < 0.5 else (b, a)
        if sources and loops > 1 and k not in tree and rng.random() < 0.15:
            parts = [make.source()]
            if rng.random() < 0.4:
                parts.insert(rng.randrange(2), make.resistor())
            chain = tuple(parts)
        else:
            chain = make.chain(ideal=ideal and k in tree and rng.random() < 0.12)
        walks.append(Walk(f"I{k + 1}", f"N{tail}", f"N{head}", chain))
    net = Net(tuple(walks))
    if any(part.kind != "R" for part in net.parts):
        return net
    first = walks[0]
    driven = replace(first, parts=(*first.parts, make.battery(real=False)))
    return Net((driven, *walks[1:]))


# The same network in other words


def each_part(net: Net, change: Callable[[Part], Part]) -> Net:
    """Return the network with every part changed."""
    return Net(tuple(replace(w, parts=tuple(change(p) for p in w.parts)) for w in net.walks))


def reversed_walks(net: Net, chosen: set[str]) -> Net:
    """Return the network with some walks read from the other end; their currents change sign."""
    return Net(tuple(_reversed(w) if w.name in chosen else w for w in net.walks))


def _reversed(walk: Walk) -> Walk:
    parts = tuple(
        part if part.kind == "R" else replace(part, along=not part.along)
        for part in reversed(walk.parts)
    )
    return Walk(walk.name, walk.head, walk.tail, parts)


def renamed(
    net: Net, points: Mapping[str, str], parts: Mapping[str, str], walks: Mapping[str, str]
) -> Net:
    """Return the network with other names."""

    def part(own: Part) -> Part:
        inside = None if own.inside is None else parts[own.inside]
        return replace(own, name=parts[own.name], inside=inside)

    return Net(
        tuple(
            Walk(walks[w.name], points[w.tail], points[w.head], tuple(part(p) for p in w.parts))
            for w in net.walks
        )
    )


def shuffled_names(net: Net, rng: random.Random) -> tuple[Net, dict[str, str]]:
    """Return the network with the names of a kind dealt out anew, and old walk → new walk."""

    def dealt(names: list[str]) -> dict[str, str]:
        others = list(names)
        rng.shuffle(others)
        return dict(zip(names, others, strict=True))

    parts: dict[str, str] = {}
    for kind in "REJ":
        parts |= dealt([p.name for p in net.parts if p.kind == kind])
    parts |= dealt([p.inside for p in net.parts if p.inside is not None])
    walks = dealt([w.name for w in net.walks])
    return renamed(net, dealt(net.points), parts, walks), walks


def scaled(net: Net, *, ohms: Fraction = Fraction(1), drive: Fraction = Fraction(1)) -> Net:
    """Return the network with all resistances and all batteries and sources multiplied."""

    def part(own: Part) -> Part:
        if own.kind == "R":
            return replace(own, value=own.value * ohms)
        factor = drive if own.kind == "E" else drive / ohms
        return replace(own, value=own.value * factor, inner=own.inner * ohms)

    return each_part(net, part)


def alone(net: Net, name: str) -> Net:
    """Return the network with one battery or source alone: other emfs 0 V, other currents 0 A."""

    def part(own: Part) -> Part:
        off = own.kind != "R" and own.name != name
        return replace(own, value=Fraction(0)) if off else own

    return each_part(net, part)


def other_values(net: Net, rng: random.Random) -> Net:
    """Return the same graph with other values of the same kinds."""
    choices = {"R": _RESISTANCES, "E": _EMFS, "J": _CURRENTS}

    def part(own: Part) -> Part:
        inner = rng.choice(_RESISTANCES) / 7 if own.inside is not None else own.inner
        return replace(own, value=rng.choice(choices[own.kind]), inner=inner)

    return each_part(net, part)
