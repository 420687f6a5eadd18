"""Preferred values, looked up anew in the tables of their series."""

from __future__ import annotations

from fractions import Fraction

from derive.algebra.term import Equation, SymbolKind, constant
from derive.checker import naming
from derive.checker.evaluation import residue
from derive.checker.ledger import Ledger, read_rule, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.preferred import decade
from derive.derivation.further import PreferredValue


def preferred_value(ledger: Ledger, step: PreferredValue) -> None:
    """No value of the series lies between the two, and the nearest one has the smaller ratio."""
    symbol, term = read_rule(ledger, step.premise)
    require(symbol.kind in _HAVE_SERIES, f"{symbol.name} has no preferred values")
    value = Expansion().constant(term)
    if value is None or value <= 0:
        raise Refused(f"{symbol.name} is no number above zero")
    power = -30
    while Fraction(10) ** (power + 1) <= value:
        power += 1
    values = [m * Fraction(10) ** (power + k) for k in (0, 1) for m in decade(step.series)]
    require(step.below == max(v for v in values if v <= value), "another value lies below")
    require(step.above == min(v for v in values if v >= value), "another value lies above")
    nearest = step.below if value / step.below <= step.above / value else step.above
    left = naming.preferred_symbol(symbol, step.series)
    require(
        step.conclusion == Equation(left, constant(nearest, symbol.dimension)),
        "another value is the nearest",
    )
    place = Fraction(1, 10 ** (2 + step.series.decimals))
    for shown, found in ((step.off_below, step.below), (step.off_above, step.above)):
        require((shown / place).denominator == 1, "it has more digits than it says")
        require(2 * abs(shown - (found / value - 1)) <= place, "it is farther from the value")
    ledger.named[left.name] = left
    ledger.made_of[left] = frozenset()
    ledger.point[left] = residue(step.conclusion.right, ledger.point)


_HAVE_SERIES = (SymbolKind.RESISTANCE, SymbolKind.CAPACITANCE)
