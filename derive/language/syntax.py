"""The syntax tree: what the author wrote, statement by statement, with places in the source.

Nothing is resolved here: a name is a name whatever it stands for, a number is its digits.
Spans take no part in comparison, so that trees from differently spaced texts are equal.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from derive.source import Span


@dataclass(frozen=True, slots=True)
class Name:
    """A name of a point, a part, a current or an internal resistance."""

    text: str
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Text:
    """Words between quotation marks, line breaks made spaces."""

    text: str
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class NumberLiteral:
    """Digits as written: ``1.5``, ``1,5``, ``2e3``, ``3/2``, ``4k7``."""

    text: str
    span: Span = field(compare=False)


# Walks


@dataclass(frozen=True, slots=True)
class PointStop:
    """A point named on a walk."""

    name: Name


@dataclass(frozen=True, slots=True)
class ResistorStop:
    """``(R1)`` or ``(lamp L1)``."""

    name: Name
    lamp: bool
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class BatteryStop:
    """``(-E1 r1+)``, ``(+E1-)``."""

    name: Name
    internal: Name | None
    rise: bool
    """True when the walk meets the negative terminal first."""
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class CurrentSourceStop:
    """``(J1 ->)``, ``(<- J1)``."""

    name: Name
    along: bool
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class SwitchStop:
    """``(open S1)``, ``(closed S1)``; ``(opens S1)``, ``(closes S1)`` for one that changes."""

    name: Name
    closed: bool
    """Whether it is closed; for a switch that changes, whether it is in the end."""
    span: Span = field(compare=False)
    changes: bool = False
    """Whether it was in the other state before."""

    @property
    def word(self) -> str:
        """The word before its name."""
        if self.changes:
            return "closes" if self.closed else "opens"
        return "closed" if self.closed else "open"


class Meter(Enum):
    """What a meter measures."""

    AMMETER = "ammeter"
    VOLTMETER = "voltmeter"


@dataclass(frozen=True, slots=True)
class MeterStop:
    """``(ammeter M1)``, ``(voltmeter M2)``."""

    name: Name
    meter: Meter
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class CapacitorStop:
    """``(capacitor C1)``."""

    name: Name
    span: Span = field(compare=False)


PartStop = ResistorStop | BatteryStop | CurrentSourceStop | SwitchStop | MeterStop | CapacitorStop
Stop = PointStop | PartStop


@dataclass(frozen=True, slots=True)
class Walk:
    """``I1: A (-E1+) B (R1) C``."""

    name: Name | None
    stops: tuple[Stop, ...]
    span: Span = field(compare=False)


# Values


@dataclass(frozen=True, slots=True)
class VoltageName:
    """``V(B,A)``: V_B − V_A."""

    to: Name
    origin: Name
    span: Span = field(compare=False)


Letter = Name | VoltageName


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with its unit, or without one."""

    number: NumberLiteral
    unit: Text | None
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Multiple:
    """A number directly before what it multiplies: ``2 R1``."""

    number: NumberLiteral
    factor: Expression
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Factor:
    """One factor of a product, or one divisor."""

    divides: bool
    expression: Expression


@dataclass(frozen=True, slots=True)
class ProductOf:
    """Factors and divisors in the order written; the first never divides."""

    factors: tuple[Factor, ...]
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Addend:
    """One item of a sum with its sign."""

    minus: bool
    expression: Expression


@dataclass(frozen=True, slots=True)
class SumOf:
    """Items in the order written."""

    addends: tuple[Addend, ...]
    span: Span = field(compare=False)


Expression = Name | VoltageName | Measure | Multiple | ProductOf | SumOf


@dataclass(frozen=True, slots=True)
class Unknown:
    """The ``?`` of a quantity that is sought."""

    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class ValueStatement:
    """``R1, R4 = 2 ohm ± 5 %``."""

    targets: tuple[Letter, ...]
    value: Expression | Unknown
    tolerance: NumberLiteral | None
    """In per cent."""
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Rate:
    """``rating L1, L2 = 6 V, 3 W``, ``rating R1 = 0.25 W``: what parts are made for."""

    parts: tuple[Name, ...]
    amounts: tuple[Expression, ...]
    """One or two."""
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Initially:
    """``initially V(C1) = 2 V``: what a capacitor has at the start."""

    capacitor: Name
    value: Expression
    span: Span = field(compare=False)


