"""How far the tolerances reach: ranges of the answers, and what each part adds."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.dimension import NUMBER
from derive.algebra.term import Symbol, SymbolKind
from derive.algebra.unit import Unit
from derive.circuit.model import Circuit
from derive.circuit.valuation import Given, Tie
from derive.derivation.goal import Goal
from derive.derivation.spread import NoRange, Range, Share, Shares, Unbounded
from derive.derivation.step import Conclude, Round
from derive.document import wording as w
from derive.document.model import (
    Align,
    Block,
    Chain,
    Inline,
    Math,
    Paragraph,
    Relation,
    Table,
    Text,
)
from derive.document.phrase import joined, listing, paragraph, say
from derive.document.quantities import decimal, printed, with_sign
from derive.document.telling import Telling
from derive.typesetting.style import Decimal

_SQUARES = (SymbolKind.POWER, SymbolKind.ENERGY)
_COLUMNS = 4
"""Results whose shares stand side by side in one table."""


def given_tolerances(circuit: Circuit) -> Iterator[Block]:
    """Say within what the given values hold."""
    groups: dict[Fraction, list[Symbol]] = {}
    for symbol, known in _toleranced(circuit).items():
        groups.setdefault(known, []).append(symbol)
    if groups:
        items = (
            say(w.TOLERANCE_OF, parts=listing(map(Math, names), w.AND), percent=_percent(size))
            for size, names in groups.items()
        )
        told: list[Inline] = []
        for item in items:
            told += [Text("; "), *item] if told else item
        yield paragraph(w.TOLERANCES, items=told)


def _toleranced(circuit: Circuit) -> dict[Symbol, Fraction]:
    return {
        v.symbol: v.value.tolerance
        for v in circuit.values
        if isinstance(v.value, Given) and v.value.tolerance
    }


def _percent(size: Fraction) -> Math:
    """Return 0.05 as 5 %."""
    decimals = next((k for k in range(9) if (size * 10 ** (k + 2)).denominator == 1), 9)
    place = Fraction(1, 10 ** (decimals + 2))
    rounded = round(size / place) * place
    return Math(decimal(rounded, 0, decimals, NUMBER, Unit.PERCENT))


def range_chains(telling: Telling) -> Iterator[Chain]:
    """Yield ``1.35 A ≤ I1 ≤ 1.50 A`` for every answer that has a range."""
    for step in _ranges(telling):
        low, high = _ends(step)
        yield Chain((low, step.symbol, high), (Relation.AT_MOST, Relation.AT_MOST))


def _ranges(telling: Telling) -> list[Range]:
    """Return the ranges of what can change."""
    found = (telling.step(k) for k in telling.ids(Goal.TOLERANCES, Range))
    return [s for s in found if isinstance(s, Range) and s.low.value != s.high.value]


def _ends(step: Range) -> tuple[Decimal, Decimal]:
    unit = step.symbol.dimension
    low, high = (
        decimal(end.shown, step.unit_exponent, step.decimals, unit) for end in (step.low, step.high)
    )
    return low, high


def tolerances(telling: Telling) -> Iterator[Block]:
    """Tell the ranges, then what each part adds to them."""
    ranges = _ranges(telling)
    if ranges:
        yield Paragraph(joined(_introduction(telling, ranges)))
        yield _table_of_ranges(telling, ranges)
    refused = list(_refusals(telling))
    if refused:
        yield Paragraph(joined(refused))
    if telling.full:
        yield from _shares(telling)


def _introduction(telling: Telling, ranges: list[Range]) -> Iterator[tuple[Inline, ...]]:
    """Say why it is enough to look at the ends."""
    if not telling.full:
        yield say(w.ENDS_BRIEF)
        return
    letters = len(ranges[0].high.at) or len(ranges[0].low.at)
    if any(isinstance(v.value, Tie) for v in telling.circuit.values):
        yield say(w.ENDS_TIED)
    elif letters == 1:
        yield say(w.ENDS_ONE)
    else:
        yield say(w.ENDS, corners=w.number_word(2**letters))
    if any(step.symbol.kind in _SQUARES for step in ranges):
        yield say(w.ENDS_POWERS)
    yield say(w.ENDS_ROUNDED)


def _table_of_ranges(telling: Telling, ranges: list[Range]) -> Table:
    rows = []
    for step in ranges:
        answer = telling.step(step.answer)
        assert isinstance(answer, Conclude)
        rounding = telling.rounded(answer)
        assert isinstance(rounding, Round)
        _, nominal = printed(rounding)
        cells = (step.symbol, nominal, *_ends(step))
        rows.append(tuple((Math(cell),) for cell in cells))
    header = tuple((Text(word),) for word in (w.RESULT, w.NOMINAL, w.LEAST, w.GREATEST))
    columns = (Align.LEFT, Align.RIGHT, Align.RIGHT, Align.RIGHT)
    return Table(header, tuple(rows), columns, w.ENDS_SUMMARY)


def _refusals(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    """Say why some results have no range, once for each reason."""
    groups: dict[Unbounded, list[Inline]] = {}
    for k in telling.ids(Goal.TOLERANCES, NoRange):
        step = telling.step(k)
        assert isinstance(step, NoRange)
        groups.setdefault(step.reason, []).append(Math(step.symbol))
    for reason, results in groups.items():
        yield say(w.NO_RANGE[reason.name], results=listing(results, w.AND))
    moved = telling.has(Goal.TRANSIENT)
    if moved and _toleranced(telling.circuit):
        yield say(w.NO_RANGE["COURSE"])


def _shares(telling: Telling) -> Iterator[Block]:
    found = (telling.step(k) for k in telling.ids(Goal.TOLERANCES, Shares))
    steps = [s for s in found if isinstance(s, Shares) and s.total]
    if not steps:
        return
    bounded = any(s.down is not None for s in steps)
    yield paragraph(w.SHARES if bounded else w.SHARES_ALONE)
    for first in range(0, len(steps), _COLUMNS):
        yield _table_of_shares(telling, steps[first : first + _COLUMNS])


def _table_of_shares(telling: Telling, steps: list[Shares]) -> Table:
    sizes = _toleranced(telling.circuit)
    letters = [s.letter for s in steps[0].shares]
    rows: list[tuple[tuple[Inline, ...], ...]] = []
    for place, letter in enumerate(letters):
        own: list[Share] = [step.shares[place] for step in steps]
        if any(share.value for share in own):
            width = say(w.WITHIN, percent=_percent(sizes[letter]))
            cells = [
                _signed(s, x.shown) if x.value else (Text(w.NO_SHARE),)
                for s, x in zip(steps, own, strict=True)
            ]
            rows.append(((Math(letter),), width, *cells))
    sums = [(Math(_decimal(step, step.total_shown)),) for step in steps]
    rows.append(((Text(w.SHARE_SUM),), (), *sums))
    for word, ends in (
        (w.REACH_DOWN, [s.down for s in steps]),
        (w.REACH_UP, [s.up for s in steps]),
    ):
        if any(end is not None for end in ends):
            cells = [_signed(s, end) for s, end in zip(steps, ends, strict=True)]
            rows.append(((Text(word),), (), *cells))
    header: tuple[tuple[Inline, ...], ...] = (
        (Text(w.PART),),
        (Text(w.SHARE_TOLERANCE),),
        *((Math(step.symbol),) for step in steps),
    )
    columns = (Align.LEFT, Align.RIGHT, *[Align.RIGHT] * len(steps))
    return Table(header, tuple(rows), columns, w.SHARES_SUMMARY)


def _signed(step: Shares, value: Fraction | None) -> tuple[Inline, ...]:
    if value is None:
        return ()
    return (Math(with_sign(_decimal(step, value))),)


def _decimal(step: Shares, value: Fraction) -> Decimal:
    return decimal(value, step.unit_exponent, step.decimals, step.symbol.dimension)
