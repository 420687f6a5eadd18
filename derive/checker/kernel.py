"""The trusted part: does a derivation follow from its circuit?

There is one entry, `check`. Each step must hold by itself: laws are recomputed from the circuit,
algebra by the certificate that the step carries (see `derive.derivation.step`), divisors must not
be zero. That proves *if the rules of the circuit hold, then x = …*. At the end the currents are put
back into all rules of the circuit, which proves the converse; every question must have an answer;
and every line is evaluated once more at a test point, as a second, independent guard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    negate,
    total,
)
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
from derive.checker.closing import check_answer, check_currents, check_point, check_questions
from derive.checker.evaluation import dimension, occurring, residue
from derive.checker.ledger import (
    Ledger,
    Line,
    check_symbols,
    cited_equation,
    cited_line,
    difference,
    enter_letters,
    enter_sought,
    expression,
    is_closed,
    made_of,
    read_rule,
    read_rules,
    require,
)
from derive.checker.polynomial import Expansion, Refused
from derive.checker.rounding import check_rounded
from derive.circuit.model import Circuit
from derive.derivation.algebra import (
    AlgebraStep,
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Scaled,
    Substitute,
    certificate,
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
    Crossing,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PartLaw,
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
            _check_change(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case (
            GivenValue() | SameCurrent() | KnownCurrent() | JunctionRule() | LoopRule()
            | PathRule() | PotentialRule() | AcrossRule() | ChargeRule() | PartRule()
        ):  # fmt: skip
            _check_law(ledger, step)
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
            _check_definition(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Collect() | Substitute() | Combine() | Isolate() | BackSubstitute() | PutInValues():
            _check_conclusion(ledger, step.conclusion)
            _check_shape(ledger, step)
            _check_certificate(ledger, step)
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


# --- laws ------------------------------------------------------------------------------------


def _check_law(
    ledger: Ledger,
    step: GivenValue
    | SameCurrent
    | KnownCurrent
    | JunctionRule
    | LoopRule
    | PathRule
    | PotentialRule
    | AcrossRule
    | ChargeRule
    | PartRule,
) -> None:
    circuit, stated = ledger.circuit, step.conclusion
    match step:
        case GivenValue(symbol=symbol):
            value = laws.given(circuit, symbol)
            require(value is not None, f"the author gives no value for {symbol.name}")
            _require_same(stated, Equation(symbol, value or ZERO), "the author's value")
            ledger.assumed[ledger.here] = frozenset((ledger.here,))
        case SameCurrent(walk=walk):
            _require_same(stated, laws.same_current(circuit, walk), "the current of the branch")
        case KnownCurrent(current=symbol, part=part):
            known = Equation(symbol, laws.known_current(circuit, symbol, part))
            require(stated == known, "the current is another one")
        case JunctionRule():
            _check_junction(circuit, step)
        case LoopRule():
            rows = laws.loop_rows(circuit, step.loop)
            require(step.crossings == rows, "the parts met on the loop are not these")
            changes = total(tuple(row.change for row in rows))
            require(stated == Equation(changes, ZERO), "the changes add up to something else")
        case PathRule(origin=origin, to=to):
            laws.follow(circuit, origin, to, step.crossings)
            changes = _sum_of_changes(step.crossings)
            symbol = laws.path_symbol(origin, to)
            require(stated == Equation(symbol, changes), "the changes add up to something else")
            _name_all(ledger, (symbol, *occurring(changes)))
        case PotentialRule():
            _check_potential(ledger, step)
        case AcrossRule(part=part):
            laws.follow_past(circuit, part, step.crossings)
            symbol = laws.part_symbol(PartLaw.VOLTAGE, part)
            changes = _sum_of_changes(step.crossings)
            require(stated == Equation(symbol, changes), "the changes add up to something else")
            _name_all(ledger, (symbol, *occurring(changes)))
        case ChargeRule():
            charges.check_rule(circuit, step)
            _name_all(ledger, (*step.leads_in, *step.leads_out))
        case PartRule(kind=kind, part=part):
            expected = laws.part_relation(circuit, kind, part)
            _require_same(stated, expected, "the relation of the part")
            _name_all(ledger, (laws.part_symbol(kind, part), *occurring(expected.right)))


def _name_all(ledger: Ledger, symbols: Iterable[Symbol]) -> None:
    """Note what has a meaning from here on: what a law relates."""
    for symbol in symbols:
        ledger.named.setdefault(symbol.name, symbol)


def _check_potential(ledger: Ledger, step: PotentialRule) -> None:
    """The grounded point is at zero; every other potential has been told before it is used."""
    ground = ledger.circuit.ground
    require(ground is not None, "no point is at zero")
    laws.follow(ledger.circuit, step.start, step.point, step.crossings)
    terms: list[Term] = [row.change for row in step.crossings if row.change != ZERO]
    if step.start != ground:
        terms.insert(0, laws.potential_symbol(step.start))
    symbol = laws.potential_symbol(step.point)
    right = total(tuple(terms))
    require(step.conclusion == Equation(symbol, right), "the changes add up to something else")
    changes = (row.change for row in step.crossings)
    _name_all(ledger, (symbol, *occurring(*changes)))


def _sum_of_changes(rows: tuple[Crossing, ...]) -> Term:
    """Return the sum of the changes on a path; where no current can flow there is none."""
    return total(tuple(row.change for row in rows if row.change != ZERO))


def _check_change(ledger: Ledger, step: Change) -> None:
    """The change is that row of an earlier walk, and its name is new."""
    cited_line(ledger, step.loop)
    rule = ledger.steps[step.loop]
    if not isinstance(rule, LoopRule) or not 0 <= step.row < len(rule.crossings):
        raise Refused(f"step {step.loop} walks past no such part")
    symbol = step.conclusion.left
    if not isinstance(symbol, Symbol):
        raise Refused("a change needs one name")
    require(symbol.name not in ledger.named and "(" not in symbol.name, "the name has a meaning")
    change = rule.crossings[step.row].change
    require(step.conclusion.right == change, "the change on the walk is another one")
    ledger.named[symbol.name] = symbol


def _require_same(stated: Equation, expected: Equation, what: str) -> None:
    """The left sides must be one symbol; the right sides may be written differently."""
    same = stated.left == expected.left and dimension(stated.right) == dimension(expected.right)
    difference = Sum((stated.right, Negative(expected.right)))
    require(same and Expansion().is_zero(difference), f"this is not {what}")


def _check_junction(circuit: Circuit, step: JunctionRule) -> None:
    into, out = laws.flows(circuit, step.node)
    same = sorted(s.name for s in into) == sorted(s.name for s in step.flows_in)
    same = same and sorted(s.name for s in out) == sorted(s.name for s in step.flows_out)
    require(same, f"other currents flow into and out of {step.node}")
    sides = [total(step.flows_in), total(step.flows_out)]
    if not into:  # a reader expects the zero on the right
        sides.reverse()
    require(step.conclusion == Equation(*sides), f"this is not the junction rule at {step.node}")


# --- algebra ---------------------------------------------------------------------------------


def _check_definition(ledger: Ledger, step: Define) -> None:
    symbol, term = step.symbol, step.conclusion.right
    require(step.conclusion.left == symbol, "the definition is for another symbol")
    # Names with parentheses belong to the relations of parts and points.
    fresh = symbol.name not in ledger.named and "(" not in symbol.name
    require(fresh, f"{symbol.name} has a meaning already")
    symbols = check_symbols(ledger, term)
    ledger.named[symbol.name] = symbol
    ledger.defined[symbol] = term
    if not ledger.special_symbols.isdisjoint(symbols):
        ledger.special_symbols.add(symbol)
    if symbol.kind is SymbolKind.VOLTAGE:
        ledger.voltages[symbol] = term
    if is_closed(ledger, symbols):
        ledger.made_of[symbol] = made_of(ledger, symbols)
        ledger.point[symbol] = residue(term, ledger.point)


def _check_shape(ledger: Ledger, step: AlgebraStep) -> None:
    """What a step says of itself beyond its certificate."""
    match step:
        case Combine(eliminated=eliminated, parts=parts):
            held = [cited_line(ledger, part.premise) for part in parts]
            for symbol in eliminated:
                found = any(symbol in line.left or symbol in line.right for line in held)
                require(found, f"no premise holds {symbol.name}")
                unknown = symbol not in ledger.made_of or symbol in ledger.circuit.sought
                require(unknown, f"{symbol.name} is no unknown")
            _require_gone(ledger, eliminated)
        case Substitute(premise=premise, definitions=definitions):
            _check_definitions_used(ledger, premise, definitions)
        case Isolate(premise=premise, symbol=symbol, definitions=definitions):
            given = expression(step.conclusion, ledger.lines[ledger.here])
            require(given == symbol, f"this does not give {symbol.name}")
            _check_definitions_used(ledger, premise, definitions)
        case BackSubstitute(premise=premise, definitions=definitions):
            given = expression(step.conclusion, ledger.lines[ledger.here])
            require(given == read_rule(ledger, premise)[0], f"this does not give {given.name}")
            _check_definitions_used(ledger, premise, definitions)
        case PutInValues(values=values):
            known = read_rules(ledger, values)
            # A quantity tied to a letter may stay as it is.
            _require_gone(ledger, [s for s, term in known.items() if not occurring(term)])
        case Collect():
            pass


def _check_definitions_used(ledger: Ledger, premise: StepId, definitions: Iterable[StepId]) -> None:
    """What is said to be put in stands in the premise, or comes in with another one, and goes."""
    rules = read_rules(ledger, definitions)
    line = cited_line(ledger, premise)
    held = {*line.left, *line.right}.union(*(occurring(term) for term in rules.values()))
    for symbol in rules:
        require(symbol in held, f"{symbol.name} is not there to be replaced")
    _require_gone(ledger, rules)


def _require_gone(ledger: Ledger, gone: Iterable[Symbol]) -> None:
    line = ledger.lines[ledger.here]
    for symbol in gone:
        present = symbol in line.left or symbol in line.right
        require(not present, f"{symbol.name} is still there")


def _check_certificate(ledger: Ledger, step: AlgebraStep) -> None:
    """left − right = Σ multiplier · (left − right of the premise), after rewriting."""
    proof = certificate(step)
    sources = [part.premise for part in proof.combination] + list(proof.rewriting)
    empty = frozenset[StepId]()
    ledger.assumed[ledger.here] = empty.union(*(ledger.assumed.get(s, empty) for s in sources))
    if not ledger.special.isdisjoint(sources):
        ledger.special.add(ledger.here)
    require(bool(proof.combination), "it follows from nothing")
    expansion = Expansion(read_rules(ledger, proof.rewriting))
    items = [difference(step.conclusion)]
    for part in proof.combination:
        _check_multiplier(ledger, part, expansion)
        premise = difference(cited_equation(ledger, part.premise))
        items.append(Negative(Product((part.multiplier, premise))))
    require(expansion.is_zero(Sum(tuple(items))), "it does not follow from its premises")


def _check_multiplier(ledger: Ledger, part: Scaled, expansion: Expansion) -> None:
    check_symbols(ledger, part.multiplier)
    require(not expansion.is_zero(part.multiplier), "an equation is multiplied by zero")
    unit, factor = cited_line(ledger, part.premise).unit, dimension(part.multiplier)
    wanted = ledger.lines[ledger.here].unit
    if unit is not None and factor is not None and wanted is not None:
        require(unit * factor == wanted, "a multiplier has the wrong unit")


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
