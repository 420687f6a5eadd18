"""The load that takes the most power, told as a person would write it."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Sum, Symbol, Term, children
from derive.derivation.algebra import BackSubstitute, Collect, Define, PutInValues
from derive.derivation.further import Largest
from derive.derivation.goal import Stage
from derive.derivation.laws import PartRule
from derive.derivation.step import Conclude, Step
from derive.derivation.step_id import StepId
from derive.document import wording as w
from derive.document.model import Block, Chain, Display, Inline, Math, Relation, Row
from derive.document.phrase import paragraph
from derive.document.telling import Telling, chain, extended, is_readable
from derive.typesetting.style import Expression

_LONGEST = 12
"""Products in a sum that is still printed."""


def matched(telling: Telling, stage: Stage) -> Iterator[Block]:
    """Find the load: the battery that stands for the rest, the power, the square."""
    steps = {k: telling.step(k) for k in stage.ids}
    emf, inner = (k for k, s in steps.items() if isinstance(s, Define))
    current, short = (k for k, s in steps.items() if isinstance(s, Collect))
    law = next(k for k, s in steps.items() if isinstance(s, PartRule))
    power, *formulas = (k for k, s in steps.items() if isinstance(s, BackSubstitute))
    found = [s for s in steps.values() if isinstance(s, Largest)]
    concluded = [s for s in steps.values() if isinstance(s, Conclude)]
    shortfall = telling.equation(short).left
    assert isinstance(shortfall, Sum)
    slots: dict[str, Inline] = {
        "part": Math(_load(telling, power)),
        "emf": Math(telling.equation(emf).left),
        "inner": Math(telling.equation(inner).left),
        "bound": Math(shortfall.terms[0]),
    }
    yield paragraph(w.MATCHED, **slots)
    yield paragraph(w.MATCHED_REST, **slots)
    rest = [Row(_current(telling, steps, current)), *_names(telling, stage, (emf, inner))]
    yield Display(tuple(rest))
    yield paragraph(w.MATCHED_POWER, **slots)
    whole = extended(chain(telling.equation(law)), (Relation.EQUAL, telling.equation(power).right))
    yield Display((Row(whole),))
    yield paragraph(w.MATCHED_SQUARE, **slots)
    yield Display((Row(chain(telling.equation(short))),))
    yield paragraph(w.MATCHED_SO, **slots)
    rows = []
    for largest, formula, answer in zip(found, formulas, concluded, strict=True):
        sides: list[tuple[Relation, Expression]] = [(Relation.EQUAL, largest.conclusion.right)]
        sides += _values(telling, stage, answer.symbol)
        if answer.value is None:
            sides.append((Relation.EQUAL, telling.equation(formula).right))
        rows.append(Row(telling.with_decimal(answer, sides)))
    yield Display(tuple(rows))
    if telling.full:
        # In a single loop the rest is what stands for it: nothing else is lost inside.
        alone = len(telling.circuit.branches) == 1
        yield paragraph(w.MATCHED_HALF_HERE if alone else w.MATCHED_HALF, **slots)


def _load(telling: Telling, power: StepId) -> Term:
    """Return the letter of the load, which stands last in the numerator of its power."""
    right = telling.equation(power).right
    return children(children(right)[0])[-1]


def _current(telling: Telling, steps: dict[StepId, Step], current: StepId) -> Chain:
    """Return the current by its formula, if that is short, and by the battery of the rest."""
    step = steps[current]
    assert isinstance(step, Collect)
    formula = telling.equation(step.premise)
    own = (Relation.EQUAL, telling.equation(current).right)
    if _is_short(formula.right) and telling.formulas_shown:
        return extended(chain(formula), own)
    return chain(telling.equation(current))


def _names(telling: Telling, stage: Stage, names: tuple[StepId, ...]) -> Iterator[Row]:
    """Yield what the emf and the internal resistance stand for, with their values."""
    for k in names:
        equation = telling.equation(k)
        assert isinstance(equation.left, Symbol)
        sides = _values(telling, stage, equation.left)
        if _is_short(equation.right) or not sides:
            sides.insert(0, (Relation.EQUAL, equation.right))
        (relation, first), *more = sides
        yield Row(extended(Chain((equation.left, first), (relation,)), *more))


def _values(telling: Telling, stage: Stage, symbol: Symbol) -> list[tuple[Relation, Expression]]:
    return [
        (Relation.EQUAL, telling.equation(k).right)
        for k in stage.ids
        if isinstance(telling.step(k), PutInValues)
        and telling.equation(k).left == symbol
        and is_readable(telling.equation(k).right)
    ]


def _is_short(term: Term) -> bool:
    long = isinstance(term, Sum) and len(term.terms) > _LONGEST
    return not long and all(map(_is_short, children(term)))
