"""Energy, charge and efficiency, checked."""

from __future__ import annotations

from derive.algebra.dimension import NUMBER, SECOND
from derive.algebra.term import Equation, Negative, Quantity, Sum, Symbol, SymbolKind
from derive.checker import laws, naming, relations
from derive.checker.evaluation import dimension, occurring, residue
from derive.checker.ledger import Ledger, made_of, read_rule, require
from derive.checker.polynomial import Expansion, Refused
from derive.derivation.further import Efficiency, Lasts, OverTime, PowerBalance, PowerPart
from derive.derivation.laws import PartLaw


def lasts(ledger: Ledger, step: Lasts) -> None:
    """Check a time, which from here on is a number. A question must ask for it."""
    times = [getattr(question, "time", None) for question in ledger.circuit.questions]
    require(step.time in times, "no question asks for this time")
    require(step.time.seconds > 0, "a time is longer than zero")
    symbol = naming.duration_symbol(step.time)
    value = Quantity(step.time.seconds, SECOND)
    require(step.conclusion == Equation(symbol, value), "the time is another one")
    ledger.named[symbol.name] = symbol
    ledger.made_of[symbol] = frozenset()
    ledger.point[symbol] = residue(value, ledger.point)


def over_time(ledger: Ledger, step: OverTime) -> None:
    """Check what a steady power or current makes in a time."""
    expected = relations.over_time(ledger.circuit, step.kind, step.part, step.time)
    _require_same(step.conclusion, expected)
    symbol = naming.kept_symbol(step.kind, step.part, step.time)
    ledger.named.setdefault(symbol.name, symbol)


def efficiency(ledger: Ledger, step: Efficiency) -> None:
    """Check an efficiency, and that the battery does what is said of it.

    With an emf E and a voltage V at its terminals the current E − V over the internal resistance
    leaves at +. The battery delivers if that has the sign of the emf, and what it delivers is of
    use if the voltage has that sign as well; it is being charged if the current has the other one.
    """
    expected = relations.efficiency(ledger.circuit, step.battery, charged=step.charged)
    voltage = naming.part_symbol(PartLaw.VOLTAGE, step.battery)
    if step.voltage is None:
        require(not step.charged, "nothing tells that the battery is being charged")
        given_all = laws.all_given(ledger.circuit)
        letters_left = any(letter not in given_all for letter in laws.letters(ledger.circuit))
        require(letters_left, "nothing tells that the battery delivers")
    else:
        symbol, term = read_rule(ledger, step.voltage)
        require(symbol == voltage, f"step {step.voltage} is about {symbol.name}")
        value = Expansion().constant(term)
        emf = relations.emf_of(ledger.circuit, step.battery)
        own = Expansion(laws.all_given(ledger.circuit) | ledger.sought).constant(emf)
        if value is None or own is None:
            raise Refused("the voltage is no number")
        out = own - value
        if step.charged:
            require(out * own < 0, "the battery is not being charged")
        else:
            require(out * own > 0 and value * own >= 0, "the battery does not deliver")
        # The voltage is a number that is not zero, so that one may divide by it.
        ledger.made_of[voltage] = made_of(ledger, occurring(term))
        ledger.point[voltage] = residue(term, ledger.point)
    _require_same(step.conclusion, expected)
    symbol = naming.efficiency_symbol(step.battery)
    ledger.named.setdefault(symbol.name, symbol)


def power_part(ledger: Ledger, step: PowerPart) -> None:
    """Check which part of the balance a power is."""
    require(0 <= step.balance < ledger.here, "the balance does not come before it")
    balance = ledger.steps[step.balance]
    if not isinstance(balance, PowerBalance):
        raise Refused(f"step {step.balance} is no balance of power")
    require(step.power in (*balance.delivered, *balance.taken), "the balance does not count it")
    symbol, term = read_rule(ledger, step.power)
    expansion = Expansion(ledger.defined)
    power = expansion.constant(term)
    whole = expansion.constant(balance.conclusion.left)
    if power is None or not whole:
        raise Refused("there is no power to be shared")
    part = symbol.name.removeprefix("Pd").removeprefix("P")
    share = Symbol(f"share{part}", SymbolKind.AUXILIARY, NUMBER)
    require(step.conclusion.left == share, "the share is of another part")
    require(expansion.constant(step.conclusion.right) == abs(power) / whole, "it is another share")
    ledger.named.setdefault(share.name, share)


def _require_same(stated: Equation, expected: Equation) -> None:
    """The left sides must be one symbol; the right sides may be written differently."""
    same = stated.left == expected.left and dimension(stated.right) == dimension(expected.right)
    equal = Expansion().is_zero(Sum((stated.right, Negative(expected.right))))
    require(same and equal, "this is not the relation of the part")
