"""The steps of a derivation.

A step is either a *law* of the circuit, which the checker recomputes from the circuit, or an
*algebraic* step, which follows from earlier steps. Every algebraic step carries one kind of
certificate: after the equations named in `Certificate.rewriting` (each of the form
``symbol = term``) have been used to replace their symbols everywhere,

    left − right of the conclusion  =  Σ multiplier · (left − right of the premise)

holds as an identity of rational functions.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.dimension import Dimension
from derive.algebra.term import ONE, Equation, Symbol, Term
from derive.algebra.unit import Unit
from derive.circuit.model import AskResistance, Duration, Loop, Question
from derive.circuit.preferred import Series

StepId = int
"""Position of a step in its derivation, counted from 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """One row of a walk's table: a quantity met on the way and the potential change it makes."""

    part: str
    """Name of the element."""
    quantity: Symbol
    """The emf, the resistance, the internal resistance or the capacitance that makes the change."""
    current: Symbol | None
    """The current in a resistance; None for an emf, and where no current can flow."""
    along: bool
    """For a resistance: met along the current arrow. For an emf: entered at −, left at +. For a
    capacitor: met as on its own walk."""
    change: Term
    """With its sign: ``+E1``, ``−R1·I1``, ``−V(C1)``; 0 at a resistance in which no current can
    flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseUnknowns:
    """Count branches and junctions, name the unknowns, and say how many equations are needed."""

    branches: int
    junctions: int
    """0 for a single loop."""
    unknowns: tuple[Symbol, ...]
    """One current a branch, in branch order, without those that a current source sets or the author
    gives; then the quantities whose values are sought."""
    junction_equations: int
    loop_equations: int
    voltage_equations: int = 0
    """One for each voltage that the author gives."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenValue:
    """Law: what the author says of a quantity; ``R1 = 2 Ω`` or ``R2 = 2 R1``."""

    symbol: Symbol
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class SameCurrent:
    """Law: two walks that follow each other in one branch carry the same current."""

    walk: Symbol
    conclusion: Equation
    """``I5 = I2`` or ``I5 = −I2``: the walk's current by that of its branch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownCurrent:
    """Law: a current that needs no equation, since a current source sets it or a gap forbids it."""

    current: Symbol
    part: str
    """The source, or the part at which the walk is interrupted."""
    conclusion: Equation
    """``I2 = J1``, ``I2 = −J1`` or ``I3 = 0``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JunctionRule:
    """Law: what flows into a junction flows out of it."""

    node: str
    flows_in: tuple[Symbol, ...]
    flows_out: tuple[Symbol, ...]
    conclusion: Equation
    """``Σ in = Σ out``; 0 stands on a side with no current. A branch that both leaves and enters
    the node appears on neither side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRule:
    """Law: the potential changes round a closed walk add up to zero."""

    name: str
    """What the document calls it: ``1``, ``2``, … or ``check``."""
    loop: Loop
    crossings: tuple[Crossing, ...]
    conclusion: Equation
    """The unsimplified sum of the changes in travel order, = 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Law: one change of potential on a walk round a loop, under a name of its own."""

    loop: StepId
    """The `LoopRule` step."""
    row: int
    """Which of its crossings, counted from 0."""
    conclusion: Equation
    """``name = change``; the name must not have been used before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PathRule:
    """Law: a potential difference is the sum of the changes along any path."""

    origin: str
    to: str
    """Points, not nodes."""
    crossings: tuple[Crossing, ...]
    """In walking order from origin to `to`; every row must continue where the last one ended."""
    conclusion: Equation
    """``V(to,origin) = Σ changes``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentialRule:
    """Law: the potential of a point, by that of a point before it on a walk.

    The grounded point is at zero, so that a walk from there gives the sum of its changes.
    """

    start: str
    """The grounded point, or one whose potential has been told."""
    point: str
    crossings: tuple[Crossing, ...]
    """In walking order from start to point; none where the two are joined."""
    conclusion: Equation
    """``V(B) = V(A) + Σ changes``; ``V(B) = Σ changes`` from the grounded point."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AcrossRule:
    """Law: the voltage across a part is the sum of the changes on any way past it.

    For a current source how much higher the end is to which its arrow points; for a switch, a
    voltmeter and a capacitor how much higher the end is where its walk comes in.
    """

    part: str
    crossings: tuple[Crossing, ...]
    """From the end that counts as lower to the other, without passing the part."""
    conclusion: Equation
    """``V(C1) = Σ changes``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeRule:
    """Law: the charges on an island add up to zero, as they did before it was connected.

    An island is a set of places that gaps alone join to the rest. The author says that the
    capacitors at it began without charge. ``Q(C1)`` is the charge of the plate at which the walk of
    C1 comes in; the other plate has the opposite charge.
    """

    points: tuple[str, ...]
    """Every point of the island that has a name."""
    leads_in: tuple[Symbol, ...]
    """The charges of the capacitors whose walks lead to the island."""
    leads_out: tuple[Symbol, ...]
    """The charges of those whose walks lead away."""
    conclusion: Equation
    """``Σ in = Σ out``; 0 stands on a side with no charge, on the right where there is one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRule:
    """Law of one element, in its branch current and its letters.

    ``V(R1) = R1·I1`` (kind VOLTAGE); ``V(E1) = E1 − r1·I`` with I the current that leaves the +
    terminal, written by the branch's current with its sign; ``P(R1) = R1·I1²`` (POWER_IN);
    ``Pd(E1) = E1·I`` (POWER_OF, delivered by the emf); ``P(E1)`` of a battery is power taken in at
    its terminals, ``−V·I`` (POWER_IN); ``I(R1) = I1`` (CURRENT). ``Pd(J1) = J1·V(J1)`` and
    ``P(J1) = −J1·V(J1)`` of a current source, ``Q(C1) = C1·V(C1)`` (CHARGE) and
    ``W(C1) = C1·V(C1)²/2`` (ENERGY) of a capacitor are by the voltage that an `AcrossRule` gives.
    ``Isc(E1) = E1/r1`` (SHORT_CIRCUIT) and ``Voc(E1) = E1`` (OPEN_CIRCUIT) are of a battery with
    nothing else connected.
    """

    kind: PartLaw
    part: str
    conclusion: Equation


