"""Capacitors that share their charge: in series and in parallel, or by all rules together."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Product, Quantity, Quotient, SymbolKind, Term, children, symbols
from derive.derivation.algebra import BackSubstitute, Combine, Define, PutInValues, Substitute
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import AcrossRule, ChargeRule, PartRule
from derive.derivation.step import Round
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import Block, Chain, Display, Math, Paragraph, Relation, Row
from derive.document.phrase import joined, listing, paragraph, points, say
from derive.document.quantities import printed
from derive.document.telling import Telling, chain, extended, is_readable, part_symbol
from derive.typesetting.style import Expression

_MOST_NUMBERS = 6
"""Numbers in a line that still helps a reader who reckons it out."""


def charges(telling: Telling) -> Iterator[Block]:
    """Tell how the charges of capacitors were found, cluster by cluster."""
    for stage in telling.stages(Goal.CHARGES):
        yield from _islands(telling, stage)
        if any(isinstance(telling.step(k), Substitute) for k in stage.ids):
            yield from _together(telling, stage)
        else:
            yield from _by_groups(telling, stage)


def _islands(telling: Telling, stage: Stage) -> Iterator[Block]:
    rules = [k for k in stage.ids if isinstance(telling.step(k), ChargeRule)]
    names: dict[str, None] = {}
    places: dict[str, None] = {}
    for k in rules:
        step = telling.step(k)
        assert isinstance(step, ChargeRule)
        names |= dict.fromkeys(s.name[2:-1] for s in (*step.leads_in, *step.leads_out))
        places |= dict.fromkeys(step.points[:1])
    ordered = [e.name for e in telling.circuit.elements if e.name in names]
    parts = listing((Math(part_symbol(telling.circuit, name)) for name in ordered), w.AND)
    began = w.UNCHARGED_ONE if len(ordered) == 1 else w.UNCHARGED_MANY
    sentences = [say(began, parts=parts)]
    if len(places) == len(rules):
        sentences.append(say(w.ISLANDS_NAMED, points=points(places, w.AND)))
    else:
        sentences.append(say(w.ISLANDS))
    yield Paragraph(joined(sentences))
    yield Display(tuple(telling.row(k) for k in rules))
    if telling.full:
        yield paragraph(w.PLATE)


# --- in series and in parallel ------------------------------------------------------------------


def _by_groups(telling: Telling, stage: Stage) -> Iterator[Block]:
    rows: list[StepId] = []
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, Define):
            yield from _held(telling, stage, rows)
            rows = []
            yield _defined(step)
            yield Display((Row(_told(telling, stage, k)),))
        elif isinstance(step, Combine):
            rows.append(k)
    yield from _held(telling, stage, rows)


def _defined(step: Define) -> Block:
    right = step.conclusion.right
    if step.symbol.kind is SymbolKind.CHARGE:
        made = next(s for s in symbols(right) if s.kind is SymbolKind.CAPACITANCE)
        return paragraph(w.ROW_CHARGE, made=Math(made))
    parts = listing((Math(s) for s in dict.fromkeys(symbols(right))), w.AND)
    template = w.CAPACITORS_SERIES if isinstance(right, Quotient) else w.CAPACITORS_PARALLEL
    return paragraph(template, parts=parts)


def _held(telling: Telling, stage: Stage, rows: list[StepId]) -> Iterator[Block]:
    """Tell what each capacitor of a row holds."""
    if rows:
        shared = any(isinstance(telling.equation(k).right, Product) for k in rows)
        yield paragraph(w.ROW_AND_SIDES if shared else w.ROW)
        yield Display(tuple(Row(_told(telling, stage, k)) for k in rows))


# --- all rules together -------------------------------------------------------------------------


def _together(telling: Telling, stage: Stage) -> Iterator[Block]:
    links = [k for k in stage.ids if isinstance(telling.step(k), AcrossRule)]
    if links:
        yield paragraph(w.LINKS)
        yield Display(tuple(telling.row(k) for k in links))
    yield paragraph(w.PUT_INTO_ISLANDS if links else w.PUT_INTO_ISLANDS_BARE)
    yield Display(
        tuple(telling.row(k) for k in stage.ids if isinstance(telling.step(k), Substitute))
    )
    yield paragraph(w.VOLTAGES_SOLVED)
    rows = []
    for k in stage.ids:
        step = telling.step(k)
        if isinstance(step, Define):
            rows.append(Row(chain(step.conclusion)))
    tree = {telling.equation(k).left for k in links}
    for k in stage.ids:
        if isinstance(telling.step(k), Combine) and telling.equation(k).left not in tree:
            rows.append(Row(_told(telling, stage, k)))
    rows += [Row(_told(telling, stage, k)) for k in links]
    yield Display(tuple(rows))
    yield paragraph(w.CHARGES_BY_VOLTAGE)
    yield Display(
        tuple(
            Row(_told(telling, stage, k))
            for k in stage.ids
            if isinstance(telling.step(k), PartRule)
        )
    )


# --- lines --------------------------------------------------------------------------------------


def _told(telling: Telling, stage: Stage, law: StepId) -> Chain:
    """Return a law, what it comes to in letters where there are no numbers, and its value."""
    equation = telling.equation(law)
    symbol = equation.left
    sides: list[tuple[Relation, Expression]] = [(Relation.EQUAL, equation.right)]
    rounding: Round | None = None
    following = [k for k in stage.ids if k > law]
    for k in following:
        step = telling.step(k)
        if isinstance(step, Round):
            if step.symbol == symbol:
                rounding = step
        elif isinstance(step, PutInValues):
            number = next(symbols(step.conclusion.right), None) is None
            right = step.conclusion.right
            short = is_readable(right) and _size(right) <= _MOST_NUMBERS
            if number and step.conclusion.left == symbol and short:
                sides.append((Relation.EQUAL, step.conclusion.right))
        elif (
            isinstance(step, BackSubstitute)
            and step.conclusion.left == symbol
            and not telling.circuit.has_numbers
        ):
            sides.append((Relation.EQUAL, step.conclusion.right))
    if rounding is not None:
        if not is_readable(equation.right):
            sides = []
        if rounding.exact and len(sides) > 1:
            sides.pop()  # the decimal says the same
        sides.append(printed(rounding))
    (relation, first), *rest = sides
    return extended(Chain((symbol, first), (relation,)), *rest)


def _size(term: Term) -> int:
    """Return how many numbers stand in a term."""
    return isinstance(term, Quantity) + sum(map(_size, children(term)))
