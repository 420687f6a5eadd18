"""The trusted part: does a derivation follow from its circuit?

There is one entry, `check`. Each step must hold by itself: laws are recomputed from the circuit,
algebra by the certificate that the step carries (see `derive.derivation.step`), divisors must not
be zero. That proves *if the rules of the circuit hold, then x = …*. At the end the currents are put
back into all rules of the circuit, which proves the converse; every question must have an answer;
and every line is evaluated once more at a test point, as a second, independent guard.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from derive.algebra.dimension import Dimension
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Sum,
    Symbol,
    Term,
    negate,
    total,
)
from derive.checker import laws
from derive.checker.polynomial import (
    Expansion,
    Refused,
    dimension,
    occurring,
    point_value,
    residue,
    survey,
)
from derive.circuit.model import AskCurrents, AskReducible, Circuit
from derive.derivation.step import (
    AlgebraStep,
    BackSubstitute,
    ChooseUnknowns,
    Collect,
    Combine,
    Conclude,
    Define,
    Derivation,
    GivenValue,
    Isolate,
    JunctionRule,
    LoopRule,
    PartRule,
    PathRule,
    PowerBalance,
    PutInValues,
    Round,
    SameCurrent,
    Scaled,
    Step,
    StepId,
    Substitute,
    certificate,
)


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


Symbols = Mapping[Symbol, None]
"""A set that keeps its order."""


@dataclass(frozen=True, slots=True)
class _Line:
    """What has been read off the conclusion of a step."""

    left: Symbols
    right: Symbols
    unit: Dimension | None
    """None when both sides are zero."""


@dataclass(slots=True)
class _Ledger:
    """What has been established up to a step."""

    circuit: Circuit
    steps: tuple[Step, ...]
    here: StepId = 0
    """The step being checked. Only earlier ones may be cited."""
    named: dict[str, Symbol] = field(default_factory=dict)
    """Every symbol that has a meaning, by its name."""
    made_of: dict[Symbol, frozenset[Symbol]] = field(default_factory=dict)
    """The letters in which a symbol is known: itself, or what its definition is made of."""
    defined: dict[Symbol, Term] = field(default_factory=dict)
    """The terms of all `Define` steps."""
    lines: dict[StepId, _Line] = field(default_factory=dict)
    """The equations that hold, by their steps."""
    assumed: dict[StepId, frozenset[StepId]] = field(default_factory=dict)
    """The `GivenValue` steps on which a conclusion rests."""
    point: dict[Symbol, int] = field(default_factory=dict)
    """The test point: a residue for each symbol known in letters."""
    fixed: set[Symbol] = field(default_factory=set)
    """The letters that the author's values make a number."""


def check(circuit: Circuit, derivation: Derivation) -> Verdict:
    """Return whether every step of a derivation holds and every question is answered."""
    ledger = _Ledger(circuit, derivation.steps)
    try:
        _enter_letters(ledger)
        for index, step in enumerate(derivation.steps):
            ledger.here = index
            _check_step(ledger, step)
        ledger.here = len(derivation.steps)
        _check_answers(ledger)
        _check_currents(ledger)
        _check_point(ledger)
    except Refused as refused:
        return Verdict(False, ledger.here, Refusal(ledger.here, str(refused)))
    except RecursionError:
        return Verdict(False, ledger.here, Refusal(ledger.here, "its terms are nested too deep"))
    return Verdict(True, len(derivation.steps), None)


def _require(holds: bool, reason: str) -> None:
    if not holds:
        raise Refused(reason)


def _enter_letters(ledger: _Ledger) -> None:
    """Give every letter its place at the test point; tied ones follow those they are tied to."""
    circuit = ledger.circuit
    waiting = list(dict.fromkeys(laws.letters(circuit)))
    ledger.named = {symbol.name: symbol for symbol in (*waiting, *_currents(circuit))}
    for index, letter in enumerate(waiting):
        if laws.given(circuit, letter) is None:
            ledger.made_of[letter] = frozenset((letter,))
            ledger.point[letter] = point_value(index)
    for _ in range(len(waiting)):
        for letter in waiting:
            value = laws.given(circuit, letter)
            if letter in ledger.point or value is None:
                continue
            symbols = occurring(value)
            if _is_closed(ledger, symbols):
                ledger.made_of[letter] = frozenset((letter,))
                ledger.point[letter] = residue(value, ledger.point)
                if ledger.fixed.issuperset(symbols):
                    ledger.fixed.add(letter)