class PartLaw(Enum):
    """Which relation of an element a `PartRule` states."""

    CURRENT = "current"
    VOLTAGE = "voltage"
    POWER_IN = "power in"
    POWER_OF = "power of"
    CHARGE = "charge"
    ENERGY = "energy"
    SHORT_CIRCUIT = "short circuit"
    OPEN_CIRCUIT = "open circuit"


class Kept(Enum):
    """Which quantity a steady power or current makes in a time."""

    ENERGY_IN = "energy taken in"
    ENERGY_OF = "energy delivered"
    CHARGE_THROUGH = "charge that flows through"
    CHARGE_OF = "charge that leaves at the + terminal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasts:
    """Law: how long a question lets the currents flow."""

    time: Duration
    conclusion: Equation
    """``t(2h) = 7200 s``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverTime:
    """Law: a steady power makes an energy in a time, and a steady current a charge.

    ``W(R1,2h) = P(R1)·t(2h)`` (ENERGY_IN), ``Wd(E1,2h) = Pd(E1)·t(2h)`` (ENERGY_OF);
    ``Q(R1,2h) = I1·t(2h)`` (CHARGE_THROUGH) and ``Qd(E1,2h) = I1·t(2h)`` (CHARGE_OF) are by the
    branch's current with its sign.
    """

    kind: Kept
    part: str
    time: Duration
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Efficiency:
    """Law: which part of a battery's power is of use; one current flows in emf and terminals.

    ``η(E1) = V(E1)/E1`` while it delivers, ``η(E1) = E1/V(E1)`` while it is being charged.
    """

    battery: str
    charged: bool
    voltage: StepId | None
    """``V(E1) = value``, which tells the two apart; None where it is not known in numbers, and
    then the battery is said to deliver."""
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class IdealReading:
    """Law: what a meter would show if it were ideal.

    The circuit with the meter made ideal is another circuit; this is its answer.
    """

    part: str
    derivation: Derivation
    """Of that circuit, ``Circuit.ideal``."""
    conclusion: Equation
    """``Videal(M2) = …`` in letters of the circuit, or in numbers."""


class MeterError(Enum):
    """How a loading error is told."""

    ABSOLUTE = "absolute"
    """The reading minus that of an ideal meter: ``e(M2) = V(M2) − Videal(M2)``."""
    RELATIVE = "relative"
    """That over the reading of an ideal meter: ``δ(M2) = e(M2)/Videal(M2)``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadingError:
    """Law: what is meant by the loading error of a meter."""

    kind: MeterError
    part: str
    conclusion: Equation


