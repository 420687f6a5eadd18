"""The circuit as a graph of points and branches, immutable and free of syntax.

A *node* is a point, or several points joined by plain wire. A *junction* is a node where three or
more branch ends meet. A *branch* is a chain of parts between two nodes; one current flows in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from derive.algebra.term import Symbol, SymbolKind, source_current, symbols
from derive.circuit.appearance import Looks
from derive.circuit.elements import Battery, CurrentSource, Element, own_quantity
from derive.circuit.question import AskReducible, AskResistance, Question
from derive.circuit.valuation import CONDITIONS, Given, Initial, Rating, Tie, Valuation
from derive.source import Span


@dataclass(frozen=True, slots=True)
class Passage:
    """An element met on the way along a branch, in the direction of the branch's current arrow."""

    element: Element
    along: bool = True
    """For a battery: True when the arrow enters at − and leaves at +, so the potential rises. For a
    current source: True when its own arrow runs the same way. Always True for the others."""


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

    @property
    def sources(self) -> tuple[Passage, ...]:
        """The current sources in the branch, in walking order."""
        return tuple(p for p in self.passages if isinstance(p.element, CurrentSource))


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
class Hop:
    """One branch passed on a walk round the circuit."""

    branch: int
    along: bool
    """True when it is passed in the direction of its current arrow."""


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed walk that passes no branch twice, in travel order from its starting point."""

    hops: tuple[Hop, ...]


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
class Drawn:
    """The circuit with all of its parts, also those in which no current can flow."""

    nodes: tuple[Node, ...]
    branches: tuple[Branch, ...]
    walks: tuple[WalkCurrent, ...]
    """One for each current that gets an arrow: each that flows, in this state or, where switches
    change, in the other one."""
    pieces: tuple[tuple[Hop, ...], ...]
    """For each branch of the circuit the branches that are drawn for it, from tail to head."""


@dataclass(frozen=True, slots=True)
class Terminals:
    """The figure of a circuit from which nothing but one resistance is wanted."""

    one: str
    other: str
    drawn: Drawn
    """With the gap between these two points, an open switch called
    `circuit.terminals.OPEN_TERMINALS`."""


@dataclass(frozen=True, slots=True)
class Event:
    """Switches that change, all at one moment."""

    closes: tuple[str, ...]
    """The switches that were open before and are closed after, in file order."""
    opens: tuple[str, ...]
    """Those that were closed before and are open after."""


@dataclass(frozen=True, slots=True)
class Tested:
    """The circuit by which the resistance between two points is found with a test source."""

    question: AskResistance
    source: str
    """The test source: 1 A, driven in at the first of the points and out at the other."""
    circuit: Circuit
    """With the test source. All sources that depend on nothing are zero: wires in the place of
    emfs, gaps in the place of current sources. Its currents have names of their own."""

    @property
    def symbol(self) -> Symbol:
        """The symbol of the current of the test source."""
        return source_current(self.source)


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
    """Every walk with a current, in file order; those of `idle` branches are not among them."""
    values: tuple[Valuation, ...]
    """In file order."""
    questions: tuple[Question, ...]
    ground: str | None = None
    """The point of zero potential."""
    uncharged: tuple[str, ...] = ()
    """The capacitors that were without charge before the circuit was connected."""
    choices: Choices = Choices()
    looks: Looks = field(default_factory=Looks)
    initials: tuple[Initial, ...] = ()
    """The voltages that capacitors have at the start, in file order."""
    ratings: tuple[Rating, ...] = ()
    """In file order. The resistance of a rated lamp is among the `values`."""
    is_before: bool = False
    """Whether switches are about to change: then nothing changes with time yet."""
    sought: tuple[Symbol, ...] = ()
    """Emfs, source currents and resistances whose values follow from the `conditions`."""
    idle: tuple[Branch, ...] = ()
    """Walks in which no current can flow, since a part interrupts them. Their ends are points,
    which may lie inside of branches."""
    drawn: Drawn | None = None
    """What the figure shows where it is more than the branches; None where it is just these."""
    terminals: Terminals | None = None
    """What it shows where only the resistance between two points is asked for."""
    ideal: tuple[tuple[str, Circuit], ...] = ()
    """For each meter whose loading error is asked for, the circuit with that meter made ideal. Its
    currents have names of their own."""
    tested: tuple[Tested, ...] = ()
    """For each resistance between two points that is asked for where sources depend on currents or
    voltages, the circuit that tells it."""
    spans: tuple[tuple[str, Span], ...] = field(default=(), compare=False, repr=False)
    """Where each name stands first in the file; for a walk without a name, the whole walk."""

    def node_of(self, point: str) -> str | None:
        """Return the name of the node a point belongs to; None for a point inside a branch."""
        for node in self.nodes:
            if point in node.points:
                return node.name
        return None

    @property
    def all_branches(self) -> tuple[Branch, ...]:
        """Those in which a current flows, then those in which none can; a hop counts so too."""
        return (*self.branches, *self.idle)

    @property
    def elements(self) -> tuple[Element, ...]:
        """Every element, in file order of the branches, those without current last."""
        return tuple(p.element for b in self.all_branches for p in b.passages)

    @property
    def named_idle(self) -> tuple[Branch, ...]:
        """The walks without current to whose current the author gave a name."""
        return tuple(branch for branch in self.idle if "(" not in branch.current.name)

    @property
    def told_currents(self) -> tuple[Symbol, ...]:
        """The currents of all walks, those without current last."""
        idle = (branch.current for branch in self.named_idle)
        return (*(walk.current for walk in self.walks), *idle)

    @property
    def dependent(self) -> tuple[Symbol, ...]:
        """The emfs and source currents that depend on currents or voltages, in file order."""
        ties = {v.symbol: v.value.term for v in self.values if isinstance(v.value, Tie)}
        found = {
            symbol: None
            for symbol, term in ties.items()
            if any(s.kind in (SymbolKind.CURRENT, SymbolKind.VOLTAGE) for s in symbols(term))
        }
        grown = bool(found)
        while grown:
            more = [
                s for s, t in ties.items() if s not in found and any(x in found for x in symbols(t))
            ]
            found |= dict.fromkeys(more)
            grown = bool(more)
        return tuple(symbol for symbol in ties if symbol in found)

    @property
    def controls(self) -> tuple[Symbol, ...]:
        """The currents and the voltages on which sources depend, in file order."""
        ties = (self.valuation(symbol) for symbol in self.dependent)
        found = (s for tie in ties if isinstance(tie, Tie) for s in symbols(tie.term))
        return tuple(dict.fromkeys(found))

    def is_dependent(self, symbol: Symbol) -> bool:
        """Tell whether an emf or a source current depends on a current or a voltage."""
        return isinstance(self.valuation(symbol), Tie) and symbol in self.dependent

    @property
    def conditions(self) -> tuple[Valuation, ...]:
        """The currents and voltages that the author gives, in file order; as many as `sought`."""
        return tuple(v for v in self.values if v.symbol.kind in CONDITIONS)

    @property
    def stated(self) -> frozenset[Symbol]:
        """The currents and voltages that the author gives."""
        return frozenset(condition.symbol for condition in self.conditions)

    @property
    def given_currents(self) -> dict[int, WalkCurrent]:
        """The walks whose current the author gives, by their branches."""
        given = {condition.symbol for condition in self.conditions}
        return {walk.branch: walk for walk in self.walks if walk.current in given}

    @property
    def has_sources(self) -> bool:
        """Whether there is a current source."""
        return any(branch.sources for branch in self.branches)

    @property
    def symbols(self) -> tuple[Symbol, ...]:
        """The symbols that the author named: currents, emfs, resistances, each once."""
        found: dict[Symbol, None] = {}
        for branch in self.all_branches:
            found[branch.current] = None
            found.update(dict.fromkeys(branch.resistances))
            found.update(dict.fromkeys(battery.emf for battery in branch.batteries))
            found.update(
                dict.fromkeys(
                    quantity
                    for p in branch.passages
                    if (quantity := own_quantity(p.element)) is not None
                )
            )
        found.update(dict.fromkeys(walk.current for walk in self.walks))
        found.update(dict.fromkeys(valuation.symbol for valuation in self.values))
        return tuple(found)

    @property
    def asks_for_currents(self) -> bool:
        """Whether anything is asked that depends on the currents, or nothing but by habit."""
        resistances = any(isinstance(question, AskResistance) for question in self.questions)
        others = (AskResistance, AskReducible)
        return not resistances or not all(isinstance(q, others) for q in self.questions)

    def element(self, name: str) -> Element:
        """Return an element by its name. Raises KeyError."""
        index, position = self.find_branch(name)
        return self.all_branches[index].passages[position].element

    @property
    def has_numbers(self) -> bool:
        """Whether any value is given as a number, not by a tie."""
        return any(isinstance(valuation.value, Given) for valuation in self.values)

    @property
    def junctions(self) -> tuple[Node, ...]:
        """The nodes where three or more branch ends meet."""
        return tuple(node for node in self.nodes if node.degree >= 3)

    def initial(self, capacitor: str) -> Initial | None:
        """Return the voltage that a capacitor has at the start; None when nothing is said of it."""
        return next((i for i in self.initials if i.capacitor == capacitor), None)

    def rating(self, part: str) -> Rating | None:
        """Return what a part is made for; None when nothing is said of it."""
        return next((rating for rating in self.ratings if rating.part == part), None)

    def valuation(self, symbol: Symbol) -> Given | Tie | None:
        """Return what is known of a quantity; None when it is a letter."""
        name = symbol.name  # compared first, which is much faster where there are thousands
        for valuation in self.values:
            if valuation.symbol.name == name and valuation.symbol == symbol:
                return valuation.value
        return None

    def find_branch(self, part: str) -> tuple[int, int]:
        """Return (branch index, passage index) of an element.

        The `idle` branches are counted on after the others. Raises KeyError for an unknown name.
        """
        for index, branch in enumerate(self.all_branches):
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

    @property
    def points(self) -> tuple[str, ...]:
        """Every named point, those of the nodes first."""
        found = [point for node in self.nodes for point in node.points]
        for branch in self.all_branches:
            found += [point for names in branch.stations for point in names]
        return tuple(dict.fromkeys(found))

    def span_of(self, name: str) -> Span | None:
        """Return where a point, a part or a current is named first in the file."""
        return next((span for known, span in self.spans if known == name), None)
