"""Courses in time: does a function solve the equation of the capacitor?

With one capacitor, the rest of the circuit is a voltage V behind a resistance R, seen from its two
ends (Thévenin's theorem): V is the voltage across it when no current flows, R what is seen with
every emf a wire and every current source taken out. So C·dv/dt = (V − v)/R, which with its voltage
at the start has one solution. Here e^(−t/(R·C)) is one letter x, whose derivative is −x/(R·C), and
x = 1 at the start: then all that has to be compared are rational functions.
"""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.dimension import AMPERE, NUMBER, SECOND, VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Exponential,
    Negative,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    capacitance,
    children,
    constant,
)
from derive.algebra.term import replace as put_in
from derive.checker import laws, naming
from derive.checker.evaluation import dimension, occurring, residue
from derive.checker.ledger import Ledger, is_closed, made_of, read_rules, require
from derive.checker.polynomial import Expansion, Refused
from derive.checker.rounding import MOST_EXPONENT
from derive.circuit.elements import Capacitor
from derive.circuit.valuation import Initial, Tie
from derive.derivation.course import Course, CourseAt, CourseOf, InitialVoltage, RoundedCourse
from derive.derivation.laws import PartLaw
from derive.derivation.step_id import StepId

_DECAY = Symbol("exp(−t/RC)", SymbolKind.AUXILIARY, NUMBER)
"""What stands for the exponential; no author and no definition can name it."""
_KINDS = {
    CourseOf.VOLTAGE: (SymbolKind.COURSE, VOLT, "v"),
    CourseOf.CURRENT: (SymbolKind.COURSE, AMPERE, "i"),
}


def course_symbol(kind: CourseOf, capacitor: str) -> Symbol:
    """Return the symbol of a quantity that changes with time."""
    sort, unit, letter = _KINDS[kind]
    return Symbol(f"{letter}({capacitor})", sort, unit)


def initial_voltage(ledger: Ledger, step: InitialVoltage) -> None:
    """The author says so, under a name that is new."""
    given = ledger.circuit.initial(step.capacitor)
    if given is None or not any(c.name == step.capacitor for c in _capacitors(ledger)):
        raise Refused(f"nothing is said of {step.capacitor} at the start")
    symbol = step.conclusion.left
    if not isinstance(symbol, Symbol):
        raise Refused("a voltage needs one name")
    fresh = symbol.name not in ledger.named and "(" not in symbol.name
    require(fresh, f"{symbol.name} has a meaning already")
    voltage = symbol.kind is SymbolKind.VOLTAGE and symbol.dimension == VOLT
    require(voltage, f"{symbol.name} is no voltage")
    value = _begins_with(given)
    require(step.conclusion.right == value, "it begins with another voltage")
    letters = occurring(value)
    require(is_closed(ledger, letters), "its voltage at the start holds unknowns")
    ledger.named[symbol.name] = symbol
    ledger.defined[symbol] = value
    ledger.made_of[symbol] = made_of(ledger, letters)
    ledger.point[symbol] = residue(value, ledger.point)


def _begins_with(given: Initial) -> Term:
    value = given.value
    return value.term if isinstance(value, Tie) else constant(value.value, value.dimension)


def _capacitors(ledger: Ledger) -> list[Capacitor]:
    return [element for element in ledger.circuit.elements if isinstance(element, Capacitor)]


def course(ledger: Ledger, step: Course) -> None:
    """The function solves the equation of the capacitor. Raises Refused."""
    name, circuit = step.capacitor, ledger.circuit
    require([c.name for c in _capacitors(ledger)] == [name], "not one capacitor alone changes")
    require(not circuit.dependent, "a source follows what flows")
    own = step.time.kind is SymbolKind.TIME and step.time.dimension == SECOND
    require(own and step.time.name not in ledger.named, "the time needs a letter of its own")
    symbol = course_symbol(step.kind, name)
    require(step.conclusion.left == symbol, f"{symbol.name} is not told")
    right = step.conclusion.right
    for met in occurring(right):
        known = met == step.time or ledger.named.get(met.name) == met
        require(known, f"{met.name} has no meaning here")
    unit = dimension(right)
    require(unit is None or unit == symbol.dimension, "it has another unit")
    final = naming.part_symbol(PartLaw.VOLTAGE, name)
    seen = naming.seen_by_symbol(name)
    for law in (final, seen):
        require(ledger.named.get(law.name) == law, f"{law.name} is not known yet")
    rules = dict(ledger.defined) | read_rules(ledger, step.rewriting)
    expansion = Expansion(rules)
    start = _start(ledger, step)
    constant_time = Product((seen, capacitance(name)))
    require(not expansion.is_zero(constant_time), "the capacitor sees no resistance")
    for exponent in _exponents(right):
        difference = Sum((Product((exponent, constant_time)), step.time))
        require(expansion.is_zero(difference), "the exponent is not −t over R·C")
    of_decay = _with_decay(right, _DECAY)
    require(step.time not in occurring(of_decay), "time stands outside of the exponential")
    if step.kind is CourseOf.VOLTAGE:
        voltage, first = of_decay, _with_decay(right, ONE)
        require(expansion.is_zero(Sum((first, Negative(start)))), "it starts at another voltage")
        slope = Sum((first, Negative(_with_decay(right, ZERO))))
        straight = Sum((voltage, Negative(_with_decay(right, ZERO)), _less(_DECAY, slope)))
        require(expansion.is_zero(straight), "it is no sum with one exponential")
        # dx/dt = −x/(R·C), so that C·dv/dt is this:
        flow: Term = Quotient(Negative(Product((_DECAY, slope))), seen)
    else:
        voltage = Sum((final, Product((Sum((start, Negative(final))), _DECAY))))
        flow = of_decay
    law_of_loop = Sum((voltage, Product((seen, flow)), Negative(final)))
    require(expansion.is_zero(law_of_loop), "it does not solve the equation of the capacitor")
    ledger.courses[name, step.kind] = ledger.here


