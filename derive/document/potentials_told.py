"""Potentials told along a walk, and other paths that confirm them."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import ZERO, Symbol, Term, symbols
from derive.derivation.algebra import PutInValues
from derive.derivation.goal import Stage
from derive.derivation.laws import Crossing, PathRule, PotentialRule
from derive.derivation.step import Conclude, Round
from derive.document import wording as w
from derive.document.model import (
    Align,
    Block,
    Chain,
    Display,
    Inline,
    Math,
    PointName,
    Relation,
    Row,
    Table,
    Text,
)
from derive.document.phrase import listing, paragraph, say
from derive.document.telling import Telling, chain, ended, is_readable
from derive.typesetting.style import Expression

_MOST_PARTS = 6
"""Parts of another path that are named; with more the sentence cannot be read."""


def potentials(telling: Telling, stage: Stage) -> Iterator[Block]:
    """Tell the way to every point in a table, and the potentials in numbers below it."""
    ground = telling.circuit.ground
    assert ground is not None
    legs: dict[Term, PotentialRule] = {}
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, PotentialRule):
            legs.setdefault(step.conclusion.left, step)  # the whole way, if told, comes after it
    if telling.full:
        yield paragraph(w.POTENTIALS, ground=Math(PointName(ground)))
        yield _ways(ground, tuple(legs.values()))
        in_numbers = any(isinstance(telling.step(k), PutInValues) for k in stage.ids)
        if in_numbers:
            yield paragraph(w.POTENTIALS_VALUES)
        elif telling.formulas_shown:
            yield paragraph(w.POTENTIALS_FORMULAS)
        else:
            return
    rows = []
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, Conclude):
            rows.append(Row(_potential(telling, stage, step, legs[step.symbol])))
    yield Display(tuple(rows))


def _potential(telling: Telling, stage: Stage, step: Conclude, leg: PotentialRule) -> Chain:
    """Return ``V_C = 12 V − 2 Ω · 1.5 A = 9 V``; with the law in front where no table has it."""
    sides: list[tuple[Relation, Expression]] = []
    if not telling.full:
        sides.append((Relation.EQUAL, leg.conclusion.right))
    for k in stage.ids:
        found = telling.step(k)
        if (
            isinstance(found, PutInValues)
            and found.conclusion.left == step.symbol
            and is_readable(found.conclusion.right)
        ):
            sides.append((Relation.EQUAL, found.conclusion.right))
    if not sides and telling.rounded(step) is None:
        return telling.result(step)
    return telling.with_decimal(step, sides or [(Relation.EQUAL, leg.conclusion.right)])


def _ways(ground: str, legs: tuple[PotentialRule, ...]) -> Table:
    first: tuple[tuple[Inline, ...], ...] = (
        (Math(PointName(ground)),),
        (Text(w.THE_GROUND),),
        (Math(ZERO),),
    )
    rows = [first]
    for leg in legs:
        law = (Math(chain(leg.conclusion)),)
        rows.append(((Math(PointName(leg.point)),), _leg(leg), law))
    header = ((Text(w.POINT),), (Text(w.HOW_REACHED),), (Text(w.POTENTIAL),))
    return Table(header, tuple(rows), (Align.LEFT, Align.STRETCH, Align.LEFT), w.WAY_TABLE)


def _leg(leg: PotentialRule) -> tuple[Inline, ...]:
    start = Math(PointName(leg.start))
    if not leg.crossings:
        return say(w.LEVEL_WITH, start=start)
    changes = listing((_met(row) for row in leg.crossings), w.AND)
    return say(w.ON_FROM, start=start, changes=changes)


def _met(row: Crossing) -> tuple[Inline, ...]:
    part = Math(row.quantity)
    if row.current is not None:
        return say(w.WALK_DOWN if row.along else w.WALK_UP, part=part, current=Math(row.current))
    if next(symbols(row.change), None) is None:
        return say(w.WALK_STILL, part=part)
    return say(w.WALK_EMF, part=part, signs=w.UP if row.along else w.DOWN)


def other_path(telling: Telling, stage: Stage) -> Iterator[Block]:
    """Tell a walk by another path and what it gives."""
    rule = telling.step(stage.first)
    assert isinstance(rule, PathRule | PotentialRule)
    ends = (rule.origin, rule.to) if isinstance(rule, PathRule) else (rule.start, rule.point)
    start, end = (Math(PointName(name)) for name in ends)
    parts = dict.fromkeys(row.quantity for row in rule.crossings)
    if not parts:
        yield paragraph(w.OTHER_PATH_WIRE, start=start, end=end)
    elif len(parts) <= _MOST_PARTS:
        names = listing((Math(part) for part in parts), w.AND)
        yield paragraph(w.OTHER_PATH, start=start, end=end, parts=names)
    else:
        yield paragraph(w.OTHER_PATH_LONG, start=start, end=end)
    sides: list[tuple[Relation, Expression]] = [(Relation.EQUAL, rule.conclusion.right)]
    rounding = None
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, PutInValues) and is_readable(step.conclusion.right):
            sides.append((Relation.EQUAL, step.conclusion.right))
        elif isinstance(step, Round):
            rounding = step
    symbol = rule.conclusion.left
    assert isinstance(symbol, Symbol)
    yield Display((Row(ended(symbol, sides, rounding)),))
