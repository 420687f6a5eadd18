"""What a meter changes, checked: by the circuit with that meter made ideal."""

from __future__ import annotations

from collections.abc import Callable

from derive.algebra.term import Equation, Negative, Quotient, Sum, Symbol, Term
from derive.checker import naming
from derive.checker.evaluation import occurring, residue
from derive.checker.ledger import Ledger, check_symbols, is_closed, made_of, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.elements import Element, Instrument
from derive.circuit.model import Circuit
from derive.circuit.question import AskReading
from derive.circuit.valuation import Given
from derive.derivation.algebra import Define
from derive.derivation.exchanges import PutBack
from derive.derivation.further import LoadingError, MeterError
from derive.derivation.step import Conclude, Derivation, IdealReading


def ideal_reading(
    ledger: Ledger, step: IdealReading, refusal: Callable[[Circuit, Derivation], str | None]
) -> None:
    """Check the answer of the circuit with an ideal meter; `refusal` checks its derivation."""
    ideal = dict(ledger.circuit.ideal).get(step.part)
    if ideal is None:
        raise Refused(f"no circuit with {step.part} made ideal is known")
    _check_ideal(ledger.circuit, ideal, step.part)
    reason = refusal(ideal, step.derivation)
    require(reason is None, f"with {step.part} made ideal: {reason}")
    symbol = naming.ideal_symbol(ledger.circuit, step.part)
    require(step.conclusion.left == symbol, f"this is not the reading of {step.part}")
    stated = step.conclusion.right
    check_symbols(ledger, stated)
    require(is_closed(ledger, occurring(stated)), "it holds unknowns")
    derivation = step.derivation
    expansion = Expansion(_defined(derivation))
    for found in derivation.steps:
        if isinstance(found, Conclude) and found.question == AskReading(step.part):
            same = [
                cited is not None
                and expansion.is_zero(Sum((stated, Negative(derivation.equation(cited).right))))
                for cited in (found.formula, found.value)
            ]
            break
    else:
        raise Refused(f"nothing is said of {step.part} there")
    require(any(same), f"an ideal meter for {step.part} shows something else")
    ledger.named.setdefault(symbol.name, symbol)
    if not same[0]:  # true of the author's values only
        ledger.special.add(ledger.here)
        ledger.special_symbols.add(symbol)
    ledger.made_of[symbol] = made_of(ledger, occurring(stated))
    ledger.point[symbol] = residue(stated, ledger.point)


def _check_ideal(circuit: Circuit, ideal: Circuit, part: str) -> None:
    """Both circuits have the same parts and values, but for the resistance of the meter."""
    own, other = _parts(circuit), _parts(ideal)
    require(own.keys() == other.keys(), "the circuit with the ideal meter has other parts")
    for name, element in own.items():
        if name != part:
            require(element == other[name], f"{name} is another part there")
    meter, made = own[part], other[part]
    fits = (
        isinstance(meter, Instrument)
        and isinstance(made, Instrument)
        and meter.meter is made.meter
        and meter.is_real
        and not made.is_real
    )
    require(fits, f"{part} is not made ideal there")
    given = {v.symbol: v.value for v in circuit.values if v.symbol.name != part}
    there = {v.symbol: v.value for v in ideal.values}
    require(given.keys() == there.keys(), "other values are given there")
    for symbol, value in given.items():
        # What follows a current follows it under another name.
        same = value == there[symbol] or symbol in circuit.dependent
        require(same or not isinstance(value, Given), f"{symbol.name} has another value there")


def _parts(circuit: Circuit) -> dict[str, Element]:
    return {element.name: element for element in circuit.elements}


def _defined(derivation: Derivation) -> dict[Symbol, Term]:
    """Return what names stand for there; the checker has accepted them."""
    found: dict[Symbol, Term] = {}
    for step in derivation.steps:
        if isinstance(step, Define | PutBack):
            assert isinstance(step.conclusion.left, Symbol)
            found[step.conclusion.left] = step.conclusion.right
    return found


def loading_error(ledger: Ledger, step: LoadingError) -> None:
    """Check what is meant by a loading error."""
    ideal = naming.ideal_symbol(ledger.circuit, step.part)
    absolute = naming.loading_symbol(ledger.circuit, step.part)
    if step.kind is MeterError.ABSOLUTE:
        reading = naming.reading_symbol(ledger.circuit, step.part)
        expected = Equation(absolute, Sum((reading, Negative(ideal))))
    else:
        relative = naming.relative_loading_symbol(step.part)
        expected = Equation(relative, Quotient(absolute, ideal))
    require(step.conclusion == expected, f"this is not the loading error of {step.part}")
    symbol = expected.left
    assert isinstance(symbol, Symbol)
    ledger.named.setdefault(symbol.name, symbol)
