"""What all parts of the narration share: the derivation by stages, and the numbers of equations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from functools import cached_property

from derive.algebra.dimension import NUMBER
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
    auxiliary,
    children,
    number,
    resistance,
)
from derive.analysis.laws import loop_count
from derive.analysis.loops import windows
from derive.analysis.solve import PRODUCTS_SHOWN
from derive.circuit.elements import Battery, own_quantity
from derive.circuit.model import Circuit, Loop
from derive.circuit.question import AskCurrents
from derive.derivation.algebra import Combine, Define, Scaled
from derive.derivation.goal import Goal, Stage
from derive.derivation.laws import LoopRule, SameCurrent
from derive.derivation.step import Conclude, Derivation, Round, Step
from derive.derivation.step_id import StepId
from derive.document.model import Chain, Inline, Math, Reference, Relation, Row, Text
from derive.document.phrase import listing
from derive.document.quantities import printed
from derive.document.wording import AND
from derive.typesetting.style import Expression

_MOST_WINDOWS = 12
"""Loops of a circuit for which good ones are looked for."""


class Detail(Enum):
    """How much a solution says."""

    FULL = "full"
    BRIEF = "brief"
    """Equations without the tables of the walks and without comments."""
    ANSWERS = "answers"


@dataclass
class Telling:
    """Numbers the displayed equations while the sections are made, in reading order."""

    circuit: Circuit
    derivation: Derivation
    detail: Detail = Detail.FULL
    numbers: dict[StepId, int] = field(default_factory=dict)
    numbered: int = 0
    """How many equations have numbers before the first one here."""
    shape: tuple[Loop, ...] = ()
    """The windows of all figures, in the branches of the figure, where it is not alone to decide;
    see `View.shape`."""

    @property
    def by_rules(self) -> bool:
        """Whether the currents are found by Kirchhoff's rules, at least among other ways."""
        ways = self.has(Goal.WAY_BACK)
        rules = self.has(Goal.LOOPS)
        return rules or (not ways and bool(self.circuit.branches))

    @property
    def full(self) -> bool:
        """Whether comments and tables are wanted."""
        return self.detail is Detail.FULL

    def step(self, index: StepId) -> Step:
        """Return a step."""
        return self.derivation.steps[index]

    def equation(self, index: StepId) -> Equation:
        """Return the conclusion of a step."""
        return self.derivation.equation(index)

    def stages(self, goal: Goal) -> Iterator[Stage]:
        """Yield the stages with a goal."""
        return (stage for stage in self.derivation.stages if stage.goal is goal)

    def has(self, goal: Goal) -> bool:
        """Tell whether any stage has a goal."""
        return any(stage.goal is goal for stage in self.derivation.stages)

    def ids(self, goal: Goal, *kinds: type[Step]) -> Iterator[StepId]:
        """Yield the steps in the stages with a goal; those of some kinds, if any are given."""
        for stage in self.stages(goal):
            for k in stage.ids:
                if not kinds or isinstance(self.derivation.steps[k], kinds):
                    yield k

    def chosen_loops(self) -> tuple[Loop, ...]:
        """Return the loops whose equations are used."""
        found = (self.step(k) for k in self.ids(Goal.LOOPS, LoopRule))
        return tuple(step.loop for step in found if isinstance(step, LoopRule))

    @cached_property
    def windows(self) -> tuple[Loop, ...]:
        """The loops that become windows of the figures: those used, or good ones.

        Between two nodes those of the usual figure, whichever the author does not choose.
        """
        found = self.chosen_loops()
        if len(self.circuit.nodes) == 2 and not self.circuit.choices.loops:
            return windows(self.circuit)
        many = loop_count(self.circuit) > _MOST_WINDOWS
        return found if found or many else windows(self.circuit)

    def denominators(self) -> list[StepId]:
        """Return the steps that name the denominators of the closed forms."""
        return list(self.ids(Goal.FRACTIONS, Define))

    @property
    def products(self) -> int:
        """The number of products in the longest named denominator."""
        rights = (self.equation(k).right for k in self.denominators())
        return max((len(t.terms) if isinstance(t, Sum) else 1 for t in rights), default=0)

    @property
    def formulas_shown(self) -> bool:
        """Whether the closed forms are short enough to be printed."""
        return self.products <= PRODUCTS_SHOWN

    def conclusions(self) -> Iterator[Conclude]:
        """Yield the answers in order."""
        return (step for step in self.derivation.steps if isinstance(step, Conclude))

    def current_conclusions(self) -> list[Conclude]:
        """Return the conclusions about currents."""
        return [step for step in self.conclusions() if isinstance(step.question, AskCurrents)]

    def rounded(self, step: Conclude) -> Round | None:
        """Return the rounding of an answer."""
        found = None if step.rounded is None else self.step(step.rounded)
        return found if isinstance(found, Round) else None

    @cached_property
    def copies(self) -> dict[Symbol, StepId]:
        """The currents that are those of another walk, and the steps that say so."""
        found = {}
        for k in self.ids(Goal.WALKS, SameCurrent):
            step = self.step(k)
            assert isinstance(step, SameCurrent)
            found[step.walk] = k
        return found

    def row(self, step: StepId, source: tuple[Inline, ...] = ()) -> Row:
        """Return the equation of a step with a number of its own."""
        return Row(chain(self.equation(step)), self.number(step), source)

    def number(self, step: StepId) -> int:
        """Give a step the next number."""
        if step not in self.numbers:
            self.numbers[step] = self.numbered + len(set(self.numbers.values())) + 1
        return self.numbers[step]

    def references(self, steps: tuple[StepId, ...]) -> tuple[Inline, ...]:
        """Return (1), (2) and (3) for the steps that have numbers."""
        found = sorted({self.numbers[k] for k in steps if k in self.numbers})
        return listing((Reference(k) for k in found), AND)

    def cited(self, premise: StepId, definitions: tuple[StepId, ...]) -> tuple[Inline, ...]:
        """Return ``(1), (2) in (3)`` for the right margin."""
        known = sorted({self.numbers[k] for k in definitions if k in self.numbers})
        found: list[Inline] = []
        for position, reference in enumerate(known):
            found += [Text(", ")] if position else []
            found.append(Reference(reference))
        if premise in self.numbers:
            found += [Text(" in ")] if known else []
            found.append(Reference(self.numbers[premise]))
        return tuple(found)

    def combination(self, step: Combine) -> tuple[Inline, ...]:
        """Return ``3 (7) − 2 (8)`` for the right margin."""
        ordered = sorted(step.parts, key=lambda part: isinstance(part.multiplier, Negative))
        found: list[Inline] = []
        for k, part in enumerate(ordered):
            found.extend(self._scaled(part, first=k == 0))
        return tuple(found)

    def _scaled(self, part: Scaled, *, first: bool) -> Iterator[Inline]:
        negative = isinstance(part.multiplier, Negative)
        size = part.multiplier.term if isinstance(part.multiplier, Negative) else part.multiplier
        if not first or negative:
            sign = "−" if negative else "+"
            yield Text(sign if first else f" {sign} ")
        if size != number(1):
            if isinstance(size, Sum):
                yield Text("(")
            yield Math(size)
            if isinstance(size, Sum):
                yield Text(") ")
            else:
                yield Text(" · " if isinstance(size, Number | Quotient) else " ")
        yield Reference(self.numbers[part.premise])

    def result(self, step: Conclude) -> Chain:
        """Return the end of an answer: ``I1 ≈ 1.42 A``, or its formula."""
        rounded = self.rounded(step)
        if rounded is not None:
            relation, decimal = printed(rounded)
            short = Chain((step.symbol, decimal), (relation,))
            return extended(short, *self._in_trade_unit(step))
        found = step.formula if step.value is None else step.value
        assert found is not None
        return chain(self.equation(found))

    def _in_trade_unit(self, step: Conclude) -> Iterator[tuple[Relation, Expression]]:
        also = None if step.also is None else self.step(step.also)
        if isinstance(also, Round):
            yield printed(also)

    def with_decimal(self, step: Conclude, sides: list[tuple[Relation, Expression]]) -> Chain:
        """Return an answer as a chain of some sides, ended by its rounded value."""
        told = ended(step.symbol, sides, self.rounded(step))
        return extended(told, *self._in_trade_unit(step))


