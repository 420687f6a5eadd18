"""The resistance between two points, against published values, networkx and exact determinants."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import prod
from pathlib import Path

import networkx as nx
import pytest

from derive.algebra.polynomial import Ring
from derive.algebra.term import Number, Parallel, Product, Quantity, Quotient, Sum, Term, symbols
from derive.algebra.term import replace as put_in
from derive.analysis.answers import derive
from derive.analysis.reduction import Criterion, judge
from derive.checker.kernel import check
from derive.circuit.elements import Battery
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskReducible, AskResistance
from derive.circuit.solvability import solvability
from derive.circuit.values import Values, letters_without_value
from derive.derivation.algebra import Define, PutInValues
from derive.derivation.exchanges import Exchange, LeftBetween, Replace
from derive.derivation.step import Conclude, Derivation
from derive.pipeline import solve
from derive.proving import prove
from derive.source import Source
from tests.answering import answered
from tests.drawing.random_planar import random_planar
from tests.random_circuits import random_circuit

DATA = Path(__file__).parents[1] / "reference" / "resistances.json"
CASES = json.loads(DATA.read_text("utf-8"))["cases"]
Arm = tuple[object, object, Fraction]


def answer(text: str) -> tuple[str | None, str | None]:
    """Return the formula and the exact value of the only answer."""
    (found,) = answered(text).answers
    return found.result.formula, None if found.result.exact is None else str(found.result.exact)


def value(formula: str, letters: dict[str, Fraction]) -> Fraction:
    return Fraction(eval(formula, {"__builtins__": {}}, letters))


# --- published ------------------------------------------------------------------------------------


def text_of(case: dict[str, object], pair: tuple[str, str]) -> str:
    lines = []
    for element in case["elements"]:  # type: ignore[attr-defined]
        lines.append(f": p{element['from']} ({element['name']}) p{element['to']}")
        if element["value"][0].isdigit():
            lines.append(f"{element['name']} = {element['value']} ohm")
    return "\n".join([*lines, f"ask resistance p{pair[0]} p{pair[1]}"])


PUBLISHED = [(case, found) for case in CASES for found in case["answers"]]


@pytest.mark.parametrize(("case", "found"), PUBLISHED, ids=lambda x: x.get("id", x.get("q")))
def test_published(case: dict[str, object], found: dict[str, str]) -> None:
    """The sources stand beside the cases in `tests/reference/resistances.json`."""
    one, other = found["q"].removeprefix("Req(").removesuffix(")").split(",")
    formula, exact = answer(text_of(case, (one, other)))
    if exact is not None:
        assert Fraction(exact) == Fraction(found["printed"])
        return
    rng = random.Random(found["q"])
    for _ in range(5):
        letters = {
            name: Fraction(rng.randint(1, 40), rng.randint(1, 9)) for name in ("r1", "r2", *"PQRSG")
        }
        known = {e["name"]: letters[e["value"]] for e in case["elements"]}  # type: ignore[attr-defined]
        assert formula is not None
        assert value(formula, known) == value(found["printed"], letters)


# --- random ---------------------------------------------------------------------------------------


def arms(circuit: Circuit) -> tuple[list[Arm], dict[object, object]]:
    """Return the resistances as edges, and for each place the one it is joined to by wire."""
    parent: dict[object, object] = {}

    def find(at: object) -> object:
        while parent.setdefault(at, at) != at:
            at = parent[at]
        return at

    values, found = Values(circuit), []
    for k, branch in enumerate(circuit.branches):
        places = [branch.tail, *((k, n) for n in range(1, len(branch.passages))), branch.head]
        if not branch.passages:
            parent[find(branch.tail)] = find(branch.head)
        for n, passage in enumerate(branch.passages):
            symbol = passage.element.resistance
            size = Fraction(0) if symbol is None else values.number(symbol)
            if size == 0:
                parent[find(places[n])] = find(places[n + 1])
            else:
                found.append((places[n], places[n + 1], size))
    every = {at for one, other, _ in found for at in (one, other)} | {n.name for n in circuit.nodes}
    root = {at: find(at) for at in every}
    return [(root[a], root[b], size) for a, b, size in found], root


def determinant(rows: Sequence[Sequence[Fraction]]) -> Fraction:
    matrix = [list(row) for row in rows]
    result = Fraction(1)
    for k in range(len(matrix)):
        pivot = next((r for r in range(k, len(matrix)) if matrix[r][k]), None)
        if pivot is None:
            return Fraction(0)
        if pivot != k:
            matrix[k], matrix[pivot], result = matrix[pivot], matrix[k], -result
        result *= matrix[k][k]
        for row in matrix[k + 1 :]:
            share = row[k] / matrix[k][k]
            row[k:] = [x - share * y for x, y in zip(row[k:], matrix[k][k:], strict=True)]
    return result


def by_trees(edges: Iterable[Arm], one: object, other: object) -> Fraction:
    """Return the quotient of determinants (matrix-tree theorem, G. Kirchhoff 1847)."""
    graph = nx.Graph([(a, b) for a, b, _ in edges])
    graph.add_nodes_from((one, other))
    places = sorted(nx.node_connected_component(graph, one), key=str)
    assert other in places

    def laplacian(without: set[object]) -> Fraction:
        kept = [p for p in places if p not in without]
        rows = [[Fraction(0)] * len(kept) for _ in kept]
        for a, b, size in edges:
            for at in (a, b):
                if at in kept and a != b:
                    rows[kept.index(at)][kept.index(at)] += 1 / size
            if a in kept and b in kept and a != b:
                rows[kept.index(a)][kept.index(b)] -= 1 / size
                rows[kept.index(b)][kept.index(a)] -= 1 / size
        return determinant(rows)

    return laplacian({one, other}) / laplacian({one})


def by_networkx(edges: Iterable[Arm], one: object, other: object) -> float:
    """Return networkx's `resistance_distance`, with the weights as conductances."""
    graph = nx.Graph()
    for a, b, size in edges:
        if a != b:
            rest = graph[a][b]["conductance"] if graph.has_edge(a, b) else 0.0
            graph.add_edge(a, b, conductance=rest + float(1 / size))
    part = graph.subgraph(nx.node_connected_component(graph, one))
    return float(nx.resistance_distance(part, one, other, "conductance", False))