def _currents(circuit: Circuit) -> set[Symbol]:
    return {branch.current for branch in circuit.branches} | {
        walk.current for walk in circuit.walks
    }


def _is_closed(ledger: _Ledger, symbols: Symbols) -> bool:
    """Return whether these are nothing but letters and names for expressions in letters."""
    return ledger.made_of.keys() >= symbols.keys()


def _made_of(ledger: _Ledger, symbols: Symbols) -> frozenset[Symbol]:
    return frozenset[Symbol]().union(*(ledger.made_of[symbol] for symbol in symbols))


# --- one step --------------------------------------------------------------------------------


def _check_step(ledger: _Ledger, step: Step) -> None:
    match step:
        case ChooseUnknowns():
            _require(step == laws.unknowns(ledger.circuit), "the circuit counts differently")
        case GivenValue() | SameCurrent() | JunctionRule() | LoopRule() | PathRule() | PartRule():
            _check_law(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Define():
            _check_definition(ledger, step)
            _check_conclusion(ledger, step.conclusion)
        case Collect() | Substitute() | Combine() | Isolate() | BackSubstitute() | PutInValues():
            _check_conclusion(ledger, step.conclusion)
            _check_shape(ledger, step)
            _check_certificate(ledger, step)
        case PowerBalance():
            _check_conclusion(ledger, step.conclusion)
            _check_balance(ledger, step)
        case Round():
            _check_rounding(ledger, step)
        case Conclude():
            _check_answer(ledger, step)


def _check_conclusion(ledger: _Ledger, conclusion: Equation) -> None:
    """Every symbol has a meaning, nothing divides by zero, both sides have one dimension."""
    left = _check_symbols(ledger, conclusion.left)
    right = _check_symbols(ledger, conclusion.right)
    unit = dimension(Sum((conclusion.left, conclusion.right)))
    ledger.lines[ledger.here] = _Line(left, right, unit)


def _check_symbols(ledger: _Ledger, term: Term) -> Symbols:
    symbols, divisors = survey(term)
    for symbol in symbols:
        _require(ledger.named.get(symbol.name) == symbol, f"{symbol.name} has no meaning here")
    for divisor in divisors:
        _require(_is_closed(ledger, occurring(divisor)), "it divides by an unknown")
        _require(residue(divisor, ledger.point) != 0, "it divides by zero")
    return symbols


def _cited(ledger: _Ledger, step: StepId) -> Equation:
    """Return the conclusion of an earlier step."""
    _line(ledger, step)
    found = ledger.steps[step]
    assert not isinstance(found, ChooseUnknowns | Round | Conclude)
    return found.conclusion


def _line(ledger: _Ledger, step: StepId) -> _Line:
    _require(step in ledger.lines and step < ledger.here, f"no equation before it is step {step}")
    return ledger.lines[step]


def _rule(ledger: _Ledger, step: StepId) -> tuple[Symbol, Term]:
    """Return an earlier equation ``symbol = term`` that may replace its symbol."""
    equation = _cited(ledger, step)
    return _expression(equation, ledger.lines[step]), equation.right


def _expression(equation: Equation, line: _Line) -> Symbol:
    """Return the symbol that an equation ``symbol = term`` gives."""
    symbol = equation.left
    if not isinstance(symbol, Symbol):
        raise Refused("an equation is no expression for one symbol")
    _require(symbol not in line.right, f"{symbol.name} stands on both sides")
    return symbol


def _rules(ledger: _Ledger, steps: Iterable[StepId]) -> dict[Symbol, Term]:
    found: dict[Symbol, Term] = {}
    for step in steps:
        symbol, term = _rule(ledger, step)
        _require(found.setdefault(symbol, term) == term, f"{symbol.name} is replaced twice")
    return found


# --- laws ------------------------------------------------------------------------------------


def _check_law(
    ledger: _Ledger,
    step: GivenValue | SameCurrent | JunctionRule | LoopRule | PathRule | PartRule,
) -> None:
    circuit, stated = ledger.circuit, step.conclusion
    match step:
        case GivenValue(symbol=symbol):
            value = laws.given(circuit, symbol)
            _require(value is not None, f"the author gives no value for {symbol.name}")
            _require_same(stated, Equation(symbol, value or ZERO), "the author's value")
            ledger.assumed[ledger.here] = frozenset((ledger.here,))
        case SameCurrent(walk=walk):
            _require_same(stated, laws.same_current(circuit, walk), "the current of the branch")
        case JunctionRule():
            _check_junction(circuit, step)
        case LoopRule():
            rows = laws.loop_rows(circuit, step.loop)
            _require(step.crossings == rows, "the parts met on the loop are not these")
            changes = total(tuple(row.change for row in rows))
            _require(stated == Equation(changes, ZERO), "the changes add up to something else")
        case PathRule(origin=origin, to=to):
            laws.follow(circuit, origin, to, step.crossings)
            changes = total(tuple(row.change for row in step.crossings))
            symbol = laws.path_symbol(origin, to)
            _require(stated == Equation(symbol, changes), "the changes add up to something else")
            ledger.named.setdefault(symbol.name, symbol)
        case PartRule(kind=kind, part=part):
            expected = laws.part_relation(circuit, kind, part)
            _require_same(stated, expected, "the relation of the part")
            symbol = laws.part_symbol(kind, part)
            ledger.named.setdefault(symbol.name, symbol)


def _require_same(stated: Equation, expected: Equation, what: str) -> None:
    """The left sides must be one symbol; the right sides may be written differently."""
    same = stated.left == expected.left and dimension(stated.right) == dimension(expected.right)
    difference = Sum((stated.right, Negative(expected.right)))
    _require(same and Expansion().is_zero(difference), f"this is not {what}")


def _check_junction(circuit: Circuit, step: JunctionRule) -> None:
    into, out = laws.flows(circuit, step.node)
    same = sorted(s.name for s in into) == sorted(s.name for s in step.flows_in)
    same = same and sorted(s.name for s in out) == sorted(s.name for s in step.flows_out)
    _require(same, f"other currents flow into and out of {step.node}")
    sides = [total(step.flows_in), total(step.flows_out)]
    if not into:  # a reader expects the zero on the right
        sides.reverse()
    _require(step.conclusion == Equation(*sides), f"this is not the junction rule at {step.node}")


# --- algebra ---------------------------------------------------------------------------------


def _check_definition(ledger: _Ledger, step: Define) -> None:
    symbol, term = step.symbol, step.conclusion.right
    _require(step.conclusion.left == symbol, "the definition is for another symbol")
    # Names with parentheses belong to the relations of parts and points.
    fresh = symbol.name not in ledger.named and "(" not in symbol.name
    _require(fresh, f"{symbol.name} has a meaning already")
    symbols = _check_symbols(ledger, term)
    ledger.named[symbol.name] = symbol
    ledger.defined[symbol] = term
    if _is_closed(ledger, symbols):
        ledger.made_of[symbol] = _made_of(ledger, symbols)
        ledger.point[symbol] = residue(term, ledger.point)


def _check_shape(ledger: _Ledger, step: AlgebraStep) -> None:
    """What a step says of itself beyond its certificate."""
    match step:
        case Combine(eliminated=eliminated, parts=parts):
            held = [_line(ledger, part.premise) for part in parts]
            for symbol in eliminated:
                found = any(symbol in line.left or symbol in line.right for line in held)
                _require(found, f"no premise holds {symbol.name}")
                _require(symbol not in ledger.made_of, f"{symbol.name} is no unknown")
            _require_gone(ledger, eliminated)
        case Substitute(definitions=definitions):
            _require_gone(ledger, _rules(ledger, definitions))
        case Isolate(symbol=symbol, definitions=definitions):
            given = _expression(step.conclusion, ledger.lines[ledger.here])
            _require(given == symbol, f"this does not give {symbol.name}")
            _require_gone(ledger, _rules(ledger, definitions))
        case BackSubstitute(premise=premise, definitions=definitions):
            given = _expression(step.conclusion, ledger.lines[ledger.here])
            _require(given == _rule(ledger, premise)[0], f"this does not give {given.name}")
            _require_gone(ledger, _rules(ledger, definitions))
        case PutInValues(values=values):
            _require_gone(ledger, _rules(ledger, values))
        case Collect():
            pass


def _require_gone(ledger: _Ledger, gone: Iterable[Symbol]) -> None:
    line = ledger.lines[ledger.here]
    for symbol in gone:
        present = symbol in line.left or symbol in line.right
        _require(not present, f"{symbol.name} is still there")


def _check_certificate(ledger: _Ledger, step: AlgebraStep) -> None:
    """left − right = Σ multiplier · (left − right of the premise), after rewriting."""
    proof = certificate(step)
    _require(bool(proof.combination), "it follows from nothing")
    expansion = Expansion(_rules(ledger, proof.rewriting))
    items = [_difference(step.conclusion)]
    for part in proof.combination:
        _check_multiplier(ledger, part, expansion)
        premise = _difference(_cited(ledger, part.premise))
        items.append(Negative(Product((part.multiplier, premise))))
    _require(expansion.is_zero(Sum(tuple(items))), "it does not follow from its premises")
    sources = [part.premise for part in proof.combination] + list(proof.rewriting)
    empty = frozenset[StepId]()
    ledger.assumed[ledger.here] = empty.union(*(ledger.assumed.get(s, empty) for s in sources))


def _difference(equation: Equation) -> Term:
    return Sum((equation.left, Negative(equation.right)))


def _check_multiplier(ledger: _Ledger, part: Scaled, expansion: Expansion) -> None:
    _check_symbols(ledger, part.multiplier)
    _require(not expansion.is_zero(part.multiplier), "an equation is multiplied by zero")
    unit, factor = _line(ledger, part.premise).unit, dimension(part.multiplier)
    wanted = ledger.lines[ledger.here].unit
    if unit is not None and factor is not None and wanted is not None:
        _require(unit * factor == wanted, "a multiplier has the wrong unit")


def _check_rounding(ledger: _Ledger, step: Round) -> None:
    symbol, term = _rule(ledger, step.premise)
    _require(symbol == step.symbol, f"step {step.premise} is about {symbol.name}")
    value = Expansion().constant(term)
    if value is None:
        raise Refused("only a number can be rounded")
    in_range = step.unit_exponent % 3 == 0 and abs(step.unit_exponent) <= 30
    _require(in_range and 0 <= step.decimals <= 100, "no unit has this prefix")
    place = Fraction(10) ** (step.unit_exponent - step.decimals)
    _require((step.rounded / place).denominator == 1, "it has more digits than it says")
    _require(2 * abs(step.rounded - value) <= place, "it is rounded to a wrong value")
    _require(step.exact == (step.rounded == value), "it says wrongly whether it is exact")


def _check_balance(ledger: _Ledger, step: PowerBalance) -> None:
    """Every battery and every resistance is counted once, on its side, and the sides agree."""
    sources = {f"Pd({battery.name})" for b in ledger.circuit.branches for battery in b.batteries}
    drains = {f"P({r.name})" for b in ledger.circuit.branches for r in b.resistances}
    sides: list[list[Term]] = [[], []]
    for taken, steps in enumerate((step.delivered, step.taken)):
        for symbol, term in (_rule(ledger, cited) for cited in steps):
            source = symbol.name in sources
            counted = source or (taken == 1 and symbol.name in drains)
            _require(counted, f"{symbol.name} is not to be counted here")
            value = Expansion(ledger.defined).constant(term)
            if source and value is not None:
                _require(value <= 0 if taken else value >= 0, f"{symbol.name} is on a wrong side")
            sides[taken].append(negate(term) if source and taken else term)
            (sources if source else drains).remove(symbol.name)
    left_out = sorted(sources | drains)
    _require(not left_out, f"the balance leaves out {', '.join(left_out)}")
    expansion = Expansion(ledger.defined)
    for stated, terms in zip((step.conclusion.left, step.conclusion.right), sides, strict=True):
        same = expansion.is_zero(Sum((stated, Negative(Sum(tuple(terms))))))
        _require(same, "the powers add up to something else")
    _require(expansion.is_zero(_difference(step.conclusion)), "the powers do not balance")


# --- answers ---------------------------------------------------------------------------------


def _check_answer(ledger: _Ledger, step: Conclude) -> None:
    """The symbol answers the question, in letters, in values, and rounded."""
    # The currents may be told even where they are not asked for.
    asked = step.question in ledger.circuit.questions or isinstance(step.question, AskCurrents)
    _require(asked, "the author does not ask this")
    answers = step.symbol in laws.answer_symbols(ledger.circuit, step.question)
    _require(answers, f"{step.symbol.name} answers another question")
    letters: frozenset[Symbol] = frozenset()
    for cited in (step.formula, step.value):
        if cited is not None:
            symbol, _ = _rule(ledger, cited)
            _require(symbol == step.symbol, f"step {cited} is about {symbol.name}")
            symbols = ledger.lines[cited].right
            _require(_is_closed(ledger, symbols), f"step {cited} holds unknowns")
            letters = _made_of(ledger, symbols)
    _require(step.formula is not None or step.value is not None, "nothing is concluded")
    _require(not letters & ledger.fixed, "the values are not put in")
    if step.rounded is not None:
        _require(0 <= step.rounded < ledger.here, "the rounded value does not come before it")
        found = ledger.steps[step.rounded]
        fits = isinstance(found, Round) and found.premise == step.value
        _require(fits, "the rounded value is of another step")


def _check_answers(ledger: _Ledger) -> None:
    """Every question is answered. The verdict on reducibility has no step."""
    concluded = {(s.question, s.symbol) for s in ledger.steps if isinstance(s, Conclude)}
    for question in ledger.circuit.questions:
        wanted = laws.answer_symbols(ledger.circuit, question)
        if not isinstance(question, AskReducible):
            done = bool(wanted) and all((question, symbol) in concluded for symbol in wanted)
            _require(done, f"the question {_text(question)} is not answered")


def _text(question: object) -> str:
    return repr(question).removeprefix("Ask")


# --- the circuit as a whole ------------------------------------------------------------------


def _check_currents(ledger: _Ledger) -> None:
    """Put the currents that were found back into every rule of the circuit.

    Formulas and values are put back apart. A rule that holds a current for which nothing was found
    is passed over; that can only be when the currents are not asked for.
    """
    found = dict(_closed_forms(ledger))
    formulas, values = dict(found), dict(found)
    for step in ledger.steps:
        if isinstance(step, Conclude) and step.symbol in found:
            formulas[step.symbol] = found[step.symbol] if step.formula is None else step.formula
            values[step.symbol] = found[step.symbol] if step.value is None else step.value
    _put_back(ledger, formulas)
    if values != formulas:
        _put_back(ledger, values)
    for symbol, step_id in values.items():
        ledger.point[symbol] = residue(_rule(ledger, step_id)[1], ledger.point)


def _closed_forms(ledger: _Ledger) -> Iterator[tuple[Symbol, StepId]]:
    """Yield each current with each step that gives it in letters or values, in order."""
    currents = _currents(ledger.circuit)
    for step, line in ledger.lines.items():
        left = _cited(ledger, step).left
        if isinstance(left, Symbol) and left in currents and _is_closed(ledger, line.right):
            yield left, step


def _put_back(ledger: _Ledger, forms: dict[Symbol, StepId]) -> None:
    rules = dict(ledger.defined)
    for step in forms.values():
        rules |= _rules(ledger, sorted(ledger.assumed.get(step, ())))
    rules |= _rules(ledger, forms.values())
    expansion = Expansion(rules)
    currents = _currents(ledger.circuit)
    for name, equation in laws.equations(ledger.circuit):
        if currents & occurring(equation.left, equation.right).keys() <= forms.keys():
            _require(expansion.is_zero(_difference(equation)), f"the currents violate {name}")


def _check_point(ledger: _Ledger) -> None:
    """Every line must be true at the test point, and power must balance there.

    The balance follows from the rules that `_put_back` has proved (Tellegen's theorem); in letters
    it has too many terms to be written out.
    """
    known = ledger.point
    for step, line in ledger.lines.items():
        equation = _cited(ledger, step)
        if known.keys() >= line.right.keys():
            value = residue(equation.right, known)
            if isinstance(equation.left, Symbol):
                known.setdefault(equation.left, value)
            if known.keys() >= line.left.keys() and residue(equation.left, known) != value:
                ledger.here = step
                raise Refused("it is false at the test point")
    balance = laws.power_balance(ledger.circuit)
    if known.keys() >= occurring(balance.left, balance.right).keys():
        same = residue(balance.left, known) == residue(balance.right, known)
        _require(same, "the powers of the circuit do not balance")