def _less(first: Term, second: Term) -> Term:
    return Negative(Product((first, second)))


def _start(ledger: Ledger, step: Course) -> Symbol:
    require(0 <= step.initial < ledger.here, "the voltage at the start does not come before it")
    found = ledger.steps[step.initial]
    if not isinstance(found, InitialVoltage) or found.capacitor != step.capacitor:
        raise Refused(f"step {step.initial} does not tell the voltage at the start")
    symbol = found.conclusion.left
    assert isinstance(symbol, Symbol)
    return symbol


def _exponents(term: Term) -> list[Term]:
    if isinstance(term, Exponential):
        return [term.exponent]
    return [found for child in children(term) for found in _exponents(child)]


def _with_decay(term: Term, decay: Term) -> Term:
    """Return a term with something in the place of every exponential."""
    match term:
        case Exponential():
            return decay
        case Sum(terms):
            return Sum(tuple(_with_decay(item, decay) for item in terms))
        case Product(factors):
            return Product(tuple(_with_decay(factor, decay) for factor in factors))
        case Negative(inner):
            return Negative(_with_decay(inner, decay))
        case Quotient(above, below):
            require(not _exponents(below), "an exponential stands below a fraction")
            return Quotient(_with_decay(above, decay), below)
        case _:
            require(not _exponents(term), "an exponential stands in a power")
            return term


# --- numbers ----------------------------------------------------------------------------------


def _numbers(equation: Equation, time: Symbol) -> tuple[Fraction, Fraction, Fraction | None]:
    """Return what a course in numbers comes to, what it changes by, and its time constant."""
    right = equation.right
    found = [Expansion().constant(_with_decay(right, decay)) for decay in (ZERO, ONE)]
    last, first = found
    if last is None or first is None:
        raise Refused("only a course in numbers can be rounded")
    change = constant(first - last, NUMBER)
    straight = Sum((_with_decay(right, _DECAY), constant(-last, NUMBER), _less(_DECAY, change)))
    require(Expansion().is_zero(straight), "it is no sum with one exponential")
    second = {time: Quantity(Fraction(1), SECOND)}
    rates = {Expansion().constant(put_in(power, second)) for power in _exponents(right)}
    require(len(rates) <= 1 and None not in rates and 0 not in rates, "it has no one time constant")
    rate = next(iter(rates), None)
    return last, first - last, None if rate is None else -1 / rate


def _cited(ledger: Ledger, cited: StepId) -> Course:
    require(0 <= cited < ledger.here, "the course does not come before it")
    found = ledger.steps[cited]
    if not isinstance(found, Course):
        raise Refused(f"step {cited} tells no course")
    return found


def rounded_course(ledger: Ledger, step: RoundedCourse) -> None:
    """Each number is that of the course, to as many figures as it says."""
    told = _cited(ledger, step.course)
    require(step.conclusion.left == told.conclusion.left, "it is about another quantity")
    require(step.figures >= 1, "it keeps no figure")
    alone = set(occurring(step.conclusion.right)) <= {told.time}
    require(alone, "only a course in numbers can be rounded")
    unit = dimension(step.conclusion.right)
    require(unit in (None, dimension(told.conclusion.left)), "it has another unit")
    pairs = zip(
        _numbers(told.conclusion, told.time), _numbers(step.conclusion, told.time), strict=True
    )
    for exact, near in pairs:
        require((exact is None) == (near is None), "it has another time constant")
        if exact is not None and near is not None:
            most = abs(exact) * Fraction(10) ** (1 - step.figures) / 2
            require(abs(near - exact) <= most, "a number is rounded to a wrong value")


_TERMS = 40


def _decayed(time_constants: int) -> tuple[Fraction, Fraction]:
    """Return bounds of e^(−n): those of e by its series, whose rest is less than the last term."""
    require(0 <= time_constants <= 100, "no such time is told")
    low, term = Fraction(0), Fraction(1)
    for k in range(1, _TERMS):
        low += term
        term /= k
    return 1 / (low + 2 * term) ** time_constants, 1 / low**time_constants


def course_at(ledger: Ledger, step: CourseAt) -> None:
    """The value after some time constants is rounded right."""
    told = _cited(ledger, step.course)
    last, change, _ = _numbers(told.conclusion, told.time)
    ends = [last + change * bound for bound in _decayed(step.time_constants)]
    in_range = step.unit_exponent % 3 == 0 and abs(step.unit_exponent) <= MOST_EXPONENT
    require(in_range and 0 <= step.decimals <= 100, "no unit has this prefix")
    place = Fraction(10) ** (step.unit_exponent - step.decimals)
    require((step.rounded / place).denominator == 1, "it has more digits than it says")
    near = all(2 * abs(step.rounded - end) <= place for end in ends)
    require(near, "it is rounded to a wrong value")
    exact = ends[0] == ends[1] == step.rounded
    require(step.exact == exact, "it says wrongly whether it is exact")


def check_courses(ledger: Ledger, capacitor: str) -> bool:
    """Tell whether the voltage and the current of a capacitor are told, in numbers where known."""
    for kind in CourseOf:
        told = ledger.courses.get((capacitor, kind))
        if told is None:
            return False
        step = ledger.steps[told]
        assert isinstance(step, Course)
        known = ledger.fixed.issuperset(laws.letters(ledger.circuit))
        if known and set(occurring(step.conclusion.right)) - {step.time}:
            return False
    return True
