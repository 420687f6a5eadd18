"""The circuit as a graph of points and branches, immutable and free of syntax.

A *node* is a point, or several points joined by plain wire. A *junction* is a node where three or
more branch ends meet. A *branch* is a chain of parts between two nodes; one current flows in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction

from derive.algebra.dimension import Dimension
from derive.algebra.term import Symbol, Term, emf, resistance
from derive.source import Span


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


Element = Resistor | Battery


@dataclass(frozen=True, slots=True)
class Passage:
    """An element met on the way along a branch, in the direction of the branch's current arrow."""

    element: Element
    along: bool = True
    """For a battery: True when the arrow enters at − and leaves at +, so the potential rises.
    Always True for a resistor."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A chain of elements between two nodes, with the reference arrow of its current."""

    current: Symbol
    tail: str
    """Name of the node where the arrow starts."""
    head: str
    """Name of the node where the arrow ends; equal to `tail` for a loop hung on one point."""
    passages: tuple[Passage, ...]
    """From tail to head; empty for a wire whose current has a name."""
    stations: tuple[tuple[str, ...], ...]
    """Points met before the first passage, between passages, and after the last:
    ``len(passages) + 1`` tuples, each with none, one or several (wired together) point names."""

    @property
    def resistances(self) -> tuple[Symbol, ...]:
        """The symbols of the resistances in the branch, in walking order."""
        found = (passage.element.resistance for passage in self.passages)
        return tuple(symbol for symbol in found if symbol is not None)

    @property
    def batteries(self) -> tuple[Battery, ...]:
        """The batteries in the branch, in walking order."""
        return tuple(p.element for p in self.passages if isinstance(p.element, Battery))


@dataclass(frozen=True, slots=True)
class Node:
    """A place of one potential where branches end."""

    name: str
    """The first of its points, in file order."""
    points: tuple[str, ...]
    """Every point joined to it by plain wire, itself first."""
    degree: int
    """Number of branch ends: 1 for an open terminal, 2 on a single loop, 3 or more: a junction."""


@dataclass(frozen=True, slots=True)
class WalkCurrent:
    """The current of one walk of the file, told by the branch it lies in."""

    current: Symbol
    branch: int
    along: bool
    """True when the walk's arrow agrees with the branch's arrow."""
    parts: tuple[str, ...] = field(default=(), compare=False)
    """The parts on the walk, in walking order; empty where the circuit was not read from a file."""


@dataclass(frozen=True, slots=True)
class Given:
    """A value the author gives."""

    value: Fraction
    """In SI base units, exact."""
    dimension: Dimension
    tolerance: Fraction | None = None
    """0.05 for ± 5 %."""
    figures: int | None = field(default=None, compare=False)
    """Significant figures as written; None for whole numbers and fractions, which are exact."""
    written: tuple[str, int] | None = field(default=None, compare=False)
    """Digits as written, with a decimal point, and the power of ten of the prefix of the unit:
    ``("4.70", 3)`` for 4.70 kohm. None where no one decimal with a unit was written."""


@dataclass(frozen=True, slots=True)
class Tie:
    """A value tied to other quantities, such as R2 = 2 R1."""

    term: Term
    figures: int | None = field(default=None, compare=False)
    """Significant figures of the quantities with units in it; None when they are exact."""


@dataclass(frozen=True, slots=True)
class Valuation:
    """What is known of one quantity; a quantity without one stays a letter."""

    symbol: Symbol
    value: Given | Tie
    span: Span | None = field(default=None, compare=False)


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

    For a resistor R·I, counted along its walk; for a battery V₊ − V₋ at its terminals.
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
class AskPowerIn:
    """The power a part takes in (for a battery: chemical or heat; negative when it delivers)."""

    part: str


@dataclass(frozen=True, slots=True)
class AskPowerOf:
    """The power a battery's emf delivers: E times the current that leaves its + terminal."""

    battery: str


@dataclass(frozen=True, slots=True)
class AskTerminalVoltage:
    """V₊ − V₋ at the terminals of a battery."""

    battery: str


@dataclass(frozen=True, slots=True)
class AskResistance:
    """The resistance between two points, every emf replaced by a wire."""

    one: str
    other: str