class Most(Enum):
    """What is told of the load that takes the most power."""

    LOAD = "its resistance"
    POWER = "the power in it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Largest:
    """Law: where a power falls short of a bound by a square, it is largest where that is zero.

    The premise is ``bound − P(R) = bound·(S − R)²/(S + R)²`` for every value of the resistance R,
    the bound and the positive resistance S holding no R: so P(R) reaches the bound for R = S, and
    for no other R.
    """

    kind: Most
    part: str
    """The resistor."""
    at: Term
    """S."""
    premise: StepId
    conclusion: Equation
    """``Rm(R3) = S`` (LOAD) or ``Pm(R3) = bound`` (POWER)."""


class Exchange(Enum):
    """What may stand for what in a network, and what may be left out of it.

    Within a row of arms with nothing that branches off, their order makes no difference.
    """

    SERIES = "in series"
    """Resistances in one row, for their sum."""
    PARALLEL = "in parallel"
    """Resistances between the same two places, for one."""
    DELTA = "a delta by a wye"
    """Three between three places for three that meet; each stands opposite to the one taken."""
    STAR = "a star by a mesh"
    """All that meet at one place for one between each two of their far ends: with three, a wye by
    a delta (A. E. Kennelly, 1899); with more, a star by a mesh (A. Rosen, 1924)."""
    EMFS = "batteries in series"
    """Emfs in one row, for their sum, each with its sign."""
    CURRENT_SOURCE = "a battery by a current source"
    """A row of one emf and one resistance, for a current source beside that resistance (E. L.
    Norton, 1926); the resistance carries another current then."""
    CURRENTS = "current sources side by side"
    """Current sources between the same two places, for their sum, each with its sign."""
    BATTERY = "a current source by a battery"
    """A current source and a resistance beside it, for an emf in a row with that resistance."""
    ALIKE = "equal cells side by side"
    """Rows of one emf and one resistance, all with the same values, for one such row."""
    IDLE = "without current"
    """What hangs on the rest by one place, or is shorted, is left out."""
    LEVEL = "between equal potentials"
    """Resistances whose two ends are at one potential are left out."""
    ACROSS = "straight across a battery"
    """A row of one resistance, and perhaps an emf, side by side with an emf that has no resistance:
    its current depends on nothing else, and it is left out."""
    WIRE = "a wire"
    """A resistance of zero is a wire."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBetween:
    """Begin a network: the resistances of the circuit seen from two points, emfs being wires."""

    one: str
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFrom:
    """Begin a network: the resistances of the circuit seen from the two ends of a gap.

    Emfs are wires; current sources are taken out, and so is the part from which it is seen.
    """

    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAtAll:
    """Begin a network: all resistances and all emfs of the circuit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replace:
    """Put parts of a network in the place of others, which changes nothing outside of them.

    One resistance is made for SERIES and PARALLEL; three for DELTA, in the order of those taken;
    for STAR one for each pair of those taken, first with second, first with third, …; for EMFS one
    emf along the first one taken; for ALIKE an emf along the first one taken, then a resistance;
    for CURRENT_SOURCE, CURRENTS and BATTERY one source along the first one taken; for the others
    nothing. The names of those made have been defined just so.
    """

    exchange: Exchange
    taken: tuple[Symbol, ...]
    """Symbols of resistances, emfs and source currents; for CURRENT_SOURCE and BATTERY the source,
    then the resistance, which stays."""
    made: tuple[Symbol, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Law: what the potentials of the points are, if those of the two ends are given.

    The ends are the points from which a network is seen, or those of the row with its only emf. At
    every other point the junction rule holds with these potentials, so that they are the right ones
    but for a scale.
    """

    levels: tuple[tuple[str, Term], ...]
    """For one point of every place where more than two arms meet: its potential, a pure number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Join points which, by the `Levels` before it, are at one potential: no current changes."""

    points: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBack:
    """Law: the current in an arm that an exchange took, by those in the arms that it made.

    A resistance and its branch have one current; so have all arms of a row. The current of an arm
    that has no name yet gets one here.
    """

    replaced: StepId
    """The `Replace` step."""
    arm: Symbol
    conclusion: Equation
    """``I2 = V23/R2``; ``I5 = −I1``; ``I6 = 0``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agree:
    """Check: two ways have led to the same."""

    one: StepId
    """``symbol = term``."""
    other: StepId
    """``symbol = term`` with the same symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftBetween:
    """Law: what is left between two points, or across an emf, is what is seen there."""

    conclusion: Equation
    """``R(A,B) = R12``, ``R(E1) = R12`` seen by an emf, or ``R(C1) = R12`` seen from a gap; 0 where
    only wire is left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BySource:
    """Law: the resistance between two points is the voltage that a test source needs there.

    The circuit with the test source is another circuit, ``Circuit.tested``; its answer over the
    current of the source is the resistance.
    """

    question: AskResistance
    derivation: Derivation
    """Of that circuit."""
    conclusion: Equation
    """``R(A,B) = …`` in letters of the circuit, or in numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InitialVoltage:
    """Law: the voltage of a capacitor at the start, by what the author says of it.

    Counted as `AcrossRule` counts it. The name must not have been used before.
    """

    capacitor: str
    conclusion: Equation
    """``V_0 = 2 V``."""


class CourseOf(Enum):
    """What a `Course` tells of a capacitor."""

    VOLTAGE = "voltage"
    """How much higher the potential is where its walk comes in, named ``v(C1)``."""
    CURRENT = "current"
    """Along its walk, named ``i(C1)``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Law: how a quantity of the only capacitor changes with time.

    With V = ``V(C1)`` long after, R = ``R(C1)`` seen from the capacitor and V_0 at the start, the
    voltage solves R·C·dv/dt + v = V with v = V_0 at t = 0, and the current is C·dv/dt.
    """

    capacitor: str
    kind: CourseOf
    time: Symbol
    """``t``; it must have no other meaning."""
    initial: StepId
    """The `InitialVoltage` step."""
    rewriting: tuple[StepId, ...] = ()
    """Equations ``symbol = term`` that have been put in, beside what names stand for."""
    conclusion: Equation
    """``v(C1) = V_∞ + (V_0 − V_∞)·e^(−t/tau)`` or the like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundedCourse:
    """Round the numbers of a course: what it comes to in the end, its change, its time."""

    course: StepId
    """A `Course` step in numbers."""
    figures: int
    """Significant figures that each number keeps."""
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseAt:
    """Round the value that a course has after a whole number of time constants."""

    course: StepId
    """A `Course` step in numbers."""
    time_constants: int
    rounded: Fraction
    """In SI base units."""
    unit_exponent: int
    """Power of ten of the SI prefix shown."""
    decimals: int
    """Digits after the decimal marker, in the prefixed unit."""
    exact: bool
    """True when nothing was lost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Define:
    """Give a sub-expression a name. The name must not have been used before."""

    symbol: Symbol
    conclusion: Equation
    """``symbol = term``, in symbols that are already known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scaled:
    """A premise and what it is multiplied by."""

    multiplier: Term
    premise: StepId


@dataclass(frozen=True, slots=True, kw_only=True)
class Collect:
    """Tidy one equation: collect its terms, move them, perhaps multiply or divide throughout."""

    premise: StepId
    factor: Term = ONE
    """What the whole equation was multiplied by."""
    rewriting: tuple[StepId, ...] = ()
    """Ties, and definitions whose names come into use here."""
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitute:
    """Put known expressions for some symbols into an equation."""

    premise: StepId
    definitions: tuple[StepId, ...]
    """Equations ``symbol = term``; no right side may hold a symbol that is replaced, except
    through an earlier one of the tuple."""
    factor: Term = ONE
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Combine:
    """Multiply equations and add them."""

    parts: tuple[Scaled, ...]
    eliminated: tuple[Symbol, ...]
    """Unknowns that the premises hold and the conclusion does not."""
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolate:
    """Solve an equation for one symbol."""

    premise: StepId
    symbol: Symbol
    factor: Term
    """What the equation was multiplied by: one over the symbol's coefficient."""
    definitions: tuple[StepId, ...] = ()
    """Expressions put in on the same line, as in `Substitute`."""
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation
    """``symbol = term`` without the symbol on the right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackSubstitute:
    """Put what has been found into an earlier expression for another unknown."""

    premise: StepId
    """An equation ``symbol = term``."""
    definitions: tuple[StepId, ...]
    rewriting: tuple[StepId, ...] = ()
    conclusion: Equation
    """``symbol = term`` with the same symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PutInValues:
    """Replace letters by their given values, with units."""

    premise: StepId
    values: tuple[StepId, ...]
    """Equations ``symbol = value``."""
    factor: Term = ONE
    conclusion: Equation


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Round an exact value once."""

    premise: StepId
    """``symbol = exact value``."""
    symbol: Symbol
    rounded: Fraction
    """In SI base units."""
    unit_exponent: int
    """Power of ten of the SI prefix shown: -3 for mA."""
    decimals: int
    """Digits after the decimal marker, in the prefixed unit."""
    exact: bool
    """True when nothing was lost, so that = may stand instead of ≈."""
    unit: Unit = Unit.SI
    """What the prefix stands before; never one of time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerBalance:
    """Check: power delivered by the batteries equals power taken in."""

    delivered: tuple[StepId, ...]
    """Steps ``Pd(E) = value`` of the batteries that deliver."""
    taken: tuple[StepId, ...]
    """Steps ``P = value`` of the resistances, and ``Pd(E) = value < 0`` of charged batteries."""
    totals: tuple[StepId, ...] = ()
    """The `Define` steps that name the two sums, delivered and taken, if the sums have names."""
    conclusion: Equation
    """``delivered total = taken total``, both values."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPart:
    """Law: which part of the balance of power falls to one of its powers."""

    power: StepId
    """A step that the balance counts: ``P(R1) = value``."""
    balance: StepId
    """The `PowerBalance` step; its total is not zero."""
    conclusion: Equation
    """``share(R1) = value/total``, without the sign of a battery that takes in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclude:
    """Answer a question of the file by a conclusion reached before."""

    question: Question
    symbol: Symbol
    formula: StepId | None
    """``symbol = formula in letters``; None on the route that puts numbers first."""
    value: StepId | None
    """``symbol = exact value`` (or with the letters that have no value); None when all are
    letters and the formula says everything."""
    rounded: StepId | None
    """A `Round` step."""
    also: StepId | None = None
    """A `Round` step of the same value in a unit of the trade."""


class Toward(Enum):
    """Where a resistance goes."""

    ZERO = "zero"
    INFINITY = "infinity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a formula tends to as one resistance goes to zero or grows without bound.

    All letters are positive, and the others stay as they are. It holds in the limit only, so it is
    no equation that a later step may cite.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    letter: Symbol
    """A resistance to which nothing is tied."""
    to: Toward
    limit: Term | None
    """In the other letters; None where the formula grows in size without bound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecialCase:
    """What a formula becomes when some letters have values made of others.

    It holds under the assumptions only, so it is no equation that a later step may cite.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    assumptions: tuple[Equation, ...]
    """``letter = term`` in letters for which nothing is assumed, ``E2 = E1``, or a product that
    ends with such a letter: ``R1 R4 = R2 R3``."""
    result: Term


class Response(Enum):
    """How a formula follows one of its letters."""

    RISES = "increases"
    FALLS = "decreases"
    WEAKENS = "gets smaller in size"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """How a formula follows one letter while all letters are positive.

    Its derivative is `rate` (RISES), −`rate` (FALLS), or −`rate` times the formula (WEAKENS), and
    `rate` is a fraction whose terms have plus signs only.
    """

    premise: StepId
    """``symbol = formula`` in letters."""
    letter: Symbol
    """A letter to which nothing is tied."""
    response: Response
    rate: Term


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensions:
    """Check: all terms above the line of a formula are of one dimension, and all below of one."""

    premise: StepId
    """``symbol = fraction``, perhaps with a name for what stands below the line."""
    above: Dimension
    below: Dimension


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """The least or the greatest value that an answer can have within the tolerances."""

    value: Fraction
    """Exact, in SI base units."""
    at: tuple[tuple[Symbol, Fraction], ...]
    """Values of the quantities with a tolerance at which it is met; empty for the zero of a square
    whose root changes its sign, which is met somewhere between."""
    shown: Fraction
    """Rounded outwards, so that what is printed holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Bound an answer: what it is at least and at most, wherever the values lie in tolerance."""

    answer: StepId
    """The `Conclude` step of the answer."""
    symbol: Symbol
    low: End
    high: End
    unit_exponent: int
    """Power of ten of the SI prefix in which the ends are shown."""
    decimals: int
    """Digits after the decimal marker there."""


class Unbounded(Enum):
    """Why no range is stated for an answer."""

    MANY = "too many values have a tolerance"
    BENDS = "it may turn round between the ends of the values"
    TERMINALS = "it is a product of a voltage and a current that change together"
    OPEN = "the currents are not fixed all over the tolerances"
    DEPENDENT = "a source depends on what flows"
    BETWEEN = "it is a resistance between two points"
    CHARGES = "capacitors share their charges"
    RATIO = "it is a quotient of two quantities that change together"
    LOADING = "it compares the circuit with another one"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoRange:
    """Say that the range of an answer is not worked out, and why."""

    answer: StepId
    symbol: Symbol
    reason: Unbounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What one quantity with a tolerance contributes, to first order."""

    letter: Symbol
    value: Fraction
    """∂q/∂x · x · p at the nominal values, in the unit of the answer: positive where the answer
    grows with the quantity."""
    shown: Fraction
    """Rounded to the nearest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Say how much each quantity with a tolerance contributes to that of an answer."""

    answer: StepId
    symbol: Symbol
    shares: tuple[Share, ...]
    """One for each quantity with a tolerance, in file order."""
    total: Fraction
    """The sum of their sizes."""
    total_shown: Fraction
    """Rounded to the nearest."""
    down: Fraction | None
    """From the nominal value to the exact least one, rounded away from zero; None without range."""
    up: Fraction | None
    """From the nominal value to the exact greatest one, rounded away from zero."""
    unit_exponent: int
    decimals: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PreferredValue:
    """Law: the value of a series that is nearest to the value of a part, by the smaller ratio."""

    series: Series
    premise: StepId
    """``R3 = 4250 Ω``"""
    below: Fraction
    """The greatest value of the series that is not above; the value itself where it is one."""
    above: Fraction
    off_below: Fraction
    """By how much of the value it differs, rounded to as many digits of a per cent as the values
    of the series have: -0.082."""
    off_above: Fraction
    conclusion: Equation
    """``Rn(R3,E24) = 4300 Ω``; ``Cn(C1,E6) = 0.0001 F``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """Law: the resistance of a lamp that takes its rated power at its rated voltage."""

    part: str
    conclusion: Equation
    """``L1 = (6 V)²/(3 W)``"""


class Load(Enum):
    """How much a part takes of what it is made for."""

    BELOW = "less than its rating"
    AT = "just its rating"
    OVER = "more than its rating"


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainstRating:
    """Compare the power that a part takes with its rated power."""

    part: str
    power: StepId
    """``P(L1) = value``"""
    rating: Fraction
    """W."""
    load: Load


AlgebraStep = Collect | Substitute | Combine | Isolate | BackSubstitute | PutInValues
LawStep = (
    GivenValue
    | SameCurrent
    | KnownCurrent
    | JunctionRule
    | LoopRule
    | Change
    | PathRule
    | PotentialRule
    | AcrossRule
    | ChargeRule
    | PartRule
    | IdealReading
    | LoadingError
    | Lasts
    | OverTime
    | Efficiency
    | PreferredValue
    | Largest
    | LeftBetween
    | BySource
    | PutBack
    | InitialVoltage
    | Rated
)
EquationStep = LawStep | AlgebraStep | Define | PowerBalance | PowerPart | Course
SenseStep = Limit | SpecialCase | Trend | Dimensions
"""What a formula tells; nothing that later steps may cite."""
Silent = (
    ChooseUnknowns | LookBetween | LookFrom | LookAtAll | Replace | Levels | Join | Agree | Round
    | RoundedCourse | CourseAt | Conclude | Range | NoRange | Shares | SenseStep | AgainstRating
)  # fmt: skip
"""Steps that conclude no equation."""
Step = Silent | EquationStep


@dataclass(frozen=True, slots=True)
class Certificate:
    """Why an algebraic step holds; see the head of this module."""

    combination: tuple[Scaled, ...]
    rewriting: tuple[StepId, ...]


def certificate(step: AlgebraStep) -> Certificate:
    """Return the certificate a step carries."""
    match step:
        case Combine(parts=parts):
            return Certificate(parts, step.rewriting)
        case Collect():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.rewriting)
        case Substitute() | Isolate():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.definitions + step.rewriting)
        case BackSubstitute():
            part = Scaled(multiplier=ONE, premise=step.premise)
            return Certificate((part,), step.definitions + step.rewriting)
        case PutInValues():
            part = Scaled(multiplier=step.factor, premise=step.premise)
            return Certificate((part,), step.values)


