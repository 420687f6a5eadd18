"""All answers in one box."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import (
    ZERO,
    Term,
    symbols,
)
from derive.derivation.algebra import Define, Isolate
from derive.derivation.further import Efficiency, OverTime
from derive.derivation.goal import Goal
from derive.derivation.laws import AcrossRule, PartRule, PathRule, PotentialRule, SameCurrent
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import AnswerLine, Block, Box, BoxKind, Chain, Inline, Math, Text
from derive.document.phrase import listing, say
from derive.document.telling import Detail, Telling, chain
from derive.document.tolerance_told import range_chains
from derive.document.transient_told import course_chains
from derive.typesetting.style import Decimal

_MOST_NAMES = 8
"""Names that the box explains although the page has done so."""


def answers(telling: Telling) -> Iterator[Block]:
    """Put all answers in one box."""
    concluded = list(telling.conclusions())
    if not concluded and not any(True for _ in course_chains(telling)):
        return
    remark: tuple[Inline, ...] = ()
    still = {branch.current for branch in telling.circuit.idle}
    currents = [s for s in telling.current_conclusions() if s.symbol not in still]
    rounded = [(s.symbol, telling.rounded(s)) for s in currents]
    if all(r is not None for _, r in rounded) and len(currents) > 1:
        against = [Math(s) for s, r in rounded if r is not None and r.rounded < 0]
        if against:
            remark = say(w.REMARK_AGAINST, currents=listing(against, w.AND))
        elif all(r is not None and r.rounded > 0 for _, r in rounded):
            remark = say(w.REMARK_DRAWN)
    blocks: list[Block] = []
    names = names_in_answers(telling)
    if names and (telling.detail is Detail.ANSWERS or len(names) <= _MOST_NAMES):
        blocks.append(AnswerLine(names, ()))
    blocks.append(AnswerLine(answer_chains(telling), remark))
    ranges = tuple(range_chains(telling))
    if ranges:
        blocks.append(AnswerLine(ranges, ()))
    yield Box(BoxKind.ANSWERS, (Text(w.ANSWERS),), tuple(blocks))


def answer_chains(telling: Telling) -> tuple[Chain, ...]:
    """Return all answers; in letters, by the shorter of the forms that were shown."""
    short = telling.formulas_shown
    laws: dict[Term, StepId] = {}
    for goal in (Goal.FURTHER, Goal.POTENTIALS, Goal.SOLVE_JUNCTIONS, Goal.GO_BACK, Goal.WALKS):
        for k in telling.ids(goal, *_LAWS):
            laws[telling.equation(k).left] = k
    found = []
    for step in telling.conclusions():
        letters = telling.rounded(step) is None and step.value is None
        zero = step.formula is not None and telling.equation(step.formula).right == ZERO
        if letters and not (short or zero) and step.symbol in laws:
            found.append(chain(telling.equation(laws[step.symbol])))
        else:
            found.append(telling.result(step))
    return (*found, *course_chains(telling))


_LAWS = (Isolate, PartRule, PathRule, PotentialRule, AcrossRule, OverTime, Efficiency, SameCurrent)


def names_in_answers(telling: Telling) -> tuple[Chain, ...]:
    """Return what the names for sub-expressions stand for that the answers use."""
    chains = answer_chains(telling)
    used = {s for c in chains for side in c.sides[1:] if not isinstance(side, Decimal)
            for s in symbols(side)}  # fmt: skip
    used -= {c.sides[0] for c in chains}
    defined = [k for k, step in enumerate(telling.derivation.steps) if isinstance(step, Define)]
    for k in reversed(defined):
        if telling.equation(k).left in used:
            used.update(symbols(telling.equation(k).right))
    return tuple(chain(telling.equation(k)) for k in defined if telling.equation(k).left in used)