def ended(symbol: Symbol, sides: list[tuple[Relation, Expression]], rounded: Round | None) -> Chain:
    """Return a symbol and what it equals as a chain, ended by its rounded value."""
    if rounded is not None:
        if rounded.exact and sides and not _is_worked_out(sides[-1][1]):
            same = (sides[-1][1], ZERO)
            sides = [side for side in sides if side[1] not in same]  # the decimal says the same
        sides = [*sides, printed(rounded)]
    (relation, first), *rest = sides
    return extended(Chain((symbol, first), (relation,)), *rest)


def _is_worked_out(side: Expression) -> bool:
    """Tell whether a side is more than one value."""
    body = side.term if isinstance(side, Negative) else side
    return isinstance(body, Sum | Product | Quotient | Power | Parallel)


def chain(equation: Equation) -> Chain:
    """Return an equation as a chain of two sides."""
    return Chain((equation.left, equation.right), (Relation.EQUAL,))


def extended(start: Chain, *sides: tuple[Relation, Expression]) -> Chain:
    """Return a chain with further sides; one that repeats the side before it is left out."""
    expressions, relations = list(start.sides), list(start.relations)
    for relation, side in sides:
        if side != expressions[-1]:
            expressions.append(side)
            relations.append(relation)
    return Chain(tuple(expressions), tuple(relations))


def part_symbol(circuit: Circuit, name: str) -> Symbol:
    """Return the letter by which a part is known: its own quantity, or no more than its name."""
    for element in circuit.elements:
        if element.name != name:
            continue
        if isinstance(element, Battery):
            return element.emf
        plain = auxiliary(name, NUMBER)
        return own_quantity(element) or element.resistance or plain
    return resistance(name)


_LONGEST_FRACTION = 7
"""Digits of numerator and denominator together in a fraction that can still be read."""
_FEW_DIGITS = 4
"""Digits of a fraction that is told without its decimal."""
_LONGEST_DECIMAL = 9


def is_readable(term: Term) -> bool:
    """Tell whether every exact number in a term is short enough to be printed."""
    if isinstance(term, Number | Quantity):
        return _is_short(abs(term.value))
    return all(is_readable(child) for child in children(term))


def _is_short(value: Fraction) -> bool:
    digits = len(str(value.numerator)) + len(str(value.denominator))
    if digits <= _LONGEST_FRACTION:
        return True
    scaled = value * 10**9
    return scaled.denominator == 1 and len(str(scaled.numerator).strip("0")) <= _LONGEST_DECIMAL


def is_long(telling: Telling, step: Round) -> bool:
    """Tell whether an exact value says little, so that its decimal should stand beside it."""
    exact = telling.equation(step.premise).right
    value = getattr(exact.term if isinstance(exact, Negative) else exact, "value", Fraction(0))
    digits = len(str(value.numerator)) + len(str(value.denominator))
    return not is_readable(exact) or ((value * 10**6).denominator != 1 and digits > _FEW_DIGITS)
