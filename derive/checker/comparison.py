"""Do two states of a circuit differ by just these changes?

The derivations of the two states are checked by themselves, each against its own circuit. What is
left to see is that both circuits are the same one but for the switches that change, and that every
answer is set beside the right one, with the difference of the two as its change.
"""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.term import Negative, Sum, Term, constant
from derive.checker.evaluation import dimension, occurring
from derive.checker.kernel import Refusal, Verdict
from derive.checker.ledger import require
from derive.checker.polynomial import Expansion, Refused
from derive.checker.rounding import check_rounded
from derive.circuit.elements import Element, Switch
from derive.circuit.model import Circuit, Event
from derive.circuit.question import AskTransient
from derive.circuit.valuation import Tie
from derive.derivation.algebra import Define
from derive.derivation.comparison import Compared, Comparison, change_of
from derive.derivation.step import Conclude, Derivation
from derive.derivation.step_id import StepId


def check_comparison(
    event: Event,
    before: tuple[Circuit, Derivation],
    after: tuple[Circuit, Derivation],
    comparison: Comparison,
) -> Verdict:
    """Return whether a comparison of two checked derivations holds and leaves nothing out."""
    place = 0
    try:
        _check_states(event, before[0], after[0])
        _check_starts(before, after[0])
        for place, line in enumerate(comparison):
            _check_line(line, place, before[1], after[1])
        place = len(comparison)
        for derivation, cited in (
            (before[1], [line.before for line in comparison]),
            (after[1], [line.after for line in comparison]),
        ):
            answers = [k for k, s in enumerate(derivation.steps) if isinstance(s, Conclude)]
            require(sorted(cited) == answers, "an answer is left out, or compared twice")
    except Refused as refused:
        return Verdict(False, place, Refusal(place, str(refused)))
    return Verdict(True, len(comparison), None)


def _check_states(event: Event, before: Circuit, after: Circuit) -> None:
    """Both circuits have the same parts, values and questions; the switches change as told."""
    ends = dict.fromkeys(event.closes, (False, True))
    ends |= dict.fromkeys(event.opens, (True, False))
    require(len(ends) == len(event.closes) + len(event.opens), "a switch opens and closes")
    earlier, later = _parts(before), _parts(after)
    require(earlier.keys() == later.keys(), "the two states have different parts")
    for name, part in later.items():
        was = earlier[name]
        if isinstance(part, Switch) and isinstance(was, Switch):
            found = was.is_closed, part.is_closed
            fits = found == ends.get(name, (part.is_closed, part.is_closed))
            require(fits, f"{name} changes in another way")
        else:
            require(was == part, f"{name} is another part in the other state")
    require(later.keys() >= ends.keys(), "a switch that changes is no part of the circuit")
    require(before.values == after.values, "the two states have different values")
    require(before.ratings == after.ratings, "the two states have different ratings")
    require(before.questions == after.questions, "the two states have different questions")
    require(before.is_before and not after.is_before, "it is not told which state comes first")


def _check_starts(before: tuple[Circuit, Derivation], after: Circuit) -> None:
    """Capacitors begin as their author says, or else with the voltage that they had before."""
    circuit, derivation = before
    given = tuple(initial for initial in after.initials if not initial.is_steady)
    require(given == circuit.initials, "the author says something else of the start")
    names = {s.symbol: s.conclusion.right for s in derivation.steps if isinstance(s, Define)}
    for initial in after.initials:
        if not initial.is_steady:
            continue
        question = AskTransient(initial.capacitor)
        answers = [
            s for s in derivation.steps if isinstance(s, Conclude) and s.question == question
        ]
        require(len(answers) == 1, f"nothing tells what {initial.capacitor} begins with")
        value = initial.value
        term = value.term if isinstance(value, Tie) else constant(value.value, value.dimension)
        cited = [k for k in (answers[0].value, answers[0].formula) if k is not None]
        differences = (Sum((term, Negative(derivation.equation(k).right))) for k in cited)
        same = any(Expansion(names).is_zero(difference) for difference in differences)
        require(same, f"{initial.capacitor} begins with another voltage")


def _parts(circuit: Circuit) -> dict[str, Element]:
    return {element.name: element for element in circuit.elements}


def _check_line(line: Compared, place: int, before: Derivation, after: Derivation) -> None:
    was, now = _answer(before, line.before), _answer(after, line.after)
    same = (was.question, was.symbol) == (now.question, now.symbol)
    require(same, "answers to two questions are compared")
    values = _value(before, was), _value(after, now)
    if values[0] is None or values[1] is None:
        require(line.change is None and line.rounded is None, "a change is told without values")
        return
    if line.change is None:
        raise Refused(f"the change of {now.symbol.name} is left out")
    symbol = change_of(now.symbol)
    require(line.change.left == symbol, f"this is not the change of {now.symbol.name}")
    change = values[1] - values[0]
    require(_number(line.change.right) == change, "the change is another one")
    unit = dimension(line.change.right)
    require(unit is None or unit == symbol.dimension, "the change has the wrong unit")
    shown = was.rounded is not None and now.rounded is not None
    require((line.rounded is not None) == shown, "it is not rounded as its two answers are")
    if line.rounded is None:
        return
    require((line.rounded.symbol, line.rounded.premise) == (symbol, place), "not this is rounded")
    check_rounded(line.rounded, change)


def _answer(derivation: Derivation, step: StepId) -> Conclude:
    found = derivation.steps[step] if 0 <= step < len(derivation.steps) else None
    if not isinstance(found, Conclude):
        raise Refused(f"step {step} answers nothing")
    return found


def _value(derivation: Derivation, answer: Conclude) -> Fraction | None:
    return None if answer.value is None else _number(derivation.equation(answer.value).right)


def _number(term: Term) -> Fraction | None:
    """Return the number that a term is; None where it holds letters."""
    return None if occurring(term) else Expansion().constant(term)
