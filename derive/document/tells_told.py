"""What the general formulas tell, in a few lines: units, trends, limits, special cases."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from derive.algebra.dimension import Dimension, unit_text
from derive.algebra.term import ZERO, Negative, Number, Quotient, Sum, Symbol, SymbolKind
from derive.derivation.goal import Goal
from derive.derivation.sense import Dimensions, Limit, Response, SpecialCase, Toward, Trend
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import (
    Block,
    Chain,
    Display,
    Inline,
    Math,
    Paragraph,
    Relation,
    Row,
)
from derive.document.phrase import Piece, joined, listing, paragraph, say
from derive.document.telling import Telling

_Kind = TypeVar("_Kind", Limit, SpecialCase, Trend, Dimensions)


def tells(telling: Telling) -> Iterator[Block]:
    """Say what can be read off the formulas; nothing in a brief solution."""
    if not telling.full:
        return
    sentences = [*_units(telling), *_trends(telling), *_own(telling)]
    if sentences:
        yield Paragraph(joined(sentences))
    limits = [s for s in _steps(telling, Limit) if _is_shown(s)]
    cases = _steps(telling, SpecialCase)
    if limits or cases:
        yield paragraph(w.LIMITS if limits else w.SPECIAL_CASES)
        rows = [_limit(telling, s) for s in limits] + [_case(telling, s) for s in cases]
        yield Display(tuple(rows))
    for step in _steps(telling, Limit):
        if step.limit is None:
            yield Paragraph(_unbounded(telling, step))


def _steps(telling: Telling, kind: type[_Kind]) -> list[_Kind]:
    found = (telling.step(k) for k in telling.ids(Goal.TELLS))
    return [step for step in found if isinstance(step, kind)]


def _symbol(telling: Telling, premise: StepId) -> Symbol:
    symbol = telling.equation(premise).left
    assert isinstance(symbol, Symbol)
    return symbol


# --- sentences ----------------------------------------------------------------------------------


def _units(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    """Say in which units the terms are, of the largest group of formulas that have the same."""
    groups: dict[tuple[Dimension, Dimension], list[Symbol]] = {}
    for step in _steps(telling, Dimensions):
        if _has_terms(telling, step.premise):
            symbol = _symbol(telling, step.premise)
            groups.setdefault((step.above, step.below), []).append(symbol)
    if not groups:
        return
    (above, below), found = max(groups.items(), key=lambda item: len(item[1]))
    told = (s for s in telling.current_conclusions() if s.symbol not in telling.copies)
    every = len(found) == sum(not _is_plain(telling, s) for s in told)
    yield say(
        w.UNITS if every else w.UNITS_OF,
        currents=listing(map(Math, found), w.AND),
        above=unit_text(above),
        below=unit_text(below),
        result=w.UNITS_ONE if len(found) == 1 else w.UNITS_MANY,
        unit=unit_text(above / below),
    )


def _is_plain(telling: Telling, step: Conclude) -> bool:
    """Tell whether there is no fraction in a formula."""
    if step.formula is None:
        return True
    right = telling.equation(step.formula).right
    return isinstance(right.term if isinstance(right, Negative) else right, Symbol | Number)


def _has_terms(telling: Telling, premise: StepId) -> bool:
    """Tell whether there is more than one term above or below the line."""
    right = telling.equation(premise).right
    body = right.term if isinstance(right, Negative) else right
    assert isinstance(body, Quotient)
    named = isinstance(body.denominator, Symbol) and body.denominator.kind is SymbolKind.AUXILIARY
    return named or any(isinstance(part, Sum) for part in (body.numerator, body.denominator))


def _trends(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    found: dict[Symbol, dict[Response, list[Symbol]]] = {}
    for step in _steps(telling, Trend):
        if step.response is not Response.WEAKENS:
            responses = found.setdefault(_symbol(telling, step.premise), {})
            responses.setdefault(step.response, []).append(step.letter)
    clauses = []
    for symbol, responses in found.items():
        up, down = responses.get(Response.RISES, []), responses.get(Response.FALLS, [])
        template = w.RISES_AND_FALLS if up and down else w.RISES if up else w.FALLS
        slots: dict[str, Piece] = {
            "current": Math(symbol),
            "up": listing(map(Math, up), w.AND),
            "down": listing(map(Math, down), w.AND),
        }
        clauses.append(say(template, **slots))
    if clauses:
        first, *others = clauses
        spoken = [*first]
        for clause in others:
            spoken += [*say(w.BETWEEN_TRENDS), *clause]
        yield say(w.TRENDS, trends=tuple(spoken))


def _own(telling: Telling) -> Iterator[tuple[Inline, ...]]:
    """Say that a resistance weakens the current of its branch, down to nothing."""
    weakened = {
        (_symbol(telling, step.premise), step.letter)
        for step in _steps(telling, Trend)
        if step.response is Response.WEAKENS
    }
    branches = [branch for branch in telling.circuit.branches if branch.resistances]
    found = [
        branch.current
        for branch in branches
        if all((branch.current, letter) in weakened for letter in branch.resistances)
    ]
    if not found:
        return
    if len(telling.circuit.branches) == 1:
        yield say(w.OWN_LOOP)
    elif len(found) == len(branches):
        yield say(w.OWN_ALL)
    else:
        template = w.OWN_ONE if len(found) == 1 else w.OWN_MANY
        yield say(template, currents=listing(map(Math, found), w.AND))


def _unbounded(telling: Telling, step: Limit) -> tuple[Inline, ...]:
    batteries = [b.emf for branch in telling.circuit.branches for b in branch.batteries]
    return say(
        w.UNBOUNDED if len(batteries) == 1 else w.UNBOUNDED_MANY,
        letter=Math(step.letter),
        current=Math(_symbol(telling, step.premise)),
        battery=listing(map(Math, batteries), w.AND),
    )


# --- rows ---------------------------------------------------------------------------------------


def _is_shown(step: Limit) -> bool:
    """Tell whether a limit gets a row; that a branch is cut has been said in words."""
    return step.limit is not None and step.limit != ZERO


def _limit(telling: Telling, step: Limit) -> Row:
    assert step.limit is not None
    chain = Chain((_symbol(telling, step.premise), step.limit), (Relation.TENDS,))
    template = w.AS_ZERO if step.to is Toward.ZERO else w.AS_INFINITY
    return Row(chain, source=say(template, letter=Math(step.letter)))


def _case(telling: Telling, step: SpecialCase) -> Row:
    chain = Chain((_symbol(telling, step.premise), step.result), (Relation.EQUAL,))
    return Row(chain, source=say(w.IF, condition=Math(_condition(step))))


def _condition(step: SpecialCase) -> Chain:
    """Return ``E1 = E2 = E3`` where several letters are equal, else the one assumption."""
    (first, *_) = step.assumptions
    if isinstance(first.right, Symbol):
        letters = [first.right, *(equation.left for equation in step.assumptions)]
        return Chain(tuple(letters), (Relation.EQUAL,) * (len(letters) - 1))
    return Chain((first.left, first.right), (Relation.EQUAL,))