def derived(circuit: Circuit) -> tuple[Derivation, Fraction]:
    derivation = derive(circuit)
    verdict = check(circuit, derivation)
    assert verdict.accepted, verdict
    (end,) = (s for s in derivation.steps if isinstance(s, Conclude))
    assert end.value is not None
    return derivation, getattr(derivation.equation(end.value).right, "value", Fraction(0))


@pytest.mark.parametrize("seed", range(150))
def test_random(seed: int) -> None:
    rng = random.Random(f"resistance {seed}")
    circuit = random_circuit(rng, loops=(1, 7))
    names = [node.name for node in circuit.nodes]
    if len(names) < 2:
        return
    one, other = rng.sample(names, 2)
    try:
        edges, root = arms(circuit)
    except ValueError:  # some letters have no value
        assert check(circuit, derive(circuit)).accepted
        return
    _, found = derived(replace(circuit, questions=(AskResistance(one, other),)))
    if root[one] == root[other]:
        assert found == 0
        return
    assert found == by_trees(edges, root[one], root[other])
    reference = by_networkx(edges, root[one], root[other])
    assert float(found) == pytest.approx(reference, rel=1e-9)


def test_every_exchange_occurs() -> None:
    seen = set()
    for seed in range(60):
        circuit = random_circuit(random.Random(f"exchange {seed}"), loops=(4, 8))
        one, other = [node.name for node in circuit.nodes][:2]
        steps = derive(replace(circuit, questions=(AskResistance(one, other),))).steps
        seen |= {(s.exchange, len(s.taken) > 3) for s in steps if isinstance(s, Replace)}
    assert {(kind, False) for kind in _WITHOUT_BATTERIES} <= seen


_WITHOUT_BATTERIES = (
    Exchange.SERIES, Exchange.PARALLEL, Exchange.DELTA, Exchange.STAR, Exchange.IDLE,
)  # fmt: skip


# --- by hand --------------------------------------------------------------------------------------


def test_a_formula_stays_nested() -> None:
    text = "I1: A (R1) P\nI2: P (R2) B\nI3: P (R3) (R4) B\nask resistance A B\n"
    solution = solve(Source("nested", text))
    shown = [str(chain) for chain in solution.summary]
    assert "Parallel" in shown[0]
    formula, exact = answer(text)
    assert exact is None
    letters = {f"R{k}": Fraction(k) for k in (1, 2, 3, 4)}
    assert formula is not None
    assert value(formula, letters) == 1 + Fraction(14, 9)


@pytest.mark.parametrize(
    ("walks", "exact"),
    [
        # An ideal battery is a wire, one with an internal resistance is that resistance.
        ("I1: A (-E1+) B\nI2: A (R1) B", "0"),
        ("I1: A (-E1 r1+) B\nI2: A (R1) B\nr1 = 3 ohm", "3/2"),
        # Batteries may contradict each other: they are wires here.
        ("I1: A (-E1+) B\nI2: A (-E2+) B\nI3: A (R1) B\nE1 = 1 V\nE2 = 2 V", "0"),
        # Nothing has to be closed where only a resistance is asked for.
        ("I1: A (R1) P (R2) B", "6"),
        # Named wire joins; a resistance of zero is a wire; both ends at one point count nothing.
        ("I1: A B\nI2: A (R1) B\nI3: B (R2) A", "0"),
        ("I1: A (R1) P\nI2: P (R2) B\nI3: P (R3) B\nR2 = 0 ohm\nR3 = 7 ohm", "3"),
        ("I1: A (R1) B\nI2: A (R2) A\nI3: B (R3) C\nI4: C (R3') C\nI5: C (R4) B", "3"),
    ],
)  # fmt: skip
def test_by_hand(walks: str, exact: str) -> None:
    values = "".join(
        f"\n{name} = 3 ohm" for name in ("R1", "R2", "R3", "R3'", "R4")
        if f"({name})" in walks and f"{name} =" not in walks
    )  # fmt: skip
    assert answer(walks + values + "\nask resistance A B\n")[1] == exact


