"""Which quantities stay letters, the ring they span, and the scale of rows of numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import NUMBER, Dimension
from derive.algebra.name import natural_key
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import Symbol, SymbolKind, symbols
from derive.analysis.laws import given_values
from derive.circuit.elements import CurrentSource
from derive.circuit.model import Circuit
from derive.circuit.valuation import CONDITIONS, Given, Tie
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True)
class Letters:
    """The letters of a circuit and what stands for them in the equations."""

    ring: Ring
    """Over the letters that are left, in natural order."""
    images: Mapping[Symbol, Poly]
    """Every quantity of the circuit as an element of the ring."""
    steps: Mapping[Symbol, StepId]
    """The `GivenValue` step of each quantity that has one."""
    numeric: bool
    """True when no letter is left."""


def read_letters(circuit: Circuit, builder: Builder, *, numbers: bool) -> Letters:
    """State the given values as steps and say what each quantity is in the equations to come.

    With `numbers`, given values take the place of their letters; ties always do.
    """
    steps: dict[Symbol, StepId] = {}
    for step in given_values(circuit):
        steps[step.symbol] = builder.add(step)
    quantities = _quantities(circuit)
    kept = [
        symbol
        for symbol in quantities
        if not isinstance(circuit.valuation(symbol), Tie)
        and not (numbers and isinstance(circuit.valuation(symbol), Given))
        and not _is_nothing(circuit, symbol)
    ]
    ring = Ring(sorted(kept, key=lambda symbol: natural_key(symbol.name)))
    images: dict[Symbol, Poly] = {}
    for symbol in quantities:
        images[symbol] = _image(circuit, ring, symbol, numbers=numbers)
    return Letters(ring, images, steps, not kept)


def tied_to(met: Iterable[Symbol], letters: Letters, builder: Builder) -> tuple[StepId, ...]:
    """Return what quantities are tied to, and what that is tied to in its turn."""
    waiting = list(met)
    found: dict[StepId, None] = {}
    for symbol in waiting:
        step = letters.steps.get(symbol)
        if step is not None and symbol in letters.images and symbol not in letters.ring:
            if step not in found:
                waiting += symbols(builder.equation(step).right)
            found[step] = None
    return tuple(found)


def _is_nothing(circuit: Circuit, symbol: Symbol) -> bool:
    """Tell whether a current or a voltage is given as zero, which no letter stands for."""
    value = circuit.valuation(symbol)
    return symbol.kind in CONDITIONS and isinstance(value, Given) and value.value == 0


def _quantities(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return every emf, source current and resistance, and what ties refer to, each once.

    Then the currents and voltages that are given; what is sought is left out.
    """
    found: dict[Symbol, None] = {}
    for branch in circuit.branches:
        for battery in branch.batteries:
            found[battery.emf] = None
        for passage in branch.sources:
            assert isinstance(passage.element, CurrentSource)
            found[passage.element.source] = None
        for symbol in branch.resistances:
            found[symbol] = None
    dependent = circuit.dependent
    for branch in circuit.idle if dependent else ():
        # The voltage on which a source depends may be led past a battery without current.
        for battery in branch.batteries:
            found[battery.emf] = None
    for valuation in circuit.values:
        found[valuation.symbol] = None
        if isinstance(valuation.value, Tie) and valuation.symbol not in dependent:
            found.update(dict.fromkeys(symbols(valuation.value.term)))
    unknown = {*dependent, *circuit.sought}
    return tuple(symbol for symbol in found if symbol not in unknown)


def _image(circuit: Circuit, ring: Ring, symbol: Symbol, *, numbers: bool) -> Poly:
    if symbol in ring:
        return ring.symbol(symbol)
    match circuit.valuation(symbol):
        case Given(value=value):
            return ring.constant(value)
        case Tie(term=term):
            inner = {s: _image(circuit, ring, s, numbers=numbers) for s in symbols(term)}
            helper = Ring(tuple(inner))
            return helper.poly(term).compose(inner, ring)
        case None:
            raise KeyError(symbol.name)


@dataclass(frozen=True, slots=True)
class Scale:
    """The powers of ten in which the numbers of a circuit are written: V, kΩ, mA, …"""

    volt_exponent: int = 0
    ohm_exponent: int = 0


def choose_scale(circuit: Circuit) -> Scale:
    """Return the unit of resistance, Ω, kΩ or MΩ, in which the given values have fewest digits."""
    sizes = [
        abs(v.value.value)
        for v in circuit.values
        if isinstance(v.value, Given) and v.symbol.kind is SymbolKind.RESISTANCE and v.value.value
    ]
    digits = {e: sum(_digits(size / Fraction(10) ** e) for size in sizes) for e in (0, 3, 6)}
    return Scale(0, min(digits, key=lambda e: (digits[e], e)))


def _digits(value: Fraction) -> int:
    """Return how many digits there are to write, zeros at the front of a decimal included."""
    whole = len(str(value.numerator // value.denominator))
    decimals = 0
    while value.denominator != 1 and decimals < 9:
        value *= 10
        decimals += 1
    return whole + decimals


def letters_dimension(poly: Poly) -> Dimension:
    """Return the dimension of the letters in the term that holds most of them.

    That of the polynomial itself where its numbers have no units.
    """
    exponents = max(poly.monomials(), key=sum)
    found = NUMBER
    for symbol, exponent in zip(poly.ring.symbols, exponents, strict=True):
        found = found * symbol.dimension ** int(exponent)
    return found
