"""Random circuits of all kinds of parts, with their currents by modified nodal analysis.

The analysis is ours and in floating point (C.-W. Ho, A. E. Ruehli and P. A. Brennan, "The modified
nodal approach to network analysis", IEEE Trans. Circuits Syst. 22, 1975, from memory). It shares
nothing with the package: it works on the list of parts from which the text is written.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np


@dataclass(frozen=True)
class Part:
    """A part from point to point, in the order of its walk."""

    kind: str
    name: str
    tail: str
    head: str
    value: Fraction | None = None
    along: bool = True
    """A battery: minus first. A source: arrow along."""
    control: tuple[str, ...] = ()
    """Of a dependent source: the walk or the two points on which it depends; `value` times that."""

    @property
    def is_gap(self) -> bool:
        return self.kind in ("open", "capacitor") or (self.kind == "voltmeter" and not self.value)

    @property
    def text(self) -> str:
        match self.kind:
            case "battery":
                return f"(-{self.name}+)" if self.along else f"(+{self.name}-)"
            case "source":
                return f"({self.name} ->)" if self.along else f"(<- {self.name})"
            case "resistor":
                return f"({self.name})"
            case word:
                return f"({word} {self.name})"

    @property
    def unit(self) -> str:
        return {"battery": "V", "source": "A", "capacitor": "F"}.get(self.kind, "ohm")


@dataclass
class Scene:
    """Walks of parts."""

    walks: dict[str, list[Part]] = field(default_factory=dict)

    @property
    def parts(self) -> list[Part]:
        return [part for walk in self.walks.values() for part in walk]

    @property
    def text(self) -> str:
        lines = []
        for name, walk in self.walks.items():
            stops = [walk[0].tail]
            for part in walk:
                stops += [part.text, part.head]
            lines.append(f"{name}: {' '.join(stops)}")
        for part in self.parts:
            if part.control:
                lines.append(f"{part.name} = {_dependence(part)}")
            elif part.value is not None:
                lines.append(f"{part.name} = {part.value} {part.unit}")
        return "\n".join(lines) + "\n"


def _dependence(part: Part) -> str:
    what = part.control[0] if len(part.control) == 1 else f"V({','.join(part.control)})"
    units = {("battery", 1): " ohm", ("battery", 2): "", ("source", 1): "", ("source", 2): " S"}
    return f"{part.value}{units[part.kind, len(part.control)]} * {what}"


def with_dependent_sources(made: Scene, rng: random.Random) -> Scene:
    """Let one or two sources depend on a current or a voltage."""
    points = sorted({p for part in made.parts for p in (part.tail, part.head)})
    bearing = [n for n, w in made.walks.items() if any(p.kind == "resistor" for p in w)
               and not any(p.is_gap for p in w)]  # fmt: skip
    sources = [p for p in made.parts if p.kind in ("battery", "source")]
    for part in rng.sample(sources, min(len(sources), rng.randint(1, 2))):
        control = (rng.choice(bearing),) if rng.random() < 0.5 else tuple(rng.sample(points, 2))
        gain = Fraction(rng.choice([1, 2, 3, -1, -2]), rng.choice([1, 2, 10]))
        for walk in made.walks.values():
            walk[:] = [replace(p, value=gain, control=control) if p is part else p for p in walk]
    return made


def scene(rng: random.Random) -> Scene:
    """Return a circuit with a resistance in every loop, and parts of all kinds."""
    junctions = [f"N{k}" for k in range(rng.randint(2, 4))]
    made = Scene()
    counts: dict[str, int] = {}

    def new(letter: str) -> str:
        counts[letter] = counts.get(letter, 0) + 1
        return f"{letter}{counts[letter]}"

    def walk(tail: str, head: str, kinds: list[str]) -> None:
        points = [tail, *(new("P") for _ in kinds[1:]), head]
        parts = []
        for kind, one, other in zip(kinds, points, points[1:], strict=False):
            parts.append(_part(kind, one, other, new, rng))
        made.walks[new("I")] = parts

    ends = list(pairwise(junctions))
    ends.append((junctions[-1], junctions[0]))
    ends += [tuple(rng.sample(junctions, 2)) for _ in range(rng.randint(1, 3))]
    for tail, head in ends:
        kinds = ["resistor"]
        kinds += rng.choices(
            ["battery", "resistor", "ammeter", "closed", "lamp", "real voltmeter"],
            weights=[5, 2, 2, 2, 1, 1], k=rng.randint(0, 2),
        )  # fmt: skip
        rng.shuffle(kinds)
        walk(tail, head, kinds)
    for _ in range(rng.choice([0, 0, 1, 1, 2])):
        kinds = ["source", *rng.choices(["resistor", "battery"], k=rng.randint(0, 1))]
        rng.shuffle(kinds)
        walk(*rng.sample(junctions, 2), kinds)
    for _ in range(rng.choice([0, 0, 1, 1, 2, 3])):
        points = sorted({p for part in made.parts for p in (part.tail, part.head)})
        kinds = [rng.choice(["open", "capacitor", "voltmeter"])]
        kinds += rng.choices(["resistor", "battery", "closed"], k=rng.randint(0, 2))
        rng.shuffle(kinds)
        walk(*rng.sample(points, 2), kinds)
    return made


def _part(kind: str, tail: str, head: str, new, rng: random.Random) -> Part:
    size = Fraction(rng.randint(1, 40), rng.choice([1, 1, 2, 5]))
    match kind:
        case "battery":
            return Part(kind, new("E"), tail, head, size, rng.random() < 0.6)
        case "source":
            return Part(kind, new("J"), tail, head, size / 4, rng.random() < 0.6)
        case "resistor":
            return Part(kind, new("R"), tail, head, size)
        case "lamp":
            return Part(kind, new("L"), tail, head, size)
        case "capacitor":
            return Part(kind, new("C"), tail, head, size)
        case "ammeter":
            real = rng.random() < 0.3
            return Part(kind, new("M"), tail, head, size / 10 if real else None)
        case "real voltmeter":
            return Part("voltmeter", new("M"), tail, head, size * 100)
        case "voltmeter":
            return Part(kind, new("M"), tail, head)
        case _:
            return Part(kind, new("S"), tail, head)


@dataclass(frozen=True)
class Answer:
    """Potentials of the points and currents of the walks."""

    potentials: dict[str, float]
    currents: dict[str, float]

    def voltage(self, part: Part) -> float:
        """How much higher the potential is where a walk comes to a part."""
        return self.potentials[part.tail] - self.potentials[part.head]


def _controlled(made: Scene, part: Part, place: dict[str, int]) -> dict[int, float]:
    """Return what the value of a dependent source takes of each potential."""
    assert part.value is not None
    gain = float(part.value)
    if len(part.control) == 2:
        to, origin = part.control
        found = {place[to]: gain}
        found[place[origin]] = found.get(place[origin], 0.0) - gain
        return found
    (name,) = part.control
    resistor = next(p for p in made.walks[name] if p.kind == "resistor")
    assert resistor.value is not None
    share = gain / float(resistor.value)
    return {place[resistor.tail]: share, place[resistor.head]: -share}


def values(made: Scene, answer: Answer) -> dict[str, float]:
    """Return the emfs and source currents."""
    found = {}
    for part in made.parts:
        if part.kind not in ("battery", "source"):
            continue
        assert part.value is not None
        size = float(part.value)
        if len(part.control) == 1:
            size *= answer.currents[part.control[0]]
        elif part.control:
            to, origin = part.control
            size *= answer.potentials[to] - answer.potentials[origin]
        found[part.name] = size
    return found


def solve(made: Scene) -> Answer:
    """Return potentials and currents by modified nodal analysis, the first point being zero."""
    points = list(dict.fromkeys(p for part in made.parts for p in (part.tail, part.head)))
    place = {point: k for k, point in enumerate(points)}
    wires = [p for p in made.parts if p.kind in ("battery", "closed")
             or (p.kind == "ammeter" and p.value is None)]  # fmt: skip
    size = len(points) + len(wires)
    matrix = np.zeros((size, size))
    right = np.zeros(size)
    for part in made.parts:
        a, b = place[part.tail], place[part.head]
        if part.kind == "source" and part.control:
            sign = 1 if part.along else -1
            for column, share in _controlled(made, part, place).items():
                matrix[a, column] += sign * share
                matrix[b, column] -= sign * share
        elif part.kind == "source":
            assert part.value is not None
            flow = float(part.value) * (1 if part.along else -1)
            right[a] -= flow
            right[b] += flow
        elif part in wires:
            row = len(points) + wires.index(part)
            matrix[a, row] += 1
            matrix[b, row] -= 1
            matrix[row, b] += 1
            matrix[row, a] -= 1
            if part.control:
                sign = 1 if part.along else -1
                for column, share in _controlled(made, part, place).items():
                    matrix[row, column] -= sign * share
                continue
            emf = float(part.value or 0) if part.kind == "battery" else 0.0
            right[row] = emf if part.along else -emf
        elif not part.is_gap:
            assert part.value is not None
            share = 1 / float(part.value)
            for one, other in ((a, b), (b, a)):
                matrix[one, one] += share
                matrix[one, other] -= share
    matrix[0, :] = 0
    matrix[0, 0] = 1
    right[0] = 0
    found = np.linalg.solve(matrix, right)
    potentials = {point: found[k] for point, k in place.items()}
    currents = {}
    for name, walk in made.walks.items():
        first = next((p for p in walk if p.is_gap), walk[0])
        if first.is_gap:
            currents[name] = 0.0
        elif first.kind == "source":
            assert first.value is not None
            if first.control:
                shares = _controlled(made, first, place).items()
                flow = sum(found[column] * share for column, share in shares)
                currents[name] = flow * (1 if first.along else -1)
                continue
            currents[name] = float(first.value) * (1 if first.along else -1)
        elif first in wires:
            currents[name] = found[len(points) + wires.index(first)]
        else:
            assert first.value is not None
            drop = potentials[first.tail] - potentials[first.head]
            currents[name] = drop / float(first.value)
    return Answer(potentials, currents)
