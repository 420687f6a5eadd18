"""The trusted part: does a derivation follow from its circuit?

There is one entry, `check`. Each step must hold by itself: laws are recomputed from the circuit,
algebra by the certificate that the step carries (see `derive.derivation.step`), divisors must not
be zero. That proves *if the rules of the circuit hold, then x = …*. At the end the currents are put
back into all rules of the circuit, which proves the converse; every question must have an answer;
and every line is evaluated once more at a test point, as a second, independent guard.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from derive.algebra.term import Equation, Negative, Sum, Term, negate
from derive.checker import (
    back,
    charges,
    course,
    largest,
    laws,
    loading,
    network,
    potentials,
    power,
    preferred,
    ratings,
    sense,
    tested,
    tolerance,
)
from derive.checker.certificates import check_certificate, check_definition, check_shape
from derive.checker.closing import check_answer, check_currents, check_point, check_questions
from derive.checker.evaluation import dimension
from derive.checker.law_steps import check_change, check_law
from derive.checker.ledger import (
    Ledger,
    Line,
    check_symbols,
    cited_equation,
    difference,
    enter_letters,
    enter_sought,
    read_rule,
    read_rules,
    require,
)
from derive.checker.polynomial import Expansion, Refused
from derive.checker.rounding import check_rounded
from derive.circuit.model import Circuit
from derive.derivation.algebra import (
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Substitute,
)
from derive.derivation.course import Course, CourseAt, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import (
    Agree,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    LookFrom,
    PutBack,
    Replace,
)
from derive.derivation.further import (
    AgainstRating,
    Efficiency,
    Largest,
    Lasts,
    LoadingError,
    OverTime,
    PowerBalance,
    PowerPart,
    PreferredValue,
)
from derive.derivation.laws import (
    AcrossRule,
    Change,
    ChargeRule,
    ChooseUnknowns,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PartRule,
    PathRule,
    PotentialRule,
    Rated,
    SameCurrent,
)
from derive.derivation.sense import Dimensions, Limit, SpecialCase, Trend
from derive.derivation.spread import NoRange, Range, Shares
from derive.derivation.step import BySource, Conclude, Derivation, IdealReading, Round, Step
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True)
class Refusal:
    """The first fault that was found."""

    step: StepId
    """The step at fault; the number of steps when the derivation as a whole is at fault."""
    reason: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the checker says of a derivation."""

    accepted: bool
    steps: int
    """Number of steps that hold."""
    refusal: Refusal | None
    """None when the derivation is accepted."""


def check(
    circuit: Circuit, derivation: Derivation, watch: Callable[[Ledger], None] | None = None
) -> Verdict:
    """Return whether every step of a derivation holds and every question is answered.

    `watch` is shown the ledger after each step that holds.
    """
    ledger = Ledger(circuit, derivation.steps)
    try:
        enter_letters(ledger)
        for index, step in enumerate(derivation.steps):
            ledger.here = index
            _check_step(ledger, step)
            if watch is not None:
                watch(ledger)
        ledger.here = len(derivation.steps)
        check_questions(ledger)
        check_currents(ledger)
        check_point(ledger)
        charges.check_charges(ledger)
        ratings.check_ratings(ledger)
    except Refused as refused:
        return Verdict(False, ledger.here, Refusal(ledger.here, str(refused)))
    except RecursionError:
        return Verdict(False, ledger.here, Refusal(ledger.here, "its terms are nested too deep"))
    return Verdict(True, len(derivation.steps), None)


