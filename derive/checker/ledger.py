"""The ledger of a check: what has been established up to the step that is being checked.

Here alone it is decided what a step may cite: equations of earlier steps, nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from derive.algebra.dimension import Dimension
from derive.algebra.term import Equation, Negative, Sum, Symbol, Term
from derive.checker import laws
from derive.checker.box import Box
from derive.checker.dual import Dual
from derive.checker.evaluation import occurring, point_value, residue, survey
from derive.checker.polynomial import Refused
from derive.checker.seen import Record, Seen
from derive.circuit.model import Circuit
from derive.derivation.course import CourseOf
from derive.derivation.step import Silent, Step
from derive.derivation.step_id import StepId

Symbols = Mapping[Symbol, None]
"""A set that keeps its order."""


@dataclass(frozen=True, slots=True)
class Line:
    """What has been read off the conclusion of a step."""

    left: Symbols
    right: Symbols
    unit: Dimension | None
    """None when both sides are zero."""


@dataclass(slots=True)
class Ledger:
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
    """The terms of all `Define` steps, and the currents that got their name on the way back."""
    lines: dict[StepId, Line] = field(default_factory=dict)
    """The equations that hold, by their steps."""
    assumed: dict[StepId, frozenset[StepId]] = field(default_factory=dict)
    """The `GivenValue` steps on which a conclusion rests."""
    point: dict[Symbol, int] = field(default_factory=dict)
    """The test point: a residue for each symbol known in letters."""
    fixed: set[Symbol] = field(default_factory=set)
    """The letters that the author's values make a number."""
    seen: Seen | None = None
    """The network whose parts are being exchanged for others."""
    exchanged: dict[StepId, Record] = field(default_factory=dict)
    """The exchanges that were carried out."""
    special: set[StepId] = field(default_factory=set)
    """Steps that hold only because of values which the author gives."""
    special_symbols: set[Symbol] = field(default_factory=set)
    """What is known by such steps."""
    laws: dict[Symbol, Term] = field(default_factory=dict)
    """The currents that were found on the way back."""
    courses: dict[tuple[str, CourseOf], StepId] = field(default_factory=dict)
    """The last `Course` of each kind, by capacitor."""
    sought: dict[Symbol, Term] = field(default_factory=dict)
    """What the quantities whose values are sought were found to be, last."""
    voltages: dict[Symbol, Term] = field(default_factory=dict)
    """The terms of the `Define` steps that name voltages."""
    box: Box | None = None
    """The circuit within its tolerances."""
    slopes: dict[Symbol, Mapping[Symbol, Dual]] = field(default_factory=dict)
    """What each letter with a tolerance does to all quantities of the box."""


def require(holds: bool, reason: str) -> None:
    """Raise Refused unless something holds."""
    if not holds:
        raise Refused(reason)


def enter_letters(ledger: Ledger) -> None:
    """Give every letter its place at the test point; tied ones follow those they are tied to."""
    circuit = ledger.circuit
    conditions = laws.conditions(circuit)
    letters = dict.fromkeys((*laws.letters(circuit), *conditions))
    ledger.named = {symbol.name: symbol for symbol in (*letters, *currents_of(circuit))}
    waiting = [letter for letter in letters if letter not in circuit.sought]
    given = laws.all_given(circuit)
    for symbol in circuit.dependent:  # what a source depends on has a meaning from the start
        for met in occurring(given[symbol]):
            ledger.named.setdefault(met.name, met)
    for index, letter in enumerate(waiting):
        if letter not in given:
            ledger.made_of[letter] = frozenset((letter,))
            ledger.point[letter] = point_value(index)
    tied = [letter for letter in waiting if letter in given]
    count = len(tied) + 1
    while len(tied) < count:  # each round follows the ties that lead to what is known
        count, left = len(tied), []
        for letter in tied:
            symbols = occurring(given[letter])
            if not is_closed(ledger, symbols):
                left.append(letter)
                continue
            ledger.made_of[letter] = frozenset((letter,))
            ledger.point[letter] = residue(given[letter], ledger.point)
            if ledger.fixed.issuperset(symbols):
                ledger.fixed.add(letter)
        tied = left


def currents_of(circuit: Circuit) -> set[Symbol]:
    """Return the currents of all branches and walks, those that cannot flow included."""
    return {branch.current for branch in circuit.all_branches} | {
        walk.current for walk in circuit.walks
    }


def is_closed(ledger: Ledger, symbols: Symbols) -> bool:
    """Return whether these are nothing but letters and names for expressions in letters."""
    return ledger.made_of.keys() >= symbols.keys()


def made_of(ledger: Ledger, symbols: Symbols) -> frozenset[Symbol]:
    """Return the letters in which closed symbols are known."""
    return frozenset[Symbol]().union(*(ledger.made_of[symbol] for symbol in symbols))


def enter_sought(ledger: Ledger) -> None:
    """Note what a sought quantity is, once a line says so in letters or values."""
    step, line = ledger.steps[ledger.here], ledger.lines[ledger.here]
    assert not isinstance(step, Silent)
    equation = step.conclusion
    symbol = equation.left
    if not isinstance(symbol, Symbol) or symbol not in ledger.circuit.sought:
        return
    if symbol in line.right or not is_closed(ledger, line.right):
        return
    ledger.sought[symbol] = equation.right
    if symbol not in ledger.made_of:
        ledger.made_of[symbol] = made_of(ledger, line.right)
        ledger.point[symbol] = residue(equation.right, ledger.point)


def check_symbols(ledger: Ledger, term: Term) -> Symbols:
    """Return the symbols of a term; all must have a meaning, and nothing may divide by zero."""
    symbols, divisors = survey(term)
    for symbol in symbols:
        require(ledger.named.get(symbol.name) == symbol, f"{symbol.name} has no meaning here")
    for divisor in divisors:
        require(is_closed(ledger, occurring(divisor)), "it divides by an unknown")
        require(residue(divisor, ledger.point) != 0, "it divides by zero")
    return symbols


def cited_equation(ledger: Ledger, step: StepId) -> Equation:
    """Return the conclusion of an earlier step."""
    cited_line(ledger, step)
    found = ledger.steps[step]
    assert not isinstance(found, Silent)
    return found.conclusion


def cited_line(ledger: Ledger, step: StepId) -> Line:
    """Return what was read off an earlier equation."""
    require(step in ledger.lines and step < ledger.here, f"no equation before it is step {step}")
    return ledger.lines[step]


def read_rule(ledger: Ledger, step: StepId) -> tuple[Symbol, Term]:
    """Return an earlier equation ``symbol = term`` that may replace its symbol."""
    equation = cited_equation(ledger, step)
    return expression(equation, ledger.lines[step]), equation.right


def expression(equation: Equation, line: Line) -> Symbol:
    """Return the symbol that an equation ``symbol = term`` gives."""
    symbol = equation.left
    if not isinstance(symbol, Symbol):
        raise Refused("an equation is no expression for one symbol")
    require(symbol not in line.right, f"{symbol.name} stands on both sides")
    return symbol


def read_rules(ledger: Ledger, steps: Iterable[StepId]) -> dict[Symbol, Term]:
    """Return several such equations; one symbol may not be replaced by two terms."""
    found: dict[Symbol, Term] = {}
    for step in steps:
        symbol, term = read_rule(ledger, step)
        require(found.setdefault(symbol, term) == term, f"{symbol.name} is replaced twice")
    return found


def difference(equation: Equation) -> Term:
    """Return left − right."""
    return Sum((equation.left, Negative(equation.right)))
