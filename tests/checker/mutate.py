"""Every way of changing a single thing in a step of a derivation.

The walk is generic over the dataclasses of the steps: a new field or a new kind of step is mutated
without a change here, as long as its values are of the types named in `_changed`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from fractions import Fraction
from typing import Any

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import (
    ONE,
    ZERO,
    Exponential,
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
    children,
)
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskPowerIn, AskVoltage
from derive.derivation.step import Conclude, Derivation, Step
from derive.derivation.step_id import StepId

TERMS = (Number, Quantity, Symbol, Negative, Sum, Product, Quotient, Power, Parallel, Exponential)
QUESTIONS = (AskCurrents(), AskPowerIn("R1"), AskVoltage("A", "B"))


@dataclass(frozen=True)
class Mutant:
    """A derivation with one change."""

    derivation: Derivation
    step: StepId
    place: str
    """The fields that lead to the change."""
    old: Step
    new: Step


@dataclass(frozen=True)
class _Stock:
    """What may be put in the place of something else."""

    symbols: tuple[Symbol, ...]
    names: tuple[str, ...]


def mutants(circuit: Circuit, derivation: Derivation) -> Iterator[Mutant]:
    """Yield the derivation with each single change in each of its steps."""
    stock = _stock(circuit, derivation)
    for index, step in enumerate(derivation.steps):
        for place, new in _changed(step, stock):
            if new != step:
                steps = (*derivation.steps[:index], new, *derivation.steps[index + 1 :])
                yield Mutant(Derivation(steps), index, place, step, new)


def _stock(circuit: Circuit, derivation: Derivation) -> _Stock:
    symbols: dict[Symbol, None] = {}
    for step in derivation.steps:
        if hasattr(step, "conclusion"):
            for side in (step.conclusion.left, step.conclusion.right):
                symbols.update(dict.fromkeys(_symbols(side)))
    names = [node.name for node in circuit.nodes] + [e.name for e in circuit.elements]
    return _Stock(tuple(symbols), tuple(names))


def _symbols(term: Term) -> Iterator[Symbol]:
    if isinstance(term, Symbol):
        yield term
    for child in children(term):
        yield from _symbols(child)


def _changed(value: Any, stock: _Stock) -> Iterator[tuple[str, Any]]:
    """Yield a value with each single change; the text says where."""
    if isinstance(value, TERMS):
        yield from _changed_term(value, stock)
    elif isinstance(value, Enum):
        yield from (("other", member) for member in type(value) if member != value)
    elif isinstance(value, bool):
        yield "flipped", not value
    elif isinstance(value, int):
        yield from (("shifted", value + shift) for shift in (-3, -2, -1, 1, 2, 3))
    elif isinstance(value, Fraction):
        yield from (("number", v) for v in (-value, value + 1, value * 2, value + Fraction(1, 99)))
    elif isinstance(value, str):
        yield from (("renamed", name) for name in (*stock.names, "nowhere"))
    elif value is None:
        yield from (("filled", filling) for filling in (0, 3, *stock.symbols[:2]))
    elif isinstance(value, tuple):
        yield from _changed_tuple(value, stock)
    elif is_dataclass(value):
        yield from _changed_record(value, stock)
    else:
        raise TypeError(f"no mutation for {type(value).__name__}")


def _changed_record(value: Any, stock: _Stock) -> Iterator[tuple[str, Any]]:
    for field in fields(value):
        part = getattr(value, field.name)
        for place, new in _changed(part, stock):
            if _fits(str(field.type), new):
                yield f"{field.name} {place}", replace(value, **{field.name: new})
        if isinstance(value, Conclude) and field.name == "question":
            for question in QUESTIONS:
                yield "question other", replace(value, question=question)
        if "None" in str(field.type) and part is not None:
            yield f"{field.name} removed", replace(value, **{field.name: None})


def _fits(declared: str, value: Any) -> bool:
    """Return whether a value may stand in a field; the checker need not bear ill-typed ones."""
    if isinstance(value, tuple):
        return "Symbol" not in declared or all(isinstance(item, Symbol) for item in value)
    if "Symbol" in declared:
        return value is None or isinstance(value, Symbol)
    return "StepId" not in declared or value is None or isinstance(value, int)


def _changed_tuple(value: tuple[Any, ...], stock: _Stock) -> Iterator[tuple[str, Any]]:
    for index, item in enumerate(value):
        before, after = value[:index], value[index + 1 :]
        yield f"[{index}] dropped", before + after
        yield f"[{index}] doubled", (*before, item, item, *after)
        if after:
            yield f"[{index}] swapped", (*before, after[0], item, *after[1:])
        for place, new in _changed(item, stock):
            yield f"[{index}] {place}", (*before, new, *after)


def _changed_term(term: Term, stock: _Stock) -> Iterator[tuple[str, Term]]:
    yield "sign", term.term if isinstance(term, Negative) else Negative(term)
    yield "zeroed", ZERO
    yield "plus one", Sum((term, ONE))
    match term:
        case Number(value):
            yield from (("number", Number(v)) for _, v in _changed(value, stock))
            yield "unit", Quantity(value, VOLT)
        case Quantity(value, dimension):
            yield from (("number", Quantity(v, dimension)) for _, v in _changed(value, stock))
            yield "unit", Quantity(value, dimension * OHM)
            yield "unit lost", Number(value)
        case Symbol(name, kind, dimension):
            yield from (("symbol", other) for other in stock.symbols if other != term)
            yield "symbol of another dimension", Symbol(name, kind, dimension * OHM)
            yield "unknown symbol", Symbol(f"{name}x", kind, dimension)
        case Negative(inner):
            yield from ((f"− {place}", Negative(new)) for place, new in _changed_term(inner, stock))
        case Sum(items) | Product(items) | Parallel(items):
            make = type(term)
            yield from ((place, make(new)) for place, new in _changed_tuple(items, stock))
        case Quotient(above, below):
            yield "upside down", Quotient(below, above)
            for place, new in _changed_tuple((above, below), stock):
                if len(new) == 2:
                    yield f"fraction {place}", Quotient(new[0], new[1])
        case Power(base, exponent):
            yield from (("exponent", Power(base, exponent + n)) for n in (-2, -1, 1))
            yield from ((f"base {place}", Power(n, exponent)) for place, n in _changed(base, stock))
        case Exponential(inner):
            changed = _changed_term(inner, stock)
            yield from ((f"exponent {place}", Exponential(new)) for place, new in changed)


__all__ = ["Mutant", "mutants"]