def _check_step(ledger: Ledger, step: Step) -> None:
    match step:
        case ChooseUnknowns():
            require(step == laws.unknowns(ledger.circuit), "the circuit counts differently")
        case Change():
            check_change(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case (
            GivenValue() | SameCurrent() | KnownCurrent() | JunctionRule() | LoopRule()
            | PathRule() | PotentialRule() | AcrossRule() | ChargeRule() | PartRule()
        ):  # fmt: skip
            check_law(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case LookBetween() | LookFrom() | LookAtAll():
            ledger.seen = network.look(ledger.circuit, step)
        case Replace():
            ledger.exchanged[ledger.here] = network.exchange(ledger, step)
        case Levels():
            potentials.levels(ledger, step)
        case Join():
            potentials.join(ledger, step)
        case PutBack():
            back.put_back(ledger, step)
            _check_conclusion(ledger, step.conclusion)
            back.enter(ledger, step.conclusion)
            _assume(ledger, ledger.exchanged[step.replaced].network.rests_on)
        case Agree():
            _check_agreement(ledger, step)
        case LeftBetween():
            seen = network.left(ledger, step)
            _check_conclusion(ledger, step.conclusion)
            _assume(ledger, seen.rests_on)
        case BySource():
            tested.by_source(ledger, step, _refusal)
            _check_conclusion(ledger, step.conclusion)
        case IdealReading():
            loading.ideal_reading(ledger, step, _refusal)
            _check_conclusion(ledger, step.conclusion)
        case LoadingError():
            loading.loading_error(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case PreferredValue():
            preferred.preferred_value(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Rated():
            ratings.rated(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case AgainstRating():
            ratings.against_rating(ledger, step)
        case Lasts():
            power.lasts(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case OverTime():
            power.over_time(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Efficiency():
            power.efficiency(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Largest():
            largest.largest(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Define():
            check_definition(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Collect() | Substitute() | Combine() | Isolate() | BackSubstitute() | PutInValues():
            _check_conclusion(ledger, step.conclusion)
            check_shape(ledger, step)
            check_certificate(ledger, step)
            enter_sought(ledger)
        case PowerPart():
            power.power_part(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case PowerBalance():
            _check_conclusion(ledger, step.conclusion)
            _check_balance(ledger, step)
        case Round():
            _check_rounding(ledger, step)
        case InitialVoltage():
            course.initial_voltage(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Course():
            course.course(ledger, step)
        case RoundedCourse():
            course.rounded_course(ledger, step)
        case CourseAt():
            course.course_at(ledger, step)
        case Conclude():
            check_answer(ledger, step)
        case Limit() | SpecialCase() | Trend() | Dimensions():
            sense.check_sense(ledger, step)
        case Range():
            tolerance.check_range(ledger, step)
        case NoRange():
            tolerance.check_no_range(ledger, step)
        case Shares():
            tolerance.check_shares(ledger, step)


def _refusal(circuit: Circuit, derivation: Derivation) -> str | None:
    """Return why the derivation of another circuit is refused; None where it is accepted."""
    refusal = check(circuit, derivation).refusal
    return None if refusal is None else refusal.reason


def _assume(ledger: Ledger, given: frozenset[StepId]) -> None:
    """Note the author's values without which a step would not hold."""
    ledger.assumed[ledger.here] = given
    values = (cited_equation(ledger, k).right for k in given if not ledger.lines[k].right)
    if not all(map(Expansion().is_zero, values)):  # not ties and wires alone
        ledger.special.add(ledger.here)
        ledger.special_symbols |= ledger.lines[ledger.here].left.keys()


def _check_conclusion(ledger: Ledger, conclusion: Equation) -> None:
    """Every symbol has a meaning, nothing divides by zero, both sides have one dimension."""
    left = check_symbols(ledger, conclusion.left)
    right = check_symbols(ledger, conclusion.right)
    unit = dimension(Sum((conclusion.left, conclusion.right)))
    ledger.lines[ledger.here] = Line(left, right, unit)


def _check_rounding(ledger: Ledger, step: Round) -> None:
    symbol, term = read_rule(ledger, step.premise)
    require(symbol == step.symbol, f"step {step.premise} is about {symbol.name}")
    value = Expansion().constant(term)
    if value is None:
        raise Refused("only a number can be rounded")
    check_rounded(step, value)


def _check_agreement(ledger: Ledger, step: Agree) -> None:
    require(step.one != step.other, "a line agrees with itself")
    (symbol, one), (other_symbol, other) = (read_rule(ledger, k) for k in (step.one, step.other))
    require(symbol == other_symbol, f"they are about {symbol.name} and {other_symbol.name}")
    rules = ledger.laws | ledger.defined
    for cited in (step.one, step.other):
        rules |= read_rules(ledger, sorted(ledger.assumed.get(cited, ())))
    same = Expansion(rules).is_zero(Sum((one, Negative(other))))
    require(same, f"they give two values of {symbol.name}")


def _check_balance(ledger: Ledger, step: PowerBalance) -> None:
    """Every battery and every resistance is counted once, on its side, and the sides agree."""
    branches = ledger.circuit.branches
    sources = {f"Pd({battery.name})" for b in branches for battery in b.batteries}
    sources |= {f"Pd({passage.element.name})" for b in branches for passage in b.sources}
    drains = {f"P({r.name})" for b in ledger.circuit.branches for r in b.resistances}
    sides: list[list[Term]] = [[], []]
    for taken, steps in enumerate((step.delivered, step.taken)):
        for symbol, term in (read_rule(ledger, cited) for cited in steps):
            source = symbol.name in sources
            counted = source or (taken == 1 and symbol.name in drains)
            require(counted, f"{symbol.name} is not to be counted here")
            value = Expansion(ledger.defined).constant(term)
            if source and value is not None:
                require(value <= 0 if taken else value >= 0, f"{symbol.name} is on a wrong side")
            sides[taken].append(negate(term) if source and taken else term)
            (sources if source else drains).remove(symbol.name)
    for cited, steps, taken in zip(step.totals, (step.delivered, step.taken), (0, 1), strict=False):
        _check_total(ledger, cited, steps, taken=bool(taken))
    left_out = sorted(sources | drains)
    require(not left_out, f"the balance leaves out {', '.join(left_out)}")
    expansion = Expansion(ledger.defined)
    for stated, terms in zip((step.conclusion.left, step.conclusion.right), sides, strict=True):
        same = expansion.is_zero(Sum((stated, Negative(Sum(tuple(terms))))))
        require(same, "the powers add up to something else")
    require(expansion.is_zero(difference(step.conclusion)), "the powers do not balance")


def _check_total(ledger: Ledger, cited: StepId, steps: tuple[StepId, ...], *, taken: bool) -> None:
    """A name for a sum of powers stands for the sum of just these."""
    _, term = read_rule(ledger, cited)
    powers = [read_rule(ledger, step)[0] for step in steps]
    signed = [Negative(p) if taken and p.name.startswith("Pd(") else p for p in powers]
    same = Expansion().is_zero(Sum((term, Negative(Sum(tuple(signed))))))
    require(same, "a name stands for another sum of powers")