class Goal(Enum):
    """What a run of steps is for. Readers see these as headings and as sentences between lines."""

    COUNT = "count the unknowns"
    GIVEN = "state what is given"
    KNOWN = "tell the currents that need no equation"
    JUNCTIONS = "write the junction rule"
    LOOPS = "write the loop rule"
    CONTROLS = "write the voltages on which sources depend"
    CONDITIONS = "write the voltages that are given"
    VOLTAGES_SOUGHT = "put one unknown for the product of two"
    SOLVE_JUNCTIONS = "express some currents by the others"
    COLLECT = "put these into the loop equations and collect"
    NAME = "name the sums that come back"
    ELIMINATE = "remove one unknown"
    IN_TURN = "find the unknowns one after another"
    GO_BACK = "find the unknowns, the last one first"
    REST = "find the currents that the junction rule gives"
    SOUGHT = "find the sought resistances"
    FRACTIONS = "write each current as one fraction"
    VALUES = "put the numbers in"
    WALKS = "tell the currents of walks that lie in one branch"
    CURRENTS = "conclude the currents"
    CHARGES = "find the charges of capacitors that share them"
    FURTHER = "answer a further question"
    TELLS = "say what the formulas tell"
    POTENTIALS = "find the potential of every point"
    OTHER_PATH = "walk to a point by another path"
    LOADING = "tell what a meter changes by its resistance"
    RESISTANCE = "find the resistance between two points"
    TRANSIENT_ENDS = "tell the voltage of a capacitor at the start and long after"
    TRANSIENT_SEEN = "find the resistance that a capacitor sees"
    TRANSIENT = "tell how a capacitor is charged or discharged"
    REDUCTION = "reduce the circuit step by step"
    WAY_BACK = "find the currents by going back through the steps"
    JUNCTIONS_LAST = "find the currents that only the junction rule gives"
    NESTED = "write each current in the letters of the circuit"
    LETTERS_LEFT = "put in what is known and keep the other letters"
    AGREE = "compare two ways"
    PREFERRED = "find the preferred value next to a value"
    TOLERANCES = "bound the answers by the tolerances"
    CHECK_LOOP = "walk a loop that was not used"
    POWER = "balance the power"
    SHARES = "tell what part of the power falls to each part"
    LAMPS = "find the resistances of rated lamps"
    RATINGS = "compare the powers with the ratings"


@dataclass(frozen=True, slots=True)
class Stage:
    """A run of steps with one goal."""

    goal: Goal
    first: StepId
    stop: StepId
    """One more than the last step."""

    @property
    def ids(self) -> range:
        """The steps of the stage."""
        return range(self.first, self.stop)


@dataclass(frozen=True, slots=True)
class Derivation:
    """A chain of steps that answers the questions of a circuit. A step cites earlier ones only."""

    steps: tuple[Step, ...]
    stages: tuple[Stage, ...] = ()
    """How the steps fall into stages, for writers; no proof depends on it."""

    def equation(self, step: StepId) -> Equation:
        """Return the conclusion of a step. Raises ValueError for a step that has none."""
        found = self.steps[step]
        if isinstance(found, Silent):
            raise ValueError(f"step {step} concludes no equation")
        return found.conclusion
