"""Random planar circuits by family; invented data, the same for the same family and seed.

Whether a graph is planar is decided by networkx (`check_planarity`, the left-right test).
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

import networkx as nx

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import Product, Sum, constant, number
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie, Valuation
from tests.drawing.circuits import circuit

Edge = tuple[object, object]

_LETTERS = "ABCDGHKMNPQSTUVWYZ"
_MOST_BRANCHES, _MOST_ENDS = 15, 6
_OHMS = ("4", "47", "330", "2.2", "0.47", "1200", "4700", "10.25", "68000", "1/3", "25/7", "1.234")
_VOLTS = ("9", "1.5", "12", "4.5", "230", "0.75", "24/7", "1.55", "13.8", "2500")


def planar(circuit: Circuit) -> bool:
    """Decide by networkx; each branch is cut by two vertices, so that no two edges are parallel."""
    graph = nx.Graph()
    for k, branch in enumerate(circuit.branches):
        nx.add_path(graph, [branch.tail, (k, 0), (k, 1), branch.head])
    return bool(nx.check_planarity(graph)[0])


def random_planar(family: str, seed: int) -> Circuit:
    """Return a planar circuit of up to 15 branches, with up to 6 branch ends at a point."""
    rng = random.Random(f"{family} {seed}")
    while True:
        edges = _contracted(FAMILIES[family](rng))
        if family != "loop" and rng.random() < 0.15:
            hinge = rng.choice(edges)[0]
            edges.append((hinge, hinge))
        ends = Counter(end for edge in edges for end in edge)
        if edges and max(ends.values()) <= _MOST_ENDS and len(edges) <= _MOST_BRANCHES:
            made = _with_looks(rng, _dressed(rng, edges))
            assert planar(made)
            return made


def _contracted(edges: Sequence[Edge]) -> list[tuple[str, str]]:
    """Remove places where two edges meet, as no branch ends there; give the others letters."""
    left = list(edges)
    while True:
        ends = Counter(end for edge in left for end in edge)
        loops = {a for a, b in left if a == b}
        between = next((v for v in ends if ends[v] == 2 and v not in loops), None)
        if between is None:
            break
        met = [edge for edge in left if between in edge]
        left = [edge for edge in left if between not in edge]
        left.append(tuple(b if a == between else a for a, b in met))  # type: ignore[arg-type]
    letters: dict[object, str] = {}
    for end in (end for edge in left for end in edge):
        letters.setdefault(end, _LETTERS[len(letters)])
    return [(letters[a], letters[b]) for a, b in left]


def _dressed(rng: random.Random, edges: Sequence[tuple[str, str]]) -> Circuit:
    """Put parts on the edges; a few are left bare, but never a whole loop of them."""
    walks, made = [], Counter[str]()
    bare = nx.Graph([(a, a) for edge in edges for a in edge])
    for edge in edges:
        a, b = edge if rng.random() < 0.5 else edge[::-1]
        if rng.random() < 0.06 and not nx.has_path(bare, a, b):
            bare.add_edge(a, b)
            parts = []
        else:
            parts = _parts(rng, made)
        walks.append(" ".join((a, *parts, b)))
    return circuit(*walks)


def _parts(rng: random.Random, made: Counter[str]) -> list[str]:
    def name(letter: str) -> str:
        made[letter] += 1
        return f"{letter}{made[letter]}"

    parts: list[str] = []
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3))):
        if parts and rng.random() < 0.15:
            parts.append(name("X"))
        kind = rng.random()
        if kind < 0.3:
            inside = f" {name('r')}" if rng.random() < 0.25 else ""
            signs = rng.choice(("-+", "+-"))
            parts.append(f"({signs[0]}{name('E')}{inside}{signs[1]})")
        elif kind < 0.36:
            parts.append(f"(lamp {name('L')})")
        else:
            parts.append(f"({name('R')})")
    return parts


def _with_looks(rng: random.Random, bare: Circuit) -> Circuit:
    """Give values of many lengths, a few of them tied to others, and sometimes an earth."""
    values: list[Valuation] = []
    resistances = []
    for element in bare.elements:
        if isinstance(element, Battery):
            emf = Given(Fraction(rng.choice(_VOLTS)), VOLT)
            values.append(Valuation(element.emf, emf))
        if element.resistance is not None and rng.random() < 0.95:
            value: Given | Tie = Given(Fraction(rng.choice(_OHMS)), OHM)
            if isinstance(element, Resistor) and resistances and rng.random() < 0.06:
                other = rng.choice(resistances)
                twice = Product((number(2), other))
                value = Tie(rng.choice((twice, Sum((other, constant(Fraction(5), OHM))))))
            values.append(Valuation(element.resistance, value))
            resistances.append(element.resistance)
    points = [p for b in bare.branches for station in b.stations for p in station]
    ground = rng.choice(points) if rng.random() < 0.2 else None
    return replace(bare, values=tuple(values), ground=ground)


def _ladder(rng: random.Random) -> list[Edge]:
    rungs = rng.randint(3, 7)
    return [(k, "g") for k in range(rungs)] + [(k, k + 1) for k in range(rungs - 1)]


def _bridge(rng: random.Random) -> list[Edge]:
    """Return the bridge, its cross-piece anywhere in the list."""
    edges: list[Edge] = [(0, 1), (1, 2), (1, 3), (2, 0), (3, 0), (2, 3)]
    rng.shuffle(edges)
    return edges


def _wheel(rng: random.Random) -> list[Edge]:
    rim = rng.randint(4, 6)
    return [("m", k) for k in range(rim)] + [(k, (k + 1) % rim) for k in range(rim)]


def _grid(rng: random.Random) -> list[Edge]:
    return list(nx.grid_2d_graph(*rng.choice([(3, 2), (3, 3), (4, 2)])).edges)


def _series_parallel(rng: random.Random) -> list[Edge]:
    edges: list[Edge] = [(0, 1)]
    for new in range(2, rng.randint(6, 16)):
        k = rng.randrange(len(edges))
        a, b = edges[k]
        edges[k : k + 1] = [(a, b), (a, b)] if rng.random() < 0.5 else [(a, new), (new, b)]
    # A source closes it, so that no end is left open.
    return [*edges, (0, 1)]


def _any(rng: random.Random) -> list[Edge]:
    """Grow from three parallel edges: split an edge and join it elsewhere, or add an edge."""
    edges: list[Edge] = [(0, 1)] * 3
    points, wanted = 2, rng.randint(6, _MOST_BRANCHES)
    for _ in range(200):
        if len(edges) >= wanted:
            break
        if rng.random() < 0.3:
            k = rng.randrange(len(edges))
            a, b = edges[k]
            tried = [*edges[:k], *edges[k + 1 :], (a, points), (points, b)]
            tried.append((points, rng.randrange(points)))
        else:
            a, b = rng.sample(range(points), 2)
            tried = [*edges, (a, b)]
        ends = Counter(end for edge in tried for end in edge)
        if max(ends.values()) <= _MOST_ENDS and nx.check_planarity(nx.Graph(tried))[0]:
            edges, points = tried, len(ends)
    return edges


FAMILIES: dict[str, Callable[[random.Random], Sequence[Edge]]] = {
    "loop": lambda _: [(0, 0)],
    "windows": lambda rng: [(0, 1)] * rng.randint(3, 6),
    "ladder": _ladder,
    "series-parallel": _series_parallel,
    "bridge": _bridge,
    "wheel": _wheel,
    "grid": _grid,
    "random": _any,
}
