"""What the general formulas tell: the few limits, special cases and trends worth a reader's time.

Everything is said of fractions of polynomials in free letters. What is tied to another quantity, or
has another one tied to it, does not move alone and is left out; so are formulas that are too long
to be read, and those whose divisor might vanish for positive letters (dependent sources). Where the
author gives a value that is not positive, nothing is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from derive.algebra.dimension import NUMBER
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Quotient,
    Symbol,
    SymbolKind,
    symbols,
)
from derive.algebra.term import replace as put_in
from derive.analysis.behaviour import (
    Fraction,
    Rate,
    balancing,
    lowest,
    rate,
    rate_term,
    sign,
    tends_to,
    term_of,
    unit_of_term,
    weakening,
)
from derive.analysis.expressions import DRIVING
from derive.analysis.solve import PRODUCTS_SHOWN, Currents
from derive.circuit.model import Branch, Circuit
from derive.circuit.valuation import Given, Tie
from derive.derivation.builder import Builder
from derive.derivation.sense import Dimensions, Limit, Response, SpecialCase, Toward, Trend
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId

_LONGEST = 20
"""Letters in a nested formula that is still written out; each may double what there is to write."""
_MOST_PAIRS = 64
"""Products above times products below in a formula whose trends with resistances are looked for."""
_MOST_TOLD = 3
"""Currents whose trends are told, and limits of currents."""
_VOLTAGES_TOLD = 1
"""Limits of voltages."""
_MOST_ALIKE = 2
"""Limits of currents at one end."""
_MOST_EQUAL = 2
"""Currents that are told for equal batteries."""
_MOST_ROWS = 5
"""Limits and currents for equal batteries together."""
_LONGEST_RESULT = 16
"""Letters and products in a limit or a special case that can be taken in at a glance."""


@dataclass(frozen=True, slots=True)
class _Form:
    """A formula as a fraction."""

    symbol: Symbol
    step: StepId
    fraction: Fraction
    branch: Branch | None
    """That whose current it is; None for a voltage."""

    @property
    def resistances(self) -> tuple[Symbol, ...]:
        """The resistances in which the current flows."""
        return () if self.branch is None else self.branch.resistances


def tell(circuit: Circuit, found: Currents, builder: Builder) -> None:
    """Add what the general formulas tell; nothing where there are none, or none that is short.

    Where a value is sought, a given current or voltage stays as it is whatever else changes: what
    goes for a circuit does not go for such formulas.
    """
    if circuit.sought:
        return
    work = _Tells(circuit, found, builder)
    work.dimensions()
    work.trends()
    work.own()
    work.limits()
    work.equal_batteries()
    work.balance()


class _Tells:
    def __init__(self, circuit: Circuit, found: Currents, builder: Builder) -> None:
        self._circuit = circuit
        self._found = found
        self._builder = builder
        self._names: dict[Poly, Symbol] = {}
        if found.closed is not None:
            self._names = {poly: symbol for symbol, poly in found.closed.names.items()}
        self._free = _free_letters(circuit, found)
        self._forms = tuple(self._read())
        self._rows = 0
        self._currents = tuple(form for form in self._forms if form.branch is not None)

    def _read(self) -> Iterator[_Form]:
        found, closed = self._found, self._found.closed
        if closed is not None and closed.products > PRODUCTS_SHOWN:
            return
        for valuation in self._circuit.values:
            symbol, value = valuation.symbol, valuation.value
            if not isinstance(value, Given) or symbol not in found.letters.images:
                continue
            if value.value <= 0 or symbol not in found.letters.ring:
                return  # no positive letter, or a number from the start
        for branch in self._circuit.branches:
            # What a current source sets tells nothing new.
            if branch.current in found.formulas and not branch.sources:
                yield from self._form(branch.current, found.formulas[branch.current], branch)
        for step in self._builder.steps:
            if not isinstance(step, Conclude) or step.formula is None:
                continue
            if step.symbol.kind is SymbolKind.VOLTAGE:
                yield from self._form(step.symbol, step.formula, None)

    def _form(self, symbol: Symbol, step: StepId, branch: Branch | None) -> Iterator[_Form]:
        """Yield a formula as a fraction in letters, unless it is too long or may be undefined."""
        equations = map(self._builder.equation, self._found.definitions)
        names = {e.left: e.right for e in equations if isinstance(e.left, Symbol)}
        shown = self._builder.equation(step).right
        term = put_in(shown, names)
        images, ring = self._found.letters.images, self._found.letters.ring
        held = list(symbols(term))
        if any(s not in images for s in held):
            return
        if self._found.closed is None and len(held) > _LONGEST:
            return
        wide = Ring(tuple(dict.fromkeys(held)))
        above, below = (part.compose(images, ring) for part in wide.fraction(term))
        fraction = lowest(above, below)
        if fraction is not None and fraction.above and len(fraction.below) <= PRODUCTS_SHOWN:
            yield _Form(symbol, step, fraction, branch)

    # --- units ---------------------------------------------------------------------------------

    def dimensions(self) -> None:
        """State the units above and below the line of every current."""
        for form in self._currents:
            shown = self._builder.equation(form.step).right
            body = shown.term if isinstance(shown, Negative) else shown
            if isinstance(body, Quotient):
                below = unit_of_term(body.denominator)
                above = form.symbol.dimension * below
                self._builder.add(Dimensions(premise=form.step, above=above, below=below))

    # --- trends --------------------------------------------------------------------------------

    def trends(self) -> None:
        """Tell how currents follow batteries, and the resistances of other branches."""
        told = [(form, tuple(self._rates(form))) for form in self._currents]
        most = sorted(told, key=lambda item: _clearness(item[1]))[:_MOST_TOLD]
        for form, rates in told:
            if (form, rates) in most:
                for letter, found in rates:
                    self._add(form, letter, found)

    def _rates(self, form: _Form) -> Iterator[tuple[Symbol, Rate]]:
        pairs = len(form.fraction.above) * len(form.fraction.below)
        for letter in self._free:
            near = letter.kind in DRIVING or pairs <= _MOST_PAIRS
            if near and letter not in form.resistances and form.fraction.depends_on(letter):
                found = rate(form.fraction, letter)
                if found is not None:
                    yield letter, found

    def _add(self, form: _Form, letter: Symbol, found: Rate) -> None:
        dimension = form.symbol.dimension / letter.dimension
        if found.response is Response.WEAKENS:
            dimension = NUMBER / letter.dimension
        term = rate_term(found, dimension, self._names)
        self._builder.add(
            Trend(premise=form.step, letter=letter, response=found.response, rate=term)
        )

    def own(self) -> None:
        """Tell that a current weakens with a resistance of its branch, down to nothing."""
        for form in self._currents:
            for letter in form.resistances:
                found = weakening(form.fraction, letter) if letter in self._free else None
                if found is not None:
                    self._add(form, letter, found)
                    self._limit(form, letter, Toward.INFINITY)

    # --- limits --------------------------------------------------------------------------------

    def limits(self) -> None:
        """Tell the limits that say most: what is left without a branch, or with a wire in it."""
        telling = sorted(self._telling(), key=lambda item: item[0])
        candidates = [
            (rank, size, form, letter, to)
            for rank, letter in telling
            for to in (Toward.INFINITY, Toward.ZERO)
            for form, size in self._best(letter, to)
        ]
        told: dict[tuple[Symbol, Toward], Symbol] = {}
        for _, _, form, letter, to in sorted(candidates, key=lambda item: item[:2]):
            voltage = form.branch is None
            alike = [s for s, end in told if (s.kind is SymbolKind.VOLTAGE) == voltage]
            ends = [end for s, end in told if s in alike]
            most = _VOLTAGES_TOLD if voltage else _MOST_TOLD
            if len(ends) < most and ends.count(to) < _MOST_ALIKE:
                # One battery without resistance is like another.
                told.setdefault((form.symbol, to), letter)
        for _, _, form, letter, to in candidates:
            if told.get((form.symbol, to)) == letter:
                self._rows += 1
                self._limit(form, letter, to)
        if not self._circuit.dependent:
            self._unbounded()

    def _unbounded(self) -> None:
        """Tell of one current that nothing limits when a resistance goes to zero."""
        for form in self._currents:
            for letter in form.resistances if sign(form.fraction.above) else ():
                free = letter in self._free
                if free and tends_to(form.fraction, letter, Toward.ZERO) is None:
                    self._limit(form, letter, Toward.ZERO)
                    return

    def _telling(self) -> Iterator[tuple[int, Symbol]]:
        """Yield one resistance of each branch with its rank; in a load it tells most.

        Loads come last in most files, and the last one first here.
        """
        driven = [b for b in self._circuit.branches if b.batteries or b.sources]
        loads = [b for b in reversed(self._circuit.branches) if b not in driven]
        for branch in (*loads, *driven):
            internal = {battery.resistance for battery in branch.batteries}
            free = [s for s in branch.resistances if s in self._free]
            outside = [s for s in free if s not in internal]
            if free:
                rank = int(branch in driven) + (len(branch.resistances) > 1)
                yield rank, (outside or free)[-1]

    def _best(self, letter: Symbol, to: Toward) -> Iterator[tuple[_Form, int]]:
        """Yield the shortest limit of a current, and of a voltage, that is not zero."""
        for forms in (self._currents, [form for form in self._forms if form.branch is None]):
            found = []
            for form in forms:
                limit = tends_to(form.fraction, letter, to)
                if form.fraction.depends_on(letter) and limit is not None and limit.above:
                    found.append((form, limit.size(self._names)))
            shortest = min(found, key=lambda item: item[1], default=None)
            if shortest is not None and shortest[1] <= _LONGEST_RESULT:
                yield shortest

    def _limit(self, form: _Form, letter: Symbol, to: Toward) -> None:
        limit = tends_to(form.fraction, letter, to)
        term = None if limit is None else term_of(limit, form.symbol.dimension, self._names)
        self._builder.add(Limit(premise=form.step, letter=letter, to=to, limit=term))

    # --- special cases -------------------------------------------------------------------------

    def equal_batteries(self) -> None:
        """Tell what currents become when all batteries have one emf."""
        emfs = [s for s in self._free if s.kind is SymbolKind.EMF]
        if len(emfs) < 2:
            return
        first, *others = emfs
        assumed = dict.fromkeys(others, first)
        found = []
        for form in self._currents:
            met = [s for s in others if form.fraction.depends_on(s)]
            if len(met) < len(others) or not form.fraction.depends_on(first):
                continue
            result = _with(form.fraction, assumed)
            own = form.fraction.size(self._names)
            if result is not None and result.size(self._names) < min(own, _LONGEST_RESULT):
                found.append((form, result))
        found.sort(key=lambda item: item[1].size(self._names))
        for form, result in found[: min(_MOST_EQUAL, _MOST_ROWS - self._rows)]:
            term = term_of(result, form.symbol.dimension, self._names)
            assumptions = tuple(Equation(letter, first) for letter in others)
            self._builder.add(SpecialCase(premise=form.step, assumptions=assumptions, result=term))

    def balance(self) -> None:
        """Tell for which resistances a bridge is balanced."""
        for form in self._forms:
            for factor, _ in form.fraction.above.factors()[1]:
                wanted = balancing(factor, self._free)
                if wanted is not None:
                    self._builder.add(
                        SpecialCase(premise=form.step, assumptions=(wanted,), result=ZERO)
                    )
                    return


def _clearness(rates: tuple[tuple[Symbol, Rate], ...]) -> tuple[bool, int]:
    """Rank what is told of a current: first what grows with every battery, then what tells much."""
    driving = [found.response for letter, found in rates if letter.kind in DRIVING]
    return Response.FALLS in driving or not driving, -len(rates)


def _with(fraction: Fraction, assumed: Mapping[Symbol, Symbol]) -> Fraction | None:
    """Return a fraction with some letters put for others."""
    ring = fraction.above.ring
    images = {letter: ring.symbol(other) for letter, other in assumed.items()}
    return lowest(fraction.above.compose(images, ring), fraction.below.compose(images, ring))


def _free_letters(circuit: Circuit, found: Currents) -> tuple[Symbol, ...]:
    """Return the letters that move alone, in their order: nothing is tied to them."""
    ties = (v.value.term for v in circuit.values if isinstance(v.value, Tie))
    tied = {symbol for term in ties for symbol in symbols(term)}
    return tuple(s for s in found.letters.ring.symbols if s not in tied)
