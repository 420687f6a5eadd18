"""Preferred values: a table for each series that is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.dimension import NUMBER
from derive.algebra.unit import Unit
from derive.circuit.preferred import Series
from derive.derivation.step import Conclude, Goal, PreferredValue, Round
from derive.document import wording as w
from derive.document.model import Align, Block, Inline, Math, Table, Text
from derive.document.phrase import paragraph, say
from derive.document.quantities import decimal, printed, with_sign
from derive.document.telling import Telling


def preferred_values(telling: Telling) -> Iterator[Block]:
    """Tell the neighbours of each value, how far they are from it, and the nearest one."""
    groups: dict[Series, list[tuple[PreferredValue, Conclude]]] = {}
    for stage in telling.stages(Goal.PREFERRED):
        (step,) = (s for k in stage.ids if isinstance(s := telling.step(k), PreferredValue))
        (answer,) = (s for k in stage.ids if isinstance(s := telling.step(k), Conclude))
        groups.setdefault(step.series, []).append((step, answer))
    for number, (series, found) in enumerate(groups.items()):
        if telling.full:
            template = w.PREFERRED_TOO if number else w.PREFERRED
            yield paragraph(template, series=series.name, many=w.number_word(series.value))
        yield _table(telling, found)


def _table(telling: Telling, found: list[tuple[PreferredValue, Conclude]]) -> Table:
    rows = []
    for step, answer in found:
        equation = telling.equation(step.premise)
        rounding = telling.rounded(answer)
        assert rounding is not None
        ends = (step.below, step.off_below), (step.above, step.off_above)
        cells = [_neighbour(step, rounding, *end) for end in ends]
        rows.append(
            (
                (Math(equation.left),),
                (Math(equation.right),),
                *cells,
                (Math(printed(rounding)[1]),),
            )
        )
    words = (w.PART, w.VALUE, w.NEXT_BELOW, w.NEXT_ABOVE, w.NEAREST)
    columns = (Align.LEFT, *[Align.RIGHT] * 4)
    return Table(tuple((Text(word),) for word in words), tuple(rows), columns, w.PREFERRED_SUMMARY)


def _neighbour(
    step: PreferredValue, rounding: Round, value: Fraction, off: Fraction
) -> tuple[Inline, ...]:
    """Return a value of the series, and how far it is from the value of the part."""
    exponent = rounding.unit_exponent
    places = range(step.series.decimals + 3)
    exact = (k for k in places if (value * 10**k / Fraction(10) ** exponent).denominator == 1)
    shown = Math(decimal(value, exponent, next(exact), rounding.symbol.dimension))
    if not off:
        return (shown,)
    percent = with_sign(decimal(off, 0, step.series.decimals, NUMBER, Unit.PERCENT))
    return say(w.NEIGHBOUR, value=shown, off=Math(percent))
