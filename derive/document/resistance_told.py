"""The resistance between two points, told exchange by exchange."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Symbol
from derive.derivation.algebra import BackSubstitute, PutInValues
from derive.derivation.exchanges import LeftBetween, LookBetween
from derive.derivation.goal import Goal
from derive.derivation.step import BySource, Conclude
from derive.document import exchanges_told, test_source_told
from derive.document import wording as w
from derive.document.model import Block, Display, Inline, Math, PointName, Relation, Row
from derive.document.phrase import paragraph
from derive.document.telling import Telling, is_readable
from derive.typesetting.style import Expression


def resistances(telling: Telling) -> Iterator[Block]:
    """Tell every question about a resistance."""
    for number, run in enumerate(telling.stages(Goal.RESISTANCE)):
        steps = [telling.step(k) for k in run.ids]
        if any(isinstance(step, BySource) for step in steps):
            yield from test_source_told.by_test_source(telling, run, is_first=not number)
            continue
        begun = next(s for s in steps if isinstance(s, LookBetween))
        law = next(s for s in steps if isinstance(s, LeftBetween))
        answer = next(s for s in steps if isinstance(s, Conclude))
        ends: dict[str, Inline] = {
            "one": Math(PointName(begun.one)), "other": Math(PointName(begun.other))
        }  # fmt: skip
        dead = any(branch.batteries for branch in telling.circuit.all_branches)
        seen = w.SEEN_DEAD if dead else w.SEEN
        if telling.circuit.has_sources:
            seen = f"{seen} {w.SEEN_SOURCES}"
        yield paragraph(seen, **ends)
        yield from exchanges_told.told(telling, run, ends)
        wire = not isinstance(law.conclusion.right, Symbol)
        yield paragraph(w.NONE_LEFT if wire else w.ONE_LEFT, **ends)
        sides: list[tuple[Relation, Expression]] = [(Relation.EQUAL, law.conclusion.right)]
        for step in steps[steps.index(law) + 1 :]:
            if isinstance(step, BackSubstitute) or (
                isinstance(step, PutInValues) and is_readable(step.conclusion.right)
            ):
                sides.append((Relation.EQUAL, step.conclusion.right))
        yield Display((Row(telling.with_decimal(answer, sides)),))
