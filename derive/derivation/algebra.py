"""Algebraic steps, and the certificate that each of them carries.

An algebraic step follows from earlier steps. After the equations named in `Certificate.rewriting`
(each of the form ``symbol = term``) have been used to replace their symbols everywhere,

    left − right of the conclusion  =  Σ multiplier · (left − right of the premise)

holds as an identity of rational functions.
"""

from __future__ import annotations

from dataclasses import dataclass

from derive.algebra.term import ONE, Equation, Symbol, Term
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class Define:
    """Give a sub-expression a name. The name must not have been used before."""

    symbol: Symbol
    conclusion: Equation
    """``symbol = term``, in symbols that are already known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scaled:
    """A premise and what it is multiplied by."""

    multiplier: Term
    premise: StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class Collect:
    """Tidy one equation: collect its terms, move them, perhaps multiply or divide throughout."""

    premise: StepId
    factor: Term = ONE
    """What the whole equation was multiplied by."""
    rewriting: tuple[StepId, ...] = ()
    """Ties, and definitions whose names come into use here."""
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitute:
    """Put known expressions for some symbols into an equation."""

    premise: StepId
    definitions: tuple[StepId, ...]
    """Equations ``symbol = term``; no right side may hold a symbol that is replaced, except
    through an earlier one of the tuple."""
    factor: Term = ONE
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Combine:
    """Multiply equations and add them."""

    parts: tuple[Scaled, ...]
    eliminated: tuple[Symbol, ...]
    """Unknowns that the premises hold and the conclusion does not."""
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolate:
    """Solve an equation for one symbol."""

    premise: StepId
    symbol: Symbol
    factor: Term
    """What the equation was multiplied by: one over the symbol's coefficient."""
    definitions: tuple[StepId, ...] = ()
    """Expressions put in on the same line, as in `Substitute`."""
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation
    """``symbol = term`` without the symbol on the right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackSubstitute:
    """Put what has been found into an earlier expression for another unknown."""

    premise: StepId
    """An equation ``symbol = term``."""
    definitions: tuple[StepId, ...]
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation
    """``symbol = term`` with the same symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PutInValues:
    """Replace letters by their given values, with units."""

    premise: StepId
    values: tuple[StepId, ...]
    """Equations ``symbol = value``."""
    factor: Term = ONE
    conclusion: Equation


AlgebraStep = Collect | Substitute | Combine | Isolate | BackSubstitute | PutInValues


@dataclass(frozen=True, slots=True)
class Certificate:
    """Why an algebraic step holds; see the head of this module."""

    combination: tuple[Scaled, ...]
    rewriting: tuple[StepId, ...]


def certificate(step: AlgebraStep) -> Certificate:
    """Return the certificate a step carries."""
    match step:
        case Combine(parts=parts):
            return Certificate(parts, step.rewriting)
        case Collect():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.rewriting)
        case Substitute() | Isolate():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.definitions + step.rewriting)
        case BackSubstitute():
            part = Scaled(multiplier=ONE, premise=step.premise)
            return Certificate((part,), step.definitions + step.rewriting)
        case PutInValues():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.values)
