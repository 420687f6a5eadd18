"""The sentences of the verdict. Names stay symbols, so that they can be set as such."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from derive.algebra.name import natural_key
from derive.algebra.term import Parallel, Sum, Symbol, Term, symbols
from derive.analysis.reduction.network import Arm, Network, nodes_of
from derive.analysis.reduction.shapes import first_groups, is_flat, opposite_arms
from derive.analysis.reduction.verdict import (
    Criterion,
    Piece,
    PointLabel,
    Reduced,
    ReductionVerdict,
)
from derive.circuit.elements import Battery, CurrentSource, Element
from derive.circuit.model import Circuit

Pieces = tuple[Piece, ...]
Part = tuple[Sequence[Arm], ReductionVerdict]
"""What is solved alone, and the verdict on it."""


class Teller:
    """Tells the verdicts on one circuit; names come in natural order."""

    def __init__(self, circuit: Circuit) -> None:
        """Count the batteries and what stands with them."""
        self._circuit = circuit
        self._beside_batteries = frozenset(
            letter for b in circuit.branches if b.batteries for letter in b.resistances
        )
        """In parallel, these are equal cells, of which there is more to say."""
        self._batteries = sum(isinstance(element, Battery) for element in circuit.elements)

    def dead(self, parts: Network) -> Pieces:
        """Say which parts carry no current and why."""
        told: list[Piece] = []
        if not self._batteries:
            return ()
        for branches, one, more in (
            (parts.shorted, "has both its ends at one potential",
             "have both their ends at one potential"),
            (parts.one_way, "leads to points from which no other way comes back",
             "lead to points from which no other way comes back"),
            (parts.idle, "has no battery to drive a current", "have no battery to drive a current"),
        ):  # fmt: skip
            named = self._in_order(
                letter
                for k in branches
                for passage in self._circuit.branches[k].passages
                if (letter := _own_letter(passage.element)) is not None
            )
            if named:
                verb = one if len(named) == 1 else more
                told += [*_listed(named), f" {verb}: no current flows there. "]
        return tuple(told)

    def no_current(self) -> Pieces:
        """Say that no battery drives a current."""
        if self._batteries:
            return ("No battery lies on a closed way, so every current is zero.",)
        return ("There is no battery, so every current is zero.",)

    def dependent_sources(self) -> Pieces:
        """Say that sources which follow a current or a voltage stay."""
        found = self._circuit.dependent
        verb = " depends" if len(found) == 1 else " depend"
        rest = (
            f"{verb} on what flows elsewhere, which would be lost if parts were merged, so a "
            "source stays."
        )
        return (*_listed(found), rest)

    def current_sources(self) -> Pieces:
        """Say that current sources stay."""
        found = tuple(
            passage.element.source
            for branch in self._circuit.branches
            for passage in branch.sources
            if isinstance(passage.element, CurrentSource)
        )
        verb = " drives its current" if len(found) == 1 else " drive their currents"
        rest = (
            f"{verb} whatever the resistances are, so a source stays, however the rest is merged."
        )
        return (*_listed(found), rest)

    def one_branch(self, loop: Arm) -> Pieces:
        """Say how everything shrinks to one loop."""
        rule = ". " if len(loop.emfs) == 1 else ". More than one battery does no harm here. "
        return (*self._drives(loop), rule, *self._merging(loop))

    def _drives(self, arm: Arm) -> Pieces:
        batteries = self._batteries_of(arm)
        if len(batteries) > 1:
            whose = "both" if len(batteries) == 2 else "all of them"
            return (
                *_listed(batteries),
                f" are in series: the same current flows through {whose}, so they act as one "
                "battery whose emf is the sum of theirs, each with its sign",
            )
        only = self._batteries == 1
        return (*batteries, " is the only battery" if only else " alone drives the current here")

    def _merging(self, loop: Arm) -> Pieces:
        letters = self._letters(loop.resistance)
        if not letters:
            return ("There is no resistor to merge.",)
        if len(letters) == 1:
            return (
                *letters,
                " is the only resistor the current meets, so nothing is left to reduce.",
            )
        if is_flat(loop.resistance, Sum):
            return (*_listed(letters), " are in series and are added.")
        if is_flat(loop.resistance, Parallel):
            return (*_listed(letters), " are in parallel, and one resistor can stand for them.")
        return (
            *self._groups([loop]),
            "Step by step, series and parallel, all resistors become one.",
        )

    def _groups(self, arms: Sequence[Arm]) -> Pieces:
        """Say which resistors can be merged at once."""
        found = [
            (kind, self._in_order(letters))
            for arm in arms
            for kind, letters in first_groups(arm.resistance)
            if kind is Sum or not self._beside_batteries.issuperset(letters)
        ]
        told: list[Piece] = []
        for kind, letters in sorted(found, key=lambda group: _natural(group[1][0])):
            what = "carry the same current and may be added. "
            if kind is Parallel:
                what = "are in parallel, and one resistor can stand for them. "
            told += [*_listed(letters), f" {what}"]
        return tuple(told)

    def equal_cells(self, cells: Sequence[Sequence[Arm]]) -> Pieces:
        """Say which cells side by side act as one."""
        told: list[Piece] = []
        for group in cells:
            rows = [self._batteries_of(arm) for arm in group]
            batteries = [symbol for row in rows for symbol in row]
            part = {2: "half", 3: "a third of", 4: "a quarter of"}.get(
                len(group), f"1/{len(group)} of"
            )
            if any(len(row) > 1 for row in rows):
                told.append("The branches with ")
            told += [
                *_listed(batteries),
                " are alike, with the same emf and the same resistance, and side by side: they "
                f"share the current equally and act as one with that emf and {part} the "
                "resistance. ",
            ]
        return tuple(told)

    def after_equal_cells(self, verdict: ReductionVerdict) -> Pieces:
        """Say what is left when equal cells are taken as one."""
        if verdict.test is Criterion.ONE_BRANCH:
            return ("The rest is series and parallel.",)
        return verdict.pieces

    def balanced(self, arms: Sequence[Arm], idle: Sequence[Arm], loop: Arm) -> Pieces:
        """Say which arms of a bridge carry no current."""
        letters = self._in_order(x for arm in idle for x in self._letters(arm.resistance))
        told: list[Piece] = [*_listed(letters)]
        if len(idle) == 1:
            told += [", between ", *self._ends(idle[0]), ","]
        told.append(f" {'carries' if len(letters) == 1 else 'carry'} no current: ")
        pairs = opposite_arms(arms, idle)
        if pairs is None:
            ends = "its two ends" if len(letters) == 1 else "the two ends of each"
            told.append(f"the values of the other resistors keep {ends} at one potential. ")
        else:
            a, b, c, d = pairs
            told += [a, " times ", b, " equals ", c, " times ", d]
            told.append(", so its ends are at the same potential. ")
        told.append(f"{'It' if len(letters) == 1 else 'They'} can be left out. ")
        return (*told, *self._merging(loop))

    def equal_potentials(self, groups: Sequence[Sequence[int]], *, symmetric: bool) -> Pieces:
        """Say which points may be joined."""
        told: list[Piece] = []
        for group in groups:
            labels = [PointLabel(self._circuit.nodes[node].name) for node in group]
            told += ["; " if told else "The points ", *_listed(labels)]
        verb = "are at one potential" if len(groups) == 1 else "are at one potential each"
        return (
            *told,
            f" {verb}, by {'symmetry' if symmetric else 'the values of the resistors'}, and no "
            "current changes when they are joined. Then, step by step, series and parallel, all "
            "resistors become one.",
        )

    def bridge(self, arms: Sequence[Arm], *, searched: bool) -> Pieces:
        """Say why one battery is not enough."""
        source = next(arm for arm in arms if arm.emfs)
        told: list[Piece] = [
            *self._drives(source),
            ", but that is not enough. ",
            *self._groups(arms),
            *_stuck(arms),
            ": they form a bridge",
        ]
        across = [arm for arm in arms if not (arm.at(source.tail) or arm.at(source.head))]
        if len(arms) == 6 and len(nodes_of(arms)) == 4 and len(across) == 1:
            letters = self._letters(across[0].resistance)
            told += [" with ", *_listed(letters), " across it between ", *self._ends(across[0])]
        said = "it is not" if searched else "nothing says that it is"
        told.append(f", and {said} balanced. ")
        return (*told, "One would have to put a wye for a delta to go on.")

    def several(self, arms: Sequence[Arm], test: Criterion, *, bridge: bool) -> Pieces:
        """Say why batteries in several branches stand in the way, and what can be done."""
        sources = [arm for arm in arms if arm.emfs]
        batteries = self._in_order(symbol for arm in sources for symbol, _ in arm.emfs)
        told: list[Piece] = [
            *self._groups(arms),
            *_stuck(arms),
            ", because ",
            *_listed(batteries),
            f" stand between them in {_count(len(sources))} different branches",
        ]
        if test is Criterion.NODE_PAIR:
            after = any(len(arm.branches) > 1 for arm in arms)
            told += [
                f". {'After these steps every' if after else 'Every'} branch leads from ",
                *self._ends(arms[0], " to "),
                ", so those with a battery could be merged into one battery with one resistance "
                "(Millman's theorem); the currents inside them would then still have to be found. "
                "The rule of thumb holds here: several batteries, so not one resistor.",
            ]
        else:
            told.append(
                (", and the branches form a bridge besides. " if bridge else ". ")
                + "The rule of thumb holds here: several batteries, so not one resistor."
            )
        return tuple(told)

    def in_spite_of_the_rule(self) -> Pieces:
        """Say kindly that counting batteries does not decide."""
        if self._batteries < 2:
            return ()
        return (
            " The rule of thumb that several batteries do not reduce is a first guess only; what "
            "counts is where they lie.",
        )

    def ideal_battery(self, ideal: Arm, parts: Sequence[Part]) -> Pieces:
        """Say how an ideal battery decouples what lies beside it."""
        batteries = self._batteries_of(ideal)
        verbs = ("has", "lies") if len(batteries) == 1 else ("have", "lie")
        return (
            *_listed(batteries),
            f" {verbs[0]} no internal resistance and {verbs[1]} straight across ",
            *self._ends(ideal),
            ", so the voltage between these points is the same whatever else is connected there. "
            "What lies side by side can be solved alone, each part with that voltage. ",
            *self._parts(parts),
        )

    def separable(self, found: Network, parts: Sequence[Part]) -> Pieces:
        """Say where a circuit falls into parts that share no current."""
        where: Pieces = ("The circuit falls into parts that share no current",)
        if found.shared:
            labels = [PointLabel(self._circuit.nodes[node].name) for node in found.shared]
            noun = "point" if len(labels) == 1 else "points"
            where = (f"The parts of the circuit hang together only at the {noun} ",
                     *_listed(labels))  # fmt: skip
        return (*where, ": each is solved alone. ", *self._parts(parts))

    def _parts(self, parts: Sequence[Part]) -> Pieces:
        """Tell single loops in a few words, other parts in full."""
        loops: list[Piece] = []
        others: list[Piece] = []
        for arms, verdict in parts:
            if verdict.test is Criterion.ONE_BRANCH:
                loops.append("; " if loops else "That leaves ")
                loops += self._loop(verdict.reduced[0])
            else:
                letters = self._in_order(
                    letter for arm in arms for letter in self._letters(arm.resistance)
                )
                others += [" In the part with ", *_listed(letters), ": ", *verdict.pieces]
        if not loops:
            return ("In the part with ", *others[1:])
        single = sum(verdict.test is Criterion.ONE_BRANCH for _, verdict in parts) == 1
        what = "This is" if single else "Each of these is"
        loops.append(f". {what} one battery with one resistor, after series and parallel steps.")
        return (*loops, *others)

    def _loop(self, loop: Reduced) -> Pieces:
        batteries = self._in_order(symbol for symbol, _ in loop.emfs)
        series = ", in series," if len(batteries) > 1 else ""
        return (*_listed(batteries), f"{series} with ", *_listed(self._letters(loop.resistance)))

    def _batteries_of(self, arm: Arm) -> list[Symbol]:
        return self._in_order(symbol for symbol, _ in arm.emfs)

    def _letters(self, resistance: Term | None) -> list[Symbol]:
        return [] if resistance is None else self._in_order(symbols(resistance))

    def _in_order(self, letters: Iterable[Symbol]) -> list[Symbol]:
        return sorted(dict.fromkeys(letters), key=_natural)

    def _ends(self, arm: Arm, between: str = " and ") -> Pieces:
        names = [self._circuit.nodes[node].name for node in sorted((arm.tail, arm.head))]
        return (PointLabel(names[0]), between, PointLabel(names[1]))


def _natural(letter: Symbol) -> tuple[tuple[int, int, str], ...]:
    return natural_key(letter.name)


def _own_letter(element: Element) -> Symbol | None:
    return element.emf if isinstance(element, Battery) else element.resistance


def _stuck(arms: Sequence[Arm]) -> Pieces:
    merged = any(isinstance(arm.resistance, Sum | Parallel) for arm in arms)
    return ("Beyond that no" if merged else "No", " two resistors are in series or in parallel")


def _listed(names: Sequence[Piece]) -> Pieces:
    """Return names with commas and an ``and`` between them."""
    told: list[Piece] = []
    for k, name in enumerate(names):
        if k:
            told.append(" and " if k == len(names) - 1 else ", ")
        told.append(name)
    return tuple(told)


def _count(number: int) -> str:
    words = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return words[number - 2] if 2 <= number <= 10 else str(number)
