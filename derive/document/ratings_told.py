"""What parts are rated for: what it makes of lamps, and how much of it is taken."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import constant
from derive.circuit.elements import Capacitor, Resistor
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given
from derive.derivation.further import AgainstRating, Load
from derive.derivation.goal import Goal
from derive.derivation.laws import Rated
from derive.derivation.step import Round
from derive.document import wording as w
from derive.document.model import Align, Block, Display, Inline, Math, Relation, Row, Table, Text
from derive.document.phrase import listing, paragraph, say
from derive.document.quantities import printed
from derive.document.telling import Telling, ended, part_symbol
from derive.typesetting.style import Decimal, Expression


def given_ratings(circuit: Circuit) -> Iterator[Block]:
    """Say what the parts are rated for, once for those that are alike."""
    groups: dict[tuple[Expression | None, Expression], list[Inline]] = {}
    for rating in circuit.ratings:
        voltage = None if rating.voltage is None else as_written(rating.voltage)
        parts = groups.setdefault((voltage, as_written(rating.power)), [])
        parts.append(Math(part_symbol(circuit, rating.part)))
    told: list[Inline] = []
    for (voltage, power), parts in groups.items():
        told += [Text("; ")] if told else []
        names = listing(parts, w.AND)
        if voltage is None:
            told += say(w.RATED_RESISTORS, parts=names, power=Math(power))
        else:
            told += say(w.RATED_LAMPS, parts=names, voltage=Math(voltage), power=Math(power))
    if told:
        yield paragraph(w.RATED, items=told)


def as_written(given: Given) -> Expression:
    """Return a value with the digits and the unit of the author."""
    if given.written is not None:
        return Decimal(*given.written, given.dimension)
    return constant(given.value, given.dimension)


def lamps(telling: Telling) -> Iterator[Block]:
    """Tell the resistances that follow from the ratings of lamps."""
    rows = []
    for k in telling.ids(Goal.LAMPS, Rated):
        equation, rounding = telling.equation(k), telling.step(k + 1)
        assert isinstance(rounding, Round)
        symbol = rounding.symbol
        rows.append(Row(ended(symbol, [(Relation.EQUAL, equation.right)], rounding)))
    if rows:
        yield paragraph(w.LAMPS_ONE if len(rows) == 1 else w.LAMPS_MANY)
        yield Display(tuple(rows))


def against_ratings(telling: Telling) -> Iterator[Block]:
    """Set the power in each rated part beside its rating."""
    rows: list[tuple[tuple[Inline, ...], ...]] = []
    roundings: dict[int, Round] = {}
    for k in telling.ids(Goal.RATINGS):
        step = telling.step(k)
        if isinstance(step, Round):
            roundings[step.premise] = step
        elif isinstance(step, AgainstRating):
            rating = telling.circuit.rating(step.part)
            assert rating is not None
            rounding = roundings[step.power]
            part = part_symbol(telling.circuit, step.part)
            cells = (part, printed(rounding)[1], as_written(rating.power))
            told = Text(_load(telling.circuit, step, rounding))
            rows.append((*((Math(cell),) for cell in cells), (told,)))
    if rows:
        header = tuple((Text(word),) for word in (w.PART, w.POWER, w.RATING, w.DOES))
        columns = (Align.LEFT, Align.RIGHT, Align.RIGHT, Align.LEFT)
        yield paragraph(w.AGAINST_RATINGS, when=_when(telling.circuit))
        yield Table(header, tuple(rows), columns, w.RATINGS_SUMMARY)
        if _has_capacitor(telling.circuit):
            yield paragraph(w.WHILE_CHARGED)


def _when(circuit: Circuit) -> str:
    """Return what the powers hold for, where they may be others."""
    steady = _has_capacitor(circuit)
    nominal = any(isinstance(v.value, Given) and v.value.tolerance for v in circuit.values)
    return (w.POWERS_LONG_AFTER if steady else "") + (w.POWERS_NOMINALLY if nominal else "")


def _has_capacitor(circuit: Circuit) -> bool:
    return any(isinstance(element, Capacitor) for element in circuit.elements)


def _load(circuit: Circuit, step: AgainstRating, rounding: Round) -> str:
    element = circuit.element(step.part)
    lamp = isinstance(element, Resistor) and element.lamp
    if lamp and not rounding.rounded:
        return w.LAMP_DARK
    told = (w.LAMP_LOADS if lamp else w.RESISTOR_LOADS)[step.load.name]
    close = rounding.rounded == step.rating and step.load is not Load.AT
    return told + (w.BY_LITTLE if close else "")
