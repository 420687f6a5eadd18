"""What must hold of a derivation as a whole: its answers, its circuit, its test point."""

from __future__ import annotations

from collections.abc import Iterator

from derive.algebra.term import Symbol
from derive.algebra.unit import Unit
from derive.checker import laws, naming
from derive.checker.course import check_courses
from derive.checker.evaluation import occurring, residue
from derive.checker.ledger import (
    Ledger,
    cited_equation,
    currents_of,
    difference,
    is_closed,
    made_of,
    read_rule,
    read_rules,
    require,
)
from derive.checker.polynomial import Expansion, Refused
from derive.checker.system import equations, power_balance
from derive.circuit.question import AskCurrents, AskReducible, AskTransient
from derive.derivation.step import Conclude, Round
from derive.derivation.step_id import StepId


def check_answer(ledger: Ledger, step: Conclude) -> None:
    """The symbol answers the question, in letters, in values, and rounded."""
    # The currents may be told even where they are not asked for.
    asked = step.question in ledger.circuit.questions or isinstance(step.question, AskCurrents)
    require(asked, "the author does not ask this")
    answers = step.symbol in (
        *naming.answer_symbols(ledger.circuit, step.question),
        *naming.further_symbols(step.question),
    )
    require(answers, f"{step.symbol.name} answers another question")
    letters: frozenset[Symbol] = frozenset()
    for cited in (step.formula, step.value):
        if cited is not None:
            symbol, _ = read_rule(ledger, cited)
            require(symbol == step.symbol, f"step {cited} is about {symbol.name}")
            symbols = ledger.lines[cited].right
            require(is_closed(ledger, symbols), f"step {cited} holds unknowns")
            letters = made_of(ledger, symbols)
    require(step.formula is not None or step.value is not None, "nothing is concluded")
    if step.formula is not None:
        held = ledger.lines[step.formula].right
        special = step.formula in ledger.special or not ledger.special_symbols.isdisjoint(held)
        require(not special, "the formula holds for some values only")
    require(not letters & ledger.fixed, "the values are not put in")
    if step.rounded is not None:
        require(0 <= step.rounded < ledger.here, "the rounded value does not come before it")
        found = ledger.steps[step.rounded]
        fits = isinstance(found, Round) and found.premise == step.value
        fits = fits and isinstance(found, Round) and found.unit in (Unit.SI, Unit.PERCENT)
        require(fits, "the rounded value is of another step")
    if step.also is not None:
        require(0 <= step.also < ledger.here, "the rounded value does not come before it")
        found = ledger.steps[step.also]
        in_trade = isinstance(found, Round) and found.unit is not Unit.SI
        fits = in_trade and isinstance(found, Round) and found.premise == step.value
        require(fits and step.rounded is not None, "the rounded value is of another step")


def check_questions(ledger: Ledger) -> None:
    """Every question is answered. The verdict on reducibility has no step."""
    concluded = {(s.question, s.symbol) for s in ledger.steps if isinstance(s, Conclude)}
    for question in ledger.circuit.questions:
        if isinstance(question, AskTransient):
            # Before switches change there is no course yet, but the voltage that it begins with.
            given = ledger.circuit.initial(question.capacitor)
            told = ledger.circuit.is_before or check_courses(ledger, question.capacitor)
            require(told, f"the question {_text(question)} is not answered")
            if given is not None and not given.is_steady:
                continue
        wanted = naming.answer_symbols(ledger.circuit, question)
        if not isinstance(question, AskReducible):
            done = bool(wanted) and all((question, symbol) in concluded for symbol in wanted)
            require(done, f"the question {_text(question)} is not answered")


def _text(question: object) -> str:
    return repr(question).removeprefix("Ask")


