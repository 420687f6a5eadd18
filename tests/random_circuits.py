"""Random circuits for tests, and their currents by numpy's modified nodal analysis.

`nodal_currents` shares nothing with the package but the circuit model: it is the independent
answer (modified nodal analysis: Ho, Ruehli & Brennan, IEEE Trans. CAS 22, 1975; from memory).
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np
import sympy

from derive.algebra.dimension import OHM
from derive.algebra.interchange import to_sympy
from derive.algebra.term import Negative, Number, Product, Symbol, Term, current, number
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Node, Passage, WalkCurrent
from derive.circuit.question import AskCurrents, AskReducible
from derive.circuit.valuation import Given, Tie, Valuation

_RESISTANCES = [Fraction(n) for n in (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 47, 100)] + [
    Fraction(1, 2), Fraction(3, 2), Fraction(5, 2), Fraction(33, 10),
]  # fmt: skip
_EMFS = [Fraction(n) for n in (1, 2, 3, 4, 5, 6, 9, 10, 12, 15, 24, 230)] + [Fraction(3, 2)]


@dataclass
class _Draft:
    """A multigraph on the way: edges as pairs of node numbers."""

    rng: random.Random
    edges: list[tuple[int, int]] = field(default_factory=list)
    nodes: int = 1

    def new_node(self) -> int:
        self.nodes += 1
        return self.nodes - 1

    def split(self) -> int:
        """Put a new node on some edge."""
        position = self.rng.randrange(len(self.edges))
        a, b = self.edges[position]
        middle = self.new_node()
        self.edges[position : position + 1] = [(a, middle), (middle, b)]
        return middle

    def foot(self) -> int:
        return self.split() if self.rng.random() < 0.5 else self.rng.randrange(self.nodes)


def _graph(rng: random.Random, loops: int) -> _Draft:
    """Return a connected multigraph with that many independent loops, no node of degree 2."""
    if loops == 1:
        return _Draft(rng, [(0, 0)], 1)
    draft = _Draft(rng, [(0, 1), (0, 1), (0, 1)], 2)
    for _ in range(loops - 2):
        chance = rng.random()
        if chance < 0.03:  # hung on by a bridge
            near = draft.foot()
            far = draft.new_node()
            draft.edges += [(near, far), (far, far)]
        elif chance < 0.06:  # a loop hung on one point
            here = rng.randrange(draft.nodes)
            draft.edges.append((here, here))
        else:
            a, b = draft.foot(), draft.foot()
            draft.edges.append((a, b))
    if rng.random() < 0.03:  # an open terminal
        draft.edges.append((draft.foot(), draft.new_node()))
    return draft


class _Forest:
    """Union-find over the nodes joined by branches without resistance."""

    def __init__(self, size: int) -> None:
        self.parent = list(range(size))

    def find(self, node: int) -> int:
        while self.parent[node] != node:
            node = self.parent[node]
        return node

    def join(self, a: int, b: int) -> bool:
        a, b = self.find(a), self.find(b)
        self.parent[a] = b
        return a != b


class _Parts:
    """Makes elements with fresh names and remembers their values."""

    def __init__(self, rng: random.Random, letters: bool) -> None:
        self.rng = rng
        self.letters = letters
        self.resistors = self.batteries = self.internals = 0
        self.values: list[Valuation] = []
        self.known: list[Symbol] = []

    def _value(self, symbol: Symbol, choices: list[Fraction], tied: bool) -> None:
        if tied and self.known and self.rng.random() < 0.08:
            term: Term = Product((number(self.rng.randint(2, 4)), self.rng.choice(self.known)))
            self.values.append(Valuation(symbol, Tie(term)))
        elif not self.letters:
            given = Given(self.rng.choice(choices), symbol.dimension)
            self.values.append(Valuation(symbol, given))
            if symbol.dimension == OHM:
                self.known.append(symbol)
        elif symbol.dimension == OHM:
            self.known.append(symbol)

    def resistor(self) -> Passage:
        self.resistors += 1
        part = Resistor(f"R{self.resistors}", lamp=self.rng.random() < 0.1)
        self._value(part.resistance, _RESISTANCES, tied=True)
        return Passage(part)

    def battery(self, internal: bool) -> Passage:
        self.batteries += 1
        name = None
        if internal:
            self.internals += 1
            name = f"r{self.internals}"
        part = Battery(f"E{self.batteries}", name)
        self._value(part.emf, _EMFS, tied=False)
        if part.resistance is not None:
            self._value(part.resistance, _RESISTANCES, tied=False)
        return Passage(part, self.rng.random() < 0.5)

    def chain(self, may_be_ideal: bool) -> tuple[Passage, ...]:
        rng = self.rng
        if may_be_ideal and rng.random() < 0.15:
            return () if rng.random() < 0.2 else (self.battery(internal=False),)
        resistors = rng.choice((0, 1, 1, 1, 1, 2, 2, 3))
        batteries = rng.choice((0, 0, 1, 1, 1, 2))
        if not resistors:
            batteries = max(batteries, 1)
        passages = [self.resistor() for _ in range(resistors)]
        passages += [
            self.battery(internal=(not resistors and k == 0) or rng.random() < 0.3)
            for k in range(batteries)
        ]
        rng.shuffle(passages)
        return tuple(passages)


def random_circuit(
    rng: random.Random, *, loops: tuple[int, int] = (2, 8), letters: bool = False
) -> Circuit:
    """Return a circuit with one solution: parallel and ideal branches, bridges, ties, any arrows.

    With `letters` no quantity has a number. The same state of `rng` gives the same circuit.
    """
    draft = _graph(rng, rng.randint(*loops))
    rng.shuffle(draft.edges)
    names = [chr(ord("A") + k) if k < 26 else f"A{k}" for k in range(draft.nodes)]
    parts = _Parts(rng, letters)
    forest = _Forest(draft.nodes)
    chains: list[tuple[Passage, ...]] = []
    for a, b in draft.edges:
        chain = parts.chain(may_be_ideal=forest.find(a) != forest.find(b))
        if not any(passage.element.resistance for passage in chain):
            forest.join(a, b)
        chains.append(chain)
    if not parts.batteries:
        chains[0] = (*chains[0], parts.battery(internal=False))
    branches: list[Branch] = []
    walks: list[WalkCurrent] = []
    for (a, b), chain in zip(draft.edges, chains, strict=True):
        tail, head = (a, b) if rng.random() < 0.5 else (b, a)
        stations = [(names[tail],), *(() for _ in chain[1:]), (names[head],)]
        if not chain:
            stations = [(names[tail], names[head])]
        index = len(branches)
        own = current(f"I{len(walks) + 1}")
        walks.append(WalkCurrent(own, index, along=True))
        if len(chain) > 1 and rng.random() < 0.06:  # two walks in one branch
            stations[rng.randrange(1, len(chain))] = (f"M{index}",)
            second = current(f"I{len(walks) + 1}")
            walks.append(WalkCurrent(second, index, along=rng.random() < 0.5))
        branches.append(Branch(own, names[tail], names[head], chain, tuple(stations)))
    degrees = [sum((a == k) + (b == k) for a, b in draft.edges) for k in range(draft.nodes)]
    met = list(dict.fromkeys(name for b in branches for name in (b.tail, b.head)))
    nodes = tuple(Node(name, (name,), degrees[names.index(name)]) for name in met)
    return Circuit(
        title="Random circuit",
        statement="",
        nodes=nodes,
        branches=tuple(branches),
        walks=tuple(walks),
        values=tuple(parts.values),
        questions=(AskReducible(), AskCurrents()),
    )


def numeric_value(circuit: Circuit, symbol: Symbol) -> float:
    """Return the number a quantity stands for, ties followed."""
    known = circuit.valuation(symbol)
    if isinstance(known, Given):
        return float(known.value)
    assert isinstance(known, Tie), f"{symbol.name} is a letter"
    return _number(circuit, known.term)


def _number(circuit: Circuit, term: Term) -> float:
    if isinstance(term, Symbol):
        return numeric_value(circuit, term)
    if isinstance(term, Product):
        return float(np.prod([_number(circuit, factor) for factor in term.factors]))
    if isinstance(term, Negative):
        return -_number(circuit, term.term)
    assert isinstance(term, Number), term
    return float(term.value)


def nodal_currents(circuit: Circuit) -> list[float]:
    """Return every branch current by modified nodal analysis in floating point.

    Unknowns are the node potentials (the first node grounded) and all branch currents; the
    equations are current balance at the nodes, and V_tail − V_head + emf = R·I for each branch.
    """
    place = {node.name: k for k, node in enumerate(circuit.nodes)}
    n, b = len(place), len(circuit.branches)
    matrix = np.zeros((n + b, n + b))
    right = np.zeros(n + b)
    for k, branch in enumerate(circuit.branches):
        tail, head = place[branch.tail], place[branch.head]
        matrix[tail, n + k] -= 1
        matrix[head, n + k] += 1
        matrix[n + k, tail] += 1
        matrix[n + k, head] -= 1
        matrix[n + k, n + k] = -sum(numeric_value(circuit, r) for r in branch.resistances)
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                rise = numeric_value(circuit, passage.element.emf)
                right[n + k] -= rise if passage.along else -rise
    matrix[0, :] = 0  # one balance follows from the others; its place grounds the first node
    matrix[0, 0] = 1
    right[0] = 0
    return [float(x) for x in np.linalg.solve(matrix, right)[n:]]


def in_letters(circuit: Circuit) -> Circuit:
    """Return the circuit with its given values taken away; ties stay."""
    kept = tuple(v for v in circuit.values if isinstance(v.value, Tie))
    return replace(circuit, values=kept)


def sympy_currents(circuit: Circuit) -> dict[str, sympy.Expr]:
    """Return every branch current in letters by sympy's `linsolve`, from nodal equations."""
    potentials = {node.name: sympy.Symbol(f"phi_{k}") for k, node in enumerate(circuit.nodes)}
    flows = [sympy.Symbol(f"i_{k}") for k in range(len(circuit.branches))]
    ground = next(iter(potentials.values()))
    balance = dict.fromkeys(potentials, sympy.Integer(0))
    equations = [ground]
    for flow, branch in zip(flows, circuit.branches, strict=True):
        balance[branch.tail] -= flow
        balance[branch.head] += flow
        rise = sympy.Integer(0)
        for passage in branch.passages:
            if isinstance(passage.element, Battery):
                emf = _letter(circuit, passage.element.emf)
                rise += emf if passage.along else -emf
        size = sympy.Add(*(_letter(circuit, r) for r in branch.resistances))
        equations.append(potentials[branch.tail] + rise - size * flow - potentials[branch.head])
    unknowns = [*potentials.values(), *flows]
    (solution,) = sympy.linsolve([*equations, *list(balance.values())[1:]], unknowns)
    found = solution[len(potentials) :]
    return {b.current.name: value for b, value in zip(circuit.branches, found, strict=True)}


def _letter(circuit: Circuit, symbol: Symbol) -> sympy.Expr:
    known = circuit.valuation(symbol)
    if isinstance(known, Tie):
        assert isinstance(known.term, Product)
        factor, letter = known.term.factors
        assert isinstance(factor, Number)
        assert isinstance(letter, Symbol)
        return sympy.Rational(factor.value) * _letter(circuit, letter)
    return to_sympy(symbol)


__all__ = ["in_letters", "nodal_currents", "numeric_value", "random_circuit", "sympy_currents"]
