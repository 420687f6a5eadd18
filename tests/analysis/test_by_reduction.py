"""Currents by reduction, against published answers, numpy and independent tests of the graph.

The sources of published cases stand beside them in `tests/reference/published.json` and
`reductions.json`. The random circuits are compared with numpy's modified nodal analysis.

A graph is series-parallel exactly when it holds no K4 (R. J. Duffin, J. Math. Anal. Appl. 10,
1965), which is when its treewidth is at most 2 (H. L. Bodlaender, Theor. Comput. Sci. 209, 1998),
which is when taking away nodes with at most two neighbours, and joining these, empties it
(S. Arnborg & A. Proskurowski, SIAM J. Alg. Disc. Meth. 7, 1986); all from memory. Elimination of
nodes of least degree, as in networkx, is just that as long as the width is at most 2.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import isqrt
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from networkx.algorithms.approximation import treewidth_min_degree

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.polynomial import Ring
from derive.algebra.term import Symbol, Term, number, symbols
from derive.algebra.term import replace as put_in
from derive.analysis.answers import derive
from derive.analysis.by_reduction import Irreducible, methods_for
from derive.analysis.reduction import Criterion, judge
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.model import Choices, Circuit, Method
from derive.circuit.question import AskCurrents, AskReducible
from derive.circuit.solution import NoUniqueSolution
from derive.circuit.solvability import solvability
from derive.circuit.valuation import Given, Valuation
from derive.circuit.values import Values, letters_without_value
from derive.derivation.exchanges import Agree, Exchange, Replace
from derive.derivation.step import Conclude, Derivation
from derive.options import Options
from derive.pipeline import Solution, solve
from derive.source import Source
from tests.analysis.test_resistance import with_one_battery
from tests.answering import answered
from tests.random_circuits import in_letters, nodal_currents, random_circuit
from tests.reference.test_published import DATA, WRONG, agrees, evaluate, text_of
from tests.test_odd_values import odd_circuit

REDUCTION = Choices(methods=(Method.REDUCTION,))
BY_REDUCTION = "use method reduction\n"
BY_RULES = "use method branch currents\n"
BOTH = "use method reduction\nuse method branch currents\n"
REFERENCE = Path(__file__).parents[1] / "reference" / "reductions.json"
CASES = {case["id"]: case for case in json.loads(REFERENCE.read_text("utf-8"))["cases"]}


# --- published: numbers ---------------------------------------------------------------------------


def found_by(solution: Solution, case: dict[str, Any], asks: Mapping[str, str]) -> dict[str, Any]:
    """Return the exact answer to every query of a case."""
    derivation, exact = solution.derivation, {}
    for step in derivation.steps:
        if isinstance(step, Conclude) and step.value is not None:
            right = derivation.equation(step.value).right
            exact[step.symbol.name] = Ring(()).poly(right).constant_value
    found = {f"I({e['name']})": exact[f"I_{e['name']}"] for e in case["elements"]}
    for query, ask in asks.items():
        first, *others = ask.split()
        letter = "V" if first == "voltage" else "Pd" if others[0] == "of" else "P"
        found[query] = exact[f"{letter}({','.join(others if first == 'voltage' else others[1:])})"]
    return found


def bridge_with_batteries(circuit: Circuit) -> bool:
    """Tell whether some part of a circuit, wires drawn together, holds K4 and two batteries."""
    graph, batteries = graph_of(circuit)
    for part in nx.biconnected_components(nx.Graph(graph)):
        driven = [k for a, b, k in graph.edges(keys=True) if k in batteries and {a, b} <= part]
        if len(driven) > 1 and not empties(nx.Graph(graph.subgraph(part))):
            return True
    return False


IRREDUCIBLE = {"K20"}
"""Two batteries in a bridge: the published case that no exchange leads on."""


@pytest.mark.parametrize("methods", [BY_REDUCTION, BOTH], ids=["reduction", "both"])
@pytest.mark.parametrize("case", DATA["cases"], ids=lambda case: case["id"])
def test_published_case(case: dict[str, Any], methods: str) -> None:
    text, asks = text_of(case)
    source = Source(case["id"], text + methods)
    if case["id"] in IRREDUCIBLE:
        circuit = load(source).circuit
        assert bridge_with_batteries(circuit)
        with pytest.raises(Irreducible):
            methods_for(circuit)
        return
    solution = solve(source)
    found = found_by(solution, case, asks)
    for answer in case["answers"]:
        value = evaluate(answer["q"], found)
        if (case["id"], answer["q"]) in WRONG:
            assert value == Fraction(WRONG[case["id"], answer["q"]])
        else:
            assert agrees(value, answer), (answer["q"], value, answer["printed"])
    steps = solution.derivation.steps
    # Voltages are compared along two paths as well.
    compared = [
        s for s in steps if isinstance(s, Agree)
        and solution.derivation.equation(s.one).left in solution.circuit.told_currents
    ]  # fmt: skip
    branches = len(load(source).circuit.branches)
    assert len(compared) >= branches if methods == BOTH else not compared


def test_balanced_bridge_with_an_open_switch() -> None:
    """W05a. The open switch joins nothing and is left out; the text has no switches."""
    case = CASES["W05a"]
    kept = [e for e in case["elements"] if e["type"] != "switch_open"]
    whole = {**case, "elements": kept}
    text, asks = text_of(whole)
    found = found_by(solve(Source("W05a", text + BY_REDUCTION)), whole, asks)
    for answer in case["answers"]:
        assert agrees(evaluate(answer["q"], found), answer)


# --- published: ladders, fans, complete graphs ----------------------------------------------------


def seen_and_drawn(walks: Sequence[str], one: str, other: str) -> Fraction:
    """Return the resistance between two points, found alone and by what a battery sees there."""
    (answer,) = answered("\n".join([*walks, f"ask resistance {one} {other}\n"])).answers
    assert answer.result.exact is not None
    assert drawn(walks, one, other) == answer.result.exact
    return answer.result.exact


def drawn(walks: Sequence[str], one: str, other: str) -> Fraction:
    """Return the emf of a battery between two points over its current, found by reduction."""
    driven = [f"I: {other} (-E+) {one}", "E = 60 V", *walks, "ask current in E", BY_REDUCTION]
    current = dict(answered("\n".join(driven)).currents)["I"].exact
    assert current is not None
    return 60 / current


def edges(pairs: Iterable[tuple[object, object]], ohms: Fraction | int = 1) -> list[str]:
    """Return walks with one resistor each, all of one value."""
    walks = [f": p{a} (R{k}) p{b}" for k, (a, b) in enumerate(pairs, 1)]
    names = ", ".join(f"R{k}" for k in range(1, len(walks) + 1))
    return [*walks, f"{names} = {ohms} ohm"]


def ladder(sections: int, series: object, shunt: object, *, first: str) -> list[str]:
    """Return a ladder between p0 and g; behind the last section it is open."""
    walks = []
    for k in range(sections):
        here, there = (f"p{k}", f"p{k + 1}")
        rung = there if first == "series" else here
        walks += [f": {here} (S{k}) {there}", f": {rung} (T{k}) g"]
    if first == "shunt":
        walks.append(f": p{sections} (T{sections}) g")
    names = [", ".join(f"{a}{k}" for k in range(sections)) for a in "ST"]
    last = f", T{sections}" if first == "shunt" else ""
    return [*walks, f"{names[0]} = {series} ohm", f"{names[1]}{last} = {shunt} ohm"]


# Each limit as the positive root of a polynomial: a + b·√c is the root of (x − a)² = b²·c.
LIMITS = {"1+sqrt(3)": (1, 3), "sqrt(3)-1": (-1, 3), "2": (2, 0)}


@pytest.mark.parametrize("name", ["P10", "P12", "P14"])
def test_an_infinite_ladder_is_the_limit_of_finite_ones(name: str) -> None:
    """A finite open ladder is above the limit, and each section brings it nearer."""
    case = CASES[name]["custom"]
    whole, squared = LIMITS[case["value"]]
    above = []
    for sections in (2, 3, 4, 8, 16):
        walks = ladder(sections, case["series"], case["shunt"], first=case["first"])
        found = seen_and_drawn(walks, "p0", "g")
        above.append(abs((found - whole) ** 2 - squared))
        assert found > whole
        assert (found - whole) ** 2 > squared
    assert all(far > near for far, near in pairwise(above))
    assert above[-1] < Fraction(1, 10**8)


def test_the_shunt_nearest_the_battery() -> None:
    """P14 (b), from its note: 1.5 A in that shunt; the 6 V are from memory."""
    text = [*ladder(20, 1, 2, first="series"), "I: g (-E+) p0", "E = 6 V", "ask current in T0"]
    (answer,) = answered("\n".join([*text, BY_REDUCTION])).answers
    assert answer.result.exact is not None
    assert abs(answer.result.exact - Fraction("1.5")) < Fraction(1, 10**8)


def fibonacci(n: int) -> int:
    a, b = 0, 1
    for _ in range(n):
        a, b = b, a + b
    return a


@pytest.mark.parametrize("n", range(1, 8))
def test_unit_ladder(n: int) -> None:
    """F21: F(2n+1)/F(2n)."""
    walks = ladder(n, 1, 1, first="series")
    wanted = Fraction(fibonacci(2 * n + 1), fibonacci(2 * n))
    found = drawn if n == 1 else seen_and_drawn  # a row of resistors alone is not closed
    assert found(walks, "p0", "g") == wanted
    # The values that are printed.
    printed = CASES["F21"]["custom"]["statement"].partition(": ")[2].split(", ")[:4]
    assert n > 4 or wanted == Fraction(printed[n - 1])


@pytest.mark.parametrize("n", range(2, 8))
def test_fan(n: int) -> None:
    """F23: F(2n−1)/F(2n) between the hub and the end of the path."""
    path = [(k, k + 1) for k in range(1, n)]
    walks = edges([*path, *(("hub", k) for k in range(1, n + 1))])
    assert seen_and_drawn(walks, "phub", "p1") == Fraction(fibonacci(2 * n - 1), fibonacci(2 * n))


@pytest.mark.parametrize("size", range(2, 9))
def test_complete_graph(size: int) -> None:
    """F17: 2r/N."""
    ohms = Fraction(7, 3)
    walks = edges(nx.complete_graph(size).edges, ohms)
    found = drawn if size == 2 else seen_and_drawn  # one resistor alone is not closed
    assert found(walks, "p0", f"p{size - 1}") == 2 * ohms / size


TRANSITIVE = {
    "tetrahedron": nx.tetrahedral_graph(),
    "cube": nx.cubical_graph(),
    "octahedron": nx.octahedral_graph(),
    "dodecahedron": nx.dodecahedral_graph(),
    "icosahedron": nx.icosahedral_graph(),
    "Petersen": nx.petersen_graph(),
    "K33": nx.complete_bipartite_graph(3, 3),
}


@pytest.mark.parametrize("name", TRANSITIVE)
def test_adjacent_nodes_of_an_edge_transitive_graph(name: str) -> None:
    """F19: (2/d)(1 − 1/n), with d edges at each of n nodes (R. M. Foster's theorem)."""
    graph = TRANSITIVE[name]
    (degree,) = {d for _, d in graph.degree()}
    wanted = Fraction(2, degree) * (1 - Fraction(1, len(graph)))
    one, other = random.Random(name).choice(sorted(graph.edges))
    assert seen_and_drawn(edges(graph.edges), f"p{one}", f"p{other}") == wanted


# --- published: formulas --------------------------------------------------------------------------


def reckon(formula: str, letters: Mapping[str, Fraction]) -> Fraction:
    return Fraction(eval(formula, {"__builtins__": {}, "sqrt": root}, dict(letters)))


def root(value: Fraction) -> Fraction:
    """Return a root that is a fraction."""
    found = Fraction(isqrt(value.numerator), isqrt(value.denominator))
    assert found**2 == value
    return found


def some_letters(case: dict[str, Any], seed: int) -> dict[str, Fraction]:
    rng = random.Random(f"{case['id']} {seed}")
    names = {"E", "E1", "E2", "V", "Vin", "r", "r1", "r2", *"RPQSG", "RL", "Ra", "Rb", "Rc"}
    names |= {f"R{k}" for k in range(1, 7)}
    return {name: Fraction(rng.randint(1, 60), rng.randint(1, 9)) for name in sorted(names)}


def lettered(case: dict[str, Any]) -> tuple[str, dict[str, str], dict[str, str]]:
    """Write a case without values; equal letters are tied. Return which part each letter is."""
    text, asks = text_of(case)
    lines = [line for line in text.splitlines() if " = " not in line]
    owner: dict[str, str] = {}
    for e in case["elements"]:
        if e["value"] in owner:
            lines.append(f"x{e['name']} = {owner[e['value']]}")
        owner.setdefault(e["value"], f"x{e['name']}")
    return "\n".join(lines) + "\n", asks, {part: letter for letter, part in owner.items()}


@pytest.mark.parametrize("methods", [BY_REDUCTION, BOTH], ids=["reduction", "both"])
@pytest.mark.parametrize("name", ["F01", "F03", "F05", "F11", "F13"])
def test_published_formula(name: str, methods: str) -> None:
    """A cell with a load, two cells, a bridge, a loaded divider, rows of cells, in letters."""
    case = CASES[name]
    text, asks, letter_of = lettered(case)
    contract = solve(Source(name, text + methods)).contract
    formulas = {f"I({e['name']})": dict(contract.currents)[f"I_{e['name']}"].formula
                for e in case["elements"]}  # fmt: skip
    by_question = {answer.ask: answer.result.formula for answer in contract.answers}
    formulas |= {query: by_question[ask] for query, ask in asks.items()}
    for seed in range(5):
        letters = some_letters(case, seed)
        known = {part: letters[letter] for part, letter in letter_of.items()}
        for answer in case["answers"]:
            formula = formulas[answer["q"]]
            assert formula is not None
            assert reckon(formula, known) == reckon(answer["printed"], letters)


@pytest.mark.parametrize(("cells", "rows"), [(1, 1), (1, 4), (4, 1), (2, 3), (3, 2), (3, 5)])
def test_rows_of_cells(cells: int, rows: int) -> None:
    """F13 for other numbers: I = n E/(R + n r/m)."""
    row = " ".join(f"(-E{{0}}_{k} r{{0}}_{k}+)" for k in range(cells))
    walks = [f"I{m}: g {row.format(m)} a" for m in range(rows)]
    every = [f"{m}_{k}" for m in range(rows) for k in range(cells)]
    walks += [", ".join(f"E{k}" for k in every) + " = 3/2 V", "R = 7 ohm", "I: a (R) g"]
    walks += [", ".join(f"r{k}" for k in every) + " = 2/5 ohm", "ask current in R", BY_REDUCTION]
    (answer,) = solve(Source("rows", "\n".join(walks))).contract.answers
    size = 7 + Fraction(2, 5) * cells / rows
    assert answer.result.exact == cells * Fraction(3, 2) / size


def resistances_of(case: dict[str, Any], letters: Mapping[str, Fraction]) -> None:
    """Check the resistances of a case whose values are formulas, for some letters."""
    walks = []
    for e in case["elements"]:
        value = reckon(e["value"], letters)
        walks += [f": {e['from']} ({e['name']}) {e['to']}", f"{e['name']} = {value} ohm"]
    for answer in case["answers"]:
        one, other = answer["q"].removeprefix("Req(").removesuffix(")").split(",")
        assert seen_and_drawn(walks, one, other) == reckon(answer["printed"], letters)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("name", ["F09", "F15"])
def test_resistances_in_letters(name: str, seed: int) -> None:
    """A wye for a delta, and six resistances in series and parallel."""
    resistances_of(CASES[name], some_letters(CASES[name], seed))


@pytest.mark.parametrize("seed", range(5))
def test_a_section_more_leaves_an_infinite_ladder_as_it_is(seed: int) -> None:
    """F25, with R2 so that the root is a fraction."""
    letters = some_letters(CASES["F25"], seed)
    end = letters["R1"] + letters["R"]
    letters["R2"] = (end**2 - letters["R1"] ** 2) / (2 * letters["R1"])
    resistances_of(CASES["F25"], letters)


# --- random ---------------------------------------------------------------------------------------


def derived(circuit: Circuit) -> Derivation | None:
    """Derive the currents by reduction and check the steps; None where nothing leads on."""
    chosen = replace(circuit, choices=REDUCTION)
    try:
        derivation = derive(chosen)
    except Irreducible:
        assert bridge_with_batteries(circuit)
        return None
    verdict = check(chosen, derivation)
    assert verdict.accepted, verdict
    return derivation


def currents_of(
    circuit: Circuit, derivation: Derivation, known: Mapping[Symbol, Fraction]
) -> list[list[float]]:
    """Return what is concluded of each branch current: its formula and its value, as there are.

    Names that the derivation has defined are followed in the order of the steps.
    """
    numbers: dict[Symbol, Term] = {s: number(value) for s, value in known.items()}

    def reckoned(term: Term) -> Fraction:
        return Ring(()).poly(put_in(term, numbers)).constant_value

    ends: dict[Symbol, list[float]] = {}
    for step in derivation.steps:
        equation = getattr(step, "conclusion", None)
        if isinstance(step, Conclude) and step.symbol not in ends:
            told = [k for k in (step.formula, step.value) if k is not None]
            rights = [derivation.equation(k).right for k in told]
            ends[step.symbol] = [float(reckoned(right)) for right in rights]
        elif equation is not None and isinstance(equation.left, Symbol):
            if equation.left not in numbers and numbers.keys() >= set(symbols(equation.right)):
                numbers[equation.left] = number(reckoned(equation.right))
    return [ends[branch.current] for branch in circuit.branches]


def same_as_nodal(
    circuit: Circuit, derivation: Derivation, known: Mapping[Symbol, Fraction]
) -> None:
    """Compare with modified nodal analysis, where every quantity has a number."""
    wanted = nodal_currents(circuit)
    for told, current in zip(currents_of(circuit, derivation, known), wanted, strict=True):
        assert told
        for value in told:
            assert value == pytest.approx(current, rel=1e-9, abs=1e-9)


def quantities(circuit: Circuit) -> dict[Symbol, Fraction]:
    values = Values(circuit)
    return {s: values.number(s) for s in circuit.symbols if s.dimension in (OHM, VOLT)}


@pytest.mark.parametrize("seed", range(150))
def test_random(seed: int) -> None:
    circuit = random_circuit(random.Random(f"by reduction {seed}"), loops=(1, 6))
    derivation = derived(circuit)
    if derivation is not None:
        same_as_nodal(circuit, derivation, quantities(circuit))


@pytest.mark.parametrize("seed", range(80))
def test_random_in_letters(seed: int) -> None:
    circuit = random_circuit(random.Random(f"in letters {seed}"), loops=(1, 4))
    derivation = derived(in_letters(circuit))
    if derivation is not None:
        same_as_nodal(circuit, derivation, quantities(circuit))


@pytest.mark.parametrize("seed", range(150))
def test_odd_values(seed: int) -> None:
    """Zero resistances, zero and negative emfs, and letters among the numbers."""
    circuit = odd_circuit(seed)
    if solvability(circuit) is not None:
        return
    try:
        derivation = derived(circuit)
    except NoUniqueSolution:
        return
    if derivation is None:
        return
    rng = random.Random(seed)
    rest = tuple(
        Valuation(s, Given(Fraction(rng.randint(1, 30), 7), s.dimension))
        for s in letters_without_value(circuit)
    )
    filled = replace(circuit, values=(*circuit.values, *rest))
    same_as_nodal(filled, derivation, quantities(filled))


@pytest.mark.parametrize("seed", range(40))
def test_both_ways(seed: int) -> None:
    circuit = random_circuit(random.Random(f"both {seed}"), loops=(1, 4))
    chosen = Choices(methods=(Method.REDUCTION, Method.BRANCH_CURRENTS))
    circuit = replace(circuit, choices=chosen)
    try:
        derivation = derive(circuit)
    except Irreducible:
        assert bridge_with_batteries(circuit)
        return
    assert check(circuit, derivation).accepted
    assert sum(isinstance(s, Agree) for s in derivation.steps) >= len(circuit.branches)


def test_the_random_circuits_need_every_exchange() -> None:
    seen: set[Exchange] = set()
    for seed in range(60):
        circuit = random_circuit(random.Random(f"by reduction {seed}"), loops=(1, 6))
        derivation = derived(circuit)
        steps = () if derivation is None else derivation.steps
        seen |= {s.exchange for s in steps if isinstance(s, Replace)}
    # Zeros, equal values and bridges without batteries are rare among them.
    rare = {Exchange.WIRE, Exchange.LEVEL, Exchange.ALIKE, Exchange.DELTA, Exchange.STAR}
    assert seen >= set(Exchange) - rare


# --- the verdict, by two independent tests --------------------------------------------------------


def graph_of(circuit: Circuit) -> tuple[nx.MultiGraph, set[int]]:
    """Return the branches as edges, wires drawn together, and which of them hold batteries."""
    graph, batteries = nx.MultiGraph(), set()
    place = {node.name: node.name for node in circuit.nodes}
    for branch in circuit.branches:
        if not branch.batteries and all(is_wire(circuit, r) for r in branch.resistances):
            new, old = place[branch.tail], place[branch.head]
            place = {name: new if at == old else at for name, at in place.items()}
    for k, branch in enumerate(circuit.branches):
        ends = place[branch.tail], place[branch.head]
        if ends[0] != ends[1]:
            graph.add_edge(*ends, key=k)
        if branch.batteries:
            batteries.add(k)
    return graph, batteries


def is_wire(circuit: Circuit, resistance: Symbol) -> bool:
    try:
        return Values(circuit).number(resistance) == 0
    except ValueError:  # a letter, or tied to one
        return False


def empties(graph: nx.Graph) -> bool:
    """Take nodes with at most two neighbours away, joining these, as long as there are any."""
    graph = nx.Graph(graph)
    while found := [node for node, degree in graph.degree() if degree <= 2]:
        near = list(graph[found[0]])
        graph.remove_node(found[0])
        if len(near) == 2:
            graph.add_edge(*near)
    return not graph


def contracts(graph: nx.MultiGraph) -> bool:
    """Merge edges in parallel and edges in series, the battery's among them, down to one."""
    graph = nx.MultiGraph(nx.Graph(graph))
    changed = True
    while changed:
        changed = False
        for node in list(graph):
            if graph.degree(node) == 2 and len(graph) > 2:
                one, other = (far for _, far in graph.edges(node))
                graph.remove_node(node)
                graph.add_edge(one, other)
                graph = nx.MultiGraph(nx.Graph(graph))  # parallel ones are one
                changed = True
    return int(graph.number_of_edges()) == 1


def series_parallel(circuit: Circuit) -> bool | None:
    """Tell whether one battery sees a series-parallel network; None where no current flows."""
    graph, batteries = graph_of(circuit)
    (battery,) = batteries
    branch = circuit.branches[battery]
    ring = [ends for *ends, k in graph.edges(keys=True) if k == battery]
    if not ring:  # the battery's branch closes on itself
        return None if not branch.resistances else True
    part = next(p for p in nx.biconnected_components(nx.Graph(graph)) if set(ring[0]) <= p)
    block = graph.subgraph(part)
    if block.number_of_edges() == 1:
        return None
    plain = nx.Graph(block)
    found = contracts(block)
    assert found == empties(plain) == (treewidth_min_degree(plain)[0] <= 2)
    return found


def one_battery(seed: int) -> Circuit | None:
    """Return a circuit in letters with one battery, wires and idle parts among them."""
    rng = random.Random(f"one battery {seed}")
    if seed % 2:
        circuit = with_one_battery(random_circuit(rng, loops=(1, 8)))
    else:
        circuit = nearly_series_parallel(rng)
    circuit = replace(circuit, values=(), questions=(AskReducible(), AskCurrents()))
    return circuit if solvability(circuit) is None else None


def nearly_series_parallel(rng: random.Random) -> Circuit:
    """Split and double edges; then perhaps add one anywhere, hang parts on, and draw wires."""
    pairs = [(0, 1), (0, 1)]
    nodes = 2
    for _ in range(rng.randint(0, 16)):
        k = rng.randrange(len(pairs))
        a, b = pairs[k]
        if rng.random() < 0.5:
            pairs.append((a, b))
        else:
            pairs[k] = a, nodes
            pairs.append((nodes, b))
            nodes += 1
    for _ in range(rng.choice((0, 1, 2, 3))):
        pairs.append((rng.randrange(nodes), rng.randrange(nodes)))
    for _ in range(rng.choice((0, 0, 1))):  # hung on by one end, with a ring behind
        pairs += [(rng.randrange(nodes), nodes), (nodes, nodes)]
        nodes += 1
    battery = rng.randrange(len(pairs))
    walks = []
    for k, (a, b) in enumerate(pairs):
        part = f"(R{k})" if rng.random() < 0.9 else f"(R{k}) (S{k})"
        if k == battery:
            part = rng.choice(["(-E+)", "(+E-)", f"(R{k}) (-E+)", "(-E r+)"])
        elif a != b and rng.random() < 0.06:
            part = ""
        walks.append(f"I{k}: P{a} {part} P{b}")
    return load(Source("one battery", "\n".join(walks))).circuit


def verdict_is_right(circuit: Circuit) -> bool:
    """Compare the verdict on a circuit with one battery and no values with the tests above."""
    found, wanted = judge(circuit), series_parallel(circuit)
    if wanted is None:
        return found.test is Criterion.NO_CURRENT and not found.reducible
    tests = (Criterion.ONE_BRANCH, Criterion.DEAD_PARTS) if wanted else (
        Criterion.UNBALANCED_BRIDGE,
    )  # fmt: skip
    return found.reducible == wanted and found.test in tests


@pytest.mark.parametrize("seed", range(200))
def test_one_battery_reduces_exactly_where_it_is_series_parallel(seed: int) -> None:
    circuit = one_battery(seed)
    if circuit is not None:
        assert verdict_is_right(circuit)


def test_both_verdicts_are_met() -> None:
    made = [circuit for seed in range(200) if (circuit := one_battery(seed)) is not None]
    met = [series_parallel(circuit) for circuit in made]
    assert len(made) > 150
    assert min(met.count(True), met.count(False)) > 20


@pytest.mark.parametrize("seed", range(60))
def test_what_reduces_goes_by_reduction(seed: int) -> None:
    """Where the verdict is yes the program's own choice is reduction, and the checker accepts."""
    circuit = one_battery(seed)
    if circuit is None or not judge(circuit).reducible:
        return
    assert methods_for(circuit) == (Method.REDUCTION,)
    assert check(circuit, derive(circuit)).accepted


def test_a_walk_without_current_is_known_to_both_methods() -> None:
    text = "I1: A (-E1+) B (R1) A\nI2: B (R2) C (open S1) A\nE1 = 6 V; R1 = 3 ohm\nask currents\n"
    for first, second in ((BY_REDUCTION, BY_RULES), (BY_RULES, BY_REDUCTION)):
        found = solve(Source("gap", text + first + second), Options(numbers_first=True)).contract
        assert dict(found.currents)["I2"].exact == 0


ALIKE = """\
I1: A (-E1 r1+) B
I2: A (-E2 r2+) B
I3: B (R3) A
E1, E2 = 6 V; r1, r2 = 1 ohm
ask matched load R3
"""


@pytest.mark.parametrize("methods", [BY_REDUCTION, BY_REDUCTION + BY_RULES, ""])
@pytest.mark.parametrize("options", [Options(), Options(numbers_first=True)])
def test_a_matched_load_of_alike_cells(methods: str, options: Options) -> None:
    """Two cells of 6 V and 1 ohm act like one of 6 V and 1/2 ohm: (6 V)²/(4 · 1/2 ohm) = 18 W."""
    answers = solve(Source("alike", methods + ALIKE), options).contract.answers
    assert [a.result.exact for a in answers if a.result.unit in ("Ω", "W")] == [Fraction(1, 2), 18]
