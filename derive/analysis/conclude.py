"""An answer concluded from its law: in letters, in values, rounded once."""

from __future__ import annotations

from derive.algebra.term import Equation, Symbol, Term, symbols, without_zeros
from derive.algebra.term import replace as put_in
from derive.analysis.evaluate import Known, put_values
from derive.analysis.law_fraction import fraction_of_law
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents
from derive.circuit.question import Question
from derive.derivation.algebra import BackSubstitute
from derive.derivation.builder import Builder
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId


def conclude(
    found: Currents, known: Known, builder: Builder, question: Question, rule: StepId, digits: int
) -> StepId | None:
    """Answer a question by a law; return the step that gives its value, if anything has one."""
    left = builder.equation(rule).left
    assert isinstance(left, Symbol)
    formula = formula_of(found, builder, rule) if found.formulas else None
    value = put_values(known, builder, rule) if found.values else None
    answer(found, builder, question, left, formula, value, digits)
    return value


def answer(
    found: Currents,
    builder: Builder,
    question: Question,
    left: Term,
    formula: StepId | None,
    value: StepId | None,
    digits: int,
) -> None:
    """Conclude an answer, rounded where it is a number."""
    assert isinstance(left, Symbol)
    builder.add(
        Conclude(
            question=question,
            symbol=left,
            formula=formula,
            value=value,
            rounded=rounded_value(builder, value, digits) if found.numeric else None,
        )
    )


def formula_of(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put the formulas of the currents into a law."""
    law = builder.equation(rule)
    used = {s: k for s, k in found.formulas.items() if s in set(symbols(law.right))}
    if not used:
        return rule
    ties = tuple(k for k in found.given if any(True for _ in symbols(builder.equation(k).right)))
    right = fraction_of_law(found, law)
    if right is None:
        right = put_in(law.right, {s: builder.equation(k).right for s, k in used.items()})
        right = without_zeros(right)
    return builder.add(
        BackSubstitute(
            premise=rule,
            definitions=tuple(used.values()),
            rewriting=(*found.definitions, *ties),
            conclusion=Equation(law.left, right),
        )
    )


def rounded_value(builder: Builder, premise: StepId | None, figures: int) -> StepId | None:
    """Round a value; None where there is none, or where it holds a letter still."""
    if premise is None or next(symbols(builder.equation(premise).right), None) is not None:
        return None
    return builder.add(rounded(builder, premise, figures))
