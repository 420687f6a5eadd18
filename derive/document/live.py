"""Recipes for the numbers of a document, so that they can follow other values of its circuit.

What has a recipe is true of every choice of the values. What depends on the values and has none is
true of those in the file only, and is listed as such.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from derive.algebra.dimension import NUMBER
from derive.algebra.term import ZERO, Symbol, Term
from derive.analysis.hazards import DANGEROUS, HOT, LARGE, STORED
from derive.analysis.reduction import judge, may_change
from derive.circuit.elements import Battery
from derive.circuit.figures import answer_figures
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskTerminalVoltage
from derive.derivation.exchanges import Exchange, Join, Levels, Replace
from derive.derivation.further import PowerBalance
from derive.derivation.step import Conclude, Derivation, Round, Silent
from derive.document import power_told
from derive.document import wording as w
from derive.document.graphs import walk_of_check
from derive.document.live_sides import (
    ChainRecipe,
    InputRecipe,
    ZeroRecipe,
    in_letters,
    recipe_of,
)
from derive.document.live_told import Told, changes, told
from derive.document.live_values import Live, has_quantities, live_values, may_be_typed, value_of
from derive.document.model import (
    AnswerLine,
    Block,
    Box,
    BoxKind,
    Caution,
    Chain,
    Display,
    Document,
    Figure,
    Inline,
    Math,
    Paragraph,
    Relation,
    Section,
    SideBySide,
    SignedTerm,
    Strong,
    Table,
    Text,
    Values,
)
from derive.document.phrase import paragraph
from derive.document.telling import Telling
from derive.drawing.graph_description import potential_short
from derive.drawing.straight_walk import PotentialWalk
from derive.typesetting.style import Decimal, Expression


@dataclass(frozen=True, slots=True)
class BalanceRecipe:
    """The sum of the powers of one side of the balance; which batteries it holds may change."""

    delivered: bool


@dataclass(frozen=True, slots=True)
class ChangesRecipe:
    """A table of changes of potential, rounded."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class PowersRecipe:
    """The table of powers."""


@dataclass(frozen=True, slots=True)
class PowerWordsRecipe:
    """The words before that table and its bars, which are left out where nothing has power."""


@dataclass(frozen=True, slots=True)
class MeaningRecipe:
    """The sentences about signs."""


@dataclass(frozen=True, slots=True)
class CautionRecipe:
    """The warning of harm; it may also come and go."""


@dataclass(frozen=True, slots=True)
class RemarkRecipe:
    """The words after the answers."""


@dataclass(frozen=True, slots=True)
class TerminalRecipe:
    """Why the voltage at the terminals of a battery is not its emf."""

    emf: Symbol
    inner: Symbol
    current: Symbol | None
    """None where no current can flow."""
    along: bool
    """Whether that current leaves the + terminal where it is positive."""


@dataclass(frozen=True, slots=True)
class PotentialRecipe:
    """The graph of the potential; its label at each leg is the change there, in letters."""

    walk: PotentialWalk


@dataclass(frozen=True, slots=True)
class PowerBarsRecipe:
    """The bars of power, with a piece for each part that has power."""

    parts: tuple[Symbol, ...]
    """The letters of all parts that may have power, in the order of their table."""


