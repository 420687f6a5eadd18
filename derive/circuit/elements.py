"""The parts of a circuit, and the quantity that each is known by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from derive.algebra.term import Symbol, capacitance, emf, resistance, source_current


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistor, or a lamp, which differs in the figure only."""

    name: str
    lamp: bool = False

    @property
    def resistance(self) -> Symbol:
        """The symbol of its resistance."""
        return resistance(self.name)


@dataclass(frozen=True, slots=True)
class Battery:
    """A battery with its emf and, perhaps, an internal resistance."""

    name: str
    internal: str | None = None
    """Name of the internal resistance; None for an ideal battery."""

    @property
    def emf(self) -> Symbol:
        """The symbol of its emf."""
        return emf(self.name)

    @property
    def resistance(self) -> Symbol | None:
        """The symbol of its internal resistance."""
        return None if self.internal is None else resistance(self.internal)


@dataclass(frozen=True, slots=True)
class CurrentSource:
    """A current source: its current is the same whatever the voltage across it is."""

    name: str

    @property
    def source(self) -> Symbol:
        """The symbol of its current."""
        return source_current(self.name)

    @property
    def resistance(self) -> None:
        """None: it sets a current, and no resistance of its own tells its voltage."""


@dataclass(frozen=True, slots=True)
class Switch:
    """A switch: closed a piece of wire, open a gap."""

    name: str
    is_closed: bool

    @property
    def resistance(self) -> None:
        """None, open or closed."""


class Meter(Enum):
    """What a meter measures."""

    AMMETER = "ammeter"
    VOLTMETER = "voltmeter"


@dataclass(frozen=True, slots=True)
class Instrument:
    """An ammeter or a voltmeter, ideal or with a resistance of its own."""

    name: str
    meter: Meter
    is_real: bool = False
    """Whether it has a resistance. An ideal ammeter is a wire, an ideal voltmeter a gap."""

    @property
    def resistance(self) -> Symbol | None:
        """The symbol of its resistance, which has its own name; None for an ideal one."""
        return resistance(self.name) if self.is_real else None


@dataclass(frozen=True, slots=True)
class Capacitor:
    """A capacitor long after the last change: no current flows in it any more."""

    name: str

    @property
    def capacitance(self) -> Symbol:
        """The symbol of its capacitance."""
        return capacitance(self.name)

    @property
    def resistance(self) -> None:
        """None: no current passes."""


Element = Resistor | Battery | CurrentSource | Switch | Instrument | Capacitor


def own_quantity(element: Element) -> Symbol | None:
    """Return the current of a source, or a capacitance; None for other elements."""
    match element:
        case CurrentSource():
            return element.source
        case Capacitor():
            return element.capacitance
        case _:
            return None


def is_gap(element: Element) -> bool:
    """Tell whether no steady current passes an element."""
    match element:
        case Switch(is_closed=is_closed):
            return not is_closed
        case Instrument(meter=meter, is_real=is_real):
            return meter is Meter.VOLTMETER and not is_real
        case Capacitor():
            return True
        case _:
            return False