# Questions


class QuestionKind(Enum):
    """What is asked; the value is how the file says it."""

    REDUCIBLE = "reducible"
    CURRENTS = "currents"
    CURRENT_IN = "current in"
    VOLTAGE_ACROSS = "voltage across"
    VOLTAGE = "voltage"
    POTENTIAL = "potential"
    POTENTIALS = "potentials"
    POWER_IN = "power in"
    POWER_OF = "power of"
    TERMINAL_VOLTAGE = "terminal voltage of"
    READING_OF = "reading of"
    LOADING_ERROR = "loading error of"
    CHARGE_ON = "charge on"
    ENERGY_IN = "energy in"
    TRANSIENT_OF = "transient of"
    RESISTANCE = "resistance"
    VALUE_OF = "value of"
    ENERGY_OF = "energy of"
    CHARGE_THROUGH = "charge through"
    CHARGE_OF = "charge of"
    SHORT_CIRCUIT = "short circuit current of"
    OPEN_CIRCUIT = "open circuit voltage of"
    EFFICIENCY = "efficiency of"
    MATCHED_LOAD = "matched load"
    E3_VALUE_OF = "E3 value of"
    E6_VALUE_OF = "E6 value of"
    E12_VALUE_OF = "E12 value of"
    E24_VALUE_OF = "E24 value of"
    E48_VALUE_OF = "E48 value of"
    E96_VALUE_OF = "E96 value of"
    E192_VALUE_OF = "E192 value of"


@dataclass(frozen=True, slots=True)
class Duration:
    """``over 2 h``: the time for which a question asks."""

    number: NumberLiteral
    unit: Text
    """``s``, ``min``, ``h`` or ``d``."""
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Ask:
    """``ask power in R1, R2``."""

    kind: QuestionKind
    names: tuple[Name, ...]
    span: Span = field(compare=False)
    duration: Duration | None = None


# The author's choices


@dataclass(frozen=True, slots=True)
class Landmark:
    """A point on a loop, or a part by which it goes."""

    name: Name
    bracketed: bool


@dataclass(frozen=True, slots=True)
class UseLoop:
    """``use loop A (R4) C (R3) A``."""

    landmarks: tuple[Landmark, ...]
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class UseJunction:
    """``use junction C``."""

    points: tuple[Name, ...]
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class UseMethod:
    """``use method branch currents``."""

    method: Text
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Eliminate:
    """``eliminate I3, I1``."""

    currents: tuple[Name, ...]
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Ground:
    """``ground A``."""

    point: Name
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Uncharged:
    """``uncharged C1, C2``."""

    capacitors: tuple[Name, ...]
    span: Span = field(compare=False)


# Looks


@dataclass(frozen=True, slots=True)
class Coordinate:
    """A signed number without a unit."""

    minus: bool
    number: NumberLiteral


@dataclass(frozen=True, slots=True)
class Place:
    """``place A at 0 2``."""

    point: Name
    x: Coordinate
    y: Coordinate
    span: Span = field(compare=False)


class SettingKind(Enum):
    """What is set by one word."""

    EMF_SYMBOL = "symbols emf"
    RESISTORS = "resistors"
    BATTERIES = "batteries"
    BRIDGE = "bridge"
    DECIMAL = "decimal"


@dataclass(frozen=True, slots=True)
class Setting:
    """``symbols emf script``, ``resistors box``, ``bridge diamond``, ``decimal comma``."""

    kind: SettingKind
    choice: Name
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Figures:
    """``figures 3``."""

    number: NumberLiteral
    span: Span = field(compare=False)


class WordsKind(Enum):
    """Which words are given."""

    CIRCUIT = "circuit"
    TITLE = "title"
    STATEMENT = "statement"


@dataclass(frozen=True, slots=True)
class Words:
    """``circuit "Two lamps"``, ``title "…"``, ``statement "…"``."""

    kind: WordsKind
    text: Text
    span: Span = field(compare=False)


Statement = (
    Walk | ValueStatement | Rate | Initially | Ask | UseLoop | UseJunction | UseMethod | Eliminate
    | Ground | Uncharged | Place | Setting | Figures | Words
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SyntaxFile:
    """The statements of one file, in the order written."""

    statements: tuple[Statement, ...]
