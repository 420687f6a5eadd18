"""Potentials of points against the grounded one, each walked to; and other paths, as checks."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from heapq import heappop, heappush

from derive.algebra.term import ZERO, Equation, Symbol, Term, potential, symbols, total
from derive.analysis.conclude import answer, formula_of, rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.laws import NoPath, Ways, path_rule, ways
from derive.analysis.solve import Currents
from derive.circuit.model import Circuit
from derive.circuit.question import AskPotentials
from derive.circuit.stations import Station, station_of
from derive.derivation.builder import Builder
from derive.derivation.exchanges import Agree
from derive.derivation.goal import Goal
from derive.derivation.laws import Crossing, PathRule, PotentialRule
from derive.derivation.step_id import StepId

Rows = tuple[Crossing, ...]


def potential_from_ground(
    circuit: Circuit, point: str, past: Collection[str] = ()
) -> PotentialRule:
    """Return the walk from the grounded point that meets the fewest parts. Raises NoPath.

    It may lead past the capacitors in `past`, whose voltages are known.
    """
    ground = _ground(circuit)
    return _rule(circuit, ground, point, path_rule(circuit, ground, point, past).crossings)


def _rule(circuit: Circuit, start: str, point: str, rows: Rows) -> PotentialRule:
    changes: list[Term] = [row.change for row in rows if row.change != ZERO]
    if start != circuit.ground:
        changes.insert(0, potential(start))
    right = total(tuple(changes))
    return PotentialRule(
        start=start, point=point, crossings=rows, conclusion=Equation(potential(point), right)
    )


def _ground(circuit: Circuit) -> str:
    if circuit.ground is None:
        raise ValueError("a potential needs a grounded point")
    return circuit.ground


# --- the potentials of all points ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Leg:
    """The way to a point from the named point before it."""

    start: str
    point: str
    rows: Rows


def spanning_way(circuit: Circuit, past: Collection[str] = ()) -> tuple[Leg, ...]:
    """Return a way to every named point but the grounded one. Raises NoPath.

    It begins at the grounded point and goes on from the point reached last to a neighbour with as
    few resistances between as there are, or back to where it can go on. So every leg begins where
    an earlier one has led. It may lead past the capacitors in `past`.
    """
    ground = _ground(circuit)
    names: dict[Station, list[str]] = {}
    for point in (ground, *circuit.points):
        own = names.setdefault(station_of(circuit, point), [])
        if point not in own:
            own.append(point)
    steps = ways(circuit, past)
    start = station_of(circuit, ground)
    legs = [Leg(ground, point, ()) for point in names[start][1:]]
    reached, way = {start}, [start]
    while way:
        near = [end for end in _neighbours(steps, names, way[-1]) if end[0] not in reached]
        if not near:
            way.pop()
            continue
        there, rows = min(near, key=lambda end: _resistances(end[1]))
        first, *others = names[there]
        legs.append(Leg(names[way[-1]][0], first, rows))
        legs += [Leg(first, point, ()) for point in others]
        reached.add(there)
        way.append(there)
    for place, own in names.items():
        if place not in reached:
            raise NoPath(None, (ground, own[0]))
    return tuple(legs)


def _neighbours(
    steps: Ways, names: Mapping[Station, list[str]], start: Station
) -> list[tuple[Station, Rows]]:
    """Return the next named places in every direction, with the rows met on the way there."""
    found: list[tuple[Station, Rows]] = []
    seen = {start}
    waiting: list[tuple[Station, Rows]] = [(start, ())]
    for here, rows in waiting:
        for there, met in steps.get(here, []):
            if there in names:
                found.append((there, rows + met))
            elif there not in seen:
                seen.add(there)
                waiting.append((there, rows + met))
    return found


def _resistances(rows: Rows) -> int:
    return sum(row.current is not None for row in rows)


def answer_potentials(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    digits: int,
    past: Collection[str] = (),
) -> None:
    """Answer the question for all potentials: from point to point along a spanning way.

    It may lead past the capacitors in `past`, whose voltages are known.
    """
    builder.begin(Goal.POTENTIALS)
    legs = spanning_way(circuit, past)
    walked: dict[str, Rows] = {_ground(circuit): ()}
    values: dict[Symbol, StepId] = {}
    for leg in legs:
        walked[leg.point] = (*walked[leg.start], *leg.rows)
        rule = builder.add(_rule(circuit, leg.start, leg.point, leg.rows))
        symbol = potential(leg.point)
        value = None
        if found.values:
            held = set(symbols(builder.equation(rule).right))
            before = {s: k for s, k in values.items() if s in held}
            value = values[symbol] = put_values(known, builder, rule, before)
        formula = None
        if found.formulas:
            if leg.start != circuit.ground:
                whole = _rule(circuit, _ground(circuit), leg.point, walked[leg.point])
                rule = builder.add(whole)
            formula = formula_of(found, builder, rule)
        answer(found, builder, AskPotentials(), symbol, formula, value, digits)
    if found.numeric:
        _walk_to_one(circuit, known, builder, walked, values, digits)


def _walk_to_one(
    circuit: Circuit,
    known: Known,
    builder: Builder,
    walked: Mapping[str, Rows],
    values: Mapping[Symbol, StepId],
    digits: int,
) -> None:
    """Walk once more to a point far from the ground, by a path that is as new as can be."""
    ground = _ground(circuit)
    found = []
    for point, rows in reversed(list(walked.items())):
        other = other_path(circuit, ground, point, rows)
        if other is not None:
            found.append((len(_parts(rows) & _parts(other)), point, other))
    if found:
        _, point, other = min(found, key=lambda item: item[0])
        rule = _rule(circuit, ground, point, other)
        _agree(known, builder, rule, values[potential(point)], digits)


# --- other paths --------------------------------------------------------------------------------


def walk_another_path(
    circuit: Circuit,
    known: Known,
    builder: Builder,
    rule: PathRule | PotentialRule,
    value: StepId,
    digits: int,
) -> None:
    """Confirm a voltage by another path, if there is one and all is known in numbers."""
    ends = (rule.origin, rule.to) if isinstance(rule, PathRule) else (rule.start, rule.point)
    rows = other_path(circuit, *ends, rule.crossings) if known.numeric else None
    if rows is None:
        return
    if isinstance(rule, PathRule):
        right = total(tuple(row.change for row in rows if row.change != ZERO))
        law = PathRule(
            origin=rule.origin, to=rule.to, crossings=rows,
            conclusion=Equation(rule.conclusion.left, right),
        )  # fmt: skip
        _agree(known, builder, law, value, digits)
    else:
        _agree(known, builder, _rule(circuit, *ends, rows), value, digits)


def _agree(
    known: Known, builder: Builder, law: PathRule | PotentialRule, value: StepId, digits: int
) -> None:
    builder.begin(Goal.OTHER_PATH)
    other = put_values(known, builder, builder.add(law))
    rounded_value(builder, other, digits)
    builder.add(Agree(one=value, other=other))


def other_path(circuit: Circuit, origin: str, to: str, taken: Rows) -> Rows | None:
    """Return a path that shares as few parts as possible with one, then with the fewest parts.

    None where every path passes all the parts of that one. The search is Dijkstra's (1959).
    """
    old = _parts(taken)
    if not old:
        return None
    start, goal = station_of(circuit, origin), station_of(circuit, to)
    steps = ways(circuit)
    waiting: list[tuple[tuple[int, int], int, Station, Rows]] = [((0, 0), 0, start, ())]
    done: set[Station] = set()
    count = 0  # what comes first is taken first, so that the same circuit gives the same path
    while waiting:
        (shared, length), _, here, rows = heappop(waiting)
        if here == goal:
            return rows if shared < len(old) else None
        if here in done:
            continue
        done.add(here)
        for there, met in steps.get(here, []):
            if there not in done:
                count += 1
                parts = _parts(met)
                cost = shared + len(parts & old), length + len(parts)
                heappush(waiting, (cost, count, there, rows + met))
    return None


def _parts(rows: Rows) -> set[str]:
    return {row.part for row in rows}
