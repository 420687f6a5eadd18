"""Where no current flows, and what dependent sources are where none flows at all."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import ZERO, Symbol
from derive.circuit.elements import Battery, Capacitor, Instrument, Resistor, Switch, is_gap
from derive.derivation.goal import Goal
from derive.derivation.laws import KnownCurrent, PathRule
from derive.derivation.step import Conclude, Silent
from derive.document import wording as w
from derive.document.model import Block, Chain, Display, Inline, Math, Paragraph, Relation, Row
from derive.document.phrase import joined, listing, paragraph, say
from derive.document.telling import Telling, chain, extended, part_symbol


def without_current(telling: Telling) -> Iterator[Block]:
    """Say where no current can flow, and why."""
    circuit = telling.circuit
    gaps = [p.element for branch in circuit.idle for p in branch.passages if is_gap(p.element)]
    if not gaps:
        return
    sentences: list[tuple[Inline, ...]] = []
    for kind, one, many in (
        (Switch, w.OPEN_ONE, w.OPEN_MANY),
        (Instrument, w.NO_DRAIN_ONE, w.NO_DRAIN_MANY),
        (Capacitor, w.CHARGED_UP_ONE, w.CHARGED_UP_MANY),
    ):
        found = [Math(part_symbol(circuit, e.name)) for e in gaps if isinstance(e, kind)]
        if found:
            template = one if len(found) == 1 else many
            sentences.append(say(template, parts=listing(found, w.AND)))
    if not circuit.asks_for_currents:  # from outside a current may come in beside a gap
        yield Paragraph(joined(sentences))
        return
    behind = [
        Math(part_symbol(circuit, passage.element.name))
        for branch in circuit.idle
        for passage in branch.passages
        if isinstance(passage.element, Resistor | Battery)
    ]
    if behind:
        drops = any(branch.resistances for branch in circuit.idle)
        template = w.NOR_IN_RESISTANCE if drops else w.NOR_IN
        sentences.append(say(template, parts=listing(behind, w.OR)))
    if not circuit.branches:
        sentences.append(say(w.NOTHING_FLOWS))
    yield Paragraph(joined(sentences))
    named = {branch.current for branch in circuit.named_idle}
    rows = [
        Row(chain(telling.equation(k)))
        for k in telling.ids(Goal.KNOWN, KnownCurrent)
        if telling.equation(k).left in named
    ]
    if rows:
        yield Display(tuple(rows))
    if not circuit.branches and circuit.dependent:
        alone = len(circuit.dependent) == 1
        yield paragraph(w.SOURCE_FOLLOWS if alone else w.SOURCES_FOLLOW)
        yield Display((*_controls(telling), *(_found(telling, s) for s in circuit.dependent)))


def _controls(telling: Telling) -> Iterator[Row]:
    """Yield the voltages on which sources depend."""
    for k in telling.ids(Goal.CONTROLS, PathRule):
        yield Row(chain(telling.equation(k)))


def _found(telling: Telling, source: Symbol) -> Row:
    """Tell what a dependent source depends on, and what it is where no current flows."""
    steps = telling.derivation.steps
    last = next(k for k, step in enumerate(steps) if isinstance(step, Conclude))
    rules = [s for s in steps[:last] if not isinstance(s, Silent)]
    rights = [s.conclusion.right for s in rules if s.conclusion.left == source]
    if rights[-1] != ZERO:
        rights = [right for right in rights if right != ZERO]  # 0 V says it all
    return Row(extended(Chain((source,), ()), *((Relation.EQUAL, right) for right in rights)))
