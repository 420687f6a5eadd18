"""The load that takes the most power, checked by a square."""

from __future__ import annotations

from derive.algebra.term import (
    Equation,
    Negative,
    Power,
    Product,
    Sum,
    Symbol,
    SymbolKind,
    Term,
)
from derive.checker import laws, naming
from derive.checker.evaluation import occurring, residue
from derive.checker.ledger import Ledger, cited_equation, cited_line, made_of, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.elements import Resistor
from derive.derivation.further import Largest, Most
from derive.derivation.laws import GivenValue, PartLaw


def largest(ledger: Ledger, step: Largest) -> None:
    """Check that a power has its greatest value where it is said to have it.

    With ``bound − P = bound·(S − R)²/(S + R)²``, S positive, and neither S nor the bound holding R,
    the power P = R·I² reaches the bound for R = S. There it is not negative, and the bound is not
    zero, so the bound is positive; for every other R the power is less.
    """
    cited_line(ledger, step.premise)
    load = _load(ledger, step)
    premise = cited_equation(ledger, step.premise)
    power = naming.part_symbol(PartLaw.POWER_IN, step.part)
    match premise.left:
        case Sum((bound, Negative(taken))) if taken == power:
            pass
        case _:
            raise Refused(f"step {step.premise} says nothing of a bound of {power.name}")
    for term in (step.at, bound):
        require(load not in made_of(ledger, _closed(ledger, term)), "it depends on the load itself")
    _require_free(ledger, step, load)
    plus, minus = Sum((step.at, load)), Sum((step.at, Negative(load)))
    square = Sum((
        Product((premise.right, Power(plus, 2))),
        Negative(Product((bound, Power(minus, 2)))),
    ))  # fmt: skip
    require(Expansion().is_zero(square), "this is not the square that is zero there")
    require(residue(bound, ledger.point) != 0, "there is no power at all")
    require(_is_positive(ledger, step.at), "it is not positive")
    right: Term = step.at if step.kind is Most.LOAD else bound
    symbol = naming.largest_symbol(step.kind, step.part)
    require(step.conclusion == Equation(symbol, right), "the greatest value is another one")
    ledger.named.setdefault(symbol.name, symbol)


def _load(ledger: Ledger, step: Largest) -> Symbol:
    for element in ledger.circuit.elements:
        if isinstance(element, Resistor) and element.name == step.part:
            return element.resistance
    raise Refused(f"the circuit has no resistor {step.part}")


def _closed(ledger: Ledger, term: Term) -> dict[Symbol, None]:
    found = occurring(term)
    require(ledger.made_of.keys() >= found.keys(), "it holds unknowns")
    return found


def _require_free(ledger: Ledger, step: Largest, load: Symbol) -> None:
    """The premise holds for every value of the load, and nothing else changes with it."""
    require(step.premise not in ledger.special, "it holds for some values only")
    for k in ledger.assumed.get(step.premise, ()):
        cited = ledger.steps[k]
        fixed = isinstance(cited, GivenValue) and cited.symbol == load
        require(not fixed, "the load has a value already")
    for term in laws.all_given(ledger.circuit).values():
        require(load not in occurring(term), "other values change with the load")


def _is_positive(ledger: Ledger, term: Term) -> bool:
    """Tell whether a term is positive while the resistances without a value are.

    It has to be a quotient of sums with plus signs alone, in resistances.
    """
    letters = made_of(ledger, _closed(ledger, term))
    given = laws.all_given(ledger.circuit)
    left = [letter for letter in letters if letter not in given]
    if any(letter.kind is not SymbolKind.RESISTANCE for letter in left):
        return False
    return Expansion(given | ledger.defined).is_plainly_positive(term)