Question = (
    AskReducible | AskCurrents | AskCurrentIn | AskVoltageAcross | AskVoltage | AskPotential
    | AskPowerIn | AskPowerOf | AskTerminalVoltage | AskResistance
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Hop:
    """One branch passed on a walk round the circuit."""

    branch: int
    along: bool
    """True when it is passed in the direction of its current arrow."""


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed walk that passes no branch twice, in travel order from its starting point."""

    hops: tuple[Hop, ...]


class EmfSymbol(Enum):
    """How a battery's letter E is set."""

    SCRIPT = "script"
    ITALIC = "italic"
    EPSILON = "epsilon"


class ResistorSymbol(Enum):
    """IEC 60617 rectangle or IEEE 315 zigzag."""

    BOX = "box"
    ZIGZAG = "zigzag"


class BatterySymbol(Enum):
    """How a battery is drawn."""

    CELL = "cell"
    """One pair of plates."""
    CELLS = "cells"
    """Two pairs with dashes between them: several cells in a row (IEC 60617)."""


class BridgeShape(Enum):
    """How a bridge is drawn."""

    RECTANGLE = "rectangle"
    DIAMOND = "diamond"


@dataclass(frozen=True, slots=True)
class Looks:
    """The author's choices of appearance."""

    emf: EmfSymbol = EmfSymbol.SCRIPT
    resistor: ResistorSymbol = ResistorSymbol.BOX
    battery: BatterySymbol = BatterySymbol.CELL
    bridge: BridgeShape = BridgeShape.RECTANGLE
    decimal_comma: bool = False
    figures: int | None = None
    """Significant figures of rounded results; None lets the data decide."""
    places: tuple[tuple[str, Fraction, Fraction], ...] = ()
    """Grid hints: point, x to the right, y upwards."""


class Method(Enum):
    """A way to find the currents, by its name in the language."""

    BRANCH_CURRENTS = "branch currents"
    """Kirchhoff's rules with one unknown for every branch."""
    REDUCTION = "reduction"
    """Parts put for others until the currents can be read off, and the way back."""


@dataclass(frozen=True, slots=True)
class Choices:
    """What the author decides about the derivation; empty fields leave it to the program."""

    loops: tuple[Loop, ...] = ()
    loop_spans: tuple[Span, ...] = field(default=(), compare=False)
    junctions: tuple[str, ...] = ()
    """Nodes whose junction equations are to be used."""
    eliminate: tuple[Symbol, ...] = ()
    """Currents in the order in which they are to be eliminated."""
    methods: tuple[Method, ...] = ()
    """The first gives the answers, the others confirm them."""
    method_spans: tuple[Span, ...] = field(default=(), compare=False)

    @property
    def of_equations(self) -> bool:
        """Whether the author says anything about the equations of Kirchhoff's rules."""
        return bool(self.loops or self.junctions or self.eliminate)


@dataclass(frozen=True, slots=True)
class Circuit:
    """A connected direct-current circuit with its questions."""

    title: str
    statement: str
    nodes: tuple[Node, ...]
    """In file order."""
    branches: tuple[Branch, ...]
    """In file order of their first walk."""
    walks: tuple[WalkCurrent, ...]
    """Every walk with a current, in file order."""
    values: tuple[Valuation, ...]
    """In file order."""
    questions: tuple[Question, ...]
    ground: str | None = None
    """The point of zero potential."""
    choices: Choices = Choices()
    looks: Looks = Looks()
    spans: tuple[tuple[str, Span], ...] = field(default=(), compare=False, repr=False)
    """Where each name stands first in the file; for a walk without a name, the whole walk."""

    def node_of(self, point: str) -> str | None:
        """Return the name of the node a point belongs to; None for a point inside a branch."""
        for node in self.nodes:
            if point in node.points:
                return node.name
        return None

    @property
    def elements(self) -> tuple[Element, ...]:
        """Every element, in file order of the branches."""
        return tuple(p.element for branch in self.branches for p in branch.passages)

    @property
    def symbols(self) -> tuple[Symbol, ...]:
        """The symbols that the author named: currents, emfs, resistances, each once."""
        found: dict[Symbol, None] = {}
        for branch in self.branches:
            found[branch.current] = None
            found.update(dict.fromkeys(branch.resistances))
            found.update(dict.fromkeys(battery.emf for battery in branch.batteries))
        found.update(dict.fromkeys(walk.current for walk in self.walks))
        found.update(dict.fromkeys(valuation.symbol for valuation in self.values))
        return tuple(found)

    @property
    def asks_for_currents(self) -> bool:
        """Whether anything is asked that depends on the currents, or nothing but by habit."""
        resistances = any(isinstance(question, AskResistance) for question in self.questions)
        others = (AskResistance, AskReducible)
        return not resistances or not all(isinstance(q, others) for q in self.questions)

    @property
    def has_numbers(self) -> bool:
        """Whether any value is given as a number, not by a tie."""
        return any(isinstance(valuation.value, Given) for valuation in self.values)

    @property
    def junctions(self) -> tuple[Node, ...]:
        """The nodes where three or more branch ends meet."""
        return tuple(node for node in self.nodes if node.degree >= 3)

    def valuation(self, symbol: Symbol) -> Given | Tie | None:
        """Return what is known of a quantity; None when it is a letter."""
        name = symbol.name  # compared first, which is much faster where there are thousands
        for valuation in self.values:
            if valuation.symbol.name == name and valuation.symbol == symbol:
                return valuation.value
        return None

    def find_branch(self, part: str) -> tuple[int, int]:
        """Return (branch index, passage index) of an element.

        Raises KeyError when there is none of that name.
        """
        for index, branch in enumerate(self.branches):
            for position, passage in enumerate(branch.passages):
                if passage.element.name == part:
                    return index, position
        raise KeyError(part)

    def walk_of(self, part: str) -> WalkCurrent:
        """Return the walk a part or an internal resistance lies on: its arrow is the part's own.

        Raises KeyError when there is none of that name.
        """
        for index, branch in enumerate(self.branches):
            for passage in branch.passages:
                element = passage.element
                internal = element.internal if isinstance(element, Battery) else None
                if part not in (element.name, internal):
                    continue
                owner = element.name
                named = (walk for walk in self.walks if owner in walk.parts)
                return next(named, WalkCurrent(branch.current, index, along=True))
        raise KeyError(part)

    def span_of(self, name: str) -> Span | None:
        """Return where a point, a part or a current is named first in the file."""
        return next((span for known, span in self.spans if known == name), None)