Recipe = (
    ChainRecipe | ZeroRecipe | InputRecipe | BalanceRecipe | ChangesRecipe | PowersRecipe
    | PowerWordsRecipe | MeaningRecipe | CautionRecipe | RemarkRecipe | TerminalRecipe
    | PotentialRecipe | PowerBarsRecipe
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LiveDocument:
    """How the numbers of a document follow the values of its circuit."""

    live: Live
    told: Told
    figures: int
    """Significant figures of a rounded number."""
    recipes: Mapping[Hashable, Recipe | None]
    """By chains, blocks and sections; None on what is true of the values of the file only."""
    needs_caution: bool
    """Whether other values may call for a caution, and the document has none now."""
    hot: Fraction
    """W from which the heat of a part calls for a caution."""
    high: Fraction
    """V from which a voltage does."""
    stored: Fraction
    """J from which the energy of a capacitor does."""
    large: Fraction
    """A from which the current of a short circuit does."""


def follow(document: Document, circuit: Circuit, derivation: Derivation) -> LiveDocument | None:
    """Return how the numbers follow the values; None where some answer has no formula."""
    live = live_values(circuit, derivation)
    if live is None:
        return None
    still = {branch.current for branch in circuit.idle}
    walks = tuple(
        s.symbol
        for s in derivation.steps
        if isinstance(s, Conclude) and isinstance(s.question, AskCurrents) and s.symbol not in still
    )
    speaks_of = told(circuit, derivation, walks, live.file)
    unit, terminals = document.style.ohm_exponent, dict(_terminals(circuit, derivation))
    work = _Work(circuit, derivation, live, speaks_of, unit, {}, terminals)
    for section in document.sections:
        work.section(section)
    cautions = any(isinstance(thing, Caution) for thing in work.recipes)
    return LiveDocument(
        live,
        speaks_of,
        _figures(circuit, derivation),
        work.recipes,
        circuit.asks_for_currents and not cautions,
        HOT,
        DANGEROUS,
        STORED,
        LARGE,
    )


def _figures(circuit: Circuit, derivation: Derivation) -> int:
    """Return how many figures the roundings have; small ones tell it, long whole numbers do not."""
    for step in derivation.steps:
        if isinstance(step, Round) and step.decimals and step.rounded:
            value = value_of(derivation.equation(step.premise).right, {})
            assert value is not None
            size, magnitude = abs(value) / Fraction(10) ** step.unit_exponent, 0
            while size >= 10 ** (magnitude + 1):
                magnitude += 1
            while size < Fraction(10) ** magnitude:
                magnitude -= 1
            return step.decimals + 1 + magnitude
    return answer_figures(circuit)


@dataclass(frozen=True, slots=True)
class _Work:
    circuit: Circuit
    derivation: Derivation
    live: Live
    told: Told
    unit: int
    recipes: dict[Hashable, Recipe | None]
    terminals: Mapping[Block, TerminalRecipe]
    """Of the sentences about the voltages at the terminals of batteries."""

    def section(self, section: Section) -> None:
        title = "".join(part.text for part in section.title if isinstance(part, Text))
        reduced = [w.HEADINGS[key] for key in ("reduce", "reduction", "back", "resistance")]
        other_ways = title in reduced and _rests_on_numbers(self.circuit, self.derivation)
        if other_ways or title in (w.HEADINGS["preferred"], w.HEADINGS["tolerance"]):
            self.recipes[section] = None
        elif title == w.HEADINGS["reduce"] and may_change(_without_values(self.circuit)):
            self.recipes[section.blocks[0]] = None  # the verdict
        for block in section.blocks:
            self.block(block, title)

    def block(self, block: Block, title: str) -> None:
        match block:
            case Paragraph():
                if title == w.HEADINGS["meaning"]:
                    self.recipes[block] = MeaningRecipe()
                elif block == paragraph(w.POWER_TABLE_AND_BARS):
                    self.recipes[block] = PowerWordsRecipe()
                elif block in self.terminals:
                    self.recipes[block] = self.terminals[block]
                elif any(map(_depends, _contents(block.inlines))):
                    self.recipes[block] = None
            case Display(rows) if title == w.HEADINGS["tells"]:
                for row in rows:  # said in letters, under a condition of their own
                    if any(map(_depends, row.chain.sides)):
                        self.recipes[row.chain] = None
            case Display(rows):
                earlier: list[Term] = []
                for row in rows:
                    self.chain(row.chain, earlier)
                    earlier += [s for s in row.chain.sides if not isinstance(s, Decimal)]
            case Values(chains):
                for chain in chains:
                    self.given(chain)
            case AnswerLine(chains, _):
                for chain in chains:
                    self.chain(chain, [])
                if title == w.ANSWERS:
                    self.recipes[block] = RemarkRecipe()
            case Table():
                self.table(block)
            case Figure():
                if title == w.HEADINGS["check"]:
                    self.recipes[block] = self.graph(block)
            case SideBySide(left, right, _):
                for inner in (*left, *right):
                    self.block(inner, title)
            case Box(kind, _, blocks):
                answers = [b for b in blocks if not _holds_ranges(b)]
                for inner in blocks:
                    last = kind is BoxKind.ANSWERS and inner is answers[-1]
                    self.block(inner, w.ANSWERS if last else title)
            case Caution():
                self.recipes[block] = CautionRecipe()

    def given(self, chain: Chain) -> None:
        symbol = chain.sides[0]
        if any(v.symbol == symbol for v in self.live.inputs):
            assert isinstance(symbol, Symbol)
            self.recipes[chain] = InputRecipe(symbol)
        else:
            self.chain(chain, [])

    def graph(self, figure: Figure) -> Recipe:
        walk = walk_of_check(Telling(self.circuit, self.derivation))
        if walk is not None and figure.short == potential_short(walk):
            return PotentialRecipe(walk)
        return PowerBarsRecipe(tuple(part.letter for part in self.told.parts))

    def table(self, table: Table) -> None:
        cells = [part for row in table.rows for cell in row for part in _contents(cell)]
        if table.summary == w.POWER_SUMMARY:
            self.recipes[table] = PowersRecipe()
        elif any(map(_depends, cells)):
            signed = [
                item.term
                for row in table.rows
                for cell in row
                for item in cell
                if isinstance(item, SignedTerm)
            ]
            terms = changes(self.derivation)
            self.recipes[table] = ChangesRecipe(terms) if tuple(signed) == terms else None

    def chain(self, chain: Chain, earlier: list[Term]) -> None:
        if chain in self.recipes:
            return
        if Relation.AT_MOST in chain.relations:
            self.recipes[chain] = None
            return
        if all(map(in_letters, chain.sides)):
            if not self._holds(chain):
                self.recipes[chain] = None
            return
        if not any(map(_depends, chain.sides)):
            return
        first = chain.sides[0]
        for step in self.derivation.steps:
            if isinstance(step, PowerBalance) and step.totals:
                sides = [self.derivation.equation(k).left for k in step.totals]
                if first in sides:
                    self.recipes[chain] = BalanceRecipe(first == sides[0])
                    return
        if isinstance(first, Symbol) and self.live.everywhere(first, ZERO):
            return  # zero, whatever the values are
        others = [*filter(in_letters, reversed(earlier)), *self._equal_to(first)]
        self.recipes[chain] = recipe_of(chain, self.live, others, self.unit)

    def _holds(self, chain: Chain) -> bool:
        """Tell whether a chain in letters is true of all values, as far as it can be tried."""
        sides = [side for side in chain.sides if not isinstance(side, Decimal)]
        if any(r is not Relation.EQUAL for r in chain.relations):
            return True  # a condition, not a result
        if any(value_of(side, self.live.file) is None for side in sides):
            return True
        return all(self.live.everywhere(sides[0], side) for side in sides)

    def _equal_to(self, side: Expression) -> Iterator[Term]:
        """Yield the terms in letters that the derivation gives for a symbol."""
        for step in self.derivation.steps:
            if isinstance(step, Silent) or step.conclusion.left != side:
                continue
            if in_letters(step.conclusion.right):
                yield step.conclusion.right


def _terminals(circuit: Circuit, derivation: Derivation) -> Iterator[tuple[Block, TerminalRecipe]]:
    """Yield the sentences about the voltages at the terminals of batteries."""
    telling = Telling(circuit, derivation)
    for step in telling.conclusions():
        if not isinstance(step.question, AskTerminalVoltage):
            continue
        index, position = circuit.find_branch(step.question.battery)
        branch = circuit.all_branches[index]
        passage, flows = branch.passages[position], index < len(circuit.branches)
        for block in power_told.terminal_voltage(telling, step, step.question.battery):
            battery = passage.element
            assert isinstance(battery, Battery)
            assert battery.resistance is not None
            current = branch.current if flows else None
            yield block, TerminalRecipe(battery.emf, battery.resistance, current, passage.along)


def _contents(content: tuple[Inline, ...]) -> Iterator[Expression]:
    """Yield the sides of all mathematics in a run of text."""
    for item in content:
        if isinstance(item, Strong):
            yield from _contents(item.inlines)
        elif isinstance(item, Math) and isinstance(item.content, Chain):
            yield from item.content.sides
        elif isinstance(item, Math) and isinstance(item.content, Expression):
            yield item.content
        elif isinstance(item, SignedTerm):
            yield item.term


def _holds_ranges(block: Block) -> bool:
    """Tell whether these are the ranges of answers, which do not follow other values."""
    return isinstance(block, AnswerLine) and any(
        Relation.AT_MOST in chain.relations for chain in block.chains
    )


def _depends(side: Expression) -> bool:
    if isinstance(side, Decimal):
        return side.dimension != NUMBER  # the per cent of a tolerance stay what they are
    return has_quantities(side)


def _rests_on_numbers(circuit: Circuit, derivation: Derivation) -> bool:
    """Tell whether the way of a reduction may be another one for other values."""
    for step in derivation.steps:
        alike = isinstance(step, Replace) and step.exchange is Exchange.ALIKE
        if alike or isinstance(step, Levels | Join):
            return True
    return judge(circuit) != judge(_without_values(circuit))


def _without_values(circuit: Circuit) -> Circuit:
    """Return the circuit with what a reader cannot change: ties, and resistances of zero."""
    kept = tuple(v for v in circuit.values if not may_be_typed(v))
    return replace(circuit, values=kept)
