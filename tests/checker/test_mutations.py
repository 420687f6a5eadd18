"""Every single change of an accepted step is refused, unless it keeps the meaning.

Which changes keep the meaning is decided without the checker: the reasons are listed in `reason`,
and what is algebra in them is settled by sympy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import islice

import pytest
import sympy

from derive.algebra.polynomial import Ring
from derive.algebra.term import (
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
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.checker.kernel import check
from derive.derivation.algebra import (
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Substitute,
    certificate,
)
from derive.derivation.exchanges import (
    Agree,
    Exchange,
    Join,
    LeftBetween,
    Levels,
    LookBetween,
    PutBack,
    Replace,
)
from derive.derivation.further import AgainstRating, PowerBalance
from derive.derivation.laws import ChargeRule, GivenValue, LoopRule, PartRule
from derive.derivation.sense import Dimensions, Limit, SpecialCase, Trend
from derive.derivation.spread import Range
from derive.derivation.step import BySource, Conclude, Derivation, IdealReading, Round, Step
from tests.checker.mutate import Mutant, mutants
from tests.checker.sound import Proof, all_proofs, in_letters, numbers_first, one_loop, only_letters
from tests.checker.truth import is_true

ALGEBRA = (Collect, Substitute, Combine, Isolate, BackSubstitute, PutInValues)


def reason(mutant: Mutant) -> str | None:
    """Return why a change keeps the meaning of a derivation; None when it does not."""
    old, new, steps = mutant.old, mutant.new, mutant.derivation.steps
    if type(old) is not type(new):
        return None
    match new:
        case LoopRule() if replace(new, name="") == replace(old, name=""):  # type: ignore[arg-type]
            return "the name of a loop is a label"
        case Conclude():
            return _conclusion_reason(old, new, steps)
        case Round(exact=True) if isinstance(old, Round) and old.exact:
            same = (new.premise, new.symbol, new.rounded) == (old.premise, old.symbol, old.rounded)
            if same:
                return "an exact value with other zeros or another prefix"
            same = replace(new, premise=old.premise) == old
            same = same and _same_line(steps[old.premise], steps[new.premise])
            return "another line that gives the same value" if same else None
        case Round() if isinstance(old, Round) and replace(new, premise=old.premise) == old:
            same = _same_line(steps[old.premise], steps[new.premise])
            return "another line that gives the same value" if same else None
        case Round() if isinstance(old, Round) and replace(new, decimals=old.decimals) == old:
            value = Derivation(steps).equation(new.premise).right
            place = Fraction(10) ** (new.unit_exponent - new.decimals)
            near = 2 * abs(Ring(()).poly(value).constant_value - new.rounded) <= place
            return "as many digits of the value are right" if near else None
        case IdealReading(derivation=inner) if isinstance(old, IdealReading):
            return _inner_reason(old.derivation, inner) if new.part == old.part else None
        case BySource() if isinstance(old, BySource) and old.derivation != new.derivation:
            return _inner_reason(old.derivation, new.derivation)
        case Range() if isinstance(old, Range):
            told = replace(new, unit_exponent=old.unit_exponent, decimals=old.decimals)
            return "the same ends with other zeros or another prefix" if told == old else None
        case PowerBalance() if isinstance(old, PowerBalance) and _same_line(old, new):
            pairs = ((old.taken, new.taken), (old.delivered, new.delivered))
            same = all(_same_lines(first, second, steps) for first, second in pairs)
            return "the same powers in another order or by another line" if same else None
        case AgainstRating() if replace(new, power=old.power) == old:  # type: ignore[union-attr]
            same = _same_line(steps[old.power], steps[new.power])  # type: ignore[union-attr]
            return "another line that gives the same power" if same else None
        case PutBack() if replace(new, arm=old.arm) == old:  # type: ignore[union-attr]
            return "another arm that has the same current"
        case GivenValue() | PartRule() | Define() | PutBack() | BySource():
            same = replace(new, conclusion=_equation(old)) == old and _same_line(old, new)
            return "the same terms in another order" if same else None
        case LeftBetween() if _same_line(old, new):
            return "the same terms in another order"
        case Replace(exchange=kind, taken=taken) if replace(new, taken=old.taken) == old:  # type: ignore[union-attr]
            same = set(taken) == set(old.taken) and kind not in (Exchange.DELTA, Exchange.STAR)  # type: ignore[union-attr]
            return "the same resistances in another order" if same else None
        case Levels(levels=levels) if isinstance(old, Levels):
            return "the same potentials in another order" if set(levels) == {*old.levels} else None
        case Join(points=points) if isinstance(old, Join):
            return "the same points in another order" if set(points) == {*old.points} else None
        case ChargeRule(points=points) if isinstance(old, ChargeRule):
            same = set(points) == {*old.points} and replace(new, points=old.points) == old
            return "the same points in another order" if same else None
        case Agree() if isinstance(old, Agree):
            pairs = (old.one, new.one), (old.other, new.other)
            same = all(_equation(steps[a]).left == _equation(steps[b]).left for a, b in pairs)
            return "another line that gives the same current" if same else None
        case Limit() | SpecialCase() | Trend() | Dimensions():
            return "it is true as well" if is_true(mutant.derivation, new) else None
        case LookBetween(one=one, other=other):
            same = {one, other} == {old.one, old.other}  # type: ignore[union-attr]
            return "seen from the other side" if same else None
        case Combine(eliminated=eliminated) if set(eliminated) < set(old.eliminated):  # type: ignore[union-attr]
            return "it says less of what was eliminated"
        case _ if isinstance(new, ALGEBRA) and _same_line(old, new) and _follows(new, steps):
            return "the same line, and it follows from what is cited"
        case _ if (
            isinstance(new, ALGEBRA) and _same_by_ties(old, new, steps) and _follows(new, steps)
        ):
            return "the same by the ties that are put in, and it follows from what is cited"
    return None


def _inner_reason(old: Derivation, new: Derivation) -> str | None:
    """Return why a change in the derivation of another circuit keeps its meaning."""
    if len(old.steps) != len(new.steps):
        return None
    changed = [
        k for k, pair in enumerate(zip(old.steps, new.steps, strict=True)) if pair[0] != pair[1]
    ]
    if not changed:
        return "stages are for writers"
    (k,) = changed
    return reason(Mutant(new, k, "inside", old.steps[k], new.steps[k]))


def _conclusion_reason(old: Step, new: Conclude, steps: tuple[Step, ...]) -> str | None:
    assert isinstance(old, Conclude)
    if (new.question, new.symbol) != (old.question, old.symbol):
        return None
    if new.rounded is None and replace(new, rounded=old.rounded) == old:
        return "it says less: no rounded value"
    if new.formula is None and replace(new, formula=old.formula) == old:
        return "it says less: no formula"
    if new.value is None and old.rounded is None and replace(new, value=old.value) == old:
        return "it says less: only ties were put in"  # numbers that can be put in have to be
    if old.value is not None and new.value is not None and replace(new, value=old.value) == old:
        same = _same_line(steps[old.value], steps[new.value])
        return "another line that gives the same value" if same else None
    if new.formula is not None and replace(new, formula=old.formula) == old:
        cited = Derivation(steps).equation(new.formula)
        # What was found on the way back of a reduction has a meaning in letters.
        found = {step.conclusion.left for step in steps if isinstance(step, Define | PutBack)}
        unknown = (s for s in symbols(cited.right) if s.name[0] in "IVP" and s not in found)
        if cited.left == new.symbol and next(unknown, None) is None:
            return "another line that gives the same symbol"
    return None


def _same_lines(first: Iterable[int], second: Iterable[int], steps: tuple[Step, ...]) -> bool:
    """Return whether two lists of citations tell the same lines, in any order."""
    left = list(second)
    for cited in first:
        same = next((k for k in left if _same_line(steps[cited], steps[k])), None)
        if same is None:
            return False
        left.remove(same)
    return not left


def _same_line(old: Step, new: Step) -> bool:
    first, second = _equation(old), _equation(new)
    sides = (first.left, second.left), (first.right, second.right)
    return all(sympy.cancel(_sympy(a) - _sympy(b)) == 0 for a, b in sides)


def _same_by_ties(old: Step, new: Step, steps: tuple[Step, ...]) -> bool:
    """Return whether two lines are the same when letters follow the ties of the author."""
    ties = {
        s.symbol: s.conclusion.right
        for s in steps
        if isinstance(s, GivenValue) and any(True for _ in symbols(s.conclusion.right))
    }
    first, second = _equation(old), _equation(new)
    sides = (first.left, second.left), (first.right, second.right)
    return all(
        sympy.cancel(_sympy(put_in(a, ties)) - _sympy(put_in(b, ties))) == 0 for a, b in sides
    )


def _equation(step: Step) -> Equation:
    found = getattr(step, "conclusion", None)
    assert isinstance(found, Equation)
    return found


def _follows(step: Step, steps: tuple[Step, ...]) -> bool:
    """Return whether sympy confirms the certificate of a step."""
    assert isinstance(step, ALGEBRA)
    proof = certificate(step)
    rules = {}
    for cited in proof.rewriting:
        equation = _equation(steps[cited])
        rules[_sympy(equation.left)] = _sympy(equation.right)
    difference = _difference(_equation(step))
    for part in proof.combination:
        difference -= _sympy(part.multiplier) * _difference(_equation(steps[part.premise]))
    for _ in rules:
        difference = difference.subs(rules)
    return bool(sympy.cancel(sympy.together(difference)) == 0)


def _difference(equation: Equation) -> sympy.Expr:
    return _sympy(equation.left) - _sympy(equation.right)


def _sympy(term: Term) -> sympy.Expr:
    """Return a term for sympy, with units as symbols of their own."""
    match term:
        case Number(value):
            return sympy.Rational(value.numerator, value.denominator)
        case Quantity(value, unit):
            powers = (("volt", unit.volt), ("ohm", unit.ohm), ("second", unit.second))
            units = [sympy.Symbol(f"unit {name}") ** power for name, power in powers]
            return sympy.Mul(sympy.Rational(value.numerator, value.denominator), *units)
        case Symbol():
            return sympy.Symbol(f"{term.name} {term.kind.value} {term.dimension}")
        case Negative(inner):
            return -_sympy(inner)
        case Sum(terms):
            return sympy.Add(*(_sympy(item) for item in terms))
        case Product(factors):
            return sympy.Mul(*(_sympy(factor) for factor in factors))
        case Quotient(above, below):
            return _sympy(above) / _sympy(below)
        case Power(base, exponent):
            return _sympy(base) ** exponent
        case Parallel(terms):
            return 1 / sympy.Add(*(1 / _sympy(item) for item in terms))
    raise TypeError


def harmless_changes(proof: Proof, stride: int) -> Counter[str]:
    """Check every mutant (or each one in `stride`) and count those that are rightly accepted."""
    assert check(proof.circuit, proof.derivation).accepted
    harmless: Counter[str] = Counter()
    for mutant in islice(mutants(proof.circuit, proof.derivation), 0, None, stride):
        if check(proof.circuit, mutant.derivation).accepted:
            why = reason(mutant)
            assert why is not None, f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
            harmless[why] += 1
    return harmless


@pytest.mark.parametrize(
    ("proof", "stride"),
    [(one_loop(), 7), (in_letters(), 11), (numbers_first(), 3), (only_letters(), 3)],
    ids=lambda value: value.name if isinstance(value, Proof) else None,
)
def test_a_changed_step_is_refused(proof: Proof, stride: int) -> None:
    assert harmless_changes(proof, stride)


def test_every_kind_of_step_is_mutated() -> None:
    kinds = {
        type(mutant.old).__name__
        for proof in all_proofs()
        for mutant in mutants(proof.circuit, proof.derivation)
    }
    assert kinds == {
        "ChooseUnknowns", "GivenValue", "SameCurrent", "JunctionRule", "LoopRule", "PathRule",
        "PotentialRule", "PartRule", "Define", "Collect", "Substitute", "Combine", "Isolate", "BackSubstitute",
        "PutInValues", "Round", "PowerBalance", "Conclude",
    }  # fmt: skip
