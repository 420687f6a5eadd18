"""How the only capacitor of a circuit is charged or discharged.

The rest of the circuit, seen from the capacitor, is a voltage V behind a resistance R (Thévenin's
theorem), so that the voltage goes from what it is at the start to V as e^(−t/(R·C)) dies away.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from derive.algebra.dimension import AMPERE, OHM, SECOND, VOLT
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Exponential,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    capacitance,
    constant,
    number,
    product,
    quotient,
    symbols,
    total,
    voltage_across,
)
from derive.algebra.term import replace as put_in
from derive.analysis.conclude import answer, conclude, formula_of
from derive.analysis.evaluate import Known, put_values
from derive.analysis.exchange.between import SeenResistance, resistance_seen
from derive.analysis.laws import across_rule
from derive.analysis.rounding import rounded, rounded_value, significant
from derive.analysis.solve import Currents
from derive.analysis.taken import taken_names
from derive.circuit.model import Circuit
from derive.circuit.question import AskTransient
from derive.circuit.valuation import Initial, Tie
from derive.derivation.algebra import BackSubstitute, Define, PutInValues
from derive.derivation.builder import Builder
from derive.derivation.course import Course, CourseAt, CourseOf, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import LookFrom
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId

TOLD_AT = (0, 1, 2, 3, 4, 5)
"""Time constants after which values are told."""
OVER = 5
"""Time constants after which a change counts as over: less than 1 % is left of it (common practice;
e⁻⁵ is 0.67 %)."""


class NoDelay(Exception):  # noqa: N818  (a finding about the circuit)
    """A capacitor sees no resistance, so that its voltage would have to jump."""

    def __init__(self, capacitor: str) -> None:
        """Keep the capacitor."""
        super().__init__(f"{capacitor} sees no resistance")
        self.capacitor = capacitor


def derive_transients(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    digits: int,
) -> None:
    """Add the steps that answer the questions about courses. Raises NoDelay and NoPath.

    Before switches change, that is the steady voltage with which the course will begin.
    """
    for question in circuit.questions:
        if not isinstance(question, AskTransient):
            continue
        if not circuit.is_before:
            _Transient(circuit, found, known, builder, digits, question.capacitor).derive()
        elif circuit.initial(question.capacitor) is None:
            builder.begin(Goal.FURTHER)
            rule = builder.add(across_rule(circuit, question.capacitor))
            conclude(found, known, builder, question, rule, digits)


_End = tuple[StepId, StepId | None, StepId | None]
"""Where the voltage long after is told: its law, its formula in letters, its value as a number."""
_MOST_LETTERS = 10
"""Letters of a course that is still written without names (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Names:
    time: Symbol
    start: Symbol
    end: Symbol
    time_constant: Symbol
    over: Symbol


class _Transient:
    """The work on one capacitor."""

    def __init__(
        self,
        circuit: Circuit,
        found: Currents,
        known: Known,
        builder: Builder,
        digits: int,
        capacitor: str,
    ) -> None:
        self.circuit, self.found, self.known = circuit, found, known
        self.builder, self.digits, self.capacitor = builder, digits, capacitor
        self.taken = taken_names(circuit, builder)
        self.final = voltage_across(capacitor)
        self.seen = Symbol(f"R({capacitor})", SymbolKind.RESISTANCE, OHM)
        self.own = capacitance(capacitor)
        self.names = _Names(
            Symbol(self._free("t"), SymbolKind.TIME, SECOND),
            Symbol(self._free("V_0"), SymbolKind.VOLTAGE, VOLT),
            Symbol(self._free("V_∞"), SymbolKind.VOLTAGE, VOLT),
            auxiliary(self._free("tau"), SECOND),
            auxiliary(self._free("t_5"), SECOND),
        )

    def _free(self, wish: str) -> str:
        while not self.taken.free(wish):
            wish += "'"
        self.taken.take(wish)
        return wish

    def derive(self) -> None:
        """Add all steps, from the voltage at the start to the values in between."""
        builder, names = self.builder, self.names
        builder.begin(Goal.TRANSIENT_ENDS)
        given = self.circuit.initial(self.capacitor)
        assert given is not None
        start = builder.add(
            InitialVoltage(
                capacitor=self.capacitor,
                conclusion=Equation(names.start, value_at_start(given)),
            )
        )
        if _number(value_at_start(given)) is not None:
            builder.add(rounded(builder, start, self.digits))
        across, form, final = self._end()
        builder.begin(Goal.TRANSIENT_SEEN)
        seen = resistance_seen(
            self.circuit,
            LookFrom(part=self.capacitor),
            self.seen,
            self.found.quantities(self.circuit),
            builder,
            self.digits,
            self.taken,
        )
        if builder.equation(seen.law).right == ZERO:
            raise NoDelay(self.capacitor)
        if seen.value is not None:
            builder.add(rounded(builder, seen.value, self.digits))
        builder.begin(Goal.TRANSIENT)
        self._time_constant(seen)
        value = seen.value if final is not None else None
        own = self.known.terms.get(self.own)
        begun = _number(value_at_start(given)) is not None
        in_numbers = begun and value is not None and own is not None and _number(own) is not None
        steps = (final, value, *self.known.cited(self.own)) if in_numbers else ()
        rules = tuple(k for k in steps if k is not None)
        for kind in CourseOf:
            self._course(kind, start, (across, form, final), seen.formula, rules)

    # --- the two ends -----------------------------------------------------------------------------

    def _end(self) -> _End:
        """Tell the voltage long after; return its law, its formula, and its value as a number."""
        builder, name = self.builder, self.names.end
        across = builder.add(across_rule(self.circuit, self.capacitor))
        form = formula_of(self.found, builder, across) if self.found.formulas else None
        value = put_values(self.known, builder, across) if self.found.values else None
        if value is not None and _number(builder.equation(value).right) is None:
            value = None
        given = self.circuit.initial(self.capacitor)
        if given is not None and given.is_steady:
            asked = AskTransient(self.capacitor)
            answer(self.found, builder, asked, self.final, form, value, self.digits)
        defined = builder.add(Define(symbol=name, conclusion=Equation(name, self.final)))
        for step in dict.fromkeys((across, form)):
            if step is not None:
                right = builder.equation(step).right
                builder.add(
                    BackSubstitute(
                        premise=defined, definitions=(step,), conclusion=Equation(name, right)
                    )
                )
        if value is not None:
            right = builder.equation(value).right
            last = builder.add(
                PutInValues(premise=defined, values=(value,), conclusion=Equation(name, right))
            )
            builder.add(rounded(builder, last, self.digits))
        return across, form, value

    # --- the time constant ------------------------------------------------------------------------

    def _time_constant(self, seen: SeenResistance) -> None:
        builder, symbol, own = self.builder, self.names.time_constant, self.own
        law = Product((self.seen, own))
        defined = builder.add(Define(symbol=symbol, conclusion=Equation(symbol, law)))
        if seen.formula is not None:
            right = _times(builder.equation(seen.formula).right, own)
            builder.add(
                BackSubstitute(
                    premise=defined, definitions=(seen.formula,),
                    conclusion=Equation(symbol, right),
                )
            )  # fmt: skip
        value = self.known.terms.get(own)
        if seen.value is None or value is None or _number(value) is None:
            return
        resistance = builder.equation(seen.value).right
        cited = (seen.value, *self.known.cited(own))
        step = builder.add(
            PutInValues(
                premise=defined, values=cited,
                conclusion=Equation(symbol, Product((resistance, value))),
            )
        )  # fmt: skip
        exact = _exact(resistance) * _exact(value)
        step = builder.add(
            PutInValues(
                premise=step, values=(), conclusion=Equation(symbol, constant(exact, SECOND))
            )
        )
        builder.add(rounded(builder, step, self.digits))
        over = Product((number(OVER), symbol))
        last = builder.add(
            Define(symbol=self.names.over, conclusion=Equation(self.names.over, over))
        )
        right = constant(OVER * exact, SECOND)
        last = builder.add(
            PutInValues(premise=last, values=(step,), conclusion=Equation(self.names.over, right))
        )
        builder.add(rounded(builder, last, self.digits))

    # --- the courses ------------------------------------------------------------------------------

    def _course(
        self,
        kind: CourseOf,
        start: StepId,
        ends: _End,
        seen: StepId | None,
        rules: tuple[StepId, ...],
    ) -> None:
        """Tell a course by its names, shorter where something is zero, and in numbers."""
        builder, names = self.builder, self.names
        decay = Exponential(Negative(Quotient(names.time, names.time_constant)))
        left = _course_symbol(kind, self.capacitor)
        step = Course(
            capacitor=self.capacitor,
            kind=kind,
            time=names.time,
            initial=start,
            conclusion=Equation(left, self._law(kind, decay)),
        )
        builder.add(step)
        across, form, final = ends
        end_law = final or form or across
        no_start = builder.equation(start).right == constant(Fraction(0), VOLT)
        no_end = _number(builder.equation(end_law).right) == 0
        short = self._short(kind, decay, no_start=no_start, no_end=no_end)
        if short is not None:
            builder.add(
                replace(step, rewriting=(end_law,), conclusion=Equation(left, short))
                if no_end else replace(step, conclusion=Equation(left, short))
            )  # fmt: skip
        if rules:
            self._numbers(step, start, rules)
        elif form is not None and seen is not None:
            self._letters(step, short or step.conclusion.right, form, seen)

    def _letters(self, law: Course, right: Term, form: StepId, seen: StepId) -> None:
        """Put the formulas of the last voltage and of the resistance in, if that is short."""
        builder = self.builder
        resistance = builder.equation(seen).right
        known = {
            self.names.start: value_at_start(self.circuit.initial(self.capacitor)),
            self.names.end: builder.equation(form).right,
            self.names.time_constant: _times(resistance, self.own),
            self.seen: resistance,
        }
        written = put_in(right, known)
        if sum(1 for _ in symbols(written)) <= _MOST_LETTERS:
            conclusion = Equation(law.conclusion.left, written)
            builder.add(replace(law, rewriting=(form, seen), conclusion=conclusion))

    def _law(self, kind: CourseOf, decay: Term) -> Term:
        start, end = self.names.start, self.names.end
        if kind is CourseOf.VOLTAGE:
            return Sum((end, Product((Sum((start, Negative(end))), decay))))
        return Product((Quotient(Sum((end, Negative(start))), self.seen), decay))

    def _short(self, kind: CourseOf, decay: Term, *, no_start: bool, no_end: bool) -> Term | None:
        """Return the law where the voltage at the start or long after is zero."""
        start, end = self.names.start, self.names.end
        voltage = kind is CourseOf.VOLTAGE
        if no_start and no_end:
            return ZERO
        if no_end:
            size = product(start, decay) if voltage else product(Quotient(start, self.seen), decay)
            return size if voltage else Negative(size)
        if no_start:
            rise = Sum((ONE, Negative(decay)))
            return product(end, rise) if voltage else product(Quotient(end, self.seen), decay)
        return None

    def _numbers(self, law: Course, start: StepId, rules: tuple[StepId, ...]) -> None:
        """Put the numbers in, round them if they are long, and tell values in between."""
        builder = self.builder
        rule = {builder.equation(k).left: builder.equation(k).right for k in (start, *rules)}
        first, last = _exact(rule[self.names.start]), _exact(rule[self.final])
        resistance = _exact(rule[self.seen])
        time = resistance * _exact(self.known.terms[self.own])
        if law.kind is CourseOf.CURRENT:
            first, last = (last - first) / resistance, Fraction(0)
        step = replace(
            law, rewriting=(start, *rules),
            conclusion=Equation(law.conclusion.left, self._term(law, first, last, time)),
        )  # fmt: skip
        course = builder.add(step)
        figures = max(self.digits, 2)
        short = [significant(value, figures) for value in (first - last, last, time)]
        if short != [first - last, last, time]:
            change, near_last, near_time = short
            near = self._term(law, near_last + change, near_last, near_time)
            builder.add(
                RoundedCourse(
                    course=course, figures=figures,
                    conclusion=Equation(law.conclusion.left, near),
                )
            )  # fmt: skip
        for count in TOLD_AT:
            builder.add(_at(step, course, count, first, last, self.digits))

    def _term(self, law: Course, first: Fraction, last: Fraction, time: Fraction) -> Term:
        """Return last + (first − last)·e^(−t/time)."""
        unit = VOLT if law.kind is CourseOf.VOLTAGE else AMPERE
        change = first - last
        decay = Exponential(Negative(Quotient(law.time, constant(time, SECOND))))
        if not change:
            return constant(last, unit) if last else ZERO
        if not last:
            return product(constant(change, unit), decay)
        if not first:
            return product(constant(last, unit), Sum((ONE, Negative(decay))))
        return total((constant(last, unit), product(constant(change, unit), decay)))


def value_at_start(initial: Initial | None) -> Term:
    """Return the voltage that a capacitor has at the start: a number, or in letters."""
    assert initial is not None
    value = initial.value
    return value.term if isinstance(value, Tie) else constant(value.value, value.dimension)


def _times(right: Term, own: Symbol) -> Term:
    """Return a resistance times a capacitance, as one fraction where the resistance is one."""
    if isinstance(right, Quotient):
        return quotient(product(right.numerator, own), right.denominator)
    return product(right, own)


def _course_symbol(kind: CourseOf, capacitor: str) -> Symbol:
    """Return ``v(C1)`` or ``i(C1)``."""
    voltage = kind is CourseOf.VOLTAGE
    name, unit = ("v", VOLT) if voltage else ("i", AMPERE)
    return Symbol(f"{name}({capacitor})", SymbolKind.COURSE, unit)


def _number(term: Term) -> Fraction | None:
    return None if next(symbols(term), None) is not None else _exact(term)


def _exact(term: Term) -> Fraction:
    return Ring(()).poly(term).constant_value


def _at(
    law: Course, course: StepId, count: int, first: Fraction, last: Fraction, figures: int
) -> CourseAt:
    """Return the value of a course after some time constants, rounded."""
    value = last + (first - last) * inverse_power_of_e(count)
    assert isinstance(law.conclusion.left, Symbol)
    size = rounded_value(law.conclusion.left, value, course, figures)
    return CourseAt(
        course=course,
        time_constants=count,
        rounded=size.rounded,
        unit_exponent=size.unit_exponent,
        decimals=size.decimals,
        exact=size.rounded == value and (not count or first == last),
    )


def inverse_power_of_e(exponent: int) -> Fraction:
    """Return e^(−n) for a whole number that is not negative, nearer than any rounding shows.

    >>> round(float(inverse_power_of_e(1)), 12)
    0.367879441171
    """
    series, term = Fraction(0), Fraction(1)
    for k in range(1, 40):
        series += term
        term /= k
    return 1 / series**exponent
