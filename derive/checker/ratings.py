"""Ratings: the resistances of rated lamps, and each power on its side of the rating."""

from __future__ import annotations

from derive.algebra.term import Equation, Power, Quotient, constant, resistance
from derive.checker import laws, naming
from derive.checker.ledger import Ledger, read_rule, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.elements import Resistor
from derive.circuit.valuation import Rating
from derive.derivation.further import AgainstRating, Load, PowerBalance
from derive.derivation.laws import PartLaw, Rated


def rated(ledger: Ledger, step: Rated) -> None:
    """The resistance is V²/P of the rating, and the circuit reckons with just that."""
    rating, symbol = _rating(ledger, step.part), resistance(step.part)
    element = ledger.circuit.element(step.part)
    require(isinstance(element, Resistor) and element.lamp, f"{step.part} is no lamp")
    if rating.voltage is None:
        raise Refused(f"{step.part} has no rated voltage")
    voltage, power = (constant(g.value, g.dimension) for g in (rating.voltage, rating.power))
    expected = Equation(symbol, Quotient(Power(voltage, 2), power))
    require(step.conclusion == expected, "the rating gives another resistance")
    known = laws.given(ledger.circuit, symbol)
    size = None if known is None else Expansion().constant(known)
    same = size == rating.voltage.value**2 / rating.power.value
    require(same, f"the circuit reckons with another resistance of {step.part}")


def against_rating(ledger: Ledger, step: AgainstRating) -> None:
    """The power is that in the part, the rating is the author's, and the side is the right one."""
    rating = _rating(ledger, step.part)
    require(step.rating == rating.power.value, f"{step.part} is rated for another power")
    symbol, term = read_rule(ledger, step.power)
    wanted = naming.part_symbol(PartLaw.POWER_IN, step.part)
    require(symbol == wanted, f"{symbol.name} is not the power in {step.part}")
    value = Expansion().constant(term)
    if value is None:
        raise Refused("only a number can be compared with a rating")
    over, below = value > step.rating, value < step.rating
    load = Load.OVER if over else Load.BELOW if below else Load.AT
    require(step.load is load, f"{step.part} takes {load.value}")


def check_ratings(ledger: Ledger) -> None:
    """Every rated lamp has its resistance; where the powers are numbers, all are compared."""
    ratings = ledger.circuit.ratings
    lamps = sorted(rating.part for rating in ratings if rating.voltage is not None)
    told = sorted(step.part for step in ledger.steps if isinstance(step, Rated))
    require(told == lamps, "a rated lamp is left out, or told twice")
    if any(isinstance(step, PowerBalance) for step in ledger.steps):
        compared = sorted(step.part for step in ledger.steps if isinstance(step, AgainstRating))
        parts = sorted(rating.part for rating in ratings)
        require(compared == parts, "a rating is left out, or compared twice")


def _rating(ledger: Ledger, part: str) -> Rating:
    rating = ledger.circuit.rating(part)
    if rating is None:
        raise Refused(f"{part} has no rating")
    return rating
