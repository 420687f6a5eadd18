"""What a circuit file may ask."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.unit import Unit
from derive.circuit.preferred import Series


@dataclass(frozen=True, slots=True)
class AskReducible:
    """Can the circuit be reduced to one resistor?"""


@dataclass(frozen=True, slots=True)
class AskCurrents:
    """The current of every walk."""


@dataclass(frozen=True, slots=True)
class AskCurrentIn:
    """The current in one part, counted along the walk it lies on."""

    part: str


@dataclass(frozen=True, slots=True)
class AskVoltageAcross:
    """The potential difference across one part.

    For a resistor R·I, counted along its walk; for a battery V₊ − V₋ at its terminals. For a
    switch, a voltmeter or a capacitor: how much higher the end is where its walk comes in. For a
    current source: how much higher the end is to which its arrow points.
    """

    part: str


@dataclass(frozen=True, slots=True)
class AskVoltage:
    """V_to − V_from between two points."""

    to: str
    origin: str


@dataclass(frozen=True, slots=True)
class AskPotential:
    """The potential of a point against the grounded point."""

    point: str


@dataclass(frozen=True, slots=True)
class AskPotentials:
    """The potential of every named point against the grounded point."""


@dataclass(frozen=True, slots=True)
class AskPowerIn:
    """The power a part takes in (for a battery: chemical or heat; negative when it delivers)."""

    part: str


@dataclass(frozen=True, slots=True)
class AskPowerOf:
    """The power a source delivers.

    For a battery its emf times the current that leaves its + terminal; for a current source its
    current times the voltage across it.
    """

    battery: str


@dataclass(frozen=True, slots=True)
class AskTerminalVoltage:
    """V₊ − V₋ at the terminals of a battery."""

    battery: str


@dataclass(frozen=True, slots=True)
class AskReading:
    """What a meter shows: the current in an ammeter, the voltage across a voltmeter."""

    part: str


@dataclass(frozen=True, slots=True)
class AskLoadingError:
    """By how much a meter changes what it measures, since it is not ideal."""

    part: str


@dataclass(frozen=True, slots=True)
class AskCharge:
    """The charge of a capacitor: on the plate where its walk comes in."""

    capacitor: str


@dataclass(frozen=True, slots=True)
class AskEnergy:
    """The energy that a capacitor holds."""

    capacitor: str


@dataclass(frozen=True, slots=True)
class Duration:
    """A time for which currents keep flowing, as the author writes it."""

    count: Fraction
    unit: Unit
    """A unit of time; SI for seconds."""

    @property
    def seconds(self) -> Fraction:
        """The time in seconds."""
        return self.count * self.unit.size

    @property
    def text(self) -> str:
        """The time as it stands in the name of a quantity: ``3/2h``."""
        return f"{self.count}{self.unit.value or 's'}"

    @property
    def written(self) -> str:
        """The time in the words of the circuit language: ``3/2 h``."""
        return f"{self.count} {self.unit.value or 's'}"


@dataclass(frozen=True, slots=True)
class AskEnergyIn:
    """The energy that a part takes in over a time; see `AskPowerIn`."""

    part: str
    time: Duration


@dataclass(frozen=True, slots=True)
class AskEnergyOf:
    """The energy that a source delivers over a time; see `AskPowerOf`."""

    battery: str
    time: Duration


@dataclass(frozen=True, slots=True)
class AskChargeThrough:
    """The charge that flows through a part over a time, counted along the walk it lies on."""

    part: str
    time: Duration


@dataclass(frozen=True, slots=True)
class AskChargeOf:
    """The charge that leaves a battery at its + terminal over a time; negative when charged."""

    battery: str
    time: Duration


@dataclass(frozen=True, slots=True)
class AskShortCircuit:
    """The current of a battery whose terminals are joined by a wire."""

    battery: str


@dataclass(frozen=True, slots=True)
class AskOpenCircuit:
    """The voltage of a battery to which nothing is connected."""

    battery: str


@dataclass(frozen=True, slots=True)
class AskEfficiency:
    """Which part of a battery's power is of use.

    While it delivers: power at the terminals over the power of the emf. While it is being charged:
    power stored by the emf over the power taken in at the terminals.
    """

    battery: str


@dataclass(frozen=True, slots=True)
class AskPreferred:
    """The preferred value next to that of a resistance or a capacitance."""

    series: Series
    part: str


@dataclass(frozen=True, slots=True)
class AskMatchedLoad:
    """The value with which a resistor takes the most power, and that power; all else is fixed."""

    part: str


@dataclass(frozen=True, slots=True)
class AskResistance:
    """The resistance between two points, every emf replaced by a wire."""

    one: str
    other: str


@dataclass(frozen=True, slots=True)
class AskTransient:
    """How the voltage of a capacitor and the current to it change from the start on."""

    capacitor: str


@dataclass(frozen=True, slots=True)
class AskValue:
    """The value of a quantity that is sought, from a current or a voltage that is given."""

    quantity: str


Question = (
    AskReducible | AskCurrents | AskCurrentIn | AskVoltageAcross | AskVoltage | AskPotential
    | AskPotentials | AskPowerIn | AskPowerOf | AskTerminalVoltage | AskReading | AskLoadingError
    | AskCharge | AskEnergy | AskResistance | AskEnergyIn | AskEnergyOf | AskChargeThrough
    | AskChargeOf | AskShortCircuit | AskOpenCircuit | AskEfficiency | AskMatchedLoad | AskValue
    | AskTransient | AskPreferred
)  # fmt: skip
