"""The currents of a network three times over, without the package.

`floating` and `exact` solve the equations of modified nodal analysis (C.-W. Ho, A. E. Ruehli and
P. A. Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits Syst. 22,
1975, from memory): numpy's LU in floating point, and Gauss's elimination over fractions. In
letters sympy solves the loop equations, with loops of a spanning tree of its own
(G. Kirchhoff, Ann. Phys. Chem. 72, 1847).
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import sympy

from tests.differential.nets import Net, Walk


def _equations(net: Net) -> tuple[list[dict[int, Fraction]], list[Fraction], int]:
    """Return rows and right sides; potentials first, then the current of each walk."""
    points = {point: k for k, point in enumerate(net.points)}
    n = len(points)
    balance: list[dict[int, Fraction]] = [{} for _ in points]
    rows: list[dict[int, Fraction]] = []
    right: list[Fraction] = []
    for k, walk in enumerate(net.walks):
        tail, head = points[walk.tail], points[walk.head]
        balance[tail][n + k] = balance[tail].get(n + k, Fraction(0)) - 1
        balance[head][n + k] = balance[head].get(n + k, Fraction(0)) + 1
        source = walk.source
        if source is not None:
            rows.append({n + k: Fraction(1)})
            right.append(source.value if source.along else -source.value)
            continue
        row = {n + k: -sum((p.resistance for p in walk.parts), Fraction(0))}
        row[tail] = row.get(tail, Fraction(0)) + 1
        row[head] = row.get(head, Fraction(0)) - 1
        rows.append(row)
        right.append(-sum((p.rise for p in walk.parts), Fraction(0)))
    balance[0] = {0: Fraction(1)}  # the first point is zero; its balance follows from the others
    return [*balance, *rows], [*(Fraction(0) for _ in balance), *right], n


def floating(net: Net) -> dict[str, float]:
    """Return the current of every walk by numpy."""
    rows, right, n = _equations(net)
    matrix = np.zeros((len(rows), len(rows)))
    for k, row in enumerate(rows):
        for column, value in row.items():
            matrix[k, column] = float(value)
    found = np.linalg.solve(matrix, np.array([float(value) for value in right]))
    return {walk.name: float(found[n + k]) for k, walk in enumerate(net.walks)}


def exact(net: Net) -> dict[str, Fraction]:
    """Return the current of every walk by elimination over fractions."""
    rows, right, n = _equations(net)
    found = _gauss([dict(row) for row in rows], list(right))
    return {walk.name: found[n + k] for k, walk in enumerate(net.walks)}


def _gauss(rows: list[dict[int, Fraction]], right: list[Fraction]) -> list[Fraction]:
    """Solve sparse rows. Raises ZeroDivisionError where they do not fix every unknown."""
    pivots: list[tuple[int, int]] = []
    open_rows = set(range(len(rows)))
    for column in range(len(rows)):
        holding = [k for k in open_rows if rows[k].get(column)]
        if not holding:
            raise ZeroDivisionError("singular")
        pivot = min(holding, key=lambda k: (len(rows[k]), k))
        open_rows.discard(pivot)
        pivots.append((column, pivot))
        for k in holding:
            if k == pivot:
                continue
            factor = rows[k][column] / rows[pivot][column]
            for other, value in rows[pivot].items():
                changed = rows[k].get(other, Fraction(0)) - factor * value
                if changed:
                    rows[k][other] = changed
                else:
                    rows[k].pop(other, None)
            right[k] -= factor * right[pivot]
    found = [Fraction(0)] * len(rows)
    for column, pivot in reversed(pivots):
        rest = right[pivot] - sum(
            (value * found[k] for k, value in rows[pivot].items() if k != column), Fraction(0)
        )
        found[column] = rest / rows[pivot][column]
    return found


# In letters


def letters(net: Net) -> dict[str, Fraction]:
    """Return the value of each letter."""
    found = {part.name: part.value for part in net.parts}
    return found | {p.inside: p.inner for p in net.parts if p.inside is not None}


def _tree(net: Net) -> tuple[dict[str, list[int]], set[int]]:
    """Return for each point the signed way from the first point, and the walks on such ways."""
    start = net.points[0]
    ways: dict[str, list[int]] = {start: []}
    used: set[int] = set()
    grown = True
    while grown:
        grown = False
        for k, walk in enumerate(net.walks):
            if walk.source is not None:
                continue
            for here, there, sign in ((walk.tail, walk.head, 1), (walk.head, walk.tail, -1)):
                if here in ways and there not in ways:
                    ways[there] = [*ways[here], sign * (k + 1)]
                    used.add(k)
                    grown = True
    return ways, used


def in_letters(net: Net, *, by: str = "linsolve") -> dict[str, sympy.Expr]:
    """Return the current of every walk in letters, by sympy's `linsolve` or `LUsolve`."""
    ways, used = _tree(net)
    chords = [k for k in range(len(net.walks)) if k not in used]
    around: dict[int, dict[int, int]] = {}
    for chord in chords:
        walk = net.walks[chord]
        loop = {chord: 1}
        for sign, way in ((1, ways[walk.tail]), (-1, ways[walk.head])):
            for hop in way:
                k = abs(hop) - 1
                loop[k] = loop.get(k, 0) + (sign if hop > 0 else -sign)
        around[chord] = {k: s for k, s in loop.items() if s}
    resistances = [_resistance(walk) for walk in net.walks]
    rises = [_rise(walk) for walk in net.walks]
    set_by: dict[int, sympy.Expr] = {}
    for chord in chords:
        source = net.walks[chord].source
        if source is not None:
            set_by[chord] = sympy.Symbol(source.name) * (1 if source.along else -1)
    open_chords = [chord for chord in chords if chord not in set_by]
    size = len(open_chords)
    matrix, right = sympy.zeros(size, size), sympy.zeros(size, 1)
    for row, chord in enumerate(open_chords):
        for k, sign in around[chord].items():
            right[row] += sign * rises[k]
            for column, other in enumerate(open_chords):
                matrix[row, column] += sign * around[other].get(k, 0) * resistances[k]
            for other, flow in set_by.items():
                right[row] -= sign * around[other].get(k, 0) * resistances[k] * flow
    if not size:
        solved = []
    elif by == "LUsolve":
        solved = list(matrix.LUsolve(right))
    else:
        unknowns = sympy.symbols(f"x0:{size}")
        (solved,) = sympy.linsolve((matrix, right), *unknowns)
    flows = {**set_by, **dict(zip(open_chords, solved, strict=True))}
    found = {}
    for k, walk in enumerate(net.walks):
        parts = (flow * around[chord].get(k, 0) for chord, flow in flows.items())
        found[walk.name] = sympy.Add(*parts)
    return found


def _resistance(walk: Walk) -> sympy.Expr:
    names = [p.name if p.kind == "R" else p.inside for p in walk.parts]
    return sympy.Add(*(sympy.Symbol(name) for name in names if name is not None))


def _rise(walk: Walk) -> sympy.Expr:
    return sympy.Add(
        *(sympy.Symbol(p.name) * (1 if p.along else -1) for p in walk.parts if p.kind == "E")
    )