def test_a_long_ladder_is_a_recursion() -> None:
    rungs = 60
    walks = [f"I{2 * k}: P{k} (R{2 * k + 1}) P{k + 1}\nI{2 * k + 1}: P{k + 1} (R{2 * k + 2}) G"
             for k in range(rungs)]  # fmt: skip
    proved = prove(Source("ladder", "\n".join([*walks, "ask resistance P0 G"])))
    defined = [s for s in proved.derivation.steps if isinstance(s, Define)]
    assert len(defined) <= 2 * rungs
    assert all(sum(1 for _ in symbols(s.conclusion.right)) <= 3 for s in defined)


# --- reductions -----------------------------------------------------------------------------------


def with_one_battery(circuit: Circuit) -> Circuit:
    """Leave out every battery but the first, and the points between parts."""
    kept = next(b.name for branch in circuit.branches for b in branch.batteries)
    branches = []
    for branch in circuit.branches:
        passages = tuple(
            p for p in branch.passages
            if not isinstance(p.element, Battery) or p.element.name == kept
        )  # fmt: skip
        inner = tuple(() for _ in passages[1:])
        ends = (branch.stations[0], *inner, branch.stations[-1])
        if not passages:
            ends = ((branch.tail, branch.head),)
        branches.append(replace(branch, passages=passages, stations=ends))
    left = replace(circuit, branches=tuple(branches), values=())
    values = tuple(v for v in circuit.values if v.symbol in left.symbols)
    return replace(left, values=values, questions=(AskReducible(), AskCurrents()))


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("family", ["ladder", "series-parallel"])
def test_a_battery_sees_its_emf_over_its_current(family: str, seed: int) -> None:
    """The reduction and Kirchhoff's rules agree, by Ohm's law."""
    made = random_planar(family, seed)
    if not any(branch.batteries for branch in made.branches):
        return
    circuit = with_one_battery(made)
    if solvability(circuit) is not None or letters_without_value(circuit):
        return
    derivation = derive(circuit)
    verdict = check(circuit, derivation)
    assert verdict.accepted, verdict
    equations = [
        derivation.equation(k)
        for k, s in enumerate(derivation.steps)
        if isinstance(s, LeftBetween | PutInValues)
    ]
    seen = {e.left.name: e.right for e in equations if getattr(e.left, "name", "").startswith("R(")}
    if not seen:
        assert judge(circuit).test not in (Criterion.ONE_BRANCH, Criterion.DEAD_PARTS)
        return
    (size,) = (getattr(term, "value", Fraction(0)) for term in seen.values())
    values = Values(circuit)
    for branch in circuit.branches:
        for battery in branch.batteries:
            end = next(
                s for s in derivation.steps
                if isinstance(s, Conclude) and s.symbol == branch.current
            )  # fmt: skip
            assert end.value is not None
            flow = Ring(()).poly(derivation.equation(end.value).right).constant_value
            assert abs(flow) * size == abs(values.number(battery.emf))


@pytest.mark.parametrize(
    ("text", "left", "expected"),
    [  # with 1 for each letter that is left: 1 ∥ (1 + 36), and (1 + 5) ∥ 5
        (
            "I1: A (R1) P (L1) B\nI4: A (R4) B\nR4 = 36 ohm\nask resistance B P\n",
            {"R1", "L1"},
            Fraction(37, 38),
        ),
        (
            "I1: A (R1) B (R2) C\nI2: A (R3) C\nR2 = 5 ohm; R3 = R2\nask resistance A C\n",
            {"R1"},
            Fraction(30, 11),
        ),
    ],
)
def test_letters_that_have_no_value_stay_beside_numbers(
    text: str, left: set[str], expected: Fraction
) -> None:
    """What is known is put in, and the answer tells the rest in letters."""
    solved = prove(Source("x", text))
    (conclusion,) = (s for s in solved.derivation.steps if isinstance(s, Conclude))
    told = conclusion.formula if conclusion.value is None else conclusion.value
    assert told is not None
    right = solved.derivation.equation(told).right
    assert {s.name for s in symbols(right)} == left
    ones = {s: Number(Fraction(1)) for s in symbols(right)}
    assert _plain(put_in(right, ones)) == expected


def _plain(term: Term) -> Fraction:
    """Return the number that a term is, in ohms."""
    match term:
        case Number(value) | Quantity(value, _):
            return value
        case Sum(terms):
            return sum(map(_plain, terms), Fraction(0))
        case Product(factors):
            return prod(map(_plain, factors), start=Fraction(1))
        case Quotient(above, below):
            return _plain(above) / _plain(below)
        case Parallel(terms):
            return 1 / sum((1 / _plain(item) for item in terms), Fraction(0))
    raise TypeError(term)