def check_currents(ledger: Ledger) -> None:
    """Put the currents that were found back into every rule of the circuit.

    Formulas and values are put back apart. A rule that holds a current for which nothing was found
    is passed over; that can only be when the currents are not asked for.
    """
    found = dict(_closed_forms(ledger))
    if not found and not ledger.circuit.asks_for_currents:
        return  # batteries may even contradict each other where only a resistance is asked for
    given = set(laws.conditions(ledger.circuit))
    for branch in ledger.circuit.branches:
        known = branch.current in found or branch.current in given
        require(known, f"the current {branch.current.name} is not found")
    for quantity in (*ledger.circuit.dependent, *ledger.circuit.sought):
        require(quantity in found, f"the value of {quantity.name} is not found")
    formulas, values = dict(found), dict(found)
    # The first form of a dependent source is its formula, the last one its value.
    formulas |= {
        s: k for s, k in reversed(list(_closed_forms(ledger))) if s in ledger.circuit.dependent
    }
    for step in ledger.steps:
        if isinstance(step, Conclude) and step.symbol in found:
            formulas[step.symbol] = found[step.symbol] if step.formula is None else step.formula
            values[step.symbol] = found[step.symbol] if step.value is None else step.value
    _put_back(ledger, formulas)
    if values != formulas:
        _put_back(ledger, values)
    for symbol, step_id in values.items():
        ledger.point[symbol] = residue(read_rule(ledger, step_id)[1], ledger.point)


def _closed_forms(ledger: Ledger) -> Iterator[tuple[Symbol, StepId]]:
    """Yield each current with each step that gives it in letters or values, in order."""
    sought = _sought(ledger)
    for step, line in ledger.lines.items():
        left = cited_equation(ledger, step).left
        if isinstance(left, Symbol) and left in sought and is_closed(ledger, line.right):
            yield left, step


def _sought(ledger: Ledger) -> set[Symbol]:
    """Return what is to be put back: the currents, the dependent sources and what is sought.

    Currents that the author gives are known as they are.
    """
    circuit = ledger.circuit
    sought = currents_of(circuit) | {*circuit.dependent, *circuit.sought}
    return sought - set(laws.conditions(circuit))


_MOST_LETTERS = 8
"""Letters in which the currents of a reduction are still put back as polynomials."""


def _put_back(ledger: Ledger, forms: dict[Symbol, StepId]) -> None:
    """Put forms of the currents into every rule that holds no other current.

    Nested formulas grow beyond measure when they are written out. Where there are many letters the
    proof of a reduction is that of each of its exchanges, and this is done at the test point.
    """
    in_letters = any(ledger.lines[step].right for step in forms.values())
    many = len(set(laws.letters(ledger.circuit))) > _MOST_LETTERS
    if ledger.exchanged and in_letters and many:
        _put_back_at_point(ledger, forms)
        return
    given = {cited for step in forms.values() for cited in ledger.assumed.get(step, ())}
    rules = ledger.defined | read_rules(ledger, sorted(given)) | read_rules(ledger, forms.values())
    expansion = Expansion(rules)
    sought = _sought(ledger)
    for name, equation in equations(ledger.circuit):
        if sought & occurring(equation.left, equation.right).keys() <= forms.keys():
            require(expansion.is_zero(difference(equation)), f"the currents violate {name}")


def _put_back_at_point(ledger: Ledger, forms: dict[Symbol, StepId]) -> None:
    known = dict(ledger.point)
    for symbol, step in forms.items():
        known[symbol] = residue(read_rule(ledger, step)[1], ledger.point)
    for name, equation in equations(ledger.circuit):
        if known.keys() >= occurring(equation.left, equation.right).keys():
            require(residue(difference(equation), known) == 0, f"the currents violate {name}")


def check_point(ledger: Ledger) -> None:
    """Every line must be true at the test point, and power must balance there.

    The balance follows from the rules that `_put_back` has proved (Tellegen's theorem); in letters
    it has too many terms to be written out.
    """
    known = ledger.point
    for step, line in ledger.lines.items():
        equation = cited_equation(ledger, step)
        if known.keys() >= line.right.keys():
            value = residue(equation.right, known)
            if isinstance(equation.left, Symbol):
                known.setdefault(equation.left, value)
            if known.keys() >= line.left.keys() and residue(equation.left, known) != value:
                ledger.here = step
                raise Refused("it is false at the test point")
    balance = power_balance(ledger.circuit)
    if known.keys() >= occurring(balance.left, balance.right).keys():
        same = residue(balance.left, known) == residue(balance.right, known)
        require(same, "the powers of the circuit do not balance")
