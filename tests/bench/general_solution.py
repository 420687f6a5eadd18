"""All currents in letters, by this package and by general-purpose libraries, side by side.

Run from the repository:  python -m tests.bench.general_solution [--cap SECONDS] [--family NAME]

Every branch holds a battery and a resistor, all letters. Each method runs in a process of its own
and is stopped at the cap. The time is that of making all currents from the circuit (or from the
equations, for the others); quick runs are repeated and the best is taken. Every method's currents
are then compared at one exact point. A ladder of k rungs has k rungs and a branch for each section
of both rails.

"flint, branches" eliminates without fractions (Bareiss 1968) on the junction and loop equations for
all branch currents; "flint, loops" does so on the smaller system for loop currents.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import Any

from tests.circuit_solution.build import circuit

Edges = list[tuple[int, int]]


def ladder(rungs: int) -> Edges:
    rails = [(2 * k + s, 2 * k + 2 + s) for k in range(rungs - 1) for s in (0, 1)]
    return [(2 * k, 2 * k + 1) for k in range(rungs)] + rails


def wheel(spokes: int) -> Edges:
    rim = [*pairwise(range(1, spokes + 1)), (spokes, 1)]
    return [(0, k) for k in range(1, spokes + 1)] + rim


def complete(points: int) -> Edges:
    return [(a, b) for a in range(points) for b in range(a + 1, points)]


def grid(side: int) -> Edges:
    across = [(side * r + c, side * r + c + 1) for r in range(side) for c in range(side - 1)]
    down = [(side * r + c, side * r + side + c) for r in range(side - 1) for c in range(side)]
    return across + down


FAMILIES = {
    "ladder 4": ladder(4), "wheel 5": wheel(5), "grid 3x3": grid(3), "complete 5": complete(5),
    "ladder 6": ladder(6), "wheel 7": wheel(7), "complete 6": complete(6), "ladder 8": ladder(8),
}  # fmt: skip

Values = tuple[list[Fraction], list[Fraction]]
Outcome = tuple[Callable[[], Any], Callable[[Any, Values], list[Fraction]]]
"""What is timed, and how its result is put into numbers."""


def _equations(edges: Edges) -> tuple[list[list[int]], list[list[int]]]:
    """Return signed incidence rows (one left out) and the loops of a spanning tree."""
    size = max(map(max, edges)) + 1
    nodes = [[(t == n) - (h == n) for t, h in edges] for n in range(1, size)]
    parent: dict[int, tuple[int, int, int]] = {}
    queue, seen = [0], {0}
    for node in queue:
        for number, (t, h) in enumerate(edges):
            for here, there, sign in ((t, h, 1), (h, t, -1)):
                if here == node and there not in seen:
                    seen.add(there)
                    parent[there] = (node, number, sign)
                    queue.append(there)
    tree = {number for _, number, _ in parent.values()}
    loops = []
    for number, (t, h) in enumerate(edges):
        if number in tree:
            continue
        row = [0] * len(edges)
        row[number] = 1
        for start, sense in ((t, 1), (h, -1)):
            while start:
                start, above, sign = parent[start]
                row[above] += sense * sign
        loops.append(row)
    return nodes, loops


def _ours(edges: Edges) -> Outcome:
    from derive.circuit.solution import GeneralSolution, general_solution

    case = circuit([(f"N{a}", f"N{b}", f"+E{k} R{k}") for k, (a, b) in enumerate(edges)])

    def read(solution: GeneralSolution, values: Values) -> list[Fraction]:
        at = {s: values["RE".index(s.name[0])][int(s.name[1:])] for s in solution.full_ring.symbols}
        found = []
        for branch in range(len(edges)):
            current = solution.current(branch)
            above = sum(at[symbol] * poly.evaluate(at) for symbol, poly in current.coefficients)
            found.append(Fraction(above) / current.denominator.evaluate(at))
        return found

    return lambda: general_solution(case), read


def _flint(edges: Edges, by_loops: bool) -> Outcome:
    from flint import Ordering, fmpz_mpoly_ctx

    count = len(edges)
    names = [f"R{k}" for k in range(count)] + [f"E{k}" for k in range(count)]
    ring = fmpz_mpoly_ctx.get(names, Ordering.lex)
    r, e = ring.gens()[:count], ring.gens()[count:]
    zero = ring.constant(0)
    nodes, loops = _equations(edges)

    def rows() -> list[list[Any]]:
        right = [sum((s * e[k] for k, s in enumerate(row)), zero) for row in loops]
        if not by_loops:
            made = [[ring.constant(s) for s in row] + [zero] for row in nodes]
            return made + [
                [s * r[k] for k, s in enumerate(row)] + [right[i]] for i, row in enumerate(loops)
            ]
        return [
            [sum((a[k] * b[k] * r[k] for k in range(count)), zero) for b in loops] + [right[i]]
            for i, a in enumerate(loops)
        ]

    def run() -> tuple[list[Any], Any]:
        numerators, denominator = _bareiss(rows(), zero)
        if by_loops:
            numerators = [
                sum((row[k] * n for row, n in zip(loops, numerators, strict=True)), zero)
                for k in range(count)
            ]
        return numerators, denominator

    def read(result: tuple[list[Any], Any], values: Values) -> list[Fraction]:
        at = [int(v) for v in (*values[0], *values[1])]
        below = int(result[1](*at))
        return [Fraction(int(n(*at)), below) for n in result[0]]

    return run, read


def _bareiss(matrix: list[list[Any]], zero: Any) -> tuple[list[Any], Any]:
    """Return numerators and determinant: fraction-free elimination, then back-substitution."""
    size = len(matrix)
    last: Any = 1
    for column in range(size):
        pivot_row = next(i for i in range(column, size) if matrix[i][column] != zero)
        matrix[column], matrix[pivot_row] = matrix[pivot_row], matrix[column]
        pivot = matrix[column][column]
        for i in range(column + 1, size):
            factor = matrix[i][column]
            for j in range(column + 1, size + 1):
                matrix[i][j] = (pivot * matrix[i][j] - factor * matrix[column][j]) / last
        last = pivot
    numerators = [zero] * size
    for i in reversed(range(size)):
        known = sum((matrix[i][j] * numerators[j] for j in range(i + 1, size)), zero)
        numerators[i] = (last * matrix[i][size] - known) / matrix[i][i]
    return numerators, last


def _sympy(edges: Edges, method: str) -> Outcome:
    import sympy
    from sympy.polys.matrices import DomainMatrix

    count = len(edges)
    r = [sympy.Symbol(f"R{k}", positive=True) for k in range(count)]
    e = [sympy.Symbol(f"E{k}", real=True) for k in range(count)]
    unknowns = [sympy.Symbol(f"I{k}", real=True) for k in range(count)]
    nodes, loops = _equations(edges)
    rows = [(row, sympy.Integer(0)) for row in nodes]
    rows += [
        ([s * r[k] for k, s in enumerate(row)], sum(s * e[k] for k, s in enumerate(row)))
        for row in loops
    ]
    equations = [
        sum(c * i for c, i in zip(row, unknowns, strict=True)) - right for row, right in rows
    ]

    def solve_den() -> Any:
        matrix = sympy.Matrix([[*row, right] for row, right in rows])
        both = DomainMatrix.from_Matrix(matrix)
        numerators, below = both[:, :count].solve_den(both[:, count:])
        ring = both.domain
        return [ring.to_sympy(numerators[k, 0].element) for k in range(count)], ring.to_sympy(below)

    def read(result: Any, values: Values) -> list[Fraction]:
        at = dict(zip([*r, *e], [int(v) for v in (*values[0], *values[1])], strict=True))
        if method == "solve_den":
            found = [n.subs(at) / result[1].subs(at) for n in result[0]]
        elif method == "solve":
            found = [result[i].subs(at) for i in unknowns]
        else:
            found = [x.subs(at) for x in next(iter(result))]
        return [Fraction(int(x.p), int(x.q)) for x in map(sympy.Rational, found)]

    runs = {
        "solve": lambda: sympy.solve(equations, unknowns),
        "linsolve": lambda: sympy.linsolve(equations, unknowns),
        "solve_den": solve_den,
    }
    return runs[method], read


METHODS: dict[str, Callable[[Edges], Outcome]] = {
    "ours": _ours,
    "flint, branches": lambda edges: _flint(edges, by_loops=False),
    "flint, loops": lambda edges: _flint(edges, by_loops=True),
    "solve_den": lambda edges: _sympy(edges, "solve_den"),
    "linsolve": lambda edges: _sympy(edges, "linsolve"),
    "solve": lambda edges: _sympy(edges, "solve"),
}


def _one(method: str, family: str) -> None:
    """Time one method on one family and print seconds, then the currents at the test point."""
    edges = FAMILIES[family]
    run, read = METHODS[method](edges)
    best, result = float("inf"), None
    for _ in range(5):
        start = time.perf_counter()
        result = run()
        best = min(best, time.perf_counter() - start)
        if best > 1:
            break
    print(best, flush=True)
    values = ([Fraction(2 + 3 * k % 7) for k in range(len(edges))],
              [Fraction(1 + 5 * k % 11) for k in range(len(edges))])  # fmt: skip
    print(*read(result, values))


def _measure(method: str, family: str, cap: float) -> tuple[float, str] | None:
    command = [sys.executable, "-m", "tests.bench.general_solution", "--one", method, family]
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=cap, check=True
        ).stdout.splitlines()
    except subprocess.TimeoutExpired:
        return None
    return float(done[0]), done[1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--cap", type=float, default=60, help="seconds allowed for each run")
    parser.add_argument("--family", action="append", choices=FAMILIES, help="only this family")
    parser.add_argument("--one", nargs=2, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        _one(*chosen.one)
        return
    print(f"{'':11}{'loops':>6}{'trees':>7}" + "".join(f"{m:>24}" for m in METHODS))
    from derive.circuit.expansion import count_trees

    for family in chosen.family or FAMILIES:
        edges = FAMILIES[family]
        case = circuit([(f"N{a}", f"N{b}", f"+E{k} R{k}") for k, (a, b) in enumerate(edges)])
        loops = len(edges) - len(case.nodes) + 1
        line = f"{family:11}{loops:6}{count_trees(case):7}"
        ours: tuple[float, str] | None = None
        for method in METHODS:
            found = _measure(method, family, chosen.cap)
            if found is None:
                line += f"{f'> {chosen.cap:.0f} s':>24}"
                continue
            ours = ours or found
            if found[1] != ours[1]:
                raise SystemExit(f"{method} disagrees on {family}")
            line += f"{found[0]:>14.5f} s {found[0] / ours[0]:6.0f} x"
        print(line, flush=True)


if __name__ == "__main__":
    main()
