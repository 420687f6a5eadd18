"""The course of a capacitor for other programs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from derive.algebra.dimension import OHM, unit_of
from derive.algebra.name import identifier
from derive.algebra.plain import plain
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    ZERO,
    Quantity,
    Symbol,
    SymbolKind,
    Term,
    children,
    symbols,
    voltage_across,
)
from derive.algebra.term import replace as substituted
from derive.circuit.model import Circuit
from derive.derivation.algebra import Define
from derive.derivation.course import Course, CourseOf, InitialVoltage
from derive.derivation.step import Derivation, Silent
from derive.writers.answers_json import Result, TransientAnswer


def transients_of(
    circuit: Circuit, derivation: Derivation, written: Mapping[Symbol, Term | None]
) -> Iterator[TransientAnswer]:
    """Yield how the capacitor is charged or discharged, if that is asked."""
    for step in derivation.steps:
        if not isinstance(step, InitialVoltage):
            continue
        laws: dict[CourseOf, Course] = {}
        for other in derivation.steps:
            if isinstance(other, Course) and not _holds_quantity(other.conclusion.right):
                laws[other.kind] = other  # the last one is the shortest
        start, part = step.conclusion, step.capacitor
        ends = voltage_across(part)
        seen = Symbol(f"R({part})", SymbolKind.RESISTANCE, OHM)
        # The names in the laws were all defined by these two, but for the voltage at the start.
        named = [s for s in derivation.steps if isinstance(s, Define)]
        final, time_constant = (
            next(s.symbol for s in named if symbol in set(symbols(s.conclusion.right)))
            for symbol in (ends, seen)
        )
        formulas = {
            symbol: _formula_of(circuit, derivation, symbol, written)
            for symbol in (final, seen, time_constant)
        }
        known = {s: term for s, term in formulas.items() if term is not None}
        assert isinstance(start.left, Symbol)
        whole = {**known, start.left: start.right} if len(known) == len(formulas) else None
        voltage, current = (
            None if whole is None else plain(substituted(laws[kind].conclusion.right, whole))
            for kind in (CourseOf.VOLTAGE, CourseOf.CURRENT)
        )
        end, resistance, time = (
            Result(
                None if (term := formulas[symbol]) is None else plain(term),
                _value_of(derivation, symbol),
                _unit(symbol),
            )
            for symbol in formulas
        )
        yield TransientAnswer(
            ask=f"transient of {part}",
            formula=voltage,
            current=current,
            time=identifier(laws[CourseOf.VOLTAGE].time.name),
            initial=Result(_formula(start.right), _exact(start.right), "V"),
            final=end,
            resistance=resistance,
            time_constant=time,
        )


def _holds_quantity(term: Term) -> bool:
    return isinstance(term, Quantity) or any(map(_holds_quantity, children(term)))


def _formula_of(
    circuit: Circuit, derivation: Derivation, symbol: Symbol, written: Mapping[Symbol, Term | None]
) -> Term | None:
    """Return what a derivation gives for a symbol in the letters of the circuit alone."""
    letters = {s for s in circuit.symbols if s.kind is not SymbolKind.CURRENT}
    for step in derivation.steps:
        if isinstance(step, Silent | Course) or step.conclusion.left != symbol:
            continue
        right = step.conclusion.right
        names = {s: t for s in symbols(right) if (t := written.get(s)) is not None}
        found = substituted(right, names)
        if letters.issuperset(symbols(found)) and (
            found == ZERO or any(True for _ in symbols(found))
        ):
            return found
    return None


def _value_of(derivation: Derivation, symbol: Symbol) -> Fraction | None:
    """Return the number that a derivation gives for a symbol."""
    found = None
    for step in derivation.steps:
        if isinstance(step, Silent | Course) or step.conclusion.left != symbol:
            continue
        exact = _exact(step.conclusion.right)
        found = exact if exact is not None else found
    return found


def _exact(term: Term) -> Fraction | None:
    return None if any(True for _ in symbols(term)) else Ring(()).poly(term).constant_value


def _formula(term: Term) -> str | None:
    return plain(term) if any(True for _ in symbols(term)) else None


def _unit(symbol: Symbol) -> str:
    return unit_of(symbol.dimension)[0][0]
