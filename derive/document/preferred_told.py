"""Preferred values: a table for each series that is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import NUMBER
from derive.algebra.unit import Unit
from derive.circuit.preferred import Series
from derive.derivation.further import PreferredValue
from derive.derivation.goal import Goal
from derive.derivation.step import Round
from derive.document import wording as w
from derive.document.model import Align, Block, Inline, Math, Table, Text
from derive.document.phrase import paragraph, say
from derive.document.quantities import decimal, printed, with_sign
from derive.document.telling import Telling


@dataclass(frozen=True, slots=True)
class _Told:
    step: PreferredValue
    value: Round
    """Of the part."""
    nearest: Round


def preferred_values(telling: Telling) -> Iterator[Block]:
    """Tell the neighbours of each value, how far they are from it, and the nearest one."""
    groups: dict[Series, list[_Told]] = {}
    for stage in telling.stages(Goal.PREFERRED):
        (step,) = (s for k in stage.ids if isinstance(s := telling.step(k), PreferredValue))
        value, nearest = (s for k in stage.ids if isinstance(s := telling.step(k), Round))
        groups.setdefault(step.series, []).append(_Told(step, value, nearest))
    for number, (series, found) in enumerate(groups.items()):
        if telling.full:
            template = w.PREFERRED_TOO if number else w.PREFERRED
            yield paragraph(template, series=series.name, many=w.number_word(series.value))
        yield _table(telling, found)


def _table(telling: Telling, found: list[_Told]) -> Table:
    rows = []
    for told in found:
        equation = telling.equation(told.step.premise)
        value = equation.right if told.value.exact else printed(told.value)[1]
        ends = (
            (told.step.below, told.step.off_below),
            (told.step.above, told.step.off_above),
        )
        cells = [_neighbour(told, *end) for end in ends]
        nearest = printed(told.nearest)[1]
        rows.append(((Math(equation.left),), (Math(value),), *cells, (Math(nearest),)))
    words = (w.PART, w.VALUE, w.NEXT_BELOW, w.NEXT_ABOVE, w.NEAREST)
    columns = (Align.LEFT, *[Align.RIGHT] * 4)
    return Table(tuple((Text(word),) for word in words), tuple(rows), columns, w.PREFERRED_SUMMARY)


def _neighbour(told: _Told, value: Fraction, off: Fraction) -> tuple[Inline, ...]:
    """Return a value of the series, and how far it is from the value of the part."""
    exponent, series = told.nearest.unit_exponent, told.step.series
    places = range(series.decimals + 3)
    exact = (k for k in places if (value * 10**k / Fraction(10) ** exponent).denominator == 1)
    shown = Math(decimal(value, exponent, next(exact), told.nearest.symbol.dimension))
    if not off:
        return (shown,)
    percent = with_sign(decimal(off, 0, series.decimals, NUMBER, Unit.PERCENT))
    return say(w.NEIGHBOUR, value=shown, off=Math(percent))
