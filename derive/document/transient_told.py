"""How a capacitor is charged or discharged, told from the start to the steady state."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.polynomial import Ring
from derive.algebra.term import ZERO, Negative, Product, Quantity, Symbol, Term, number, symbols
from derive.derivation.algebra import BackSubstitute, Define, PutInValues
from derive.derivation.course import Course, CourseAt, CourseOf, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import LeftBetween, Replace
from derive.derivation.goal import Goal
from derive.derivation.step import Round
from derive.derivation.step_id import StepId
from derive.document import exchanges_told
from derive.document import wording as w
from derive.document.live_values import has_quantities
from derive.document.model import (
    Align,
    Block,
    Box,
    BoxKind,
    Chain,
    Display,
    Figure,
    Inline,
    Math,
    Paragraph,
    PointName,
    Relation,
    Row,
    SideBySide,
    Table,
    Text,
)
from derive.document.phrase import Piece, joined, paragraph, say
from derive.document.quantities import decimal, printed
from derive.document.telling import Telling, chain, extended, is_readable, part_symbol
from derive.drawing.reckoning import style_of
from derive.drawing.transient_description import transient_long, transient_short
from derive.drawing.transient_graph import TransientCurve, transient_graph
from derive.typesetting.style import Decimal, Expression

_LARGE = 9
"""Largest denominator of a fraction that is told beside its decimal."""

Sides = list[tuple[Relation, Expression]]


def transient(telling: Telling) -> Iterator[Block]:
    """Tell what was asked of the capacitor, if anything was."""
    for k in telling.ids(Goal.TRANSIENT_ENDS, InitialVoltage):
        start = telling.step(k)
        assert isinstance(start, InitialVoltage)
        told = _Transient(telling, start)
        yield from told.ends()
        yield from told.resistance()
        yield from told.time_constant()
        yield from told.courses()


def course_chains(telling: Telling) -> Iterator[Chain]:
    """Yield the courses as answers, with as much put in as can be, and what they hold by name."""
    if not telling.has(Goal.TRANSIENT):
        return
    courses = [_last(telling, kind) for kind in CourseOf]
    yield from courses
    time_constant = _defined(telling, Goal.TRANSIENT)[0]
    held = {letter for course in courses for letter in _letters(course)}
    if time_constant.sides[0] in held:  # then so is the voltage long after
        starts = telling.ids(Goal.TRANSIENT_ENDS, InitialVoltage)
        yield from (chain(telling.equation(k)) for k in starts)
        yield _short(_end(telling))
        rows = [telling.equation(k) for k in telling.ids(Goal.TRANSIENT_SEEN, BackSubstitute)]
        yield from (chain(e) for e in rows[-1:] if e.left in held)
    yield _short(time_constant)


def _short(named: Chain) -> Chain:
    return Chain((named.sides[0], named.sides[-1]), named.relations[-1:])


def _letters(chain_: Chain) -> Iterator[Symbol]:
    for side in chain_.sides:
        if not isinstance(side, Decimal):
            yield from symbols(side)


def _courses(telling: Telling, kind: CourseOf) -> Iterator[tuple[StepId, Course]]:
    for k in telling.ids(Goal.TRANSIENT, Course):
        step = telling.step(k)
        assert isinstance(step, Course)
        if step.kind is kind:
            yield k, step


def _last(telling: Telling, kind: CourseOf) -> Chain:
    """Return the course with as much put in as can be."""
    k, step = list(_courses(telling, kind))[-1]
    for other in telling.ids(Goal.TRANSIENT, RoundedCourse):
        near = telling.step(other)
        if isinstance(near, RoundedCourse) and near.course == k:
            sides = (near.conclusion.left, near.conclusion.right)
            return Chain(sides, (Relation.APPROXIMATE,))
    return chain(step.conclusion)


def _defined(telling: Telling, goal: Goal) -> list[Chain]:
    """Return the chain of each name that a stage defines."""
    sides: dict[Term, Sides] = {}
    for k in telling.ids(goal):
        step = telling.step(k)
        if isinstance(step, Define):
            sides[step.symbol] = [(Relation.EQUAL, step.conclusion.right)]
        elif isinstance(step, Round) and step.symbol in sides:
            _end_with(sides[step.symbol], step)
        elif isinstance(step, BackSubstitute | PutInValues) and step.conclusion.left in sides:
            own, right = sides[step.conclusion.left], step.conclusion.right
            if is_readable(right) and own[-1][1] != ZERO:
                own.append((Relation.EQUAL, right))
    return [_chain(symbol, own) for symbol, own in sides.items()]


def _end(telling: Telling) -> Chain:
    """Return the chain of the voltage long after.

    That its name stands for the voltage across the capacitor is said in words.
    """
    (found,) = _defined(telling, Goal.TRANSIENT_ENDS)
    return Chain((found.sides[0], *found.sides[2:]), found.relations[1:])


def _end_with(sides: Sides, step: Round) -> None:
    """End a chain with its rounded value; that stands for the exact one where it says the same."""
    if sides[-1][1] == ZERO:
        return
    last = sides[-1][1]
    if isinstance(last, Negative | Quantity) and (step.exact or _is_long_fraction(last)):
        sides.pop()
    sides.append(printed(step))


def _is_long_fraction(side: Negative | Quantity) -> bool:
    """Tell whether a value is a fraction that says less to a reader than its decimal."""
    value = _exact(side)
    return value is not None and value.denominator > _LARGE and (value * 10**9).denominator > 1


def _first_name(telling: Telling, goal: Goal) -> Symbol:
    """Return the first name that a stage defines."""
    step = telling.step(next(telling.ids(goal, Define)))
    assert isinstance(step, Define)
    return step.symbol


def _chain(symbol: Term, sides: Sides) -> Chain:
    (relation, first), *rest = sides
    return extended(Chain((symbol, first), (relation,)), *rest)


def given_starts(telling: Telling) -> Iterator[Block]:
    """Say what the author gives of the start of each course."""
    for k in telling.ids(Goal.TRANSIENT_ENDS, InitialVoltage):
        start = telling.step(k)
        assert isinstance(start, InitialVoltage)
        initial = telling.circuit.initial(start.capacitor)
        if initial is None or initial.is_steady:
            continue  # it follows from the state before
        told = start.conclusion
        template = w.GIVEN_EMPTY if _exact(told.right) == 0 else w.GIVEN_START
        part = Math(part_symbol(telling.circuit, start.capacitor))
        yield paragraph(template, part=part, start=Math(chain(told)))


class _Transient:
    """Tells one capacitor."""

    def __init__(self, telling: Telling, start: InitialVoltage) -> None:
        self.telling = telling
        self.start = start
        self.part = Math(part_symbol(telling.circuit, start.capacitor))
        self.time = next(step.time for _, step in _courses(telling, CourseOf.VOLTAGE))
        self.end = _end(telling)
        (law,) = (s for k in telling.ids(Goal.TRANSIENT_SEEN, LeftBetween)
                  if isinstance(s := telling.step(k), LeftBetween))  # fmt: skip
        self.law = law
        self.defined = _defined(telling, Goal.TRANSIENT)
        everything = telling.circuit.all_branches
        self.driven = any(branch.batteries or branch.sources for branch in everything)
        self.end_symbol, self.time_symbol = (
            _first_name(telling, goal) for goal in (Goal.TRANSIENT_ENDS, Goal.TRANSIENT)
        )

    def ends(self) -> Iterator[Block]:
        """Tell the voltage at the start, and the one long after."""
        told = self.start.conclusion
        initial = self.telling.circuit.initial(self.start.capacitor)
        as_before = initial is not None and initial.is_steady
        template = w.STARTS_AS_BEFORE if as_before else w.STARTS_CHARGED
        if _exact(told.right) == 0:
            template = w.STARTS_EMPTY_AS_BEFORE if as_before else w.STARTS_EMPTY
        sides: Sides = [(Relation.EQUAL, told.right)] if is_readable(told.right) else []
        for k in self.telling.ids(Goal.TRANSIENT_ENDS, Round):
            rounding = self.telling.step(k)
            if (
                isinstance(rounding, Round)
                and rounding.symbol == told.left
                and not (rounding.exact and sides)
            ):
                sides.append(printed(rounding))
        sentences = [
            say(
                template,
                time=Math(self.time), part=self.part, start=Math(_chain(told.left, sides)),
            )
        ]  # fmt: skip
        if self.telling.full:
            sentences.append(self._counted())
        yield Paragraph(joined(sentences))
        yield paragraph(w.LONG_AFTER, part=self.part)
        yield Display((Row(self.end),))

    def _counted(self) -> tuple[Inline, ...]:
        """Tell how voltage and current count, by what lies where the walk comes in."""
        circuit = self.telling.circuit
        index, place = circuit.find_branch(self.start.capacitor)
        branch = circuit.all_branches[index]
        names = [passage.element.name for passage in branch.passages]
        stations = branch.stations
        if stations[place] and not set(stations[place]) & set(stations[place + 1]):
            side = say(w.SIDE_OF, place=Math(PointName(stations[place][0])))
        elif place:
            side = say(w.SIDE_OF, place=self._name(names[place - 1]))
        else:
            side = say(w.AWAY_FROM, place=self._name(names[place + 1]))
        return say(w.COUNTED, side=side)

    def _name(self, part: str) -> Math:
        return Math(part_symbol(self.telling.circuit, part))

    def resistance(self) -> Iterator[Block]:
        """Tell the exchanges, and what is left."""
        (run,) = self.telling.stages(Goal.TRANSIENT_SEEN)
        steps = [self.telling.step(k) for k in run.ids]
        sentences = [say(w.SEEN_FROM if self.driven else w.SEEN_FROM_DEAD, part=self.part)]
        if self.telling.circuit.has_sources:
            sentences.append(say(w.SEEN_SOURCES))
        yield Paragraph(joined(sentences))
        ends: dict[str, Piece] = {
            "one": say(w.ENDS_OF[0], part=self.part),
            "other": say(w.ENDS_OF[1]),
        }
        yield from exchanges_told.told(self.telling, run, ends)
        alone = not any(isinstance(s, Replace) and s.made for s in steps)
        left = Math(self.law.conclusion.right)
        yield (
            paragraph(w.SEEN_ALONE, part=self.part, resistance=left)
            if alone else paragraph(w.SEEN_LEFT, part=self.part)
        )  # fmt: skip
        sides: Sides = [(Relation.EQUAL, self.law.conclusion.right)]
        for step in steps[steps.index(self.law) + 1 :]:
            if isinstance(step, BackSubstitute | PutInValues) and is_readable(
                step.conclusion.right
            ):
                sides.append((Relation.EQUAL, step.conclusion.right))
            elif isinstance(step, Round):
                _end_with(sides, step)
        yield Display((Row(_chain(self.law.conclusion.left, sides)),))

    def time_constant(self) -> Iterator[Block]:
        """Tell how fast the change dies away."""
        seen = Math(self.law.conclusion.left)
        yield (
            paragraph(w.THEVENIN, part=self.part, end=Math(self.end_symbol), seen=seen)
            if self.end.sides[1] != ZERO else paragraph(w.DISCHARGES, part=self.part, seen=seen)
        )  # fmt: skip
        yield Display((Row(self.defined[0]),))

    def courses(self) -> Iterator[Block]:
        """Tell voltage and current as functions of time, with values and a graph."""
        telling, last = self.telling, self._end_value()
        rows = {kind: Row(_last(telling, kind)) for kind in CourseOf}
        if last is not None and last == _exact(self.start.conclusion.right):
            yield paragraph(w.UNCHANGED, part=self.part)
            yield Display(tuple(rows.values()))
            return
        yield paragraph(self._marked(w.COURSES))
        laws = []
        for kind in CourseOf:
            named = [s.conclusion for _, s in _courses(telling, kind)
                     if not has_quantities(s.conclusion.right)]  # fmt: skip
            sides: Sides = [(Relation.EQUAL, equation.right) for equation in named]
            laws.append(Row(_chain(named[0].left, sides)))
        yield Box(BoxKind.FORMULA, (), (Display(tuple(laws)),))
        curve = self._curve()
        if curve is None:
            yield paragraph(w.VALUES_IN_TIME_LETTERS)
            return
        yield paragraph(w.COURSES_NUMBERS)
        yield Display(tuple(rows.values()))
        over = self.defined[1]
        # The exact value between would only hold a reader up.
        short = Chain((*over.sides[:2], over.sides[-1]), (over.relations[0], over.relations[-1]))
        yield paragraph(w.VALUES_IN_TIME, over=Math(short))
        if not telling.full:
            return
        style, name = style_of(telling.circuit), self.start.capacitor
        comma = style.decimal_comma
        told = transient_short(curve, name, comma=comma), transient_long(curve, name, comma=comma)
        picture = Figure(transient_graph(curve, style), (), *told)
        yield SideBySide((self._table(),), (picture,), Fraction(44, 100))

    def _marked(self, text: str) -> str:
        """Return text whose only point is a decimal marker, with the marker of the author."""
        return text.replace(".", ",") if style_of(self.telling.circuit).decimal_comma else text

    def _curve(self) -> TransientCurve | None:
        """Return what the graph shows; None where a letter is left."""
        start, end = _exact(self.start.conclusion.right), self._end_value()
        time = self._value(Goal.TRANSIENT, self.time_symbol)
        if start is None or end is None or time is None:
            return None
        _, course = next(_courses(self.telling, CourseOf.VOLTAGE))
        return TransientCurve(
            start, end, time, course.conclusion.left, self.time,
            self.start.conclusion.left, self.end_symbol, self.time_symbol,
        )  # fmt: skip

    def _end_value(self) -> Fraction | None:
        return self._value(Goal.TRANSIENT_ENDS, self.end_symbol)

    def _value(self, goal: Goal, symbol: Symbol) -> Fraction | None:
        """Return the last number that a stage gives for a name."""
        found = [self.telling.equation(k) for k in self.telling.ids(goal, PutInValues)]
        values = [_exact(equation.right) for equation in found if equation.left == symbol]
        return values[-1] if values else None

    def _table(self) -> Table:
        rows: dict[int, list[tuple[Inline, ...]]] = {}
        heads: list[tuple[Inline, ...]] = [(Text(w.TIME),), (Text(w.SHARE_LEFT),)]
        for kind in CourseOf:
            *_, (last, course) = _courses(self.telling, kind)
            heads.append((Math(course.conclusion.left),))
            for k in self.telling.ids(Goal.TRANSIENT, CourseAt):
                at = self.telling.step(k)
                if not isinstance(at, CourseAt) or at.course != last:
                    continue
                count = at.time_constants
                assert isinstance(course.conclusion.left, Symbol)
                unit = course.conclusion.left.dimension
                shown = decimal(at.rounded, at.unit_exponent, at.decimals, unit)
                left = Text(self._marked(w.SHARES_LEFT[count]))
                row = rows.setdefault(count, [(Math(_times(count, self.time_symbol)),), (left,)])
                row.append((Math(shown),))
        columns = (Align.LEFT, *(Align.RIGHT for _ in heads[1:]))
        told = w.TRANSIENT_TABLE.format(part=self.start.capacitor)
        return Table(tuple(heads), tuple(tuple(row) for row in rows.values()), columns, told)


def _times(count: int, time_constant: Symbol) -> Term:
    if not count:
        return ZERO
    return time_constant if count == 1 else Product((number(count), time_constant))


def _exact(side: Expression) -> Fraction | None:
    """Return the value of a side without letters."""
    if isinstance(side, Decimal) or next(symbols(side), None) is not None:
        return None
    return Ring(()).poly(side).constant_value
