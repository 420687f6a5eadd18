"""The currents in letters, each as one fraction of polynomials.

Each chord current follows from the collected equations multiplied by the cofactors of its column
(Cramer 1750), one combination that a checker can verify without any division. The common
denominator Δ is the sum over spanning trees of the products of the resistances outside the tree
(Kirchhoff 1847); where parts of a circuit share no current, or values are tied, what cancels is
cancelled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from derive.algebra.dimension import AMPERE, NUMBER, VOLT, Dimension
from derive.algebra.name import unused_name
from derive.algebra.polynomial import Poly, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Quotient,
    Symbol,
    Term,
    auxiliary,
    product,
    quotient,
    symbols,
    total,
)
from derive.analysis.cofactors import MOST_WORK, adjugate, factored, multiplier_of
from derive.analysis.equations import Collected, held_by, in_order
from derive.analysis.expressions import by_battery
from derive.analysis.forms import Form
from derive.analysis.in_turn import InTurn
from derive.analysis.letters import Letters, letters_dimension, tied_to
from derive.analysis.plan import Singular
from derive.circuit.model import Circuit
from derive.circuit.solution import GeneralSolution
from derive.derivation.algebra import BackSubstitute, Combine, Define, Isolate, Scaled
from derive.derivation.builder import Builder
from derive.derivation.step_id import StepId

NAMED_FROM = 3
"""A denominator with at least this many products gets a name."""


@dataclass(frozen=True, slots=True)
class ClosedForm:
    """One current as a fraction of polynomials in the letters."""

    numerator: Poly
    denominator: Poly
    """All of its terms are positive when the resistances are independent."""
    unit: Dimension
    """Dimension of the denominator."""
    divisor: Poly
    """What was cancelled: the determinant over the denominator."""


@dataclass(frozen=True, slots=True)
class ClosedForms:
    """The closed forms of all branch currents and the steps that conclude them."""

    forms: Mapping[Symbol, ClosedForm]
    steps: Mapping[Symbol, StepId]
    """Current → step ``I = numerator/denominator``; of dependent sources and the sought too."""
    names: Mapping[Symbol, Poly]
    """The denominators that got a name."""
    definitions: Mapping[Symbol, StepId]
    """Their `Define` steps."""

    @property
    def products(self) -> int:
        """The number of products in the longest denominator."""
        return max((len(form.denominator) for form in self.forms.values()), default=0)


def derive_closed_forms(
    circuit: Circuit,
    letters: Letters,
    collected: Collected,
    builder: Builder,
    shares: GeneralSolution | None = None,
) -> ClosedForms:
    """Return each current as one fraction, its numerator grouped by battery.

    With `shares` the numerators are grouped by the loops of that solution where it gives the same
    fraction. Raises Singular.
    """
    work = _Forms(circuit, letters, collected, builder, shares)
    return work.write()


class _Forms:
    def __init__(
        self,
        circuit: Circuit,
        letters: Letters,
        collected: Collected,
        builder: Builder,
        shares: GeneralSolution | None,
    ) -> None:
        self._circuit = circuit
        self._letters = letters
        self._ring = letters.ring
        self._collected = collected
        self._builder = builder
        self._shares = shares
        self._size = len(collected.rows)
        self._cofactors = adjugate([row.coefficients for row in collected.rows], self._ring)
        self._rules: dict[Symbol, StepId] = {}
        self._taken = {symbol.name for symbol in (*letters.images, *circuit.symbols)}

    @property
    def _unit(self) -> Dimension:
        """The dimension of the determinant: all rows are voltages, some unknowns may be too."""
        found = NUMBER
        for symbol in self._collected.unknowns:
            found = found * (VOLT / symbol.dimension)
        return found

    @cached_property
    def _determinant(self) -> Poly:
        if not self._size:
            return self._ring.one  # current sources set every current
        value = self._ring.zero
        for row in range(self._size):
            first = self._collected.rows[row].coefficients[0]
            value = value + first * self._cofactors[0][row]
        if value.is_zero:
            raise Singular
        return value

    def write(self) -> ClosedForms:
        forms = self._fractions()
        names = self._names(forms)
        turns = InTurn(self._collected, self._ring, self._builder, tuple(self._rules.values()))
        steps = turns.find(lambda symbol: self._fraction(symbol, forms[symbol], names))
        for column, symbol in enumerate(self._collected.unknowns):
            if symbol not in steps:
                steps[symbol] = self._chord(column, symbol, forms[symbol], names)
        collected = self._collected
        known = {**collected.still}
        for symbol, step in in_order(self._builder, collected.others, collected.controls):
            own = held_by(self._builder, step, collected.controls)
            known |= steps
            used = [s for s in known if s in own]
            voltages = tuple(k for s, k in collected.controls.items() if s in own)
            if not used and not voltages:
                steps[symbol] = step  # a source that depends on nothing
                continue
            cited = [names.get(forms[s].denominator) for s in (symbol, *used) if s in forms]
            met = (m for k in (step, *voltages) for m in symbols(self._builder.equation(k).right))
            tied = tied_to(met, self._letters, self._builder)
            steps[symbol] = self._builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=(*voltages, *(known[s] for s in used)),
                    rewriting=(*dict.fromkeys(self._rules[s] for s in cited if s), *tied),
                    conclusion=Equation(symbol, self._fraction(symbol, forms[symbol], names)),
                )
            )
        # A given current whose letter stays is what it is.
        flows = (b.current for b in self._circuit.branches if b.current in steps)
        ordered = {symbol: steps[symbol] for symbol in flows}
        further = (*self._circuit.dependent, *self._collected.forms.sought)
        ordered |= {symbol: steps[symbol] for symbol in further}
        named = {symbol: poly for poly, symbol in names.items()}
        return ClosedForms(forms, ordered, named, self._rules)

    def _fractions(self) -> dict[Symbol, ClosedForm]:
        """Return the closed form of every current, the chords first."""
        above: dict[Symbol, Poly] = {}
        for column, symbol in enumerate(self._collected.unknowns):
            value = self._ring.zero
            for row, cofactor in enumerate(self._cofactors[column]):
                value = value + cofactor * self._collected.rows[row].right
            above[symbol] = value
        collected = self._collected
        for symbol in collected.others:
            form = self._form(symbol)
            value = self._determinant * form.rest if form.rest else self._ring.zero
            for s, part in form.parts.items():
                value = value + above[s] * part
            above[symbol] = value
        found = {symbol: self._lowest(value) for symbol, value in above.items()}
        for branch in collected.known:
            symbol = self._circuit.branches[branch].current
            form = self._form(symbol)
            if not form.parts:
                found[symbol] = ClosedForm(form.rest, self._ring.one, NUMBER, self._determinant)
        return found

    def _form(self, symbol: Symbol) -> Form:
        return self._collected.forms.of(symbol)

    def _lowest(self, numerator: Poly) -> ClosedForm:
        determinant = self._determinant
        content = determinant.content() * (1 if determinant.leading > 0 else -1)
        plain = determinant / content, self._ring.constant(content)
        unit = self._unit
        if not numerator or len(numerator) * len(determinant) > MOST_WORK:
            return ClosedForm(numerator / content, plain[0], unit, plain[1])
        above, below = cancel(numerator, determinant)
        divisor = determinant / below
        return ClosedForm(above, below, unit / letters_dimension(divisor), divisor)

    def _names(self, forms: Mapping[Symbol, ClosedForm]) -> dict[Poly, Symbol]:
        """Name the long denominators, in the order of the branches."""
        if self._size == 1:
            return {}
        long: dict[Poly, Dimension] = {}
        for branch in self._circuit.branches:
            form = forms.get(branch.current)
            if form is not None and len(form.denominator) >= NAMED_FROM:
                long.setdefault(form.denominator, form.unit)
        names: dict[Poly, Symbol] = {}
        for k, (poly, unit) in enumerate(long.items()):
            wish = "Delta" if len(long) == 1 else f"Delta_{k + 1}"
            symbol = auxiliary(unused_name(wish, self._taken), unit)
            names[poly] = symbol
            self._rules[symbol] = self._builder.add(
                Define(symbol=symbol, conclusion=Equation(symbol, self._ring.term(poly, unit)))
            )
        return names

    def _chord(
        self, column: int, symbol: Symbol, form: ClosedForm, names: Mapping[Poly, Symbol]
    ) -> StepId:
        rewriting = self._rule(form, names)
        below = self._below(form, names)
        result = Equation(symbol, self._fraction(symbol, form, names))
        if self._size == 1:
            lead = self._ring.term(self._collected.rows[0].coefficients[0], self._unit)
            return self._builder.add(
                Isolate(
                    premise=self._collected.steps[0],
                    symbol=symbol,
                    factor=Quotient(ONE, lead),
                    conclusion=result,
                )
            )
        parts = []
        for row, cofactor in enumerate(self._cofactors[column]):
            if cofactor:
                unit = self._unit * symbol.dimension / VOLT
                multiplier = multiplier_of(cofactor, form.divisor, unit)
                parts.append(Scaled(multiplier=multiplier, premise=self._collected.steps[row]))
        top = by_battery(form.numerator, symbol.dimension * form.unit)
        combined = self._builder.add(
            Combine(
                parts=tuple(parts),
                eliminated=self._removed(column),
                rewriting=rewriting,
                conclusion=Equation(product(below, symbol), top),
            )
        )
        return self._builder.add(
            Isolate(
                premise=combined,
                symbol=symbol,
                factor=Quotient(ONE, below),
                rewriting=rewriting,
                conclusion=result,
            )
        )

    def _removed(self, column: int) -> tuple[Symbol, ...]:
        """Return the other unknowns that the equations used hold."""
        rows = self._collected.rows
        used = [row for row, m in zip(rows, self._cofactors[column], strict=True) if m]
        return tuple(
            symbol
            for k, symbol in enumerate(self._collected.unknowns)
            if k != column and any(row.coefficients[k] for row in used)
        )

    def _rule(self, form: ClosedForm, names: Mapping[Poly, Symbol]) -> tuple[StepId, ...]:
        symbol = names.get(form.denominator)
        return () if symbol is None else (self._rules[symbol],)

    def _below(self, form: ClosedForm, names: Mapping[Poly, Symbol]) -> Term:
        return names.get(form.denominator) or factored(form.denominator, form.unit)

    def _fraction(self, symbol: Symbol, form: ClosedForm, names: Mapping[Poly, Symbol]) -> Term:
        if not form.numerator:
            return ZERO
        dimension = symbol.dimension * form.unit
        top = self._by_loop(symbol, form) or by_battery(form.numerator, dimension)
        if form.denominator == 1 and form.unit == NUMBER:
            return top
        return quotient(top, self._below(form, names))

    def _by_loop(self, symbol: Symbol, form: ClosedForm) -> Term | None:
        """Return the numerator grouped by loops; None where that is not the same numerator."""
        found = self._shares
        currents = [branch.current for branch in self._circuit.branches]
        if found is None or symbol not in currents:  # a dependent source is no current
            return None
        branch = currents.index(symbol)
        value, terms = self._ring.zero, []
        for share in found.loop_shares(branch):
            if not all(battery in self._ring for battery, _ in share.emfs):
                return None
            emfs = self._ring.zero
            for battery, rises in share.emfs:
                emfs = emfs + self._ring.symbol(battery) * (1 if rises else -1)
            weight = share.weight.compose({}, self._ring)
            if share.denominator.compose({}, self._ring) != form.denominator:
                return None
            value = value + weight * emfs
            signed = tuple(s if rises else Negative(s) for s, rises in share.emfs)
            sums = total(tuple(sorted(signed, key=lambda term: isinstance(term, Negative))))
            terms.append(product(found.ring.term(share.weight, AMPERE * form.unit / VOLT), sums))
        return total(tuple(terms)) if value == form.numerator and terms else None
